"""Cells of a weather table into numbers in one unit, and what cannot be true."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evenrow.calculators.weather_columns import COLUMNS, KINDS, name_words, plain_unit
from evenrow.calculators.weather_dates import MAX_ERRORS
from evenrow.errors import InputError, InputErrors
from evenrow.words import said, tr

FloatArray = NDArray[np.float64]
#: What becomes of values that cannot be true.
Impossible = Literal["refuse", "gap"]

_MISSING = frozenset(
    (
        *("", "-", "--", "---", ".", "*", "/", "?", "m", "x"),
        *("na", "n/a", "nan", "null", "none", "nd"),
        *("-99", "-99.9", "-999", "-999.0", "-999.9", "-9999", "-9999.0"),
    )
)
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
_COMMA_NUMBER = re.compile(r"[+-]?\d*,\d+", re.ASCII)
_POINT_NUMBER = re.compile(r"[+-]?\d*\.\d+", re.ASCII)
#: Instruments tell up to this much more than full humidity.
_WET = 1.05


def read_values(
    raw: Mapping[str, Sequence[str]],
    units: Mapping[str, str],
    lines: Sequence[int],
    impossible: Impossible,
) -> tuple[dict[str, FloatArray], list[str]]:
    """Return the columns as numbers in the units of `weather_table.WeatherTable`.

    Parameters
    ----------
    raw : mapping
        Column name -> its cells.
    units : mapping
        Column name -> unit as written, "" where none is told.
    lines : sequence of int
        Line of each cell, for errors.
    impossible : {"refuse", "gap"}
        What becomes of values that cannot be true.

    Returns
    -------
    (dict, list of str)
        Column name -> numbers, NaN for gaps; and what was assumed.

    Raises
    ------
    InputError
        If a unit is not known or decimal signs are mixed.
    InputErrors
        If cells are no numbers or cannot be true; at most 20 are told.
    """
    notes = []
    comma = _decimal_comma(raw)
    if comma:
        notes.append(tr("commas in numbers are read as decimal points"))
    written: dict[str, FloatArray] = {}
    errors: list[InputError] = []
    for name, cells in raw.items():
        written[name], wrong = _numbers(name, cells, lines, comma)
        errors += wrong
    if errors:
        raise InputErrors(errors[:MAX_ERRORS])
    values, chosen = {}, {}
    for name, column in written.items():
        chosen[name], note = _unit(name, units, written)
        notes += [note] if note else []
        factor, shift = KINDS[COLUMNS[name]].units[chosen[name]]
        values[name] = column * factor + shift
    gone, errors = 0, []
    for name, column in values.items():
        bad = _out_of_bounds(name, column, notes)
        errors += [
            _wrong(name, lines[i], tr("cannot be true"), raw[name][i], _bounds(name, chosen[name]))
            for i in np.flatnonzero(bad)[:MAX_ERRORS]
        ]
        gone += int(bad.sum())
        column[bad] = np.nan
    for low, high in (("tmin", "tmax"), ("rh_min", "rh_max")):
        if low in values and high in values:
            crossed = values[low] > values[high]
            errors += [
                _wrong(
                    high,
                    lines[i],
                    tr("is below {column}", column=name_words(low)),
                    tr("{high} and {low}", high=raw[high][i], low=raw[low][i]),
                    tr("at least {column}", column=name_words(low)),
                )
                for i in np.flatnonzero(crossed)[:MAX_ERRORS]
            ]
            gone += 2 * int(crossed.sum())
            values[low][crossed] = values[high][crossed] = np.nan
    if errors and impossible == "refuse":
        raise InputErrors(errors[:MAX_ERRORS])
    if gone:
        notes.append(tr("{count} values that cannot be true are left out", count=gone))
    return values, notes


def _out_of_bounds(name: str, column: FloatArray, notes: list[str]) -> NDArray[np.bool_]:
    """Return which values cannot be true; a little over full humidity is put right in place."""
    kind = KINDS[COLUMNS[name]]
    if COLUMNS[name] == "humidity":
        above = (column > 1.0 + 1e-12) & (column <= _WET)
        if above.any():
            column[above] = 1.0
            notes.append(
                tr(
                    "{column} is above 100 % on {count} days and counts as 100 %",
                    column=name_words(name),
                    count=above.sum(),
                )
            )
    bad = (column < kind.low - 1e-12) | (column > kind.high + 1e-12)
    np.clip(column, kind.low, kind.high, out=column, where=~bad)  # rounding of the unit
    return bad


def _bounds(name: str, unit: str) -> str:
    """Say in the table's own unit what can be true."""
    kind = KINDS[COLUMNS[name]]
    factor, shift = kind.units[unit]
    low, high = (round((bound - shift) / factor, 6) + 0.0 for bound in (kind.low, kind.high))
    return tr("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit)


def _decimal_comma(raw: Mapping[str, Sequence[str]]) -> bool:
    """Whether numbers have decimal commas; raises if some have and some have points."""
    commas = points = ""
    for cells in raw.values():
        commas = commas or next((cell for cell in cells if _COMMA_NUMBER.fullmatch(cell)), "")
        points = points or next((cell for cell in cells if _POINT_NUMBER.fullmatch(cell)), "")
    if commas and points:
        raise InputError(
            tr(
                "some numbers have commas ({commas}) and some points ({points})",
                commas=commas,
                points=points,
            ),
            code="ambiguous",
            field="weather",
            given=tr("{commas} and {points}", commas=commas, points=points),
            accepted=tr("one decimal sign in all numbers"),
        )
    return bool(commas)


def _numbers(
    name: str, cells: Sequence[str], lines: Sequence[int], comma: bool
) -> tuple[FloatArray, list[InputError]]:
    """Return a column as numbers, NaN for gaps, and the cells that are none."""
    out = np.full(len(cells), np.nan)
    errors: list[InputError] = []
    for place, cell in enumerate(cells):
        text = cell.replace(",", ".") if comma else cell
        if _NUMBER.fullmatch(text) and text not in _MISSING:
            out[place] = float(text)
        elif text.lower() in _MISSING:
            continue
        elif name == "rain" and text.lower() in ("t", "tr", "trace"):
            out[place] = 0.0
        elif len(errors) < MAX_ERRORS:
            errors.append(
                InputError(
                    tr("is no number"),
                    code="not_a_number",
                    field=_place(name, lines[place]),
                    given=cell,
                    accepted=tr("a number, or nothing"),
                )
            )
    return out, errors


def _unit(
    name: str, units: Mapping[str, str], written: Mapping[str, FloatArray]
) -> tuple[str, str]:
    """Return the unit of a column, and a note if it was assumed."""
    kind = KINDS[COLUMNS[name]]
    if told := units.get(name, ""):
        unit = plain_unit(told[:24])
        if unit not in kind.units:
            raise InputError(
                tr("the unit of the column {column} is not known", column=name_words(name)),
                code="unknown_unit",
                field=name_words(name),
                given=told,
                accepted=", ".join(list(kind.units)[:12]),
            )
        return unit, ""
    like = [
        plain_unit(unit[:24])
        for other, unit in units.items()
        if unit and COLUMNS[other] == COLUMNS[name] and plain_unit(unit[:24]) in kind.units
    ]
    alike = [column for other, column in written.items() if COLUMNS[other] == COLUMNS[name]]
    top = float(np.fmax.reduce(np.concatenate(alike)))
    hot = said("{column} is read in {unit}, because there are values above 60")
    if like:
        unit, note = like[0], said("{column} is read in {unit}, like the columns beside it")
    elif COLUMNS[name] == "humidity" and top <= 1.0:
        unit = "fraction"
        note = said("{column} is read in {unit}, because no value is above 1")
    elif COLUMNS[name] == "radiation" and top > 60.0:
        unit, note = "w/m2", hot
    elif COLUMNS[name] == "temperature" and top > 60.0:
        unit, note = "f", hot
    else:
        unit = kind.assumed
        note = said("{column} is read in {unit}, because the heading tells no unit")
    shown = {"c": "°C", "f": "°F"}.get(unit, unit)
    return unit, tr(note, column=name_words(name), unit=shown)


def _place(name: str, line: int) -> str:
    return tr("line {line}, {column}", line=line, column=name_words(name))


def _wrong(name: str, line: int, message: str, given: str, accepted: str) -> InputError:
    """Return an error about one cell whose value cannot be true."""
    return InputError(
        message,
        code="impossible_value",
        field=_place(name, line),
        given=given,
        accepted=accepted,
    )
