"""Pages that are not kept on a device say so, and are found by nobody who searches offline."""

import re
from pathlib import Path

import pytest

from offline_manifest import FAR_PAGES, collect

PAGES = Path(__file__).parents[3] / "site_src"
FAR = [
    path
    for path in sorted(PAGES.rglob("*.md"))
    if f"{path.relative_to(PAGES).with_suffix('').as_posix()}/".startswith(FAR_PAGES)
]


@pytest.mark.parametrize("path", FAR, ids=lambda path: path.stem)
def test_they_say_so(path):
    text = re.sub(r"\s+", " ", path.read_text("utf-8"))
    assert "not kept" in text or (path.name != "index.md" and path.parent != PAGES)
    assert "search: exclude: true" in text


def test_they_are_found_and_left_out(tmp_path):
    assert {f"{path.stem}/" for path in FAR if path.parent == PAGES} <= set(FAR_PAGES)
    for name in ("index.html", "gallery/index.html", "zones/index.html"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("x", "utf-8")
    assert set(collect(tmp_path)[0]) == {"index.html", "zones/index.html"}
