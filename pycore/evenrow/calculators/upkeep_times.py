"""When the jobs of the year come, how often and how long: in dates and words."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from itertools import pairwise

from evenrow.agronomy.upkeep import WALK, Job, by_month, flush_time
from evenrow.agronomy.upkeep_season import WEEK, YEAR, Season, month_and_day
from evenrow.calculators.season_days import day_words, month_words
from evenrow.calculators.upkeep_asked import Asked
from evenrow.units import UnitSystem
from evenrow.words import tr, tr_count

#: How long jobs take one person [s]: guesses of common practice, no source.
_MINUTES = {
    "inspect": 60,
    "backflow": 30,
    "pump": 60,
    "tank": 60,
    "compare": 30,
    "filter": 15,
    "pressures": 30,
    "timer": 5,
    "injector": 30,
    "chlorine": 120,
    "acid": 120,
    "cups": 90,
    "animals": 15,
    "suction": 30,
    "winterise": 90,
    "rest": 10,
    "line-age": 15,
    "stock": 15,
}
#: Laying line and rolling it up [m/s]; the least time for any job along the lines [s]. Common
#: practice, no source.
_LAYING, _LEAST = 0.15, 300.0


def seconds(code: str, asked: Asked) -> float | None:
    """Return how long a job takes once [s], or None where that needs lengths not given."""
    if code in _MINUTES:
        return 60.0 * _MINUTES[code]
    if asked.length is None:
        return None
    if code == "walk":
        time = asked.length / WALK
    elif code in ("lay", "roll", "pull"):
        time = asked.length / _LAYING
    elif asked.runs is not None:
        time = flush_time(asked.length, asked.runs, asked.together)[1]
    else:
        return None
    # To plan by: no seconds.
    return max(_LEAST, 60.0 * math.ceil(time / 60.0))


def often(job: Job) -> str:
    """Return the rhythm of a job in words."""
    if job.every is None or len(job.days) == 1:
        return tr("once")
    if job.every % WEEK:
        return tr_count(job.every, "each day", "every {count} days")
    weeks = job.every // WEEK
    return tr_count(weeks, "each week", "every {count} weeks")


def day_of(job: Job, season: Season, system: UnitSystem) -> str:
    """Return the first day of a job, without a year."""
    return day_words(*month_and_day(season.start + job.first), system)


def when(job: Job, season: Season, system: UnitSystem) -> str:
    """Return how often a job comes and in which months, or its one day."""
    if len(job.days) == 1:
        return day_of(job, season, system)
    months = list(by_month(job, season))
    names = [month_words(month) for month in months]
    if len(months) == 12:
        span = tr("all the year")
    elif len(months) > 2 and all((b - a) % 12 == 1 for a, b in pairwise(months)):
        span = tr("{first} to {last}", first=names[0], last=names[-1])
    else:
        span = ", ".join(names)
    return tr("{often}, {span} ({count} times)", often=often(job), span=span, count=len(job.days))


def months_from(season: Season, jobs: Sequence[Job]) -> list[int]:
    """Return the twelve months, beginning with that of the first job."""
    first = month_and_day(season.start + min(job.first for job in jobs))[0]
    return [(first - 1 + i) % 12 + 1 for i in range(12)]


def dated(day: int, season: Season, year: int) -> datetime.date:
    """Return the date of a day of the season that begins in a year."""
    years, rest = divmod(season.start + day, YEAR)
    return datetime.date(year + years, *month_and_day(rest))


def coming(
    jobs: Sequence[Job], season: Season, today: datetime.date
) -> list[tuple[datetime.date, Job]]:
    """Return the next day of every job, today or later, the soonest first."""
    found = []
    for job in jobs:
        dates = (
            dated(day, season, year)
            for year in range(today.year - 2, today.year + 3)
            for day in job.days
        )
        found.append((min(date for date in dates if date >= today), job))
    # Sorting is stable: jobs of one day keep the order in which they are done.
    return sorted(found, key=lambda pair: pair[0])
