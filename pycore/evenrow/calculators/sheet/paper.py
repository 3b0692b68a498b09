"""Pieces of the sheet as HTML with their height on paper, estimated rather too high than too low.

A page cannot be measured where it is made, so lines are counted from the widths of letters. The
sizes here and those in ``sheet.css`` are the same.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evenrow.figures.svg import words
from evenrow.words import tr

#: Room for print on both A4 and US Letter, whose margins are 13 mm above and below and 12 mm at
#: the sides: the width of A4, the height of Letter, less what an estimate may be off. [mm]
WIDTH, HEIGHT = 186.0, 251.0
#: Between two columns, and after a block. [mm]
GUTTER, AFTER = 5.0, 3.0
#: Advance of letters as a share of their size in the common sans serif faces, by kind: the
#: narrow and the wide ones, capitals, full-width ones; every other counts as `PLAIN`.
_NARROW, _WIDE = frozenset(" .,:;'|!()[]/-ijltfrI\N{NO-BREAK SPACE}"), frozenset("mwM%…±×")
_SHARES = {"narrow": 0.285, "wide": 0.84, "capital": 0.69, "full": 1.05}
PLAIN = 0.55
#: Letters, and lines of text, heading and table. [mm]
LETTER, LINE, HEADING, ROW = 3.1, 4.1, 6.0, 4.85
#: A row with room to write in. [mm]
WRITING = 5.6
#: Lines broken at words are longer than their text by about this share.
BREAKING = 1.04
#: Padding at both sides of a cell together. [mm]
CELL = 2.4
#: What is never shown longer. [characters]
NAME_MOST, TEXT_MOST = 80, 1200


@dataclass(frozen=True, kw_only=True)
class Block:
    """A piece of a page: its HTML, and how much of the page it takes from top to bottom [mm]."""

    html: str = ""
    height: float = 0.0


def shortened(text: str, most: int = NAME_MOST) -> str:
    """Return a text that came from outside on one line, cut with an ellipsis."""
    line = " ".join(text[: 4 * most].split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def _advance(letter: str) -> float:
    # An accent makes no letter wider.
    letter = unicodedata.normalize("NFD", letter)[0]
    if letter in _NARROW:
        return _SHARES["narrow"]
    if letter in _WIDE:
        return _SHARES["wide"]
    if letter in "W@" or ord(letter) > 0xFFFF or unicodedata.east_asian_width(letter) in "WF":
        return _SHARES["full"]
    return _SHARES["capital"] if letter.isupper() else PLAIN


def text_width(text: str, size: float = LETTER) -> float:
    """Return about how wide a text is on one line [mm], in letters of a size [mm]."""
    return size * sum(map(_advance, text))


def lines_of(text: str, width: float) -> int:
    """Return how many lines a text takes in a width [mm]."""
    return max(1, math.ceil(BREAKING * text_width(text) / width - 1e-9))


def together(blocks: Iterable[Block], kind: str = "") -> Block:
    """Return blocks one below the other, those without content left out."""
    kept = [block for block in blocks if block.html]
    html = "".join(block.html for block in kept)
    return Block(
        html=f'<div class="{kind}">{html}</div>' if kind else html,
        height=sum(block.height for block in kept),
    )


def beside(left: Block, right: Block, kind: str = "halves") -> Block:
    """Return two blocks side by side, in columns of that class of the style sheet."""
    if not left.html or not right.html:
        return together((left, right))
    html = f'<div class="{kind}"><div>{left.html}</div><div>{right.html}</div></div>'
    return Block(html=html, height=max(left.height, right.height))


def titled(title: str, body: Block) -> Block:
    """Return a block under a heading; nothing where there is no content."""
    if not body.html:
        return body
    return Block(
        html=f"<section><h2>{words(title)}</h2>{body.html}</section>",
        height=HEADING + body.height + AFTER,
    )


def listed(items: Sequence[str], width: float, *, ordered: bool = False) -> Block:
    """Return texts as a list, numbered where their order counts."""
    if not items:
        return Block()
    tag = "ol" if ordered else "ul"
    entries = "".join(f"<li>{words(item)}</li>" for item in items)
    height = sum(LINE * lines_of(item, width - 6.0) + 0.6 for item in items)
    return Block(html=f"<{tag}>{entries}</{tag}>", height=height)


def noted(text: str, width: float) -> Block:
    """Return a note under a table or list."""
    if not text:
        return Block()
    return Block(
        html=f'<p class="note">{words(text)}</p>', height=LINE * lines_of(text, width) + 0.8
    )


def rest(count: int, text: str, where: str, width: float) -> Block:
    """Return the line that says what was left out, and under which heading all of it stands.

    Parameters
    ----------
    count : int
        How many were left out; nothing is said where there are none.
    text : str
        An English sentence with the places ``{count}`` and ``{where}``.
    where : str
        The heading, as shown.
    width : float
        Of the line [mm].
    """
    return noted(tr(text, count=count, where=where), width) if count > 0 else Block()


def _row_height(row: Sequence[str], widths: Sequence[float], *, head: bool, written: bool) -> float:
    if len(row) == 1:
        return ROW
    lines = max(
        lines_of(text, max(wide - CELL, 4.0)) for text, wide in zip(row, widths, strict=True)
    )
    return LINE * (lines - 1) + (WRITING if written and not head else ROW)


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    *,
    right: Sequence[int] = (),
    written: int | None = None,
) -> Block:
    """Return a table.

    Parameters
    ----------
    head : sequence of str
        Titles of the columns.
    rows : sequence of sequences of str
        Texts of the cells; a row of one is a heading for those below it.
    widths : sequence of float
        Widths of the columns [mm].
    right : sequence of int
        Columns that are set to the right.
    written : int, optional
        The column that is left empty to write in.
    """
    if not rows:
        return Block()
    kinds = [
        ' class="write"' if i == written else ' class="right"' if i in right else ""
        for i in range(len(head))
    ]
    columns = "".join(f'<col style="width:{wide:.1f}mm">' for wide in widths)
    titles = "".join(
        f'<th scope="col"{kind}>{words(text)}</th>' for text, kind in zip(head, kinds, strict=True)
    )
    body = "".join(
        "<tr>"
        + "".join(f"<td{kind}>{words(text)}</td>" for text, kind in zip(row, kinds, strict=True))
        + "</tr>"
        if len(row) > 1
        else f'<tr><th scope="rowgroup" colspan="{len(head)}">{words(row[0])}</th></tr>'
        for row in rows
    )
    height = _row_height(head, widths, head=True, written=written is not None)
    height += sum(_row_height(row, widths, head=False, written=written is not None) for row in rows)
    return Block(
        html=f"<table><colgroup>{columns}</colgroup><thead><tr>{titles}</tr></thead>"
        f"<tbody>{body}</tbody></table>",
        height=height,
    )
