"""What is done to a co-op's own site beside the pages, and what a page weighs."""

import gzip
import json
import zipfile
from pathlib import Path

import pytest

import build_own_site
import kept_answers
import page_weight


@pytest.fixture
def own(tmp_path):
    folder = tmp_path / "from"
    folder.mkdir()
    (folder / "site.toml").write_text('name = "Hill"\nlanguage = "es"\n')
    (folder / "catalogue.toml").write_text('name = "Hill"\n')
    return folder


def test_the_packed_package_gets_the_coops_folder(own, tmp_path, monkeypatch):
    packed = tmp_path / "packed"
    packed.mkdir()
    with zipfile.ZipFile(packed / "core.zip", "w") as archive:
        archive.writestr("evenrow/__init__.pyc", b"code")
    for name in ("core.pack", "numpy.pack"):
        (packed / name).write_bytes(b"old")
    monkeypatch.setattr(build_own_site, "PACKED", packed)
    monkeypatch.setattr(build_own_site, "STAGE", tmp_path / "stage")
    files = build_own_site.own_packed(own, [packed / "core.pack", packed / "numpy.pack"])
    core, numpy = files
    assert numpy.read_bytes() == b"old"
    plain = core.with_suffix(".zip")
    assert gzip.decompress(core.read_bytes()) == plain.read_bytes()
    with zipfile.ZipFile(plain) as archive:
        assert archive.namelist() == [
            "evenrow/__init__.pyc",
            "evenrow/own/catalogue.toml",
            "evenrow/own/site.toml",
        ]
        assert archive.read("evenrow/own/catalogue.toml") == b'name = "Hill"\n'
    # What everybody else gets is as it was.
    with zipfile.ZipFile(packed / "core.zip") as archive:
        assert archive.namelist() == ["evenrow/__init__.pyc"]


def test_the_pages_are_made_by_a_package_with_the_coops_folder(own, tmp_path, monkeypatch):
    package = tmp_path / "evenrow"
    (package / "site_files").mkdir(parents=True)
    (package / "__init__.py").write_text("")
    monkeypatch.setattr(build_own_site, "PACKAGE", package)
    monkeypatch.setattr(build_own_site, "STAGE", tmp_path / "stage")
    made = build_own_site.own_modules(own) / "evenrow"
    assert sorted(path.name for path in made.iterdir()) == ["__init__.py", "own"]
    assert (made / "own" / "site.toml").read_bytes() == (own / "site.toml").read_bytes()


def test_an_installed_site_has_the_coops_name_and_start(own, tmp_path):
    path = tmp_path / "app.webmanifest"
    path.write_text(json.dumps({"name": "x", "short_name": "x", "start_url": "./", "scope": "./"}))
    build_own_site.name_site(tmp_path, own)
    told = json.loads(path.read_text())
    assert told == {"name": "Hill", "short_name": "Hill", "start_url": "./es/", "scope": "./"}


def test_an_earlier_site_goes_only_for_a_finished_one(tmp_path):
    fresh, out = tmp_path / "fresh", tmp_path / "deep" / "site"
    fresh.mkdir()
    (fresh / "new.html").write_text("new")
    out.mkdir(parents=True)
    (out / "old.html").write_text("old")
    build_own_site.replace_site(fresh, out)
    assert [path.name for path in out.iterdir()] == ["new.html"]
    assert [path.name for path in out.parent.iterdir()] == ["site"]


def test_the_same_site_makes_the_same_zip(tmp_path):
    site = tmp_path / "site"
    (site / "a").mkdir(parents=True)
    (site / "a" / "b.txt").write_text("text")
    one, two = tmp_path / "one", tmp_path / "two"
    for folder in (one, two):
        folder.mkdir()
        build_own_site.zipped(site, folder / "hill.zip")
    assert (one / "hill.zip").read_bytes() == (two / "hill.zip").read_bytes()
    with zipfile.ZipFile(one / "hill.zip") as archive:
        assert archive.namelist() == ["hill/a/b.txt"]
        assert archive.read("hill/a/b.txt") == b"text"


def page(site: Path, name: str, *lines: str) -> Path:
    path = site / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_a_page_weighs_what_it_loads_before_python(tmp_path):
    site = tmp_path.resolve()
    files = [
        page(
            site,
            "deep/index.html",
            "<script>document.title = 1 < 2</script>",
            '<script type="module" src="../js/main.js"></script>',
            '<link rel="stylesheet" href="../a.css"><link rel="icon" href="../a.svg">',
        ),
        page(site, "a.css", "body{}"),
        page(site, "js/main.js", 'import { x } from "./x.js";', 'await import("./late.js");'),
        page(site, "js/x.js", 'new Worker(new URL("./worker.js", import.meta.url));'),
        page(site, "js/late.js", "// late"),
        page(site, "js/worker.js", 'import "../assets/runtime/pyodide.js";'),
    ]
    runtime = page(site, "assets/runtime/pyodide.js", "x" * 9000)
    page(site, "a.svg", "drawing")
    page(site, "js/other.js", "// no page loads this")
    assert page_weight.loaded_files(site, files[0]) == {*files, runtime}
    sent = sum(len(gzip.compress(path.read_bytes(), 6, mtime=0)) for path in files)
    assert page_weight.page_weights(site) == {"deep/index.html": pytest.approx(sent / 1000)}


def test_an_answer_is_kept_for_as_long_as_the_package_is_the_same(tmp_path, monkeypatch):
    monkeypatch.setattr(kept_answers, "KEPT", tmp_path)
    states = iter(["one", "one", "two", "three", "four", "five"])
    monkeypatch.setattr(kept_answers, "fingerprint", lambda paths: next(states))
    made = []

    def answer():
        kept_answers.folder.cache_clear()
        return kept_answers.kept("zones us en", lambda: made.append(1) or f"a\r\nb{len(made)}")

    # A line end of a table stays as it was made.
    assert [answer() for _ in range(3)] == ["a\r\nb1", "a\r\nb1", "a\r\nb2"]
    assert [answer() for _ in range(3)] == ["a\r\nb3", "a\r\nb4", "a\r\nb5"]
    assert len(list(tmp_path.iterdir())) == kept_answers.MOST
    kept_answers.folder.cache_clear()
