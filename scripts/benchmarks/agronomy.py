"""Crop water: reference evapotranspiration of 30 years beside a general library, and the plan."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from evenrow.agronomy.climate import DAYS_IN_MONTH, monthly_means
from evenrow.agronomy.crop import KcCurve, canopy_reduction, day_of_season
from evenrow.agronomy.eto import ReferenceET, reference_et
from evenrow.agronomy.plan_inputs import Periods, PlantedZone, Rules, Supply
from evenrow.agronomy.rain import effective_rain_monthly
from evenrow.agronomy.schedule import WateringPlan, watering_plan
from evenrow.agronomy.timetable import timetables

__all__ = ["eto_30y_vs_pyet", "water_plan_vs_eto"]

LATITUDE, ELEVATION = 41.3, 210.0
YEARS = 30
_TURNS = 60


def weather() -> dict[str, Any]:
    """Return 30 invented years of daily weather, the same at every call."""
    random = np.random.default_rng(56)
    dates = np.arange(np.datetime64("1991-01-01"), np.datetime64(f"{1991 + YEARS}-01-01"))
    day = (dates - dates.astype("datetime64[Y]")).astype(float) + 1.0
    season = np.sin((day - 105.0) * (2.0 * np.pi / 365.0))
    mean = 13.0 + 10.0 * season + random.normal(0.0, 3.0, day.size)
    span = random.uniform(3.0, 16.0, day.size)
    humid = random.uniform(0.3, 0.7, day.size)
    return {
        "dates": dates,
        "day": day,
        "tmax": mean + 0.5 * span,
        "tmin": mean - 0.5 * span,
        "rh_max": np.minimum(humid + 0.25, 1.0),
        "rh_min": humid - 0.15,
        "wind": random.gamma(4.0, 0.5, day.size),
        "rain": np.where(random.random(day.size) < 0.25, random.gamma(1.0, 0.006, day.size), 0.0),
        "solar": (15.0 + 9.0 * season) * random.uniform(0.3, 1.1, day.size),
    }


def ours(w: dict[str, Any]) -> ReferenceET:
    """Return our evapotranspiration of the weather."""
    return reference_et(
        w["day"],
        w["tmax"],
        w["tmin"],
        latitude=LATITUDE,
        elevation=ELEVATION,
        rh_max=w["rh_max"],
        rh_min=w["rh_min"],
        wind=w["wind"],
        solar=w["solar"],
    )


def _library(w: dict[str, Any]) -> Callable[[], Any]:
    """Return the library's run of the weather, its table already made."""
    import pandas
    import pyet

    table = pandas.DataFrame(
        {key: w[key] for key in ("tmax", "tmin", "wind", "solar")}
        | {key: 100.0 * w[key] for key in ("rh_max", "rh_min")},
        index=pandas.DatetimeIndex(w["dates"]),
    )
    tmean = 0.5 * (table["tmax"] + table["tmin"])
    latitude = float(np.deg2rad(LATITUDE))

    def run() -> Any:
        return pyet.pm_fao56(
            tmean,
            table["wind"],
            rs=table["solar"],
            elevation=ELEVATION,
            lat=latitude,
            tmax=table["tmax"],
            tmin=table["tmin"],
            rhmax=table["rh_max"],
            rhmin=table["rh_min"],
        )

    return run


def _turn_by_turn(first: Callable[[], Any], second: Callable[[], Any]) -> tuple[float, float]:
    """Return the least times of two functions that are run turn by turn.

    Both are over in a blink, and whatever else the machine does can only add to them.
    """
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(_TURNS):
        for run, kept in zip((first, second), times, strict=True):
            start = time.perf_counter()
            run()
            kept.append(time.perf_counter() - start)
    return min(times[0]), min(times[1])


def eto_30y_vs_pyet() -> dict[str, Any]:
    """Time 30 years of daily reference evapotranspiration, ours and the library's."""
    w = weather()
    library = _library(w)
    eto = ours(w).eto * 1000.0
    theirs = np.asarray(library())
    apart = float(np.max(np.abs(eto - theirs) / np.maximum(theirs, 1e-3)))
    if apart > 1e-6:
        raise RuntimeError(f"the results differ by {apart:.1e}: the times mean nothing")
    slow, quick = _turn_by_turn(library, lambda: ours(w))
    return {
        "value": slow / quick,
        "target": 3.0,
        "better": "higher",
        "unit": "times faster",
        "method": (
            f"pyet.pm_fao56 over reference_et, {w['day'].size} days of one station, least of "
            f"{_TURNS} runs turn by turn: {slow * 1e3:.2f} ms and {quick * 1e3:.2f} ms; largest "
            f"relative difference {apart:.1e}"
        ),
    }


#: Ten invented zones of tomatoes.
ZONES = [
    PlantedZone(area=900.0 + 50.0 * i, plants=1800.0, flow=2e-3, taw=0.032, p=0.4, uniformity=0.88)
    for i in range(10)
]
RULES = Rules(window=10 * 3600.0, changeover=60.0, longest_interval=3, longest_run=3600.0)
CURVE = KcCurve((30.0, 40.0, 45.0, 30.0), 0.6, 1.15, 0.8)
_FIFTEENTHS = np.array([f"2019-{month:02d}-15" for month in range(1, 13)], "datetime64[D]")


def plan(w: dict[str, Any]) -> WateringPlan:
    """Return the months' watering plan with all start times, from the weather on."""
    eto, rain = monthly_means(w["dates"], [ours(w).eto, w["rain"]])
    made = watering_plan(
        Periods(
            eto=eto,
            kc=CURVE.at(day_of_season(_FIFTEENTHS, 4, 20)) * canopy_reduction(0.8),
            rain=effective_rain_monthly(rain * DAYS_IN_MONTH) / DAYS_IN_MONTH,
        ),
        ZONES,
        RULES,
        Supply(per_day=60.0, price=0.4),
    )
    timetables(
        made.watering_seconds, made.runs, opens=72_000.0, window=RULES.window, changeover=60.0
    )
    return made


def water_plan_vs_eto() -> dict[str, Any]:
    """Time the whole watering plan from 30 years of weather beside their evapotranspiration."""
    w = weather()
    if plan(w).total_volume <= 0.0:
        raise RuntimeError("the plan waters nothing: its time means nothing")
    whole, alone = _turn_by_turn(lambda: plan(w), lambda: ours(w))
    return {
        "value": whole / alone,
        "target": 2.0,
        "better": "lower",
        "unit": "times the evapotranspiration alone",
        "method": (
            f"weather of {w['day'].size} days to monthly means, coefficients, effective rain, the "
            f"plan of {len(ZONES)} zones in 12 months and all start times, over reference_et of "
            f"the same days; least of {_TURNS} runs turn by turn: {whole * 1e3:.2f} ms and "
            f"{alone * 1e3:.2f} ms"
        ),
    }
