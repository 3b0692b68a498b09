"""The checks of the built site must fail when there is something to find."""

import base64
import hashlib
import json
import zlib

import pytest

import make_icons
import offline_manifest
import page_policy
from check_site import check_site
from common import StopError

GOOD = '<html lang="en"><head><title>x</title></head><body><p id="a">x</p>{}</body></html>'


@pytest.fixture
def site(tmp_path):
    (tmp_path / "about").mkdir()
    (tmp_path / "index.html").write_text(GOOD.format('<a href="about/#b">x</a><a href="#a">x</a>'))
    (tmp_path / "about" / "index.html").write_text(GOOD.format('<a href="../">x</a><i id="b"></i>'))
    return tmp_path


def test_a_sound_site_passes(site):
    check_site(site)


@pytest.mark.parametrize(
    ("markup", "words"),
    [
        ('<a href="gone/">x</a>', "leads nowhere"),
        ('<a href="about/#gone">x</a>', "not on that page"),
        ('<a href="/about/">x</a>', "starts at the root"),
        (
            '<b title="a > b" class=\'x "y"\'><a title="1 > 2" href="gone/">x</a></b>',
            "leads nowhere",
        ),
        ('<!-- <p> --><a class="x"\n  href="gone/">x</a>', "leads nowhere"),
        ('<textarea id="t">x</textarea><a href="gone/">x</a>', "leads nowhere"),
        ('<script>if (a < b) x();</script><a href="gone/">x</a>', "leads nowhere"),
        ('<a href="../outside.html">x</a>', "leads nowhere"),
        ('<img src="https://example.org/x.png">', "from elsewhere"),
        ('<script src="//example.org/x.js"></script>', "from elsewhere"),
        ('<link rel="stylesheet" href="http://example.org/x.css">', "from elsewhere"),
        ('<link rel="stylesheet" href="gone.css">', "leads nowhere"),
        ('<form action="https://example.org/"></form>', "from elsewhere"),
        ('<p onclick="x()">x</p>', "script in an attribute"),
        ('<p id="a">x</p>', "stands twice"),
    ],
)
def test_faults_in_pages_are_found(site, markup, words):
    (site / "index.html").write_text(GOOD.format(markup))
    with pytest.raises(StopError, match=words):
        check_site(site)


@pytest.mark.parametrize(
    ("markup", "words"),
    [
        ('<html lang="es"><h1>x</h1><p data-field="rows.0.length">x</p></html>', ""),
        ('<html lang="en"><h1>x</h1><p data-field="rows.0.length">x</p></html>', "says that it is"),
        ('<html lang="es"><p data-field="rows.0.length">x</p></html>', "has data-field rows.0"),
        ('<html lang="es"><h1>x</h1><p data-field="rows.0.count">x</p></html>', "rows.0.count"),
        ('<html lang="es"><h1>x</h1></html>', "has None where the first language has data-field"),
    ],
)
def test_a_page_of_another_language_is_made_like_its_twin(site, markup, words):
    twin = GOOD.format('<h1>x</h1><p data-field="rows.0.length">x</p>')
    (site / "about" / "index.html").write_text(twin)
    (site / "index.html").write_text(GOOD.format(""))
    (site / "es" / "about").mkdir(parents=True)
    (site / "es" / "about" / "index.html").write_text(markup)
    if not words:
        check_site(site)
        return
    with pytest.raises(StopError, match=words):
        check_site(site)


def test_a_page_of_another_language_needs_one_in_the_first(site):
    (site / "es").mkdir()
    (site / "es" / "more.html").write_text('<html lang="es"></html>')
    with pytest.raises(StopError, match="no such page in the first language"):
        check_site(site)


@pytest.mark.parametrize(
    ("css", "words"),
    [
        ("@import 'https://example.org/x.css';", "from elsewhere"),
        ("p { background: url(//example.org/x.png) }", "from elsewhere"),
        ('p { background: url("gone.png") }', "is missing"),
    ],
)
def test_faults_in_style_sheets_are_found(site, css, words):
    (site / "x.css").write_text(css)
    with pytest.raises(StopError, match=words):
        check_site(site)


def test_an_empty_site_is_a_fault(tmp_path):
    with pytest.raises(StopError, match="no page"):
        check_site(tmp_path)


def test_links_to_other_sites_are_allowed_but_nothing_is_loaded_from_there(site):
    (site / "index.html").write_text(GOOD.format('<a href="https://example.org/">x</a>'))
    check_site(site)


def test_policy_allows_exactly_the_inline_scripts_of_the_page(site):
    script = "let a = 1 < 2;"
    data = '<script type="application/json">{"a": 1}</script>'
    page = GOOD.format(f'<script>{script}</script>{data}<script src="x.js"></script>')
    (site / "index.html").write_text(page)
    page_policy.write_policies(site)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    written = (site / "index.html").read_text()
    policy = written.split('content="', 1)[1].split('"', 1)[0]
    assert f"script-src 'self' 'wasm-unsafe-eval' 'sha256-{digest}';" in policy
    assert policy.count("sha256-") == 1
    assert written.index("Content-Security-Policy") < written.index("<script")
    assert "unsafe-eval'" not in policy.replace("'wasm-unsafe-eval'", "")


def test_a_page_without_head_stops_the_build(site):
    (site / "index.html").write_text("<p>x</p>")
    with pytest.raises(StopError, match="no <head>"):
        page_policy.write_policies(site)


@pytest.fixture
def whole_site(site):
    (site / "assets" / "js").mkdir(parents=True)
    (site / "assets" / "runtime").mkdir()
    (site / "assets" / "js" / "core-worker.js").write_text('const A = /* PYTHON_ID */ "";')
    for name in ("pyodide.asm.wasm", "numpy.pack", "core.pack"):
        (site / "assets" / "runtime" / name).write_text(name)
    (site / "sw.js").write_text(f"const RELEASE = {offline_manifest.PLACE};")
    return site


def manifest(site):
    text = (site / "sw.js").read_text()
    return json.loads(text.removeprefix("const RELEASE = ").removesuffix(";"))


def test_manifest_lists_every_file_with_its_hash(whole_site):
    release = offline_manifest.write_manifest(whole_site)
    found = manifest(whole_site)
    assert found["release"] == release
    assert set(found["runtimeFiles"]) == {
        "assets/runtime/numpy.pack",
        "assets/runtime/pyodide.asm.wasm",
    }
    assert set(found["files"]) == {
        "index.html",
        "about/index.html",
        "assets/js/core-worker.js",
        "assets/runtime/core.pack",
    }
    for name, digest in {**found["files"], **found["runtimeFiles"]}.items():
        assert hashlib.sha256((whole_site / name).read_bytes()).hexdigest() == digest
    assert found["python"] in (whole_site / "assets" / "js" / "core-worker.js").read_text()


def test_release_changes_with_any_file_and_runtime_only_with_its_own(whole_site):
    template = (whole_site / "sw.js").read_text()
    offline_manifest.write_manifest(whole_site)
    first = manifest(whole_site)
    (whole_site / "sw.js").write_text(template)
    (whole_site / "index.html").write_text("other")
    offline_manifest.write_manifest(whole_site)
    second = manifest(whole_site)
    assert second["release"] != first["release"]
    assert second["runtime"] == first["runtime"]
    assert second["python"] == first["python"]
    (whole_site / "sw.js").write_text(template)
    (whole_site / "assets" / "runtime" / "core.pack").write_text("other")
    offline_manifest.write_manifest(whole_site)
    third = manifest(whole_site)
    assert third["runtime"] == first["runtime"]
    assert third["python"] != first["python"]
    (whole_site / "sw.js").write_text(template)
    worker = whole_site / "assets" / "js" / "core-worker.js"
    worker.write_text(worker.read_text() + "start();")  # another way to start: kept anew
    offline_manifest.write_manifest(whole_site)
    changed = manifest(whole_site)
    assert changed["runtime"] == first["runtime"]
    assert changed["python"] not in (first["python"], third["python"])
    (whole_site / "sw.js").write_text(template)
    (whole_site / "assets" / "runtime" / "numpy.pack").write_text("other")
    offline_manifest.write_manifest(whole_site)
    assert manifest(whole_site)["runtime"] != first["runtime"]


@pytest.mark.parametrize("gone", ["index.html", "assets/runtime/pyodide.asm.wasm"])
def test_an_incomplete_site_gets_no_manifest(whole_site, gone):
    (whole_site / gone).unlink()
    with pytest.raises(StopError, match="incomplete"):
        offline_manifest.write_manifest(whole_site)


def test_a_service_worker_without_its_place_stops_the_build(whole_site):
    (whole_site / "sw.js").write_text("// nothing")
    with pytest.raises(StopError, match="no place"):
        offline_manifest.write_manifest(whole_site)


def test_icons_are_png_of_their_size(tmp_path):
    make_icons.write_icons(tmp_path)
    for size in make_icons.SIZES:
        data = (tmp_path / f"icon-{size}.png").read_bytes()
        assert data.startswith(b"\x89PNG\r\n\x1a\n")
        assert int.from_bytes(data[16:20], "big") == size
        start = data.index(b"IDAT") + 4
        length = int.from_bytes(data[start - 8 : start - 4], "big")
        assert len(zlib.decompress(data[start : start + length])) == size * (3 * size + 1)
