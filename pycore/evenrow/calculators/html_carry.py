"""Where an answer goes on: links to other calculators that take values of it along."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from evenrow.calculators.data import shown
from evenrow.calculators.html_form import escaped
from evenrow.calculators.result import Fact, Named, Number, Result, Table
from evenrow.calculators.spec import Calculator, Carry
from evenrow.units import UnitSystem, format_value
from evenrow.words import tr, use_language

#: Significant digits that are taken along: more than people need, and still fit to be read.
DIGITS = 5


def carried_numbers(result: Result) -> dict[str, Number]:
    """Return the numbers of an answer by name; those without a value are left out."""
    found = [item for section in result.sections for item in section.items]
    numbers = [item for item in (result.headline, *found) if isinstance(item, Number)]
    return {number.name: number for number in numbers if number.value is not None}


def carried_values(carry: Carry, result: Result, system: UnitSystem) -> dict[str, Any]:
    """Return what an answer fills in another form.

    Parameters
    ----------
    carry : Carry
        What goes over.
    result : Result
        The answer.
    system : {"us", "metric"}
        Units in which numbers are written.

    Returns
    -------
    dict
        By field of the other: a text, or for a table a list of rows (text by column). What
        the answer does not have is left out.  Values go into a document, so that their units are
        written as in every language.
    """
    with use_language("en"):
        return _carried(carry, result, system)


def _carried(carry: Carry, result: Result, system: UnitSystem) -> dict[str, Any]:
    numbers = carried_numbers(result)
    taken: dict[str, Any] = dict(carry.fixed)
    taken |= {
        field: format_value(number.value, number.kind, system, DIGITS)
        for name, field in carry.numbers.items()
        if (number := numbers.get(name)) is not None
    }
    items = [item for section in result.sections for item in section.items]
    for item in (result.headline, *items):
        if isinstance(item, Fact) and item.name in carry.facts and isinstance(item.text, Named):
            taken[carry.facts[item.name]] = item.text.value
    for table in items:
        if isinstance(table, Table) and table.name in carry.tables:
            field, columns = carry.tables[table.name]
            taken[field] = _rows(table, columns, system)
    return taken


def _rows(table: Table, columns: Mapping[str, str], system: UnitSystem) -> list[dict[str, str]]:
    found = []
    for cells in table.rows:
        pairs = zip(table.columns, cells, strict=True)
        found.append(
            {
                columns[column.name]: cell.value
                if isinstance(cell, Named)
                else shown(cell, column.kind, system, DIGITS)
                for column, cell in pairs
                if column.name in columns and cell is not None and cell != ""
            }
        )
    return found


def added_rows(carry: Carry, result: Result, system: UnitSystem) -> dict[str, Any]:
    """Return the rows that an answer adds to tables of another form.

    Returns
    -------
    dict
        By table field: ``row`` (text by column), ``inputs`` and ``dated`` as of `Added`. Left
        out where the answer lacks one of its numbers.
    """
    numbers = carried_numbers(result)
    with use_language("en"):
        return {
            field: {
                "row": {
                    column: format_value(numbers[name].value, numbers[name].kind, system, DIGITS)
                    for name, column in added.numbers.items()
                },
                "inputs": dict(added.inputs),
                "dated": added.dated,
            }
            for field, added in carry.adds.items()
            if all(name in numbers for name in added.numbers)
        }


def carry_html(calculator: Calculator, result: Result, system: UnitSystem) -> str:
    """Return the links that take an answer to other calculators.

    Parameters
    ----------
    calculator : Calculator
        Whose answer it is.
    result : Result
        The answer.
    system : {"us", "metric"}
        Units in which numbers are written.

    Returns
    -------
    str
        A ``<nav>``; "" when nothing goes on from here. Without scripts the links only lead to
        the other pages. With them ``data-values`` (see `carried_values`) and
        ``data-inputs`` (fields of the other by field of this one), both JSON, go along, and
        ``data-adds`` (see `added_rows`) where there are any.
    """
    links = []
    for carry in calculator.carries:
        taken = carried_values(carry, result, system)
        adds = added_rows(carry, result, system)
        added = f'data-adds="{escaped(json.dumps(adds))}" ' if adds else ""
        links.append(
            f'<a class="er-button er-carry" href="../{escaped(carry.to)}/" '
            f'data-to="{escaped(carry.to)}" data-values="{escaped(json.dumps(taken))}" '
            f'{added}data-inputs="{escaped(json.dumps(dict(carry.inputs)))}">'
            f"{escaped(tr(carry.label))}</a>"
        )
    if not links:
        return ""
    title = escaped(tr("Use this in"))
    return (
        f'<nav class="er-carries" aria-label="{title}">'
        f'<p class="er-carries-title">{title}</p>{"".join(links)}</nav>'
    )
