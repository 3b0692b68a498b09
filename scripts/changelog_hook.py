"""MkDocs hook: the changelog on the page that asks for it by ``<!-- changelog -->``."""

from __future__ import annotations

import re

from common import ROOT

COMMENT = "<!-- changelog -->"


def changelog() -> str:
    """Return the changelog without its title, its headings one level lower."""
    text = (ROOT / "CHANGELOG.md").read_text("utf-8")
    body = text.partition("\n")[2].strip()
    return re.sub(r"^(#+ )", r"#\1", body, flags=re.MULTILINE)


def on_page_markdown(markdown: str, **_: object) -> str:
    """Put the changelog where the page asks for it."""
    return markdown.replace(COMMENT, changelog()) if COMMENT in markdown else markdown
