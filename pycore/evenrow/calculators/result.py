"""What a calculator answers: numbers with their rule and source, tables, notices.

A `Result` knows nothing of forms, pages or terminals; `text`, `html` and `data`
in this package turn it into what a person or a program reads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Cell = float | int | str | None


class Named(str):
    """A choice as people read it, with the `value` that a form of another calculator takes."""

    value: str

    def __new__(cls, text: str, value: str) -> Named:
        """Return the text with its value."""
        found = super().__new__(cls, text)
        found.value = value
        return found


@dataclass(frozen=True, kw_only=True)
class Number:
    """One figure of the answer.

    Parameters
    ----------
    name : str
        Stable name (``"run_length"``).
    label : str
        What people read beside it.
    value : float or int or None
        SI value (pressure as metres of water); None shows as a dash.
    kind : str
        Quantity known to `evenrow.units`, or ``"count"`` / ``"number"``.
    digits : int
        Significant digits to show.
    rule : str
        How it was worked out, in one or two sentences.
    source : str
        Where the rule is published, or "common practice, no source".
    """

    name: str
    label: str
    value: float | int | None
    kind: str
    digits: int = 3
    rule: str = ""
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One worded part of the answer: what limits, which part, which choice."""

    name: str
    label: str
    text: str
    rule: str = ""
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of a `Table`; `kind` as in `Number`, ``"text"``, or ``"tick"`` (boxes to tick).

    A `detail` column explains the row: it is shown below it where there is room, and left out
    of a plain print.
    """

    name: str
    label: str
    kind: str = "text"
    digits: int = 3
    detail: bool = False


@dataclass(frozen=True, kw_only=True)
class Take:
    """A way on from a row: values that go into a form when somebody takes it.

    Parameters
    ----------
    to : str
        Id of the calculator whose form takes them.
    values : mapping of str to str
        Text by dotted name of the field, rows of a table counted from 0
        (``"rows.0.lines"``); everything else in the form stays.
    label : str
        What is taken, in words.
    """

    to: str
    values: Mapping[str, str]
    label: str


@dataclass(frozen=True, kw_only=True)
class RowMark:
    """What a row of a table is beside its cells.

    Parameters
    ----------
    part : int or None
        Its number in the parts list, by which a drawing finds it.
    option : str
        Its id in a chart of options.
    best, muted : bool
        Whether it is shown as one of the best, or as one that others better.
    take : Take or None
        What somebody gets who takes it.
    """

    part: int | None = None
    option: str = ""
    best: bool = False
    muted: bool = False
    take: Take | None = None


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows of SI values and texts, in the order of `columns`.

    `marks` says more of each row, if of any. A `sortable` table can be put in the order of any
    column; a `folded` one opens when it is asked for.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""
    marks: tuple[RowMark, ...] = ()
    sortable: bool = False
    folded: bool = False


@dataclass(frozen=True, kw_only=True)
class Steps:
    """An ordered list of plain sentences: an assembly order, a flushing order."""

    name: str
    title: str
    items: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A drawing as SVG text (made by `evenrow.figures`) with its text alternative."""

    name: str
    title: str
    svg: str
    alternative: str


@dataclass(frozen=True, kw_only=True)
class Document:
    """A text to copy or to keep as a file: `filename` and `media_type` are those of the file."""

    name: str
    title: str
    text: str
    filename: str
    media_type: str


@dataclass(frozen=True, kw_only=True)
class Notice:
    """Something the reader should know: a ``note``, a ``warning`` or a safety ``caution``."""

    level: Literal["note", "warning", "caution"]
    text: str


@dataclass(frozen=True, kw_only=True)
class Section:
    """A titled part of the answer."""

    title: str
    items: tuple[Number | Fact | Table | Steps | Figure | Document, ...]


@dataclass(frozen=True, kw_only=True)
class Result:
    """The whole answer of a calculator.

    Parameters
    ----------
    headline : Number or Fact
        The one answer to the calculator's question.
    verdict : str
        One plain sentence that says what the headline means for the reader.
    sections : tuple of Section
        The rest, most wanted first.
    notices : tuple of Notice
        What to mind.
    """

    headline: Number | Fact
    verdict: str
    sections: tuple[Section, ...] = ()
    notices: tuple[Notice, ...] = ()
