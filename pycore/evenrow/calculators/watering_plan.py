"""The watering plan of a season: every month planned, rounded to the timer, put on the clock."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.leaching import leaching_for_drip
from evenrow.agronomy.plan_inputs import DAY, Periods, PlantedZone, Rules, Supply
from evenrow.agronomy.schedule import WateringPlan, eto_sensitivity, watering_plan
from evenrow.agronomy.soil import total_available
from evenrow.agronomy.timetable import Timetable, timetable
from evenrow.agronomy.wetting import volume_to_depth
from evenrow.calculators.watering_season import Season
from evenrow.calculators.watering_weather import MonthWeather
from evenrow.catalogue.growing import Soil, soil
from evenrow.errors import InputError
from evenrow.words import tr

FloatArray = NDArray[np.float64]

#: What the ETo is multiplied by to show how much hangs on it.
FACTORS = (0.8, 1.0, 1.2)
#: Salinity of the soil that leaves no yield [dS/m], the least of those named with each class:
#: FAO-29 rev. 1, table 4, strawberry 4 and lettuce 9 (from memory; bean 6.3 and maize 10 beside
#: them read as quoted), zucchini 15 (read in PLOS ONE 13(6) e0198290, table 3, which quotes it).
MAX_ECE = {"sensitive": 4.0, "moderate": 9.0, "tolerant": 15.0}
#: Uniformity of a zone that names none.
_EU = 0.9
#: Two areas that differ by more than this contradict each other.
_SAME_AREA = 0.05

_CLOCK = re.compile(
    r"(\d{1,2})(?: ?[:.h] ?(\d{2}))? ?(?:([ap])\.? ?m\.?)?", re.ASCII | re.IGNORECASE
)


@dataclass(frozen=True)
class Zone:
    """A zone as typed in: ground [m2], flow [m3/s], uniformity [-], how many plants or None."""

    name: str
    area: float
    flow: float
    uniformity: float
    rank: int
    plants: float | None


@dataclass(frozen=True)
class Month:
    """A month as planned and as put on the timer; arrays have one entry for each zone.

    Parameters
    ----------
    number : int
        0 to 11.
    plan : WateringPlan
        Of this month alone: one period.
    taw : float
        Water that the wetted root zone holds, over the whole ground [m].
    planted : tuple of PlantedZone
        The zones with what their roots hold in this month.
    rules : Rules
        Those of this month.
    runs : numpy.ndarray of int
        Starts on a day of watering.
    each : numpy.ndarray
        Length of one run, in whole steps of the timer [s].
    too_long : numpy.ndarray of bool
        Where a run is longer than the root zone can take in.
    table : Timetable
        All runs of a day on which all zones are watered.
    """

    number: int
    plan: WateringPlan
    taw: float
    planted: tuple[PlantedZone, ...]
    rules: Rules
    runs: NDArray[np.intp]
    each: FloatArray
    too_long: NDArray[np.bool_]
    table: Timetable


@dataclass(frozen=True)
class Watering:
    """The whole plan.

    Parameters
    ----------
    season, weather, soil
        What it was made from.
    zones : tuple of Zone
        What is watered.
    leaching : float
        Leaching requirement [-].
    wetted : float
        Share of the ground that gets wet [-].
    months : tuple of Month
        In the order of the season.
    eto, rain : numpy.ndarray
        ETo, and rain counted on, of those months [m/day], shape (months,).
    supply : Supply
        What there is.
    notes : tuple of str
        What was assumed of the zones.
    """

    season: Season
    weather: MonthWeather
    soil: Soil
    zones: tuple[Zone, ...]
    leaching: float
    wetted: float
    months: tuple[Month, ...]
    eto: FloatArray
    rain: FloatArray
    supply: Supply
    notes: tuple[str, ...]

    @property
    def peak(self) -> int:
        """Which of `months` wants most water."""
        return int(np.argmax([month.plan.net.max() for month in self.months]))

    @property
    def longest(self) -> int:
        """Which zone runs longest in the month that wants most."""
        return int(np.argmax(self.months[self.peak].plan.seconds[0]))

    @property
    def volume(self) -> float:
        """Water of all months [m3]."""
        return sum(month.plan.total_volume for month in self.months)

    @property
    def short(self) -> tuple[str, ...]:
        """What falls short in any month: ``"window"``, ``"day"``; see `WateringPlan.cut_by`."""
        return tuple(sorted({cut for month in self.months for cut in month.plan.cut_by}))

    @property
    def missing(self) -> float:
        """What is wanted and cannot be had, all months [m3]."""
        return sum(month.plan.missing_volume for month in self.months)

    @property
    def cost(self) -> float:
        """Price of all water."""
        return sum(month.plan.cost for month in self.months)

    def sensitivity(self) -> tuple[WateringPlan, ...]:
        """Return the plan of the month that wants most for each of `FACTORS`."""
        month = self.months[self.peak]
        period = _period(self.season, self.eto, self.rain, self.peak)
        return eto_sensitivity(period, month.planted, month.rules, self.supply, FACTORS)


def watering_of(inputs: Mapping[str, Any], season: Season, weather: MonthWeather) -> Watering:
    """Plan the months of a season.

    Parameters
    ----------
    inputs : mapping
        Inputs of the calculator, SI.
    season : Season
        The crop by month.
    weather : MonthWeather
        The weather of all its months must be known: `MonthWeather.require`.

    Returns
    -------
    Watering
        Each month is planned with the roots that it has.

    Raises
    ------
    InputError
        At the field that does not go together with the others.
    """
    timer, planting, water = inputs["timer"], inputs["planting"], inputs["water"]
    notes: list[str] = []
    zones = _zones(inputs["zones"], season, notes)
    ground = soil(planting["soil"], field="planting.soil")
    leaching = _leaching(water)
    opens = clock_seconds(timer["start"])
    supply = Supply(
        per_day=np.inf if water["per_day"] is None else water["per_day"],
        price=(water["price"] or 0.0) / water["price_volume"],
    )
    places = list(season.months)
    eto, rain = weather.eto[places], weather.rain[places]
    months = []
    for index, number in enumerate(season.months):
        depth = float(season.roots[index])
        taw = float(
            total_available(ground.available_water, 0.0, depth, wetted_share=planting["wetted"])
        )
        planted = tuple(_planted(zone, taw, season.crop.depletion, leaching) for zone in zones)
        rules = Rules(
            window=timer["window"],
            longest_interval=timer["longest_interval"],
            longest_run=_time_to_depth(depth, ground, planting["emitter_flow"]),
        )
        plan = watering_plan(_period(season, eto, rain, index), planted, rules, supply)
        months.append(_on_timer(number, plan, taw, planted, rules, timer, opens))
    return Watering(
        season=season,
        weather=weather,
        soil=ground,
        zones=zones,
        leaching=leaching,
        wetted=planting["wetted"],
        months=tuple(months),
        eto=eto,
        rain=rain,
        supply=supply,
        notes=tuple(notes),
    )


def _period(season: Season, eto: FloatArray, rain: FloatArray, index: int) -> Periods:
    """Return one month by itself."""
    one = slice(index, index + 1)
    return Periods(eto=eto[one], kc=season.kc[one], rain=rain[one], days=season.days[one])


def _planted(zone: Zone, taw: float, depletion: float, leaching: float) -> PlantedZone:
    return PlantedZone(
        area=zone.area,
        # Without a number of plants the water of one is not shown.
        plants=1.0 if zone.plants is None else zone.plants,
        flow=zone.flow,
        taw=taw,
        p=depletion,
        uniformity=zone.uniformity,
        leaching=leaching,
        priority=zone.rank,
    )


def _time_to_depth(depth: float, ground: Soil, flow: float | None) -> float:
    """Return how long an emitter takes to wet dry soil down to the roots [s]; at least a minute."""
    if flow is None:
        return np.inf
    volume = float(volume_to_depth(depth, ground.conductivity, flow))
    return min(max(volume / flow, 60.0), DAY)


def _on_timer(
    number: int,
    plan: WateringPlan,
    taw: float,
    planted: tuple[PlantedZone, ...],
    rules: Rules,
    timer: Mapping[str, Any],
    opens: float,
) -> Month:
    """Round a month's runs to steps of the timer and give them their hours."""
    runs = np.minimum(plan.runs[0], timer["starts"])
    exact = plan.watering_seconds[0] / np.maximum(runs, 1)
    step = timer["step"]
    steps = exact / step
    # Up, so that no plant gets less; a hair of grace, so that rounding adds no whole step. Where
    # the window is full to the last minute it has to be down.
    for whole in (np.ceil(steps - 1e-6), np.floor(steps + 1e-6)):
        each = np.where(exact > 0.0, np.maximum(whole, 1.0) * step, 0.0)
        each = np.minimum(each, DAY / np.maximum(runs, 1))
        table = timetable(
            each * runs, runs, opens=opens, window=timer["window"], rest=timer["rest"]
        )
        if not table.over:
            break
    too_long = exact > plan.longest[0] * (1.0 + 1e-6)
    return Month(number, plan, taw, planted, rules, runs, each, too_long, table)


def _leaching(water: Mapping[str, Any]) -> float:
    if not water["salinity"]:
        return 0.0
    try:
        return float(leaching_for_drip(water["salinity"], MAX_ECE[water["tolerance"]]))
    except InputError as error:
        raise error.at("water.salinity") from None


def _zones(rows: Sequence[Mapping[str, Any]], season: Season, notes: list[str]) -> tuple[Zone, ...]:
    found = []
    for index, row in enumerate(rows):
        name = row["name"] or tr("zone {number}", number=index + 1)
        area = _area(row, index, name, notes)
        if row["uniformity"] is None:
            notes.append(
                tr("Emission uniformity of {name}: taken as {eu:.0f} %.", name=name, eu=_EU * 100)
            )
        found.append(
            Zone(
                name=name,
                area=area,
                flow=row["flow"],
                uniformity=row["uniformity"] or _EU,
                rank=row["rank"] or 1,
                plants=_plants(row, area, season, name, notes),
            )
        )
    return tuple(found)


def _area(row: Mapping[str, Any], index: int, name: str, notes: list[str]) -> float:
    """Return the ground of a zone [m2]."""
    length, spacing, area = row["row_length"], row["row_spacing"], row["area"]
    if area is None and length is None and spacing is None:
        raise _no_ground(index, "area", tr("the ground of the zone is missing"))
    if area is None:
        for column, value in (("row_length", length), ("row_spacing", spacing)):
            if value is None:
                raise _no_ground(index, column, tr("half of what makes the ground is missing"))
        return float(length * spacing)
    if length is not None and spacing is not None:
        product = length * spacing
        if abs(product - area) > _SAME_AREA * area:
            notes.append(
                tr(
                    "The ground of {name} is taken as typed in; its rows would make {share:.0f} "
                    "% of that.",
                    name=name,
                    share=product / area * 100,
                )
            )
    return float(area)


def _no_ground(index: int, column: str, message: str) -> InputError:
    return InputError(
        message,
        code="missing",
        field=f"zones.{index}.{column}",
        accepted=tr("length of the rows and distance between them, or the ground itself"),
    )


def _plants(
    row: Mapping[str, Any], area: float, season: Season, name: str, notes: list[str]
) -> float | None:
    """Return how many plants a zone has, or None where nothing tells it."""
    length = row["row_length"]
    if length is None and row["row_spacing"] is not None:
        length = area / row["row_spacing"]
    apart = row["plants"]
    if length is None:
        return None
    if apart is None:
        # How many rows of plants share a bed is not known here.
        if season.crop.bedded:
            return None
        apart = season.crop.plant_spacing
        notes.append(
            tr(
                "Plants of {name}: taken to stand apart as usual for {crop}.",
                name=name,
                crop=tr(season.crop.label),
            )
        )
    return max(float(length / apart), 1.0)


def clock_seconds(text: str) -> float:
    """Return a time of day as seconds after midnight.

    Parameters
    ----------
    text : str
        Such as ``"5:00"``, ``"17.30"``, ``"5 am"`` or ``"5:30 pm"``.

    Returns
    -------
    float
        0 up to a day.

    Raises
    ------
    InputError
        At ``timer.start``.
    """
    found = _CLOCK.fullmatch(text.strip())
    hour, minute = (int(found[1]), int(found[2] or 0)) if found else (99, 0)
    half = found[3].lower() if found and found[3] else ""
    if half and not 1 <= hour <= 12:
        hour = 99
    elif half:
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 23 or minute > 59:
        raise InputError(
            tr("this is no time of day"),
            code="not_a_time",
            field="timer.start",
            given=text,
            accepted=tr("a time such as 5:00, 17:30 or 5:30 pm"),
        )
    return hour * 3600.0 + minute * 60.0
