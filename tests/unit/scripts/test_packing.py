"""What goes to the browser: which modules are needed, and how the runtime is adapted."""

import json
import re
import zipfile

import pytest

import build_site
import pack_browser
from common import ROOT, StopError
from needed_modules import imported, needed, read_library, trim

LIBRARY = {
    "top": ("import late_user\nfrom package import inner, thing", False),
    "late_user": ("def f():\n    import late.deep", False),
    "late": ("", True),
    "late.deep": ("from . import beside\nfrom .beside import x", False),
    "late.beside": ("import top", False),
    "package": ("from .inner import a", True),
    "package.inner": ("import gone_elsewhere", False),
    "package.unused": ("", False),
    "unused": ("import top", False),
}


def test_what_can_be_imported_is_needed_wherever_the_statement_stands():
    everything = {name for name in LIBRARY if "unused" not in name}
    assert needed(LIBRARY, ["top"], set()) == everything
    assert needed(LIBRARY, ["late.deep"], set()) == everything


def test_what_is_cut_takes_with_it_what_only_it_needs():
    assert needed(LIBRARY, ["top"], {"late_user"}) == {"top", "package", "package.inner"}
    assert needed(LIBRARY, ["top"], {"late"}) == {
        "top", "late_user", "package", "package.inner",
    }  # fmt: skip
    # Only whole names count: "lat" is not the package "late".
    assert needed(LIBRARY, ["late"], {"lat"}) == {"late"}


@pytest.mark.parametrize(
    ("source", "package", "names"),
    [
        ("import a.b as c", False, {"a.b"}),
        ("from a import b, c", False, {"a", "a.b", "a.c"}),
        ("from . import b", False, {"p.q", "p.q.b"}),
        ("from . import b", True, {"p.q.r", "p.q.r.b"}),
        ("from ..a import b", False, {"p.a", "p.a.b"}),
        ("try:\n    import a\nexcept ImportError:\n    import b", False, {"a", "b"}),
    ],
)
def test_import_statements_are_read(source, package, names):
    assert imported(source, "p.q.r", package) == names


def test_trimming_removes_files_and_nothing_else(tmp_path):
    for name, (source, package) in LIBRARY.items():
        path = tmp_path / (name.replace(".", "/") + ("/__init__.py" if package else ".py"))
        path.parent.mkdir(exist_ok=True)
        path.write_text(source)
    (tmp_path / "package" / "table.txt").write_text("data stay")
    trim(tmp_path, ["package"], set())
    assert set(read_library(tmp_path)) == {"package", "package.inner"}
    assert (tmp_path / "package" / "table.txt").exists()


def test_the_browser_and_the_build_name_the_same_binary_modules():
    text = (ROOT / "site_src" / "assets" / "js" / "binary-modules.js").read_text()
    listed = re.search(r"BINARY_MODULES = (\[.*?\]);", text, re.DOTALL)[1]
    assert tuple(json.loads(listed)) == pack_browser.BINARY_MODULES


@pytest.mark.parametrize("missing", pack_browser.BINARY_MODULES)
def test_a_wheel_without_a_binary_module_stops_the_build(tmp_path, monkeypatch, missing):
    monkeypatch.setattr(pack_browser, "PACKED", tmp_path / "packed")
    wheel = tmp_path / "numpy.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        for name in pack_browser.BINARY_MODULES:
            if name != missing:
                archive.writestr(f"{name.replace('.', '/')}.cpython-x.so", name)
    with pytest.raises(StopError, match=f"holds 0 files for {missing}"):
        pack_browser.binary_modules(wheel)


LOADER = "\n".join(old for old, _ in build_site.LOADER_CHANGES)


def test_the_loader_is_adapted_and_loses_its_map():
    text = build_site.adapted_loader(f"{LOADER}\n//# sourceMappingURL=pyodide.mjs.map\n")
    assert text == "\n".join(new for _, new in build_site.LOADER_CHANGES) + "\n"


@pytest.mark.parametrize("loader", ["", LOADER.replace("Fe(e){", "Ff(e){"), LOADER * 2])
def test_another_loader_than_the_pinned_one_stops_the_build(loader):
    with pytest.raises(StopError, match="exactly once"):
        build_site.adapted_loader(loader)
