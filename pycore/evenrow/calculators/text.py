"""An answer as text for a terminal: the answer first, then tables that line up."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace

from evenrow.calculators.data import shown
from evenrow.calculators.result import (
    Document,
    Fact,
    Figure,
    Notice,
    Number,
    Result,
    Section,
    Steps,
    Table,
)
from evenrow.units import UnitSystem
from evenrow.words import said, tr

#: Width of the text. [characters]
WIDTH = 88

_LEVELS = {"note": said("Note"), "warning": said("Warning"), "caution": said("Caution")}
#: Between the columns of a table.
_GAP = "  "
#: A column of running text is not made narrower than this.
_NARROWEST = 12


def to_text(
    result: Result,
    system: UnitSystem,
    name: str = "",
    *,
    explain: bool = False,
    cautions: Sequence[str] = (),
) -> str:
    """Return an answer as people read it in a terminal.

    Parameters
    ----------
    result : Result
        The answer of a calculator.
    system : {"us", "metric"}
        Unit system.
    name : str
        Name of the design, put on top.
    explain : bool
        Whether the rule and the source of each number follow it.
    cautions : sequence of str
        Safety notes of the calculator, put last.

    Returns
    -------
    str
        Lines of at most `WIDTH` characters, a table aside that cannot be narrower; ends with
        a line break.
    """
    lines: list[str] = [name, ""] if name else []
    lines += _entries([result.headline], system, explain)
    lines += _wrapped(result.verdict)
    for notice in result.notices:
        lines += _notice(notice)
    for section in result.sections:
        lines += ["", section.title, "-" * len(section.title)]
        lines += _section(section, system, explain)
    if cautions:
        lines.append("")
        for caution in cautions:
            lines += _notice(Notice(level="caution", text=tr(caution)))
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _notice(notice: Notice) -> list[str]:
    return _wrapped(f"{tr(_LEVELS[notice.level])}: {notice.text}", rest="  ")


def _section(section: Section, system: UnitSystem, explain: bool) -> Iterator[str]:
    """Yield the lines of a section; figures and words that follow each other line up."""
    run: list[Number | Fact] = []
    for item in section.items:
        if isinstance(item, Number | Fact):
            run.append(item)
            continue
        if isinstance(item, Document):
            # A file is for a page or for ``--json``; a terminal shows its figures already.
            continue
        yield from _entries(run, system, explain)
        run = []
        if item.title == section.title:
            yield from _block(item, system, explain)[1:]
        else:
            yield from ("", *_block(item, system, explain))
    yield from _entries(run, system, explain)


def _entries(items: Sequence[Number | Fact], system: UnitSystem, explain: bool) -> list[str]:
    """Return ``label  value`` lines, values below each other."""
    lines: list[str] = []
    width = max((len(item.label) for item in items), default=0)
    for item in items:
        if isinstance(item, Number):
            value = shown(item.value, item.kind, system, item.digits)
        else:
            value = item.text
        lines += _wrapped(value, f"{item.label:<{width}}{_GAP}", " " * (width + len(_GAP)))
        if explain and item.rule:
            lines += _wrapped(item.rule, "    ", "    ")
        if explain and item.source:
            lines += _wrapped(tr("Source: {source}", source=item.source), "    ", "    ")
    return lines


def _block(item: Table | Steps | Figure, system: UnitSystem, explain: bool) -> list[str]:
    if isinstance(item, Table):
        return _table(_shown_columns(item, explain), system)
    if isinstance(item, Figure):
        return [item.title, *_wrapped(item.alternative, "  ", "  ")]
    lines = [item.title]
    width = len(str(len(item.items)))
    for count, step in enumerate(item.items, 1):
        lines += _wrapped(step, f"{count:>{width}}. ", " " * (width + 2))
    return lines


def _shown_columns(table: Table, explain: bool) -> Table:
    """Return a table without empty columns and, unless explained, without details."""
    keep = [
        i
        for i, column in enumerate(table.columns)
        if (explain or not column.detail) and any(row[i] is not None for row in table.rows)
    ]
    return replace(
        table,
        columns=tuple(table.columns[i] for i in keep),
        rows=tuple(tuple(row[i] for i in keep) for row in table.rows),
    )


def _table(table: Table, system: UnitSystem) -> list[str]:
    """Return a table with aligned columns; the widest text column gives way.

    What explains a row stands below it, as columns for it would starve the others.
    """
    lines = [table.title]
    table, details = _apart(table)
    if not table.rows:
        return [*lines, f"  ({tr('nothing')})"]
    cells = [
        [
            shown(cell, column.kind, system, column.digits)
            for column, cell in zip(table.columns, row, strict=True)
        ]
        for row in table.rows
    ]
    head = [column.label for column in table.columns]
    right = [column.kind != "text" for column in table.columns]
    widths = _widths(head, cells, right)
    lines += _row(head, widths, right)
    lines.append(_GAP.join("-" * width for width in widths))
    for row, detail in zip(cells, details, strict=True):
        lines += _row(row, widths, right)
        lines += _wrapped(detail, "    ", "    ")
    if table.note:
        lines += _wrapped(table.note)
    return lines


def _apart(table: Table) -> tuple[Table, list[str]]:
    """Return a table without its details, and those of each row as one text."""
    plain = [i for i, column in enumerate(table.columns) if not column.detail]
    rest = [i for i, column in enumerate(table.columns) if column.detail]
    details = [" ".join(str(row[i]) for i in rest if row[i]) for row in table.rows]
    columns = tuple(table.columns[i] for i in plain)
    rows = tuple(tuple(row[i] for i in plain) for row in table.rows)
    return replace(table, columns=columns, rows=rows), details


def _widths(
    head: Sequence[str], cells: Sequence[Sequence[str]], right: Sequence[bool]
) -> list[int]:
    """Return the widths of the columns.

    Where they do not fit, headings break into lines first, then the widest texts give way;
    numbers never do.
    """
    bodies = [max(len(row[i]) for row in cells) for i in range(len(head))]
    widths = [max(body, len(label)) for body, label in zip(bodies, head, strict=True)]
    room = WIDTH - len(_GAP) * (len(widths) - 1)
    if sum(widths) > room:
        words = [max((len(word) for word in label.split()), default=0) for label in head]
        widths = [max(body, word) for body, word in zip(bodies, words, strict=True)]
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda i: -1 if right[i] else widths[i])
        if right[widest] or widths[widest] <= _NARROWEST:
            break
        widths[widest] = max(_NARROWEST, widths[widest] - (sum(widths) - room))
    return widths


def _row(cells: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> list[str]:
    """Return one row of a table, on as many lines as its longest cell needs."""
    stacks = [
        (textwrap.wrap(cell, width) or [""]) if width < len(cell) else [cell]
        for cell, width in zip(cells, widths, strict=True)
    ]
    return [
        _GAP.join(
            _aligned(stack[line] if line < len(stack) else "", width, to_right)
            for stack, width, to_right in zip(stacks, widths, right, strict=True)
        )
        for line in range(max(len(stack) for stack in stacks))
    ]


def _aligned(text: str, width: int, to_right: bool) -> str:
    return text.rjust(width) if to_right else text.ljust(width)
