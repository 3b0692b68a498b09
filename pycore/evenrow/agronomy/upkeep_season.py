"""The season of watering in a year, and when frost may come.

Days of the year are those of a year of 365 days, 0 for 1 January; days of the season are counted
from its first (day 0). Months are 1 to 12.
"""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.errors import InputError

YEAR = 365
WEEK = 7
#: Days of the months of a year without a leap day.
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, kw_only=True)
class Season:
    """When water runs in a year, and when frost may come.

    Parameters
    ----------
    start, end : int
        First and last day of watering, as days of a year of 365 days (0 = 1 January). A season
        may go over the turn of the year; one that starts the day after it ends goes all year.
    frost : (int, int) or None
        First and last month with frost (1 to 12), which may go over the turn of the year too.
    """

    start: int
    end: int
    frost: tuple[int, int] | None = None

    @property
    def days(self) -> int:
        """Number of days of watering, both ends counted."""
        return (self.end - self.start) % YEAR + 1

    @property
    def rest(self) -> int:
        """Number of days without watering."""
        return YEAR - self.days


def frost_day(season: Season) -> int:
    """Return the day by which the system must be proof against frost.

    Parameters
    ----------
    season : Season
        With months of frost.

    Returns
    -------
    int
        A week after the last watering, or the day before the first month with frost if that is
        sooner; the day after the last watering where that is too late already.  Where water
        runs on through the whole frost, the day before the first month with it.

    Raises
    ------
    InputError
        If the season has no months with frost.
    """
    if season.frost is None:
        raise InputError("there are no months with frost", code="missing", field="frost")
    before = (month_start(season.frost[0]) - 1 - season.start) % YEAR
    last = season.days - 1
    if season.rest == 0 or (before < last and not in_frost(season, last)):
        return before
    if in_frost(season, last):
        return last + 1
    return min(last + min(WEEK, season.rest), max(before, last + 1))


def frosty(season: Season) -> tuple[int, ...]:
    """Return the months with frost in which water runs (1 to 12), in the order of the season."""
    months = dict.fromkeys(month_of(season.start + day) for day in range(season.days))
    return tuple(m for m in months if _has_frost(season, m))


def in_frost(season: Season, day: int) -> bool:
    """Return whether a day of the season, counted from its first, is in a month with frost."""
    return _has_frost(season, month_of(season.start + day))


def _has_frost(season: Season, month: int) -> bool:
    if season.frost is None:
        return False
    first, last = season.frost
    return (month - first) % 12 <= (last - first) % 12


def month_start(month: int) -> int:
    """Return the first day of a month (1 to 12) as a day of a year of 365 days."""
    return sum(MONTH_DAYS[: month - 1])


def month_of(day: int) -> int:
    """Return the month (1 to 12) of a day, counted from 1 January over any number of years."""
    return month_and_day(day)[0]


def month_and_day(day: int) -> tuple[int, int]:
    """Return month (1 to 12) and day of the month of a day counted from 1 January."""
    left = day % YEAR
    for month, days in enumerate(MONTH_DAYS, start=1):
        if left < days:
            return month, left + 1
        left -= days
    raise AssertionError("a day lies in one of the months")
