"""The soil's water day by day, for the season of a weather table.

The card for the timer is made from means of months; this is what the same days would have done
to the roots: watered when the soil asks for it, by the card, and not at all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.balance import Balance, Refill, water_balance
from evenrow.agronomy.need import loss_factor
from evenrow.agronomy.rain import effective_rain_daily
from evenrow.agronomy.soil import depletion_fraction, readily_available, total_available
from evenrow.calculators.watering_plan import Watering
from evenrow.calculators.watering_weather import Days

FloatArray = NDArray[np.float64]

#: Fewer days than this of a season tell nothing of it.
FEWEST = 7
#: The days before the last by which the next watering is reckoned.
_LATELY = 7
#: Less stress than this is rounding.
_NO_STRESS = 1.0 - 1e-9
_ONE = np.timedelta64(1, "D")


@dataclass(frozen=True)
class SeasonDays:
    """A season of a weather table, day by day, for the zone that runs longest.

    Parameters
    ----------
    dates : numpy.ndarray of datetime64[D]
        Every day from the first to the last, shape (days,).
    filled : int
        Days whose ETo was not in the table and was taken as the mean of its month.
    dry : int
        Days whose rain was not in the table and was taken as none.
    fell, eto : numpy.ndarray
        All rain, and the reference evapotranspiration [m/day].
    ready : numpy.ndarray
        Water that may be gone from the wetted roots before the crop suffers [m].
    wanted : numpy.ndarray
        What the crop uses without stress [m/day].
    asked : Balance
        Watered on the morning of a day whose use would pass `ready`; shape (days,).
    others : Balance
        Watered by the card (column 0), and not at all (column 1); shape (days, 2).
    seconds : numpy.ndarray
        Run time of that zone for what `asked` gives [s/day].
    loss : float
        Gross over net depth [-].
    """

    dates: NDArray[np.datetime64]
    filled: int
    dry: int
    fell: FloatArray
    eto: FloatArray
    ready: FloatArray
    wanted: FloatArray
    asked: Balance
    others: Balance
    seconds: FloatArray
    loss: float

    @property
    def rain_used(self) -> float:
        """Rain that stayed in the roots when watered as the soil asks [m]."""
        return float((self.asked.rain - self.asked.percolation).sum())

    def short(self, column: int | None = None) -> NDArray[np.bool_]:
        """Return the days on which the crop goes short: None as asked, 0 by the card, 1 dry."""
        stress = self.asked.stress if column is None else self.others.stress[:, column]
        return np.asarray(stress < _NO_STRESS)

    @property
    def days_left(self) -> float:
        """Days after the last until the roots want water, at the use of the last week [days]."""
        use = float(self.wanted[-_LATELY:].mean())
        left = max(float(self.ready[-1] - self.asked.depletion[-1]), 0.0)
        return left / use if use > 0.0 else np.inf


def season_days(plan: Watering) -> SeasonDays | None:
    """Return the season of the weather table that holds most days; of equals the latest.

    Parameters
    ----------
    plan : Watering
        The plan; its weather may have come from a table of days.

    Returns
    -------
    SeasonDays or None
        None without such a table, or if fewer than `FEWEST` of its days lie in a season.

    Notes
    -----
    FAO-56, chapter 8, eq. 85: depletion of the wetted root zone, as a depth over the whole
    ground. Rain on dry ground between the emitters is counted only as far as the wetted roots
    have room for it. It begins at field capacity on the first day.
    """
    weather = plan.weather.days
    if weather is None:
        return None
    place, grows = _grown(plan, weather)
    if grows.sum() < FEWEST:
        return None
    first, last = weather.dates[grows][[0, -1]]
    dates = np.arange(first, last + _ONE)
    inside = grows & (weather.dates >= first)
    at = (weather.dates[inside] - first).astype(np.intp)
    eto: FloatArray = np.full(dates.size, np.nan)
    fell: FloatArray = np.full(dates.size, np.nan)
    eto[at], fell[at] = weather.eto[inside], weather.rain[inside]
    months = dates.astype("datetime64[M]").astype(np.intp) % 12
    gaps, dry = np.isnan(eto), np.isnan(fell)
    eto = np.where(gaps, plan.weather.eto[months], eto)
    fell = np.where(dry, 0.0, fell)

    place = day_of_plain_year(dates)
    kc = plan.season.kc_by_day[place]
    zone = plan.longest
    chosen = plan.zones[zone]
    taw = total_available(
        plan.soil.available_water, 0.0, plan.season.roots_by_day[place], plan.wetted
    )
    wanted = np.asarray(eto * kc)
    share = depletion_fraction(plan.season.crop.depletion, wanted)
    rain = effective_rain_daily(fell, eto)
    loss = float(loss_factor(np.array(chosen.uniformity), np.array(plan.leaching), np.array(1.0)))
    depth_a_second = chosen.flow / chosen.area / loss
    asked = water_balance(
        wanted, rain, taw, share, refill=Refill(largest=_largest(plan, depth_a_second))
    )
    given = np.zeros((dates.size, 2))
    given[:, 0] = _by_card(plan, months) * depth_a_second
    both = np.broadcast_to(wanted[:, None], given.shape)
    others = water_balance(both, rain[:, None], taw[:, None], share[:, None], irrigation=given)
    return SeasonDays(
        dates=dates,
        filled=int(gaps.sum()),
        dry=int(dry.sum()),
        fell=fell,
        eto=eto,
        ready=readily_available(taw, share),
        wanted=wanted,
        asked=asked,
        others=others,
        seconds=asked.irrigation / depth_a_second,
        loss=loss,
    )


def day_of_plain_year(dates: NDArray[np.datetime64]) -> NDArray[np.intp]:
    """Return the day of a year without a leap day, from 0; 29 February is the 28th."""
    months = dates.astype("datetime64[M]")
    day = (dates - months.astype("datetime64[D]")).astype(np.intp)
    starts = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334], dtype=np.intp)
    number = months.astype(np.intp) % 12
    return np.asarray(starts[number] + np.where(number == 1, np.minimum(day, 27), day))


def _grown(plan: Watering, weather: Days) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return the day of the year of each day, and which lie in the season that is shown."""
    place = day_of_plain_year(weather.dates)
    year = weather.dates.astype("datetime64[Y]").astype(np.intp)
    # A season has the number of the year in which it begins.
    season = np.where(place >= plan.season.first, year, year - 1)
    grows = ~np.isnan(plan.season.kc_by_day[place])
    known = season[grows & ~np.isnan(weather.eto)]
    if not known.size:
        return place, np.zeros(place.size, dtype=np.bool_)
    numbers, counts = np.unique(known, return_counts=True)
    best = numbers[np.flatnonzero(counts == counts.max())[-1]]
    return place, np.asarray(grows & (season == best))


def _largest(plan: Watering, depth_a_second: float) -> float:
    """Return the most that the zone can get in a day [m net]: its part of hours and water."""
    month = plan.months[plan.peak]
    seconds = month.plan.seconds[0]
    part = float(seconds[plan.longest] / seconds.sum()) if seconds.sum() > 0.0 else 1.0
    usable = part * month.rules.window
    if np.isfinite(plan.supply.per_day):
        volumes = seconds * np.array([zone.flow for zone in plan.zones])
        whole = float(volumes.sum())
        of_water = float(volumes[plan.longest]) / whole if whole > 0.0 else 1.0
        usable = min(usable, of_water * plan.supply.per_day / plan.zones[plan.longest].flow)
    return min(max(usable * depth_a_second, 1e-9), 1.0)


def _by_card(plan: Watering, months: NDArray[np.intp]) -> FloatArray:
    """Return the run time of the zone on each day as the card has it [s/day]."""
    run, every = np.zeros(12), np.ones(12, dtype=np.intp)
    for month in plan.months:
        run[month.number] = float(month.each[plan.longest] * month.runs[plan.longest])
        every[month.number] = max(int(month.plan.interval[0][plan.longest]), 1)
    on = np.arange(months.size) % every[months] == 0
    return np.asarray(np.where(on, run[months], 0.0))
