"""What keeps a drip system alive: which jobs, how often, and on which days of the season.

Days are whole numbers counted from the first day of watering (day 0); jobs before it have
negative days. Times are in s, lengths in m, shares fractions of 1. What is done at each job, and
why, is told elsewhere; here is when.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from evenrow.agronomy.upkeep_season import WEEK, YEAR, Season, frost_day, month_of
from evenrow.hydraulics._check import number, whole
from evenrow.words import said

Hazard = Literal["low", "moderate", "high"]
Treatment = Literal["none", "chlorine", "acid", "both"]

#: Velocity that carries dirt out of an open end [m/s]: University of California, Maintenance of
#: Microirrigation Systems (1 ft/s).
FLUSH_VELOCITY = 0.3048
#: A line that is not clean after so long is flushed too seldom [s]: the same.
FLUSH_LEAST = 120.0
#: Ends that are opened at once where nothing better is known; the same says fewer than 10.
ENDS_TOGETHER = 4
#: Most lines that are taken for real.
RUNS_MAX = 100_000
#: Getting from one group of ends to the next, opening and closing them [s]: common practice, no
#: source.
FLUSH_HANDLING = 120.0
#: Walking a line and looking at it, half of an easy walk [m/s]: common practice, no source.
WALK = 0.5

PRACTICE = said("common practice, no source")
#: Days from one flushing to the next, by hazard of clogging.
FLUSH_DAYS = {"low": 42, "moderate": 21, "high": 14}
#: The first flushing of the season tells how much dirt there is. [days]
FLUSH_FIRST = {"low": 21, "moderate": 21, "high": 14}
#: Watering after which lines are flushed, whatever the calendar says [h].
FLUSH_HOURS = {"low": 300.0, "moderate": 150.0, "high": 75.0}
FLUSH_SOURCE = said(
    "every 2 to 3 weeks at first, less often if the lines then run clean: University of "
    "California, Maintenance of Microirrigation Systems; hours of watering: common practice, no "
    "source"
)
#: Days from one look at the filter to the next where no interval is known.
FILTER_DAYS = {"low": 28, "moderate": 14, "high": 7}
#: Days from one dose to the next; None where the hazard asks for none.
CHLORINE_DAYS = {"low": 28, "moderate": 14, "high": 7}
CHLORINE_SOURCE = said(
    "about once a week keeps lines clear of slime: Alabama Cooperative Extension ANR-651; less "
    "often in cleaner water: common practice, no source"
)
ACID_DAYS = {"low": 56, "moderate": 28, "high": 14}
#: First days of treatment: as one is a whole number of weeks and the other is not, and both come
#: again after whole weeks, chlorine and acid never fall on one day.
CHLORINE_FIRST, ACID_FIRST = 14, 10
PRESSURE_DAYS = {"low": 28, "moderate": 28, "high": 14}
#: Days from one check with cups to the next; None is once a season.
CUPS_DAYS: dict[str, int | None] = {"low": None, "moderate": 84, "high": 56}
GASKET_SOURCE = said(
    "rubber gaskets and diaphragms every 2 years, injectors checked at least twice a season: "
    "HortTechnology 2(1): 38 (1992)"
)

#: Walls below this are thrown away after a season, and below the second one are looked at each
#: winter [m]: 10 mil and 20 mil, common practice, no source.
THIN_WALL, MIDDLE_WALL = 10 * 25.4e-6, 20 * 25.4e-6

#: Repair stock for each kilometre of line, with the fewest whatever the length: metres of line,
#: pieces of the rest. Common practice, no source.
STOCK = {
    "line": (10.0, 3.0),
    "coupling": (6.0, 2.0),
    "plug": (10.0, 5.0),
    "cap": (3.0, 2.0),
    "take-off": (2.0, 1.0),
}
#: An off-cut shorter than this mends nothing [m]: common practice, no source.
PIECE_LEAST = 0.5


@dataclass(frozen=True, kw_only=True)
class Plant:
    """What a system is made of, as far as its upkeep goes by it.

    Parameters
    ----------
    tape : bool
        Whether the line is tape (else dripline), and `wall` its wall [m].
    wall : float
        Thickness of its wall [m].
    perennial : bool
        Whether the crop, and with it the line, stays for years.
    source : str
        ``"hose-tap"``, ``"municipal"``, ``"pump"``, ``"pond-pump"`` or ``"tank"``.
    hazard : {"low", "moderate", "high"}
        How much the water clogs.
    treatment : {"none", "chlorine", "acid", "both"}
        What the water asks for.
    injected : bool
        Whether fertiliser is injected.
    hours : float
        Watering in a week [h], more than 0.
    filter_hours : float or None
        Watering between two cleanings of the filter [h], where it is known.
    """

    tape: bool
    wall: float
    perennial: bool
    source: str
    hazard: Hazard
    treatment: Treatment
    injected: bool
    hours: float
    filter_hours: float | None = None

    @property
    def pumped(self) -> bool:
        """Whether a pump brings the water."""
        return self.source in ("pump", "pond-pump")

    @property
    def one_season(self) -> bool:
        """Whether the line is thrown away at the end of the season."""
        return self.tape and self.wall < THIN_WALL and not self.perennial


@dataclass(frozen=True, kw_only=True)
class Job:
    """A job and its days.

    `first` is its first day; it comes again `every` so many days up to the day `until`, or
    only once where `every` is None. `code` names it; `source` tells where its rhythm is from.
    """

    code: str
    first: int
    every: int | None = None
    until: int | None = None
    source: str = PRACTICE

    @property
    def days(self) -> tuple[int, ...]:
        """Its days in one year, rising."""
        if self.every is None or self.until is None:
            return (self.first,)
        return tuple(range(self.first, self.until + 1, self.every))


def sooner(days: int, hours: float | None, weekly: float) -> int:
    """Return the days to the next turn of a job: by the calendar or by the watering.

    Parameters
    ----------
    days : int
        By the calendar.
    hours : float or None
        Watering after which it is due [h].
    weekly : float
        Watering in a week [h], more than 0.

    Returns
    -------
    int
        The sooner of both, at least 1; whole weeks from a week on, so that jobs share days.
    """
    if hours is None:
        return days
    due = max(1, min(days, math.floor(WEEK * hours / weekly)))
    return due if due < WEEK else due - due % WEEK


def jobs(plant: Plant, season: Season) -> tuple[Job, ...]:
    """Return every job of a year, in the order of their first days.

    Parameters
    ----------
    plant : Plant
        What the system is made of.
    season : Season
        When water runs.

    Raises
    ------
    InputError
        If the hours of watering are not above 0 or more than a week has.
    """
    number("hours", plant.hours, 0.0, 168.0, open_low=True, unit="h")
    found = [*_starting(plant), *_running(plant, season), *_ending(plant, season)]
    # Sorting is stable: jobs of one day keep the order in which they are done.
    return tuple(sorted(found, key=lambda job: job.first))


def _starting(plant: Plant) -> list[Job]:
    found = [Job(code="inspect", first=-21, source=GASKET_SOURCE), Job(code="backflow", first=-14)]
    if plant.pumped:
        found.append(Job(code="pump", first=-14))
    if plant.source == "tank":
        found.append(Job(code="tank", first=-14))
    if not plant.perennial:
        found.append(Job(code="lay", first=-7))
    found.append(Job(code="open", first=-3, source=FLUSH_SOURCE))
    found.append(Job(code="compare", first=-1))
    return found


def _running(plant: Plant, season: Season) -> list[Job]:
    last = season.days - 1
    found = []

    def again(code: str, first: int, every: int, source: str = PRACTICE) -> None:
        # A short season still has each job once, on its last day at the latest.
        found.append(Job(code=code, first=min(first, last), every=every, until=last, source=source))

    hazard = plant.hazard
    # An interval that is known counts; no filter goes unseen longer than in clean water.
    by_calendar = FILTER_DAYS[hazard if plant.filter_hours is None else "low"]
    clean = sooner(by_calendar, plant.filter_hours, plant.hours)
    flush = sooner(FLUSH_DAYS[hazard], FLUSH_HOURS[hazard], plant.hours)
    again("filter", min(WEEK, clean), clean)
    again("walk", WEEK, WEEK)
    again("flush", min(FLUSH_FIRST[hazard], flush), flush, FLUSH_SOURCE)
    again("pressures", 14, PRESSURE_DAYS[hazard])
    again("timer", 28, 28)
    if plant.injected:
        again("injector", 14, min(56, max(WEEK, season.days // 2)), GASKET_SOURCE)
    if plant.treatment in ("chlorine", "both"):
        found += _doses("chlorine", CHLORINE_FIRST, CHLORINE_DAYS[hazard], last, CHLORINE_SOURCE)
    if plant.treatment in ("acid", "both"):
        found += _doses("acid", ACID_FIRST, ACID_DAYS[hazard], last, PRACTICE)
    cups = CUPS_DAYS[hazard]
    again("cups", 14, cups or YEAR)
    again("animals", 14, 14)
    if plant.pumped:
        again("suction", 28, 28)
    return found


def _doses(code: str, first: int, every: int, last: int, source: str) -> list[Job]:
    """Return the doses of a season; none in one too short for them."""
    return (
        [Job(code=code, first=first, every=every, until=last, source=source)]
        if first <= last
        else []
    )


def _ending(plant: Plant, season: Season) -> list[Job]:
    last = season.days - 1
    found = [Job(code="last-flush", first=last, source=FLUSH_SOURCE)]
    if season.frost is not None:
        found.append(Job(code="winterise", first=frost_day(season)))
    elif season.rest >= 56 and plant.perennial:
        # Until the system is looked at for the new season.
        found.append(Job(code="rest", first=last + 28, every=28, until=YEAR - 22))
    if not plant.perennial and season.rest:
        code = "pull" if plant.one_season else "roll"
        found.append(Job(code=code, first=last + min(WEEK, season.rest)))
    found.append(Job(code="line-age", first=last + min(14, season.rest)))
    found.append(Job(code="stock", first=last + min(28, season.rest)))
    return found


def by_month(job: Job, season: Season) -> dict[int, int]:
    """Return how many times a job comes in each month (1 to 12), in the order of its days."""
    found: dict[int, int] = {}
    for day in job.days:
        month = month_of(season.start + day)
        found[month] = found.get(month, 0) + 1
    return found


def flush_time(length: float, runs: int, together: int = ENDS_TOGETHER) -> tuple[float, float]:
    """Return how long one group of ends, and all of them, take to flush [s].

    Parameters
    ----------
    length : float
        All lines together [m], more than 0.
    runs : int
        How many lines that is, at least 1.
    together : int
        Ends that are open at once, at least 1.

    Returns
    -------
    (float, float)
        The time in which water at the least flushing velocity passes through the mean line, no
        shorter than 2 minutes; and that for every group, with the handling.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    The flushing velocity is that at the open end. Nearer the start the water is faster, as the
    emitters take theirs on the way, so that this is long enough for one change of water.
    University of California, Maintenance of Microirrigation Systems: 1 ft/s, a minute or two,
    fewer than 10 ends at a time.
    """
    number("length", length, 0.0, math.inf, open_low=True, unit="m")
    whole("runs", runs, 1, RUNS_MAX)
    whole("together", together, 1, RUNS_MAX)
    each = max(FLUSH_LEAST, length / runs / FLUSH_VELOCITY)
    return each, math.ceil(runs / together) * (each + FLUSH_HANDLING)


def stock_wanted(length: float) -> dict[str, float]:
    """Return the repair stock for lines of a length [m]: line in m, the rest in pieces.

    Proportional to the length, pieces rounded up, with a few whatever the length: common
    practice, no source.
    """
    number("length", length, 0.0, math.inf, open_low=True, unit="m")
    share = length / 1000.0
    return {
        name: max(least, each * share if name == "line" else math.ceil(each * share))
        for name, (each, least) in STOCK.items()
    }


def useful(offcuts: Sequence[float]) -> float:
    """Return how much of the off-cuts is long enough to mend with [m]."""
    return math.fsum(length for length in offcuts if length >= PIECE_LEAST)
