"""Seasons, months and frost, north and south of the equator."""

import datetime

import pytest

from evenrow.agronomy.upkeep_season import (
    Season,
    frost_day,
    frosty,
    in_frost,
    month_and_day,
    month_start,
)
from evenrow.errors import InputError


def day(month, number):
    return month_start(month) + number - 1


def test_days_of_the_year_are_those_of_the_calendar():
    first = datetime.date(2025, 1, 1)
    # Three years without a leap day.
    for number in range(3 * 365):
        date = first + datetime.timedelta(days=number)
        assert month_and_day(number) == (date.month, date.day)
        assert month_and_day(number - 4 * 365) == (date.month, date.day)


def test_a_season_may_go_over_the_turn_of_the_year():
    south = Season(start=day(10, 1), end=day(3, 31))
    assert south.days == 31 + 30 + 31 + 31 + 28 + 31
    assert south.days + south.rest == 365
    assert Season(start=0, end=364).rest == 0
    assert Season(start=100, end=99).rest == 0


def made(start, end, frost):
    season = Season(start=day(*start), end=day(*end), frost=frost)
    return month_and_day(season.start + frost_day(season))


@pytest.mark.parametrize(
    ("start", "end", "frost", "expected"),
    [
        # A week after the last watering, with time left.
        ((4, 15), (8, 31), (10, 4), (9, 7)),
        # Frost is closer than a week.
        ((4, 15), (9, 27), (10, 4), (9, 30)),
        # The last watering is the day before the first month with frost.
        ((4, 15), (9, 30), (10, 4), (10, 1)),
        # Watered on into the frost.
        ((4, 15), (10, 20), (10, 4), (10, 21)),
        # South of the equator.
        ((9, 1), (3, 31), (5, 8), (4, 7)),
        # Watered through the frost, and all the year.
        ((3, 1), (11, 30), (6, 8), (5, 31)),
        ((1, 1), (12, 31), (12, 2), (11, 30)),
    ],
)
def test_the_day_by_which_frost_may_come(start, end, frost, expected):
    assert made(start, end, frost) == expected


def test_without_frost_there_is_no_such_day():
    with pytest.raises(InputError):
        frost_day(Season(start=0, end=100))


def test_months_in_which_water_runs_in_frost():
    assert frosty(Season(start=day(4, 15), end=day(9, 30), frost=(10, 4))) == (4,)
    assert frosty(Season(start=day(5, 1), end=day(9, 30), frost=(10, 4))) == ()
    assert frosty(Season(start=day(9, 1), end=day(6, 2), frost=(5, 9))) == (9, 5, 6)
    assert frosty(Season(start=0, end=364)) == ()
    assert in_frost(Season(start=day(12, 31), end=day(2, 1), frost=(1, 1)), 1)
