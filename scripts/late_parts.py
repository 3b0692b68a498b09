"""Large parts of pages that are put in when a page is finished.

A form, its answer or a large table is made of thousands of elements. MkDocs, its templates and the
search would read all of them, again and again; until the page is finished, its words for the
search stand there alone.
"""

from __future__ import annotations

import re

PLACE = '<div class="{classes}" data-part="{number}"><p>{words}</p></div>'
PLACED = re.compile(r'<div class="[^"]*" data-part="([0-9]+)"><p>[^<]*</p></div>')

_parts: list[str] = []


def forget() -> None:
    """Forget the parts of an earlier build."""
    _parts.clear()


def later(html: str, classes: str, words: str = "") -> str:
    """Return what stands for a part until its page is finished.

    Parameters
    ----------
    html : str
        The part.
    classes : str
        What the page templates look for, to load what the part needs.
    words : str
        By what the search shall find it, escaped, without elements.
    """
    _parts.append(html)
    return PLACE.format(classes=classes, number=len(_parts) - 1, words=words)


def filled(output: str) -> str:
    """Return a finished page with its parts."""
    return PLACED.sub(lambda match: _parts[int(match[1])], output)
