"""An answer as plain JSON data: for ``--json``, for the page, for other programs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from evenrow import units
from evenrow.calculators.result import (
    Cell,
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
from evenrow.errors import ConvergenceError
from evenrow.units import UnitSystem
from evenrow.words import tr


def shown(value: Cell, kind: str, system: UnitSystem, digits: int = 3) -> str:
    """Return one value of an answer as people read it.

    Parameters
    ----------
    value : float, int, str or None
        SI value; None shows as a dash, a text as it is.
    kind : str
        Quantity of `evenrow.units`, ``"count"`` or ``"text"``.
    system : {"us", "metric"}
        Unit system.
    digits : int
        Significant digits.

    Returns
    -------
    str
        The text.
    """
    if isinstance(value, str):
        return value
    if value is None:
        return units.DASH
    if kind == "text":
        return units.format_number(value, digits)
    return units.format_value(value, kind, system, digits)


def to_data(result: Result, system: UnitSystem) -> dict[str, Any]:
    """Return an answer as plain data.

    Parameters
    ----------
    result : Result
        The answer of a calculator.
    system : {"us", "metric"}
        Unit system of the shown texts.

    Returns
    -------
    dict
        JSON data. Every number has its raw SI ``value``, its ``kind``, the ``unit`` of that
        value, and the ``text`` that people read.

    Raises
    ------
    ConvergenceError
        When a number came out as NaN or infinite: such an answer must not be shown.
    """
    return {
        "headline": _item(result.headline, system),
        "verdict": result.verdict,
        "notices": [_notice(notice) for notice in result.notices],
        "sections": [_section(section, system) for section in result.sections],
    }


def numbers(result: Result, system: UnitSystem) -> dict[str, dict[str, Any]]:
    """Return every `Number` of an answer by its name: value, kind, unit and text.

    Raises
    ------
    ConvergenceError
        As `to_data`.
    """
    return {number.name: _figure(number, system) for number in _numbers(result)}


def _numbers(result: Result) -> Iterator[Number]:
    if isinstance(result.headline, Number):
        yield result.headline
    for section in result.sections:
        for item in section.items:
            if isinstance(item, Number):
                yield item


def _figure(number: Number, system: UnitSystem) -> dict[str, Any]:
    return {
        "value": _finite(number.value, number.name),
        "kind": number.kind,
        "unit": _si(number.kind),
        "text": shown(number.value, number.kind, system, number.digits),
    }


def _si(kind: str) -> str:
    return units.si_unit(kind) if kind in units.QUANTITIES else ""


def _finite(value: Cell, name: str) -> Cell:
    """Return a value as plain data; array scalars become floats."""
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if not math.isfinite(value):
        raise ConvergenceError(
            tr("the number “{name}” did not come out", name=name), code="not_finite"
        )
    return float(value)


def _section(section: Section, system: UnitSystem) -> dict[str, Any]:
    return {"title": section.title, "items": [_item(item, system) for item in section.items]}


def _notice(notice: Notice) -> dict[str, str]:
    return {"level": notice.level, "text": notice.text}


def _item(
    item: Number | Fact | Table | Steps | Figure | Document, system: UnitSystem
) -> dict[str, Any]:
    match item:
        case Number():
            return {
                "type": "number",
                "name": item.name,
                "label": item.label,
                **_figure(item, system),
                "rule": item.rule,
                "source": item.source,
            }
        case Fact():
            return {
                "type": "fact",
                "name": item.name,
                "label": item.label,
                "text": item.text,
                "rule": item.rule,
                "source": item.source,
            }
        case Table():
            return _table(item, system)
        case Steps():
            return {
                "type": "steps",
                "name": item.name,
                "title": item.title,
                "items": list(item.items),
            }
        case Figure():
            return {
                "type": "figure",
                "name": item.name,
                "title": item.title,
                "svg": item.svg,
                "alternative": item.alternative,
            }
        case Document():
            return {
                "type": "document",
                "name": item.name,
                "title": item.title,
                "text": item.text,
                "filename": item.filename,
                "media_type": item.media_type,
            }


def _table(table: Table, system: UnitSystem) -> dict[str, Any]:
    takes = [mark.take for mark in table.marks]
    return {
        "type": "table",
        "name": table.name,
        "title": table.title,
        "note": table.note,
        "columns": [
            {"name": c.name, "label": c.label, "kind": c.kind, "unit": _si(c.kind)}
            for c in table.columns
        ],
        "rows": [
            [
                {
                    "value": _finite(cell, column.name),
                    "text": shown(cell, column.kind, system, column.digits),
                }
                for column, cell in zip(table.columns, row, strict=True)
            ]
            for row in table.rows
        ],
        # What the form of another calculator gets from each row, where it can be taken.
        **(
            {"takes": [None if take is None else dict(take.values) for take in takes]}
            if any(takes)
            else {}
        ),
    }
