"""The watering plan: how much, how long and how often in each month, and what it costs.

Depths are over the whole ground of the plants [m], flows m3/s, volumes m3, times s. Arrays of
a plan have a row for each period (a month, as a rule) and a column for each zone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy._series import FloatArray
from evenrow.agronomy.need import loss_factor
from evenrow.agronomy.plan_inputs import Periods, PlantedZone, Rules, Supply
from evenrow.agronomy.soil import LARGEST_P, LEAST_P
from evenrow.agronomy.supply import shared
from evenrow.errors import InputError
from evenrow.hydraulics._check import number


@dataclass(frozen=True, kw_only=True)
class WateringPlan:
    """How much, how long and how often, in each period (row) and zone (column).

    Parameters
    ----------
    net, gross : numpy.ndarray
        Depth wanted at the roots, and out of the emitters [m/day].
    per_plant : numpy.ndarray
        Volume out of the emitters for each plant, as delivered [m3/day].
    volume, wanted : numpy.ndarray
        Volume of the zone, as delivered and as wanted [m3/day].
    seconds : numpy.ndarray
        Run time as delivered, on the average of all days [s/day].
    interval : numpy.ndarray of int
        Days from one watering to the next; 0 where no water is wanted.
    watering_seconds : numpy.ndarray
        Run time on a day of watering, all runs [s].
    runs : numpy.ndarray of int
        Into how many runs that is cut; 0 where no water is wanted.
    longest : numpy.ndarray
        Longest single run before water passes the roots, or the longest allowed [s].
    cut_by : tuple of str
        What fell short in any period, of ``"window"``, ``"day"`` and ``"season"``.
    days : numpy.ndarray
        Days of each period.
    price : float
        Price of a cubic metre.
    """

    net: FloatArray
    gross: FloatArray
    per_plant: FloatArray
    volume: FloatArray
    wanted: FloatArray
    seconds: FloatArray
    interval: NDArray[np.intp]
    watering_seconds: FloatArray
    runs: NDArray[np.intp]
    longest: FloatArray
    cut_by: tuple[str, ...]
    days: FloatArray
    price: float

    @property
    def share(self) -> FloatArray:
        """What each zone gets of what it wants [-]: 1 in full, also where it wants nothing."""
        return np.divide(
            self.volume, self.wanted, out=np.ones_like(self.wanted), where=self.wanted > 0.0
        )

    @property
    def period_volume(self) -> FloatArray:
        """Volume of each period, all zones [m3], shape (periods,)."""
        return np.asarray(self.volume.sum(axis=1) * self.days)

    @property
    def total_volume(self) -> float:
        """Volume of all periods and zones [m3]."""
        return float(self.period_volume.sum())

    @property
    def missing_volume(self) -> float:
        """What is wanted beyond what can be delivered [m3]."""
        return max(float((self.wanted.sum(axis=1) * self.days).sum()) - self.total_volume, 0.0)

    @property
    def cost(self) -> float:
        """Price of all water."""
        return self.total_volume * self.price


#: Depth [m/day] and time [s] that are rounding, not water.
_NOTHING = 1e-9
_COLUMNS = attrgetter(
    *("area", "plants", "flow", "taw", "p"),
    *("uniformity", "leaching", "transmission", "priority"),
)


def watering_plan(
    periods: Periods,
    zones: Sequence[PlantedZone],
    rules: Rules | None = None,
    supply: Supply | None = None,
) -> WateringPlan:
    """Return how much, how long and how often to water in each period.

    Parameters
    ----------
    periods : Periods
        Weather and crop.
    zones : sequence of PlantedZone
        What is watered, at least one.
    rules : Rules, optional
        When water may run; all day, every day if not given.
    supply : Supply, optional
        What there is; without limit and price if not given.

    Returns
    -------
    WateringPlan
        The interval is the longest whole number of days in which a zone uses no more than its
        readily available water, that the rules allow and whose water for all zones fits one
        window. Runs are cut so that none is longer than the root zone can take in, or than the
        rules allow. What falls short is taken from the zones of the last rank first. Where
        several zones run at once their times may not fill the window to the last minute:
        `timetable.timetables` tells.

    Raises
    ------
    InputError
        If there is no zone, or the coefficients do not fit the zones.
    """
    how = rules or Rules()
    what = supply or Supply()
    if not zones:
        raise InputError("needs a zone", code="empty", field="zones", accepted="at least one zone")
    kc = np.asarray(periods.kc)
    if kc.ndim == 1:
        kc = kc[:, None]
    if kc.shape[1] not in (1, len(zones)):
        raise InputError(
            "does not fit the zones",
            code="length",
            field="kc",
            given=kc.shape,
            accepted=f"one column, or {len(zones)}",
        )
    area, plants, flow, taw, p, eu, lr, tr, rank = np.array([_COLUMNS(zone) for zone in zones]).T
    days = np.asarray(periods.days)
    etc = np.asarray(periods.eto)[:, None] * kc
    rain = (np.zeros(days.shape) + np.asarray(periods.rain, dtype=np.float64))[:, None]
    net = np.maximum(etc - rain, 0.0) * np.ones(len(zones))
    net[net < _NOTHING] = 0.0
    loss = loss_factor(eu, lr, tr)
    gross = net * loss
    wanted = gross * area

    # What of it can be had: time of the window, water of the day, water of the season.
    ready = np.minimum(np.maximum(p + (0.2 - 40.0 * etc), LEAST_P), LARGEST_P) * taw
    longest = np.minimum(ready * loss * area / flow, how.longest_run)
    lost = how.changeover * (math.ceil(len(zones) / how.at_once) - 1)
    usable = max(how.window - lost, 0.0)
    # A changeover for each zone is off the window; one more comes with every further run.
    runtime = wanted / flow
    stretch = 1.0 + how.changeover / longest
    held = np.where(runtime > longest, stretch, 1.0)
    seconds = shared(np.minimum(runtime * held, usable), usable * how.at_once, rank) / held
    cut_by = ["window"] if bool((seconds < runtime * (1.0 - 1e-12)).any()) else []
    volume = seconds * flow
    daily = volume
    if what.per_day < math.inf:
        daily = shared(volume, what.per_day, rank)
        cut_by += ["day"] if bool((daily < volume).any()) else []
    if what.in_all < math.inf:
        totals = daily.T @ days
        season = shared(totals, what.in_all, rank)
        cut_by += ["season"] if bool((season < totals).any()) else []
        daily = daily * np.divide(season, totals, out=np.ones_like(totals), where=totals > 0.0)
    seconds = daily / flow

    runs_at_all = seconds > 0.0
    by_soil = ready / np.maximum(net, _NOTHING)
    # All zones in turn have to fit, and the longest by itself when several run at once.
    busy = seconds * stretch
    busy = np.maximum(busy.sum(axis=1) / how.at_once, busy.max(axis=1))[:, None]
    by_window = usable / np.maximum(busy, _NOTHING)
    bound = np.minimum(np.minimum(by_soil, by_window), how.longest_interval)
    # A little grace, so that rounding takes no whole day away.
    interval = np.where(runs_at_all, np.maximum(np.floor(bound + 1e-9), 1.0), 0.0)
    watering = seconds * interval
    runs = np.where(runs_at_all, np.maximum(np.ceil(watering / longest - 1e-6), 1.0), 0.0)
    return WateringPlan(
        net=net,
        gross=gross,
        per_plant=daily / plants,
        volume=daily,
        wanted=wanted,
        seconds=seconds,
        interval=interval.astype(np.intp),
        watering_seconds=watering,
        runs=runs.astype(np.intp),
        longest=longest,
        cut_by=tuple(cut_by),
        days=days,
        price=what.price,
    )


def eto_sensitivity(
    periods: Periods,
    zones: Sequence[PlantedZone],
    rules: Rules | None = None,
    supply: Supply | None = None,
    factors: Sequence[float] = (0.8, 1.0, 1.2),
) -> tuple[WateringPlan, ...]:
    """Return the plan for drier and wetter years: ETo times each factor.

    Parameters
    ----------
    periods, zones, rules, supply
        As in `watering_plan`.
    factors : sequence of float
        What ETo is multiplied by [-], 0 to 3; 20 % less, as it is, 20 % more if not given.

    Returns
    -------
    tuple of WateringPlan
        One for each factor.

    Raises
    ------
    InputError
        If a factor is out of range, and as `watering_plan`.
    """
    plans = []
    for factor in factors:
        scaled = np.asarray(periods.eto) * number("factors", factor, 0.0, 3.0)
        plans.append(watering_plan(replace(periods, eto=scaled), zones, rules, supply))
    return tuple(plans)
