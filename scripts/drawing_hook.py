"""MkDocs hook: put our drawings into the guides, with the words that the page gives them.

A page asks for a drawing by a comment that begins a line, and says there what it shows and what
its parts are called, each language on its own page:

    <!-- drawing: bucket
    says: An open tap fills a bucket; a watch lies beside it.
    watch: seconds until it is full
    -->

The drawing is ``site_src/drawings/bucket.svg``, in which ``{watch}`` and ``{says}`` stand for these
words. It goes into the page itself, so that it has the page's colours. A drawing that does not
exist, a part without a word, a word without a part and a word that has no room stop the build.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError

from evenrow.figures.svg import width_of, words

ASKED = re.compile(r"<!-- drawing: ([a-z-]+)\n(.*?)-->", re.DOTALL)
PLACE = re.compile(r"\{([a-z0-9]+)\}")
TEXT = re.compile(r"<text\b([^>]*)>([^<]*)</text>")
#: Width of a drawing in user units, about that of a phone in its pixels, and size of its letters.
WIDTH, LETTER = 360.0, 15.0

_folder = Path()


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Note where the drawings are."""
    global _folder
    _folder = Path(config.docs_dir) / "drawings"
    return config


def told(lines: str) -> dict[str, str]:
    """Return the words of a comment by the part that they name.

    Raises
    ------
    PluginError
        If a line names no part, or one that was named before.
    """
    found: dict[str, str] = {}
    for line in lines.splitlines():
        name, colon, said = (each.strip() for each in line.partition(":"))
        if not (colon and said) or name in found:
            raise PluginError(f"a drawing's words need lines of part: words, not {line!r}")
        found[name] = said
    return found


def too_wide(svg: str) -> list[str]:
    """Return the texts of a drawing that reach beyond its edges."""
    beyond = []
    for attributes, said in TEXT.findall(svg):
        given = dict(re.findall(r'([a-z-]+)="([^"]*)"', attributes))
        wide = width_of(said, LETTER)
        share = {"middle": 0.5, "end": 1.0}.get(given.get("text-anchor", ""), 0.0)
        left = float(given["x"]) - share * wide
        if left < 0.0 or left + wide > WIDTH:
            beyond.append(said)
    return beyond


def drawn(svg: str, said: dict[str, str]) -> str:
    """Return a drawing with its words.

    Parameters
    ----------
    svg : str
        The drawing, with places for words.
    said : dict of str
        Words by place.

    Raises
    ------
    PluginError
        If places and words are not the same, or a word has no room.
    """
    wanted = set(PLACE.findall(svg))
    if wanted != said.keys():
        lacking, unknown = sorted(wanted - said.keys()), sorted(said.keys() - wanted)
        raise PluginError(f"a drawing lacks words for {lacking}, and has no place for {unknown}")
    beyond = too_wide(PLACE.sub(lambda match: said[match[1]], svg))
    if beyond:
        raise PluginError(f"no room in a drawing for: {', '.join(beyond)}")
    lines = PLACE.sub(lambda match: words(said[match[1]]), svg).splitlines()
    return '<figure class="er-drawn">' + "".join(line.strip() for line in lines) + "</figure>"


def on_page_content(content: str, *, page: Any, **_: Any) -> str:
    """Replace the comments of a page."""

    def put(match: re.Match[str]) -> str:
        path = _folder / f"{match[1]}.svg"
        if not path.is_file():
            raise PluginError(f"{page.file.src_uri} asks for an unknown drawing {match[1]!r}")
        try:
            return drawn(path.read_text(encoding="utf-8"), told(match[2]))
        except PluginError as error:
            raise PluginError(f"{page.file.src_uri}, drawing {match[1]}: {error}") from error

    return ASKED.sub(put, content)
