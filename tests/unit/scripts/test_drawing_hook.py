"""Drawings of the guides: their words come from the page, and nothing is lacking or cut off."""

import re
import xml.etree.ElementTree as ET
from pathlib import Path
from types import SimpleNamespace

import pytest
from mkdocs.exceptions import PluginError

import drawing_hook
from site_languages import OTHERS, in_language

PAGES = Path(__file__).parents[3] / "site_src"
DRAWINGS = sorted(path.stem for path in (PAGES / "drawings").glob("*.svg"))
GUIDES = sorted(path.name for path in (PAGES / "guides").glob("*.md"))
BOX = '<svg viewBox="0 0 360 40" aria-label="{says}">\n<text x="10" y="20">{tap}</text>\n</svg>\n'


def asked(path):
    """Return the drawings that a page asks for, each with its words."""
    return drawing_hook.ASKED.findall(path.read_text(encoding="utf-8"))


@pytest.fixture
def hook(tmp_path):
    (tmp_path / "drawings").mkdir()
    (tmp_path / "drawings" / "box.svg").write_text(BOX)
    drawing_hook.on_config(SimpleNamespace(docs_dir=str(tmp_path)))
    page = SimpleNamespace(file=SimpleNamespace(src_uri="guides/x.md"))
    return lambda content: drawing_hook.on_page_content(content, page=page)


def test_the_words_of_the_page_stand_in_the_drawing(hook):
    found = hook(
        "<p>a</p>\n<!-- drawing: box\nsays: A tap & more\ntap: open: <wide>\n-->\n<p>b</p>"
    )
    assert found == (
        '<p>a</p>\n<figure class="er-drawn">'
        '<svg viewBox="0 0 360 40" aria-label="A tap &amp; more">'
        '<text x="10" y="20">open: &lt;wide&gt;</text></svg></figure>\n<p>b</p>'
    )


@pytest.mark.parametrize(
    ("comment", "said"),
    [
        ("box\nsays: x\ntap: y\ncup: z\n", "no place for .'cup'"),
        ("box\nsays: x\n", "lacks words for .'tap'"),
        ("box\nsays: x\ntap: y\ntap: z\n", "not 'tap: z'"),
        ("box\nsays: x\ntap:\n", "not 'tap:'"),
        ("hut\nsays: x\ntap: y\n", "unknown drawing 'hut'"),
        (f"box\nsays: x\ntap: {'w' * 60}\n", "no room in a drawing for: w"),
    ],
)
def test_what_is_lacking_or_too_much_stops_the_build(hook, comment, said):
    with pytest.raises(PluginError, match=said) as caught:
        hook(f"<!-- drawing: {comment}-->")
    assert "guides/x.md" in str(caught.value)


@pytest.mark.parametrize(
    ("anchor", "x", "beyond"),
    [("start", 5, []), ("middle", 5, ["tap"]), ("end", 5, ["tap"]), ("start", 350, ["tap"])],
)
def test_a_text_beyond_either_edge_is_seen(anchor, x, beyond):
    text = f'<text x="{x}" y="1" text-anchor="{anchor}">tap</text>'
    assert drawing_hook.too_wide(text) == beyond


@pytest.mark.parametrize("name", DRAWINGS)
def test_drawings_take_their_colours_from_the_page(name):
    text = (PAGES / "drawings" / f"{name}.svg").read_text(encoding="utf-8")
    assert not re.search(r"style=|fill=|stroke=|#[0-9a-f]{3}", text)
    root = ET.fromstring(text)
    assert root.get("role") == "img"
    assert root.get("aria-label") == "{says}"
    shapes = [each for each in root if not each.tag.endswith("text")]
    assert shapes


@pytest.mark.parametrize("name", GUIDES)
@pytest.mark.parametrize("code", ["en", *OTHERS])
def test_every_page_has_words_for_its_drawings(code, name):
    own = asked(PAGES / in_language(f"guides/{name}", code))
    assert [each for each, _ in own] == [each for each, _ in asked(PAGES / "guides" / name)]
    for drawing, lines in own:
        svg = (PAGES / "drawings" / f"{drawing}.svg").read_text(encoding="utf-8")
        drawing_hook.drawn(svg, drawing_hook.told(lines))


def test_every_drawing_is_used():
    used = {each for name in GUIDES for each, _ in asked(PAGES / "guides" / name)}
    assert used == set(DRAWINGS)
