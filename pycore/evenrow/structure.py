"""How deep and how long-named a TOML or JSON text is, seen before a parser sees it.

A parser builds tables as it reads: a few kilobytes of brackets or dots can cost it gigabytes
and minutes.  One walk over the text, in time that grows with its length alone, tells whether
it is safe to hand on.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_TOKEN = re.compile(r"\"\"\"|'''|\\.|[\"'#\n.,=\[\]{}]", re.DOTALL)
_QUOTES = frozenset({'"""', "'''", '"', "'"})


@dataclass(frozen=True)
class Structure:
    """The most brackets that stand open at once, and the most dots in one name."""

    open: int
    dots: int


def structure(text: str, *, toml: bool) -> Structure:
    """Measure a text without reading it.

    Parameters
    ----------
    text : str
        JSON or TOML, or anything else.
    toml : bool
        With TOML's comments, single quotes and triple quotes; JSON has double quotes alone.

    Returns
    -------
    Structure
        Brackets and dots inside quoted text and comments do not count.
    """
    depth = most_open = dots = most_dots = 0
    inside = ""  # the quote or comment mark that the walk is inside of
    for found in _TOKEN.finditer(text):
        token = found.group()
        if inside:
            inside = _still_inside(inside, token)
        elif token in _QUOTES or (token == "#" and toml):
            if token == '"""' and not toml:
                token = '"'  # an empty text, and the start of the next
            if toml or token == '"':
                inside = token
        elif token == ".":
            dots += 1
            most_dots = max(most_dots, dots)
        elif token in "[{":
            depth += 1
            most_open = max(most_open, depth)
            dots = 0
        elif token in "]}":
            depth = max(0, depth - 1)
            dots = 0
        else:
            dots = 0
    return Structure(most_open, most_dots)


def _still_inside(inside: str, token: str) -> str:
    """Return what the walk is inside of after a token that stands within it."""
    if token == "\n" and len(inside) == 1:
        return ""  # a comment ends here, and so does a quote that was never closed
    if token == inside:
        return ""
    if inside == '"' and token == '"""':
        return ""  # the end of one text, then an empty one
    if token.startswith("\\") and inside.startswith("'") and token[1] == inside:
        return ""  # a backslash means nothing in single quotes
    return inside
