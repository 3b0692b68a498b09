"""Examples of the pages run, show what they gave, and stop the build where they fail."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from mkdocs.exceptions import PluginError

import changelog_hook
import gallery_hook as hook

ROOT = Path(__file__).parents[3]
PAGE = SimpleNamespace(file=SimpleNamespace(src_uri="page.md"))


def built(markdown):
    text = hook.on_page_markdown(markdown, page=PAGE)
    return hook.on_page_content(text, page=PAGE)


def test_an_example_is_followed_by_what_it_prints_and_gives():
    html = built("```python run\nx = 2\nprint('a < b')\nx * 21\n```\n")
    assert html.index("x = 2") < html.index("a &lt; b") < html.index("42")


def test_examples_of_a_page_share_names_and_pages_do_not():
    assert "7" in built("```python run\nx = 7\n```\n\n```python run\nx\n```\n")
    with pytest.raises(PluginError, match=r"page\.md.*NameError"):
        built("```python run\nx\n```\n")


def test_a_drawing_stands_as_it_is_without_styles_of_its_own():
    html = built("```python run\n'<svg><style>a{}</style><g/></svg>'\n```\n")
    assert '<div class="er-figure"><svg><g/></svg></div>' in html


def test_other_code_is_left_alone():
    text = "```python\nraise ValueError\n```\n"
    assert built(text) == text


def test_every_example_of_the_gallery_runs():
    text = (ROOT / "site_src" / "gallery.md").read_text("utf-8")
    markdown, results = hook.with_results(text, "gallery.md")
    assert len(results) == text.count("```python run") >= 10
    assert "```python run" not in markdown
    assert sum("<svg" in result for result in results) == 2
    assert "Riegue" in results[-1]


def test_the_changelog_stands_under_the_page_s_own_heading():
    text = changelog_hook.on_page_markdown("# Versions\n\n<!-- changelog -->\n")
    assert "\n### 0.1.0" in text
    assert text.count("\n# ") == 0
