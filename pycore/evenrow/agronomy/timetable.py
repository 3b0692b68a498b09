"""Start times: every run of every zone inside a window of the day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import array, number, whole

#: Runs of all zones in a day; a timer has far fewer.
MAX_RUNS = 2000
_DAY = 86_400.0
_START = attrgetter("start")


class Run(NamedTuple):
    """One run of one zone.

    Parameters
    ----------
    zone : int
        Index of the zone.
    number : int
        1 for the zone's first run of the day.
    start, end : float
        Seconds after the midnight before the window opens; above 86,400 on the next day.
    """

    zone: int
    number: int
    start: float
    end: float


@dataclass(frozen=True)
class Timetable:
    """All runs of a day of watering.

    Parameters
    ----------
    runs : tuple of Run
        In order of their start.
    closes : float
        When the window closes [s after midnight].
    """

    runs: tuple[Run, ...]
    closes: float

    @property
    def over(self) -> float:
        """How long the last run goes on after the window has closed [s], 0 if it does not."""
        late = max((run.end for run in self.runs), default=self.closes) - self.closes
        return late if late > 1e-6 else 0.0  # what rounding leaves is no lateness


def timetable(
    seconds: ArrayLike,
    runs: ArrayLike | None = None,
    *,
    opens: float,
    window: float,
    changeover: float = 0.0,
    rest: float = 0.0,
    at_once: int = 1,
) -> Timetable:
    """Put the runs of all zones on one day one after the other, in rounds.

    Every zone has its first run, in order, then every zone that has more its second, and so
    on: while others run, the water of a zone soaks in.

    Parameters
    ----------
    seconds : array_like
        Time that each zone is to run on the day, all its runs together [s], 0 to a day, shape
        (zones,). Zones with 0 do not run.
    runs : array_like of int, optional
        Into how many equal runs that is cut, shape (zones,); counts as one where it is 0, and
        if not given.
    opens : float
        When the first may start [s after midnight], 0 to 86,400.
    window : float
        How long from then on water may run [s], above 0, at most a day. It may cross midnight.
    changeover : float
        Time between the end of a run and the start of the next on the same supply [s], such
        as for valves and filling of pipes.
    rest : float
        Least time from the end of a zone's run to the start of its next [s]: for soaking in
        on light soils, or for the plants to use the water where the roots hold little.
    at_once : int
        Zones that the supply bears at the same time, 1 to 1,000.

    Returns
    -------
    Timetable
        All runs, also those that no longer fit the window: `Timetable.over` tells by how much.

    Raises
    ------
    InputError
        If a value is out of range, or there are more than 2,000 runs.
    """
    times = array("seconds", seconds, 0.0, _DAY, unit="s")
    if times.ndim != 1:
        raise InputError(
            "needs one time for each zone",
            code="length",
            field="seconds",
            given=times.shape,
            accepted="shape (zones,)",
        )
    cuts = None if runs is None else np.asarray(runs)[None]
    return timetables(
        times[None],
        cuts,
        opens=opens,
        window=window,
        changeover=changeover,
        rest=rest,
        at_once=at_once,
    )[0]


def timetables(
    seconds: ArrayLike,
    runs: ArrayLike | None = None,
    *,
    opens: float,
    window: float,
    changeover: float = 0.0,
    rest: float = 0.0,
    at_once: int = 1,
) -> tuple[Timetable, ...]:
    """Return a `timetable` for each of several days, such as one of each month.

    Parameters
    ----------
    seconds, runs : array_like
        As in `timetable`, shape (days, zones): `WateringPlan.watering_seconds` and its
        ``runs``.
    opens, window, changeover, rest, at_once
        As in `timetable`.

    Returns
    -------
    tuple of Timetable
        One for each day.

    Raises
    ------
    InputError
        If a value is out of range, or a day has more than 2,000 runs.
    """
    times = array("seconds", seconds, 0.0, _DAY, unit="s")
    cuts = np.ones(times.shape) if runs is None else array("runs", runs, 0, MAX_RUNS)
    if times.ndim != 2 or cuts.shape != times.shape:
        raise InputError(
            "does not fit the times",
            code="length",
            field="runs",
            given=cuts.shape,
            accepted=f"one number for each time, shape {times.shape}",
        )
    if np.asarray(runs).dtype.kind not in "iu" and bool((cuts != np.floor(cuts)).any()):
        raise InputError(
            "must be whole numbers",
            code="not_whole",
            field="runs",
            given=runs,
            accepted="whole numbers from 0",
        )
    cuts = np.where(times > 0.0, np.maximum(cuts, 1.0), 0.0)
    whole("runs", cuts.sum(axis=1).max(), 0, MAX_RUNS)
    first = number("opens", opens, 0.0, _DAY, unit="s")
    last = first + number("window", window, 0.0, _DAY, open_low=True, unit="s")
    gap = number("changeover", changeover, 0.0, _DAY, unit="s")
    pause = number("rest", rest, 0.0, _DAY, unit="s")
    lanes = whole("at_once", at_once, 1, 1000)
    each = times / np.maximum(cuts, 1.0)
    return tuple(
        Timetable(_placed(one, left, first, gap, pause, lanes), last)
        for one, left in zip(each.tolist(), cuts.tolist(), strict=True)
    )


def _placed(
    each: list[float], cuts: list[float], first: float, gap: float, pause: float, lanes: int
) -> tuple[Run, ...]:
    """Return the runs of a day: every zone takes the lane that is free first."""
    if lanes == 1:
        return _in_turn(each, cuts, first, gap, pause)
    free = [first] * lanes
    rested = [-math.inf] * len(each)
    placed = []
    live = [zone for zone, number_of_runs in enumerate(cuts) if number_of_runs]
    turn = 1
    while live:
        for zone in live:
            soonest = min(free)
            start = max(soonest, rested[zone])
            end = start + each[zone]
            free[free.index(soonest)] = end + gap
            rested[zone] = end + pause
            placed.append(Run(zone, turn, start, end))
        turn += 1
        live = [zone for zone in live if cuts[zone] >= turn]
    placed.sort(key=_START)
    return tuple(placed)


def _in_turn(
    each: list[float], cuts: list[float], first: float, gap: float, pause: float
) -> tuple[Run, ...]:
    """Return the runs of a day where one zone runs at a time: they come in order by themselves."""
    free = first
    rested = [first] * len(each)
    placed = []
    live = [zone for zone, number_of_runs in enumerate(cuts) if number_of_runs]
    turn = 1
    while live:
        for zone in live:
            start = max(free, rested[zone])
            end = start + each[zone]
            free = end + gap
            rested[zone] = end + pause
            placed.append(Run(zone, turn, start, end))
        turn += 1
        live = [zone for zone in live if cuts[zone] >= turn]
    return tuple(placed)
