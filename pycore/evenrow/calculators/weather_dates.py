"""Days as weather tables write them; what can be read in two ways is told or refused."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.errors import InputError, InputErrors
from evenrow.words import tr

DateOrder = Literal["dmy", "mdy"]
#: Years that a weather table may tell of.
FIRST_YEAR, LAST_YEAR = 1850, 2200
#: Two digits below this are of the 2000s.
_CENTURY = 70
#: At most so many errors of one table are told.
MAX_ERRORS = 20

_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?:[T ].*)?", re.ASCII)
_PACKED = re.compile(r"(\d{4})(\d{2})(\d{2})", re.ASCII)
_LOCAL = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?:[T ].*)?", re.ASCII)


def read_dates(
    cells: Sequence[str], lines: Sequence[int], order: DateOrder | None = None
) -> tuple[NDArray[np.datetime64], tuple[str, ...]]:
    """Return the days of a column of dates.

    Parameters
    ----------
    cells : sequence of str
        ``2024-05-31``, ``2024/5/31``, ``20240531``, ``31.5.2024``, ``31/5/2024`` or
        ``5/31/2024``; a time behind it is left out.
    lines : sequence of int
        Line of each, for errors.
    order : {"dmy", "mdy"}, optional
        What stands first in dates such as ``5/6/2024``. If it is not given and no date tells
        it, the order that makes more days follow on each other is taken.

    Returns
    -------
    (numpy.ndarray of datetime64[D], tuple of str)
        The days, and what was assumed.

    Raises
    ------
    InputError
        If dates can be read in two ways, or contradict each other.
    InputErrors
        If dates are none; at most 20 are told.
    """
    read = [_parts(cell) for cell in cells]
    bad = [_no_date(cells[i], lines[i]) for i, one in enumerate(read) if one is None]
    if bad:
        raise InputErrors(bad[:MAX_ERRORS])
    parts = [one for one in read if one is not None]
    local = [i for i, one in enumerate(parts) if one.mark]
    notes = []
    if any(parts[i].year < 100 for i in local):
        notes.append(
            tr("years of two digits: 70 to 99 are 1970 to 1999, 00 to 69 are 2000 to 2069")
        )
    dates = [(_full(one.year) if one.mark else one.year, one.first, one.second) for one in parts]
    if local:
        # Points between the numbers are written by those who put the day first.
        dotted = order is None and any(parts[i].mark == "." for i in local)
        chosen, note = ("dmy", "") if dotted else _order(dates, local, order)
        notes += [note] if note else []
        if chosen == "dmy":
            for i in local:
                year, first, second = dates[i]
                dates[i] = (year, second, first)
    return _days(dates, cells, lines), tuple(notes)


class _Parts(NamedTuple):
    """The numbers of a date as written; `mark` is "" where month and day are in no doubt."""

    year: int
    first: int
    second: int
    mark: str


def _parts(cell: str) -> _Parts | None:
    """Return the numbers of a date, or None if it is none."""
    if found := _ISO.fullmatch(cell):
        return _Parts(int(found[1]), int(found[3]), int(found[4]), "")
    if found := _PACKED.fullmatch(cell):
        return _Parts(int(found[1]), int(found[2]), int(found[3]), "")
    if found := _LOCAL.fullmatch(cell):
        return _Parts(int(found[4]), int(found[1]), int(found[3]), found[2])
    return None


def _full(year: int) -> int:
    """Return a year of two digits as one of four."""
    if year >= 100:
        return year
    return year + (2000 if year < _CENTURY else 1900)


def _order(
    parts: list[tuple[int, int, int]], local: list[int], order: DateOrder | None
) -> tuple[DateOrder, str]:
    """Return which of day and month stands first, and what to say about it."""
    if order is not None:
        return order, ""
    first = max(parts[place][1] for place in local)
    second = max(parts[place][2] for place in local)
    if first > 12 and second > 12:
        raise InputError(
            tr("some dates put the day first and some the month"),
            code="ambiguous",
            field=tr("date"),
            accepted=tr("one order for all dates"),
            hint=tr("dates such as 2024-05-31"),
        )
    if first > 12:
        return "dmy", ""
    if second > 12:
        return "mdy", ""
    sequence = [parts[place] for place in local]
    steps = {
        "dmy": _follows([(year, b, a) for year, a, b in sequence]),
        "mdy": _follows(sequence),
    }
    if steps["dmy"] == steps["mdy"]:
        year, a, b = sequence[0]
        raise InputError(
            tr("{date} can be read in two ways", date=f"{a}/{b}/{year}"),
            code="ambiguous",
            field=tr("date"),
            given=f"{a}/{b}/{year}",
            accepted=tr("dates whose order is known"),
            hint=tr("say whether the day or the month stands first, or write dates as 2024-05-31"),
        )
    if steps["dmy"] > steps["mdy"]:
        return (
            "dmy",
            tr("dates are read with the day first, because then the days follow on each other"),
        )
    return (
        "mdy",
        tr("dates are read with the month first, because then the days follow on each other"),
    )


def _follows(dates: list[tuple[int, int, int]]) -> int:
    """Return how many dates are the day after the one before."""
    days = [_ordinal(*date) for date in dates]
    return sum(b == a + 1 for a, b in pairwise(days) if a is not None and b is not None)


def _ordinal(year: int, month: int, day: int) -> int | None:
    try:
        return datetime.date(year, month, day).toordinal()
    except ValueError:
        return None


def _days(
    parts: list[tuple[int, int, int]], cells: Sequence[str], lines: Sequence[int]
) -> NDArray[np.datetime64]:
    """Return the parts as days, or tell which are none."""
    ordinals = [_ordinal(*part) if FIRST_YEAR <= part[0] <= LAST_YEAR else None for part in parts]
    bad = [
        _no_date(cells[place], lines[place]) for place, one in enumerate(ordinals) if one is None
    ]
    if bad:
        raise InputErrors(bad[:MAX_ERRORS])
    zero = datetime.date(1970, 1, 1).toordinal()
    return (np.array(ordinals, dtype=np.int64) - zero).astype("datetime64[D]")


def _no_date(cell: str, line: int) -> InputError:
    return InputError(
        tr("is no date"),
        code="not_a_date",
        field=tr("line {line}, {column}", line=line, column=tr("date")),
        given=cell,
        accepted=tr("a day such as 2024-05-31, 31.5.2024 or 5/31/2024"),
    )
