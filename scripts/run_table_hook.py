"""MkDocs hook: put the look-up table and the pocket card where their pages ask for them.

A page asks by a comment on a line of its own, ``<!-- run-length-table -->`` or
``<!-- pocket-card -->``. Both are worked out now, at build time. One that no page shows, and
one that two pages show, stop the build.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from mkdocs.exceptions import PluginError
from mkdocs.utils import get_relative_url

from evenrow.words import LANGUAGES, use_language
from kept_answers import kept
from late_parts import later
from run_table_pages import card_html, look_up_html
from site_languages import in_language, language_of

#: Comment -> what stands for it on the page with that address.
MADE: dict[str, Callable[[str], str]] = {
    "<!-- run-length-table -->": lambda url: look_up_html(
        get_relative_url(in_language("run-length/", language_of(url)), url)
    ),
    "<!-- pocket-card -->": lambda _: card_html(),
}
#: By what the page templates know that one of them is there.
CLASSES = dict(zip(MADE, ("er-look", "er-pocket er-look"), strict=True))

_shown: list[str] = []


def on_pre_build(**_: Any) -> None:
    """Forget the pages of an earlier build."""
    _shown.clear()


def on_page_content(content: str, *, page: Any, **_: Any) -> str:
    """Replace the comments of a page."""
    for comment, made in MADE.items():
        found = content.count(comment)
        if found:
            url = page.file.url
            with use_language(language_of(url)):
                text = kept(f"{comment} {url}", partial(made, url))
            content = content.replace(comment, later(text, CLASSES[comment]))
            _shown.extend([comment] * found)
    return content


def on_post_build(**_: Any) -> None:
    """Stop when one of them is not on exactly one page of each language."""
    for comment in MADE:
        if _shown.count(comment) != len(LANGUAGES):
            raise PluginError(
                f"{comment} stands {_shown.count(comment)} times in the pages, not once for each "
                "language"
            )
