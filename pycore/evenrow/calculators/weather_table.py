"""A weather table as text, read into arrays for the reference evapotranspiration.

Columns may stand in any order, with any of the usual separators and units in the headings.
What was assumed is said; what cannot be true is refused with its line and column.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.climate import day_of_year
from evenrow.agronomy.eto import ReferenceET, reference_et
from evenrow.calculators.weather_columns import COLUMNS, KINDS, name_words, plain_unit, read_heading
from evenrow.calculators.weather_dates import DateOrder, read_dates
from evenrow.calculators.weather_values import FloatArray, Impossible, read_values
from evenrow.errors import InputError
from evenrow.words import tr

#: Largest table: a century of days.
MAX_TEXT, MAX_LINES, MAX_COLUMNS = 6_000_000, 40_000, 60
#: Lines of a station's description before the headings.
_MAX_PREAMBLE = 60
#: No line and no cell of a true table is longer.
_MAX_LINE, _MAX_CELL = 4000, 64
_SEPARATORS = ("\t", ";", "|", ",")
_DATE_WORDS = frozenset(
    (
        *("date", "day", "datetime", "timestamp", "datum", "fecha", "data", "time"),
        *("día", "dia"),
    )
)
_WORDS = re.compile(r"[a-zí]+")
_LIKE_A_DAY = re.compile(r"\d[-/.]\d{1,2}[-/.]\d|\d{8}", re.ASCII)


@dataclass(frozen=True)
class WeatherTable:
    """What a weather table holds.

    Parameters
    ----------
    dates : numpy.ndarray of datetime64[D]
        The days, in order, each once; days may be missing between them.
    columns : dict
        Of the names ``tmax``, ``tmin``, ``tmean``, ``dew_point`` [C], ``rh_max``, ``rh_min``,
        ``rh_mean`` [-], ``vapour_pressure`` [kPa], ``wind`` [m/s], ``solar`` [MJ/m2/day],
        ``sunshine`` [h], ``rain`` and ``eto`` [m/day] those that it has, one value for each
        day, NaN where there is none.
    notes : tuple of str
        What was assumed, left out or found missing, in sentences for people.
    """

    dates: NDArray[np.datetime64]
    columns: dict[str, FloatArray]
    notes: tuple[str, ...]

    def reference_et(
        self, *, latitude: float, elevation: float, wind_height: float = 2.0
    ) -> ReferenceET:
        """Return the reference evapotranspiration of the days; see `eto.reference_et`.

        Parameters
        ----------
        latitude, elevation, wind_height : float
            Degrees, north positive; metres above the sea; metres above the ground.

        Returns
        -------
        ReferenceET
            Of each day; `agronomy.filling.Rule` tells what stood in for missing values.

        Raises
        ------
        InputError
            If there are no columns of highest and lowest temperature, or a value is out of
            range.
        """
        given: dict[str, Any] = {
            key: value for key, value in self.columns.items() if key not in _NOT_FOR_ETO
        }
        try:
            high, low = given.pop("tmax"), given.pop("tmin")
        except KeyError as missing:
            raise InputError(
                tr("the table has no column of the highest and the lowest temperature"),
                code="missing",
                field=str(missing.args[0]),
                accepted=tr("columns such as Tmax (°C) and Tmin (°C)"),
            ) from None
        return reference_et(
            day_of_year(self.dates),
            high,
            low,
            latitude=latitude,
            elevation=elevation,
            wind_height=wind_height,
            **given,
        )


_NOT_FOR_ETO = frozenset(("rain", "eto", "tmean"))


def read_weather(
    text: str,
    *,
    order: DateOrder | None = None,
    units: Mapping[str, str] | None = None,
    impossible: Impossible = "refuse",
) -> WeatherTable:
    """Read a weather table.

    Parameters
    ----------
    text : str
        The table: a line of headings with a date and at least one known quantity, lines of
        days below. Columns are divided by tabs, semicolons, bars or commas, or by spaces.
        Lines before the headings and those that begin with ``#`` are passed over.
    order : {"dmy", "mdy"}, optional
        What stands first in dates such as ``5/6/2024``.
    units : mapping, optional
        Unit by column name (see `WeatherTable`) where headings tell none or a wrong one, such
        as ``{"wind": "km/h"}``.
    impossible : {"refuse", "gap"}
        What becomes of values that cannot be true: an error for each, or a gap and a note.

    Returns
    -------
    WeatherTable
        Days, columns and notes.

    Raises
    ------
    InputError
        If the text is too large, is no table, has a day twice or can be read in two ways.
    InputErrors
        If dates or values cannot be read or be true; at most 20 are told, by line and column.
    """
    rows = _rows(text)
    start, places, date_place, ignored = _headings(rows)
    body = rows[start + 1 :]
    notes: list[str] = []
    told = dict(units or {})
    for name in told:
        if name not in COLUMNS:
            raise InputError(
                tr("is no column"), code="unknown", field=name, accepted=", ".join(COLUMNS)
            )
    # A line of units may follow the headings.
    if body and _is_unit_line(body[0][1], places):
        for name, (place, _) in places.items():
            told.setdefault(name, _cell(body[0][1], place))
        body = body[1:]
    if not body:
        raise InputError(tr("the table has no days"), code="empty", field="weather")
    lines = [line for line, _ in body]
    dates, date_notes = read_dates([_cell(cells, date_place) for _, cells in body], lines, order)
    notes += date_notes
    _once(dates, lines)

    raw = {name: [_cell(cells, place) for _, cells in body] for name, (place, _) in places.items()}
    headed = {name: told.get(name, unit) for name, (_, unit) in places.items()}
    values, value_notes = read_values(raw, headed, lines, impossible)
    if ignored:
        notes.append(tr("columns left out: {columns}", columns=", ".join(ignored)))
    return _in_order(dates, values, notes + value_notes)


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Return the lines of the table with their numbers, cut into cells."""
    if len(text) > MAX_TEXT:
        raise InputError(
            tr("the table is too large"),
            code="too_large",
            field="weather",
            given=tr("{count} characters", count=len(text)),
            accepted=tr("at most {most:,} characters", most=MAX_TEXT),
        )
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) > MAX_LINES:
        raise InputError(
            tr("the table is too long"),
            code="too_large",
            field="weather",
            given=tr("{count} lines", count=len(lines)),
            accepted=tr("at most {most:,} lines", most=MAX_LINES),
        )
    long = next((number for number, line in lines if len(line) > _MAX_LINE), None)
    if long is not None:
        raise InputError(
            tr("is too long"),
            code="too_large",
            field=tr("line {line}", line=long),
            accepted=tr("at most {most:,} characters", most=_MAX_LINE),
        )
    mark = _separator([line for _, line in lines])
    if mark == " ":
        return [(number, line.split()) for number, line in lines]
    # Quotes that never end must not swallow the rest of the table: line by line.
    return [
        (number, [cell.strip() for cell in next(csv.reader([line], delimiter=mark))])
        for number, line in lines
    ]


def _separator(lines: Sequence[str]) -> str:
    """Return what divides the columns: the first mark in headings and all last lines of days."""
    heads = [
        line for line in lines[:_MAX_PREAMBLE] if _DATE_WORDS & set(_WORDS.findall(line.lower()))
    ]
    days = [line for line in lines if _LIKE_A_DAY.search(line)][-20:]
    return next(
        (
            mark
            for mark in _SEPARATORS
            if all(mark in line for line in days) and any(mark in line for line in heads)
        ),
        " ",
    )


_Places = dict[str, tuple[int, str]]


def _headings(rows: Sequence[tuple[int, list[str]]]) -> tuple[int, _Places, int, list[str]]:
    """Return the place of the headings, column -> (place, unit), the date's place, the rest."""
    for index, (number, cells) in enumerate(rows[:_MAX_PREAMBLE]):
        if len(cells) > MAX_COLUMNS:
            raise InputError(
                tr("has too many columns"),
                code="too_large",
                field=tr("line {line}", line=number),
                given=len(cells),
                accepted=tr("at most {most}", most=MAX_COLUMNS),
            )
        words = [re.split(r"[\s_(\[/]+", cell.strip().lower())[0] for cell in cells]
        date = next((place for place, word in enumerate(words) if word in _DATE_WORDS), None)
        if date is None:
            continue
        places: _Places = {}
        ignored = []
        for place, cell in enumerate(cells):
            if place == date:
                continue
            read = read_heading(cell[:80])
            if read is None:
                ignored.append(cell[:40])
            elif read[0] in places:
                raise InputError(
                    tr("two columns hold the same quantity: {column!r}", column=cell[:40]),
                    code="twice",
                    field=tr("line {line}", line=number),
                    given=cell,
                    accepted=tr("one column for each quantity"),
                )
            else:
                places[read[0]] = (place, read[1])
        if places:
            return index, places, date, [name for name in ignored if name]
    raise InputError(
        tr("no line of headings was found"),
        code="no_headings",
        field="weather",
        accepted=tr(
            "a line such as: date, Tmax (°C), Tmin (°C), RH mean (%), wind (m/s), rain (mm)"
        ),
        hint=tr("a column named date, and names and units in one line above the days"),
    )


def _cell(cells: Sequence[str], place: int) -> str:
    """Return a cell without what is too long for any, or "" where the line is too short."""
    return cells[place].strip()[:_MAX_CELL] if place < len(cells) else ""


def _is_unit_line(cells: Sequence[str], places: _Places) -> bool:
    """Whether every cell of the known columns is a unit of its kind."""
    return all(
        plain_unit(_cell(cells, place)[:24]) in KINDS[COLUMNS[name]].units
        for name, (place, _) in places.items()
    )


def _once(dates: NDArray[np.datetime64], lines: Sequence[int]) -> None:
    """Raise if a day is there twice."""
    order = np.argsort(dates, kind="stable")
    again = np.flatnonzero(dates[order][1:] == dates[order][:-1])
    if again.size:
        first, second = sorted(lines[order[again[0] + step]] for step in (0, 1))
        raise InputError(
            tr("the day is in line {first} already", first=first),
            code="twice",
            field=tr("line {line}, {column}", line=second, column=tr("date")),
            given=str(dates[order[again[0]]]),
            accepted=tr("one line for each day"),
            hint=tr("daily values; hourly ones have to be gathered first"),
        )


def _in_order(
    dates: NDArray[np.datetime64], values: dict[str, FloatArray], notes: list[str]
) -> WeatherTable:
    """Return the table with its days in order, and notes on what is missing."""
    if bool((np.diff(dates).astype(int) < 0).any()):
        order = np.argsort(dates, kind="stable")
        dates, values = dates[order], {name: column[order] for name, column in values.items()}
        notes.append(tr("the days were put in order"))
    missing = int((dates[-1] - dates[0]).astype(int)) + 1 - dates.size
    if missing:
        notes.append(
            tr(
                "{count} days are missing between {first} and {last}",
                count=missing,
                first=dates[0],
                last=dates[-1],
            )
        )
    for name, column in values.items():
        gaps = int(np.isnan(column).sum())
        if gaps:
            notes.append(
                tr(
                    "{column} has no value on {count} of {total} days",
                    column=name_words(name),
                    count=gaps,
                    total=dates.size,
                )
            )
    return WeatherTable(dates, values, tuple(notes))
