"""Form and answer of a calculator as HTML: plain, escaped, readable without scripts.

The same functions write the page at build time and the live answer in the browser.
Every text that does not stand in these files goes through `escaped`, so that nothing a
person or a link brings along can become markup.  The one exception is the SVG of a
`Figure`, which `evenrow.figures` makes.
"""

from __future__ import annotations

from itertools import groupby

from evenrow.calculators.data import shown
from evenrow.calculators.html_form import escaped, form_html
from evenrow.calculators.result import (
    Cell,
    Column,
    Fact,
    Figure,
    Notice,
    Number,
    Result,
    Section,
    Steps,
    Table,
)
from evenrow.calculators.spec import Calculator
from evenrow.units import UnitSystem

__all__ = ["form_html", "result_html"]

#: Tables of more columns are stacked on phones.
WIDE_TABLE = 4
NOTICE_WORDS = {"note": "Note", "warning": "Mind", "caution": "Caution"}


def _why(rule: str, source: str) -> str:
    if not rule and not source:
        return ""
    rule_ = f"<p>{escaped(rule)}</p>" if rule else ""
    source_ = f'<p class="er-source">Source: {escaped(source)}</p>' if source else ""
    return f'<details class="er-why"><summary>Why</summary>{rule_}{source_}</details>'


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
        f"<dd>{shown}{_why(item.rule, item.source)}</dd></div>"
    )


def _cell_class(kind: str, value: Cell = "") -> str:
    names = ["er-number-cell"] if kind != "text" else []
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
    return f'<td{_cell_class(column.kind, value)} data-label="{label}">{inside}{details}</td>'


def _row(table: Table, index: int, system: UnitSystem) -> str:
    """Return one row; what explains it stands as small print in its first text cell."""
    pairs = list(zip(table.columns, table.rows[index], strict=True))
    details = "".join(
        f'<span class="er-detail">{escaped(value)}</span>'
        for column, value in pairs
        if column.detail and value
    )
    shown_pairs = [(column, value) for column, value in pairs if not column.detail]
    named = next((i for i, (column, _) in enumerate(shown_pairs) if column.kind == "text"), 0)
    cells = (
        _cell(table, index, column, value, details if place == named else "", system)
        for place, (column, value) in enumerate(shown_pairs)
    )
    return f"<tr>{''.join(cells)}</tr>"


def _result_table(table: Table, system: UnitSystem) -> str:
    columns = [column for column in table.columns if not column.detail]
    head = "".join(f'<th scope="col"{_cell_class(c.kind)}>{escaped(c.label)}</th>' for c in columns)
    body = "".join(_row(table, index, system) for index in range(len(table.rows)))
    note = f'<p class="er-help">{escaped(table.note)}</p>' if table.note else ""
    wide = " er-wide" if len(columns) > WIDE_TABLE else ""
    return (
        f'<div class="er-result-table{wide}" data-table="{escaped(table.name)}" tabindex="0" '
        f'role="region" aria-label="{escaped(table.title)}">'
        f"<table><caption>{escaped(table.title)}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>{note}"
    )


def _item(item: Table | Steps | Figure, system: UnitSystem) -> str:
    if isinstance(item, Table):
        return _result_table(item, system)
    if isinstance(item, Steps):
        steps = "".join(f"<li>{escaped(step)}</li>" for step in item.items)
        title = f'<p class="er-steps-title">{escaped(item.title)}</p>'
        return f'<div class="er-steps">{title}<ol>{steps}</ol></div>'
    return (
        f'<figure class="er-figure"><div role="img" aria-label="{escaped(item.alternative)}">'
        f"{item.svg}</div><figcaption>{escaped(item.title)}</figcaption></figure>"
    )


def _section(section: Section, system: UnitSystem) -> str:
    parts = []
    for is_entry, items in groupby(section.items, key=lambda i: isinstance(i, Number | Fact)):
        if is_entry:
            entries = "".join(_entry(i, system) for i in items if isinstance(i, Number | Fact))
            parts.append(f'<dl class="er-entries">{entries}</dl>')
        else:
            parts += [_item(i, system) for i in items if not isinstance(i, Number | Fact)]
    return (
        f'<section class="er-section"><h3>{escaped(section.title)}</h3>{"".join(parts)}</section>'
    )


def _notice(notice: Notice) -> str:
    return (
        f'<p class="er-notice er-{notice.level}"><strong>{NOTICE_WORDS[notice.level]}.</strong> '
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
    cautions = [Notice(level="caution", text=text) for text in calculator.cautions]
    # What may change the reader's mind about the answer stands right below it; the rest, which
    # always holds, must not push the answer out of sight.
    first = [notice for notice in result.notices if notice.level == "warning"]
    last = [*(notice for notice in result.notices if notice.level != "warning"), *cautions]
    return (
        f'<div class="er-answer" data-calculator="{escaped(calculator.id)}">'
        f'<div class="er-headline"><p class="er-headline-label">{escaped(head.label)}</p>'
        f'<p class="er-headline-value">{big}</p><p class="er-verdict">{escaped(result.verdict)}</p>'
        f"{_why(head.rule, head.source)}</div>"
        f"{''.join(_notice(notice) for notice in first)}"
        f"{''.join(_section(section, system) for section in result.sections)}"
        f"{''.join(_notice(notice) for notice in last)}</div>"
    )
