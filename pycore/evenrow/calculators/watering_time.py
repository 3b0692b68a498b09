"""Watering time: how long and how often each zone runs, month by month."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from evenrow.calculators import watering_sections as show
from evenrow.calculators.carries import FROM_WATERING_TIME
from evenrow.calculators.result import Number, Result, Section
from evenrow.calculators.season_days import month_words
from evenrow.calculators.spec import Calculator
from evenrow.calculators.watering_card import card, month_name, notices, verdict
from evenrow.calculators.watering_days_sections import by_day
from evenrow.calculators.watering_examples import EXAMPLES
from evenrow.calculators.watering_fields import FIELDS
from evenrow.calculators.watering_plan import Watering, clock_seconds, watering_of
from evenrow.calculators.watering_season import Season, season_of
from evenrow.calculators.watering_weather import MonthWeather, month_weather
from evenrow.calculators.watering_weather_fields import MONTHS
from evenrow.errors import InputError, InputErrors
from evenrow.units import UnitSystem
from evenrow.words import said, tr

_RUN_SOURCE = said(
    "FAO-56, chapter 6: ETc = Kc ETo; gross depth = net depth / EU: Keller and Bliesner (1990), "
    "chapter 19 (from memory)"
)


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer how long and how often to water; see `evenrow.agronomy.schedule.watering_plan`."""
    season, weather = _all_known(inputs)
    if inputs["weather"]["way"] == "day":
        season = season.only(MONTHS.index(inputs["weather"]["day_month"]))
    if weather.days is not None:
        season = _with_weather(season, weather)
    weather.require(season.months)
    plan = watering_of(inputs, season, weather)
    month, zone = plan.months[plan.peak], plan.longest
    days = int(month.plan.interval[0][zone])
    return Result(
        headline=Number(
            name="run_time",
            label=_run_label(month_name(month), days, plan.zones[zone].name),
            value=float(month.each[zone] * month.runs[zone]),
            kind="duration",
            rule=tr(
                "Depth needed over the ground of the zone, more by the emission uniformity and for "
                "salt, over its flow; times the days from one watering to the next; rounded up to "
                "steps of the timer. {month} is the month that wants most, this the zone that runs "
                "longest then.",
                month=month_name(month),
            ),
            source=tr(_RUN_SOURCE),
        ),
        verdict=verdict(plan, system),
        sections=(
            card(plan, system),
            show.by_month(plan, system),
            *_by_day(plan, system),
            show.worked_out(plan),
            show.soil_and_runs(plan, system),
            show.season_water(plan, system, inputs["water"]["price"]),
            show.if_eto_is_off(plan),
        ),
        notices=notices(plan, inputs["timer"]["starts"]),
    )


def _with_weather(season: Season, weather: MonthWeather) -> Season:
    """Return the season without months of which a table of days holds none, and say so.

    A table that ends today shall tell what to do tomorrow; months with nothing at all stay, and
    are then found missing.
    """
    cut = season.among(weather.known)
    left_out = [month_words(month + 1) for month in season.months if month not in cut.months]
    if not cut.months or not left_out:
        return season
    note = tr(
        "The weather table has no days in {months}: these months of the season are left out of "
        "card, water and cost.",
        months=", ".join(left_out),
    )
    return replace(cut, notes=(*cut.notes, note))


def _by_day(plan: Watering, system: UnitSystem) -> tuple[Section, ...]:
    section = by_day(plan, system)
    return () if section is None else (section,)


def _run_label(month: str, days: int, zone: str) -> str:
    """Return whose run time stands there, and how often that is; 0 days: not at all."""
    if days == 0:
        return tr("{month}, a day: {zone}", month=month, zone=zone)
    if days == 1:
        return tr("{month}, every day: {zone}", month=month, zone=zone)
    return tr("{month}, every {days} days: {zone}", month=month, days=days, zone=zone)


def _all_known(inputs: Mapping[str, Any]) -> tuple[Season, MonthWeather]:
    """Return crop and weather by month; what is wrong with either or the clock is told together."""
    problems: list[InputError] = []
    season = weather = None
    try:
        season = season_of(inputs)
    except InputError as error:
        problems.append(error)
    try:
        weather = month_weather(inputs["weather"])
    except InputError as error:
        problems.append(error)
    try:
        clock_seconds(inputs["timer"]["start"])
    except InputError as error:
        problems.append(error)
    if season is None or weather is None or problems:
        raise InputErrors(problems)
    return season, weather


CALCULATOR = Calculator(
    id="watering-time",
    title="Watering time",
    question="How long and how often do I water?",
    fields=FIELDS,
    run=run,
    examples=EXAMPLES,
    carries=FROM_WATERING_TIME,
)
