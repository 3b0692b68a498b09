"""Form and answer of a calculator as HTML: plain, escaped, readable without scripts.

The same functions write the page at build time and the live answer in the browser.
Every text that does not stand in these files goes through `escaped`, so that nothing a
person or a link brings along can become markup.  The one exception is the SVG of a
`Figure`, which `evenrow.figures` makes.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import groupby

from evenrow.calculators.data import shown
from evenrow.calculators.html_carry import carry_html
from evenrow.calculators.html_form import escaped, form_html
from evenrow.calculators.result import (
    Cell,
    Column,
    Document,
    Fact,
    Figure,
    Notice,
    Number,
    Result,
    RowMark,
    Section,
    Steps,
    Table,
    Take,
)
from evenrow.calculators.spec import Calculator
from evenrow.catalogue.host import host_cautions
from evenrow.units import UnitSystem
from evenrow.words import said, tr

__all__ = ["form_html", "result_html"]

#: Tables of more columns are stacked on phones.
WIDE_TABLE = 4
#: With fewer sections there is nothing to jump to.
MOST_WITHOUT_JUMPS = 2
#: What a drawing says of itself; the element around it says it already.
_SPOKEN = re.compile(r'\s(?:role|aria-label)="[^"]*"')
#: Says that a drawing is made of parts and names itself.
_REACHED = 'role="group"'
NOTICE_WORDS = {"note": said("Note"), "warning": said("Mind"), "caution": said("Caution")}


def _why(name: str, rule: str, source: str, kind: str = "") -> str:
    """Return the fold that explains a figure; the page keeps it open or shut by its name."""
    if not rule and not source:
        return ""
    rule_ = f"<p>{escaped(rule)}</p>" if rule else ""
    named = tr("Source: {source}", source=source)
    source_ = f'<p class="er-source">{escaped(named)}</p>' if source else ""
    return (
        f'<details class="er-why{kind}" data-why="{escaped(name)}">'
        f"<summary>{escaped(tr('Why'))}</summary>"
        f"{rule_}{source_}</details>"
    )


def _value(name: str, value: Cell, kind: str, system: UnitSystem, digits: int) -> str:
    """Return a value with its name and its full SI figure, for tests and other readers."""
    # float() first: the repr of a NumPy scalar is not the plain figure.
    raw = "" if value is None or isinstance(value, str) else repr(float(value))
    return (
        f'<span class="er-value" data-name="{escaped(name)}" data-kind="{escaped(kind)}" '
        f'data-value="{raw}">{escaped(shown(value, kind, system, digits))}</span>'
    )


def _entry(item: Number | Fact, system: UnitSystem) -> str:
    if isinstance(item, Number):
        shown = _value(item.name, item.value, item.kind, system, item.digits)
    else:
        shown = (
            f'<span class="er-fact" data-name="{escaped(item.name)}">{escaped(item.text)}</span>'
        )
    return (
        f'<div class="er-entry"><dt>{escaped(item.label)}</dt>'
        f"<dd>{shown}{_why(item.name, item.rule, item.source)}</dd></div>"
    )


def _cell_class(kind: str, value: Cell = "") -> str:
    names = ["er-number-cell"] if kind not in ("text", "tick") else []
    names += ["er-empty"] if value is None else []
    return f' class="{" ".join(names)}"' if names else ""


def _cell(
    table: Table, index: int, column: Column, value: Cell, details: str, system: UnitSystem
) -> str:
    if column.kind == "text" or isinstance(value, str):
        inside = escaped("–" if value is None else value)
    else:
        name = f"{table.name}.{index}.{column.name}"
        inside = _value(name, value, column.kind, system, column.digits)
    label = escaped(column.label)
    return (
        f'<td role="cell"{_cell_class(column.kind, value)} data-label="{label}">'
        f"{inside}{details}</td>"
    )


def _row(table: Table, index: int, system: UnitSystem) -> str:
    """Return one row; what explains it is folded up in its first text cell."""
    pairs = list(zip(table.columns, table.rows[index], strict=True))
    texts = [str(value) for column, value in pairs if column.detail and value]
    details = _why(f"{table.name}.{index}", " ".join(texts), "", " er-detail")
    shown_pairs = [(column, value) for column, value in pairs if not column.detail]
    named = next((i for i, (column, _) in enumerate(shown_pairs) if column.kind == "text"), 0)
    cells = (
        _cell(table, index, column, value, details if place == named else "", system)
        for place, (column, value) in enumerate(shown_pairs)
    )
    mark = table.marks[index] if table.marks else RowMark()
    taken = "" if not _takes(table) else _take(mark.take)
    return f'<tr role="row"{_row_marks(mark)}>{"".join(cells)}{taken}</tr>'


def _row_marks(mark: RowMark) -> str:
    """Return the attributes of a row, by which scripts and styles know it."""
    names = " ".join(name for name, on in (("er-top", mark.best), ("er-muted", mark.muted)) if on)
    return "".join(
        f' {name}="{escaped(value)}"'
        for name, value in (
            ("class", names),
            ("data-part", mark.part or ""),
            ("data-option", mark.option),
        )
        if value
    )


def _takes(table: Table) -> bool:
    return any(mark.take is not None for mark in table.marks)


def _take(take: Take | None) -> str:
    """Return the cell with the button that carries a row's values on; scripts show it."""
    if take is None:
        return '<td role="cell" class="er-empty"></td>'
    values = json.dumps(dict(take.values), ensure_ascii=False)
    return (
        '<td role="cell" class="er-take-cell"><button type="button" class="er-button er-take" '
        f'data-to="{escaped(take.to)}" data-values="{escaped(values)}" '
        f'data-label="{escaped(take.label)}" hidden>{escaped(tr("Take this one"))}</button></td>'
    )


def _without_empty_columns(table: Table) -> Table:
    """Return the table without the columns that say nothing in any row."""
    kept = [
        place
        for place, _ in enumerate(table.columns)
        if not table.rows or any(row[place] is not None for row in table.rows)
    ]
    return replace(
        table,
        columns=tuple(table.columns[place] for place in kept),
        rows=tuple(tuple(row[place] for place in kept) for row in table.rows),
    )


def _result_table(table: Table, system: UnitSystem, above: str) -> str:
    """Return a table; `above` is the title that it stands under.

    The roles say again what the elements mean, because browsers forget it for tables that
    a style sheet lays out as cards.
    """
    table = _without_empty_columns(table)
    columns = [column for column in table.columns if not column.detail]
    head = "".join(
        f'<th scope="col" role="columnheader"{_cell_class(c.kind)}>{escaped(c.label)}</th>'
        for c in columns
    )
    head += '<th scope="col" role="columnheader"></th>' if _takes(table) else ""
    body = "".join(_row(table, index, system) for index in range(len(table.rows)))
    sortable = ' data-sortable="yes"' if table.sortable else ""
    note = f'<p class="er-help">{escaped(table.note)}</p>' if table.note else ""
    wide = " er-wide" if len(columns) > WIDE_TABLE else ""
    return (
        f'<div class="er-result-table{wide}" data-table="{escaped(table.name)}"{sortable} '
        f'tabindex="0" role="region" aria-label="{escaped(table.title)}">'
        f'<table role="table"><caption{_unseen(table.title, above)}>{escaped(table.title)}'
        f'</caption><thead role="rowgroup"><tr role="row">{head}</tr></thead>'
        f'<tbody role="rowgroup">{body}</tbody></table></div>{note}'
    )


def _unseen(title: str, above: str) -> str:
    """Return the class of a title that only repeats the one above it."""
    return ' class="er-unseen"' if title.casefold() == above.casefold() else ""


def _silent(svg: str) -> str:
    """Return a drawing that is not read out again beside the words for it."""
    start, mark, rest = svg.partition(">")
    start = _SPOKEN.sub("", start).replace("<svg", '<svg aria-hidden="true" focusable="false"', 1)
    return start + mark + rest


def _item(item: Table | Steps | Figure | Document, system: UnitSystem, above: str) -> str:
    if isinstance(item, Table) and item.folded:
        return (
            f'<details class="er-fold" data-why="{escaped(item.name)}">'
            f"<summary>{escaped(item.title)}</summary>"
            f"{_result_table(item, system, item.title)}</details>"
        )
    if isinstance(item, Table):
        return _result_table(item, system, above)
    if isinstance(item, Document):
        return _document(item)
    if isinstance(item, Steps):
        steps = "".join(f"<li>{escaped(step)}</li>" for step in item.items)
        same = item.title.casefold() == above.casefold()
        title = "" if same else f'<p class="er-steps-title">{escaped(item.title)}</p>'
        return f'<div class="er-steps">{title}<ol>{steps}</ol></div>'
    caption = f"<figcaption>{escaped(item.title)}</figcaption>"
    if _REACHED in item.svg.partition(">")[0]:
        # Its parts can be reached by key and by touch, so it must not be one silent picture.
        return f'<figure class="er-figure">{item.svg}{caption}</figure>'
    return (
        f'<figure class="er-figure"><div role="img" aria-label="{escaped(item.alternative)}">'
        f"{_silent(item.svg)}</div>{caption}</figure>"
    )


def _document(item: Document) -> str:
    """Return a folded text; the page adds the buttons that copy and save it."""
    return (
        f'<details class="er-document" data-document="{escaped(item.name)}" '
        f'data-why="document.{escaped(item.name)}" data-filename="{escaped(item.filename)}" '
        f'data-media-type="{escaped(item.media_type)}"><summary>{escaped(item.title)}</summary>'
        f'<pre tabindex="0" role="region" aria-label="{escaped(item.title)}">'
        f"{escaped(item.text)}</pre></details>"
    )


def _part_id(number: int) -> str:
    return f"er-part-{number}"


def _jumps(sections: tuple[Section, ...]) -> str:
    """Return links to the sections of a long answer."""
    if len(sections) <= MOST_WITHOUT_JUMPS:
        return ""
    links = "".join(
        f'<a href="#{_part_id(number)}">{escaped(section.title)}</a>'
        for number, section in enumerate(sections, start=1)
    )
    name = escaped(tr("Parts of this answer"))
    return f'<nav class="er-jumps" aria-label="{name}">{links}</nav>'


def _section(number: int, section: Section, system: UnitSystem) -> str:
    parts = []
    for is_entry, items in groupby(section.items, key=lambda i: isinstance(i, Number | Fact)):
        if is_entry:
            entries = "".join(_entry(i, system) for i in items if isinstance(i, Number | Fact))
            parts.append(f'<dl class="er-entries">{entries}</dl>')
        else:
            parts += [
                _item(i, system, section.title) for i in items if not isinstance(i, Number | Fact)
            ]
    return (
        f'<section class="er-section" id="{_part_id(number)}" tabindex="-1">'
        f"<h3>{escaped(section.title)}</h3>{''.join(parts)}</section>"
    )


def _notice(notice: Notice) -> str:
    word = escaped(tr(NOTICE_WORDS[notice.level]))
    return (
        f'<p class="er-notice er-{notice.level}"><strong>{word}.</strong> '
        f"{escaped(notice.text)}</p>"
    )


def result_html(calculator: Calculator, result: Result, system: UnitSystem) -> str:
    """Return an answer as HTML.

    Parameters
    ----------
    calculator : Calculator
        Whose answer; its cautions stand with it.
    result : Result
        The answer.
    system : {"us", "metric"}
        Units to show; the full SI figures stand in ``data-value``.

    Returns
    -------
    str
        One ``<div class="er-answer">``.
    """
    head = result.headline
    if isinstance(head, Number):
        big = _value(head.name, head.value, head.kind, system, head.digits)
    else:
        big = f'<span class="er-fact" data-name="{escaped(head.name)}">{escaped(head.text)}</span>'
    told = (*(tr(text) for text in calculator.cautions), *host_cautions())
    cautions = [Notice(level="caution", text=text) for text in told]
    # What may change the reader's mind about the answer stands right below it; the rest, which
    # always holds, must not push the answer out of sight.
    first = [notice for notice in result.notices if notice.level == "warning"]
    last = [*(notice for notice in result.notices if notice.level != "warning"), *cautions]
    return (
        f'<div class="er-answer" data-calculator="{escaped(calculator.id)}">'
        f'<div class="er-headline"><p class="er-headline-label">{escaped(head.label)}</p>'
        f'<p class="er-headline-value">{big}</p><p class="er-verdict">{escaped(result.verdict)}</p>'
        f"{_why(head.name, head.rule, head.source)}</div>{_jumps(result.sections)}"
        f"{''.join(_notice(notice) for notice in first)}"
        f"{''.join(_section(n, s, system) for n, s in enumerate(result.sections, start=1))}"
        f"{carry_html(calculator, result, system)}"
        f"{''.join(_notice(notice) for notice in last)}</div>"
    )
