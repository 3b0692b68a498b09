"""Fetching, stamps and serving: what cannot be verified is never used."""

import hashlib
import http.client
import json
import threading
import urllib.error
import urllib.parse
import urllib.request
import zipfile

import pytest

import common
import environment
import fetch_runtime
import pack_browser
import run_benchmarks
import serve
from common import StopError

WHEEL = b"the wheel"
NAME = "numpy-for-wasm.whl"


@pytest.fixture
def runtime(tmp_path, monkeypatch):
    """A cache of its own, with a Pyodide whose lock file names our wheel."""
    folder = tmp_path / "runtime"
    pyodide = folder / "pyodide"
    pyodide.mkdir(parents=True)
    entry = {"file_name": NAME, "sha256": hashlib.sha256(WHEEL).hexdigest()}
    (pyodide / "pyodide-lock.json").write_text(json.dumps({"packages": {"numpy": entry}}))
    monkeypatch.setattr(fetch_runtime, "RUNTIME", folder)
    monkeypatch.setattr(fetch_runtime, "PYODIDE", pyodide)
    monkeypatch.delenv(fetch_runtime.WHEELS_VARIABLE, raising=False)
    return folder


def unreachable(name, digest, target):
    return "there is no network"


def sends(data):
    def way(name, digest, target):
        target.write_bytes(data)
        return "" if fetch_runtime.verified(target, digest) else "it sent other bytes"

    return way


def test_wheel_comes_from_the_named_folder(runtime, tmp_path, monkeypatch):
    (tmp_path / NAME).write_bytes(WHEEL)
    monkeypatch.setenv(fetch_runtime.WHEELS_VARIABLE, str(tmp_path))
    assert fetch_runtime.fetch_numpy().read_bytes() == WHEEL


def test_a_changed_wheel_in_the_named_folder_is_never_used(runtime, tmp_path, monkeypatch):
    (tmp_path / NAME).write_bytes(WHEEL + b"!")
    monkeypatch.setenv(fetch_runtime.WHEELS_VARIABLE, str(tmp_path))
    monkeypatch.setattr(fetch_runtime, "WAYS", (fetch_runtime.from_folder, unreachable))
    with pytest.raises(StopError, match=r"does not match its hash; there is no network\. If you"):
        fetch_runtime.fetch_numpy()
    assert not (runtime / NAME).exists()


def test_the_next_way_is_tried_when_one_sends_other_bytes(runtime, monkeypatch):
    monkeypatch.setattr(fetch_runtime, "WAYS", (sends(b"rubbish"), sends(WHEEL)))
    assert fetch_runtime.fetch_numpy().read_bytes() == WHEEL


def test_a_damaged_cache_is_fetched_again(runtime, monkeypatch):
    (runtime / NAME).write_bytes(b"half")
    monkeypatch.setattr(fetch_runtime, "WAYS", (sends(WHEEL),))
    assert fetch_runtime.fetch_numpy().read_bytes() == WHEEL


def test_the_release_way_is_skipped_when_pyodide_names_no_address(runtime):
    (runtime / "pyodide" / "pyodide.mjs").write_text("nothing here")
    (runtime / "pyodide" / "package.json").write_text('{"version": "1"}')
    said = fetch_runtime.from_release(NAME, "0" * 64, runtime / "x")
    assert said == "the Pyodide package names no release address"


def test_missing_npm_is_said_in_words(monkeypatch):
    monkeypatch.setattr(fetch_runtime.shutil, "which", lambda name: None)
    with pytest.raises(StopError, match="install the packages nodejs and npm"):
        fetch_runtime.find_npm()


def test_an_old_python_is_said_in_words(monkeypatch):
    monkeypatch.setattr(environment.sys, "version_info", (3, 9, 2))
    with pytest.raises(StopError, match=r"needs Python 3\.11 or newer; this is 3\.9\.2"):
        environment.check_python()


def test_a_missing_venv_module_is_said_in_words(monkeypatch):
    monkeypatch.setattr(environment.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(StopError, match="python3-venv"):
        environment.check_python()


def test_a_failing_program_stops_with_its_last_words():
    with pytest.raises(StopError, match=r"Trying: sh ended with status 3\.\nno luck"):
        common.run(["sh", "-c", "echo no luck; exit 3"], why="Trying")
    with pytest.raises(StopError, match="was not found"):
        common.run(["no-such-program-anywhere"], why="Trying")


def test_stamps_follow_inputs_and_results(tmp_path, monkeypatch):
    monkeypatch.setattr(common, "CACHE", tmp_path / "cache")
    monkeypatch.setattr(common, "ROOT", tmp_path)
    source, result = tmp_path / "in.txt", tmp_path / "out.txt"
    source.write_text("1")
    result.write_text("x")
    mark = common.fingerprint([source])
    assert not common.is_fresh("step", mark, result)
    common.set_fresh("step", mark)
    assert common.is_fresh("step", mark, result)
    source.write_text("2")
    assert not common.is_fresh("step", common.fingerprint([source]), result)
    result.unlink()
    assert not common.is_fresh("step", mark, result)
    (tmp_path / "cache" / "stamps" / "step.json").write_text("half a st")
    assert not common.is_fresh("step", mark)


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("numpy/_core/numeric.py", True),
        ("numpy/_core/_multiarray_umath.so", True),
        ("numpy/_core/tests/test_x.py", False),
        ("numpy/random/mtrand.so", False),
        ("numpy/__init__.pyi", False),
        ("numpy/py.typed", False),
    ],
)
def test_what_goes_into_the_browser(name, wanted):
    assert pack_browser.wanted(name, pack_browser.NUMPY_UNUSED) is wanted


def test_packing_gives_the_same_bytes_again(tmp_path):
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "b.txt").write_text("b")
    (folder / "a.txt").write_text("a")
    pack_browser.pack(folder, tmp_path / "1.zip")
    (folder / "a.txt").write_text("a")
    pack_browser.pack(folder, tmp_path / "2.zip")
    assert (tmp_path / "1.zip").read_bytes() == (tmp_path / "2.zip").read_bytes()


@pytest.fixture
def served(tmp_path):
    (tmp_path / "index.html").write_text("<h1>x</h1>")
    (tmp_path / "x.wasm").write_bytes(b"\0asm")
    (tmp_path / "folder").mkdir()
    server = serve.make_server(tmp_path, base="some/co-op")
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield serve.address(server, "some/co-op")
    server.shutdown()
    server.server_close()


def test_serving_under_a_sub_path(served):
    assert served.endswith("/some/co-op/")
    with urllib.request.urlopen(served) as answer:
        assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
    with urllib.request.urlopen(served + "x.wasm") as answer:
        assert answer.headers["Content-Type"] == "application/wasm"
    root = served.removesuffix("some/co-op/")
    for address in (root, root + "x.wasm", served + "folder/", served + "../" * 9 + "etc/passwd"):
        with pytest.raises(urllib.error.HTTPError, match="404"):
            urllib.request.urlopen(address)


def answer_to(served, path):
    """Return status and Location of one request, sent as it is and not followed."""
    parts = urllib.parse.urlsplit(served)
    connection = http.client.HTTPConnection(parts.hostname, parts.port)
    connection.request("GET", path)
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer.status, answer.getheader("Location")


@pytest.mark.parametrize(
    ("path", "status", "location"),
    [
        ("/some/co-op", 301, "/some/co-op/"),
        ("/some/co-op/folder", 301, "/some/co-op/folder/"),
        ("/some/co-op/folder?a=1", 301, "/some/co-op/folder/?a=1"),
        ("/some/co-op//folder", 301, "/some/co-op/folder/"),
        ("/some/co-op//evil.example/%2e%2e", 301, "/some/co-op/"),
        ("/some/co-op/\\evil.example/%2e%2e", 301, "/some/co-op/"),
        ("/some/co-op/%00", 404, None),
        ("/some/co-op/x%00.wasm", 404, None),
    ],
)
def test_a_redirect_stays_on_the_site(served, path, status, location):
    assert answer_to(served, path) == (status, location)


def test_a_redirect_at_the_root_stays_on_the_host(tmp_path):
    server = serve.make_server(tmp_path)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    root = serve.address(server)
    try:
        for path in ("//evil.example/%2e%2e", "/\\evil.example/%2e%2e", "///evil.example/.."):
            assert answer_to(root, path) == (301, "/")
    finally:
        server.shutdown()
        server.server_close()


@pytest.mark.parametrize("name", ["../outside.py", "a/../../outside.py", "{root}/outside.py"])
def test_a_wheel_that_leads_out_of_the_folder_is_refused(tmp_path, name):
    wheel = tmp_path / "bad.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("good/a.py", "a = 1")
        archive.writestr(name.format(root=tmp_path), "b = 2")
    with pytest.raises(StopError, match="another folder"):
        pack_browser.unpack([wheel], tmp_path / "in", ())
    assert not (tmp_path / "outside.py").exists()


def test_the_next_free_port_is_taken(tmp_path):
    first = serve.make_server(tmp_path)
    port = first.server_address[1]
    second = serve.make_server(tmp_path, port=port)
    assert second.server_address[1] > port
    first.server_close()
    second.server_close()


def test_benchmarks_are_found_by_name_and_judged(tmp_path):
    (tmp_path / "some.py").write_text(
        "__all__ = ['a_vs_b']\ndef a_vs_b(): return 1\ndef helper(): return 2\n"
    )
    assert list(run_benchmarks.discover(tmp_path)) == ["a_vs_b"]
    assert run_benchmarks.reached({"value": 0.9, "target": 1.0, "better": "lower"})
    assert not run_benchmarks.reached({"value": 0.9, "target": 1.0, "better": "higher"})
