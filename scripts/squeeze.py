"""Take the indentation and empty lines of templates out of built pages.

They are a twelfth of what a small page weighs, and show nowhere: a line break is left wherever
there was white space with one.
"""

from __future__ import annotations

import re
from pathlib import Path

#: What is shown, sent or run as it stands.
KEPT = re.compile(r"(<(pre|textarea|script|style)\b.*?</\2>)", re.DOTALL)
BREAK = re.compile(r"[ \t]*\n\s*")


def squeezed(page: str) -> str:
    """Return a page with every run of white space that holds a line break made one line break."""
    parts = []
    end = 0
    for match in KEPT.finditer(page):
        parts += [BREAK.sub("\n", page[end : match.start()]), match[0]]
        end = match.end()
    return "".join([*parts, BREAK.sub("\n", page[end:])])


def squeeze_pages(site: Path) -> None:
    """Do so in every page of a built site."""
    for path in sorted(site.rglob("*.html")):
        path.write_text(squeezed(path.read_text(encoding="utf-8")), encoding="utf-8")
