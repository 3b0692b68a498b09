"""The season of a weather table in words: when to water, what rain was worth, who went short."""

from __future__ import annotations

import datetime
import math

import numpy as np
from numpy.typing import NDArray

from evenrow.calculators.result import Column, Fact, Figure, Number, Section, Table
from evenrow.calculators.season_days import date_words, day_words
from evenrow.calculators.watering_card import duration
from evenrow.calculators.watering_days import SeasonDays, season_days
from evenrow.calculators.watering_plan import Watering
from evenrow.calculators.watering_weather_fields import MONTHS
from evenrow.figures.charts import POINTS, Series, line_chart
from evenrow.units import UnitSystem, format_value, system_unit, to_unit

FloatArray = NDArray[np.float64]

_TITLE = "Day by day, by your weather table"
_BALANCE = "FAO-56, chapter 8 (eq. 82 to 85)"
#: A drawing of more days than this shows the driest of two, three or more days together.
_DRAWN = POINTS - 1
#: Beyond this the next watering is not told to the day [days].
_FAR = 30


def by_day(plan: Watering, system: UnitSystem) -> Section | None:
    """Return the daily balance of the soil's water; None where the weather is not by day.

    Parameters
    ----------
    plan : Watering
        The plan.
    system : {"us", "metric"}
        Units of what is written.

    Returns
    -------
    Section or None
        Of the zone that runs longest; see `watering_days.season_days`.
    """
    if plan.weather.days is None:
        return None
    found = season_days(plan)
    if found is None:
        text = "too few days of the weather table lie in the season"
        return Section(title=_TITLE, items=(Fact(name="by_day", label="Balance", text=text),))
    name = plan.zones[plan.longest].name
    return Section(
        title=_TITLE,
        items=(
            _next(found, name, system),
            *_sums(found, name),
            _chart(found, name, system),
            _months(found, plan, system),
        ),
    )


def _date(day: np.datetime64, system: UnitSystem) -> str:
    return date_words(_plain(day), system)


def _plain(day: np.datetime64) -> datetime.date:
    return datetime.date.fromisoformat(str(day.astype("datetime64[D]")))


def _next(found: SeasonDays, name: str, system: UnitSystem) -> Fact:
    """Return when the roots want water after the last day of the table."""
    last = found.dates[-1]
    gone = format_value(float(found.asked.depletion[-1]), "water_depth", system, 2)
    ready = format_value(float(found.ready[-1]), "water_depth", system, 2)
    days = found.days_left
    what = f"{gone} of the {ready} at hand" if days > 0.0 else f"all of the {ready} at hand"
    if days >= _FAR:
        when = "no water wanted soon, at the use of the last week"
    else:
        # Watered on the morning before the day whose use would be too much.
        when = (
            f"next on the morning of {_date(last + 1 + np.timedelta64(math.floor(days)), system)}"
        )
    return Fact(
        name="next_watering",
        label=f"After {_date(last, system)}, {name}",
        text=f"{when}: {what} is gone",
        rule="At the mean use of the table's last seven days, without rain, if it was watered on "
        "the days told below.",
        source=_BALANCE,
    )


def _sums(found: SeasonDays, name: str) -> tuple[Number, ...]:
    """Return the sums of the season."""
    asked, others = found.asked, found.others
    waterings = int((asked.irrigation > 0.0).sum())
    return (
        Number(
            name="day_waterings",
            label="Waterings that the soil asked for",
            value=waterings,
            kind="count",
            rule=f"{name}, {found.dates.size} days: each morning of a day whose use would take "
            "more than the crop can have without suffering. The roots are filled then, as far as "
            "the hours and the water of a day allow. Begun with a full soil.",
            source=_BALANCE,
        ),
        Number(
            name="day_use",
            label="What the crop used",
            value=float(asked.used.sum()),
            kind="water_depth",
            rule="Each day's ETo times its Kc, less where it went short.",
            source="FAO-56, chapters 6 and 8",
        ),
        Number(
            name="day_net",
            label="Of it from watering",
            value=float(asked.irrigation.sum()),
            kind="water_depth",
            rule="At the roots, over all the ground.",
            source=_BALANCE,
        ),
        Number(
            name="day_rain",
            label="Rain that fell",
            value=float(found.fell.sum()),
            kind="water_depth",
            rule="As in the table.",
            source="yours",
        ),
        Number(
            name="day_rain_used",
            label="Rain that stayed in the roots",
            value=max(found.rain_used, 0.0),
            kind="water_depth",
            rule="Rain of more than a fifth of the day's ETo, less what drained below the wetted "
            "roots. Rain beside them is not counted.",
            source=_BALANCE,
        ),
        Number(
            name="day_short",
            label="Days on which the crop went short, so watered",
            value=int(found.short().sum()),
            kind="count",
            rule="More was gone than it can have without suffering. Above 0 where hours or water "
            "of a day are too few.",
            source=_BALANCE,
        ),
        Number(
            name="card_short",
            label="The same by the timer card",
            value=int(found.short(0).sum()),
            kind="count",
            rule="Run by the card on all its days, through the rain too.",
            source=_BALANCE,
        ),
        Number(
            name="card_drained",
            label="Drained away by the timer card",
            value=float(others.percolation[:, 0].sum()),
            kind="water_depth",
            rule="Rain and watering that the roots had no room for. What rain gave is saved by "
            "switching the timer off after it.",
            source=_BALANCE,
        ),
        Number(
            name="dry_short",
            label="The same days without any watering",
            value=int(found.short(1).sum()),
            kind="count",
            rule="Days short on rain alone.",
            source=_BALANCE,
        ),
    )


def _drawn(values: FloatArray) -> tuple[list[float], list[float]]:
    """Return at most as many points as a chart draws: of neighbours the highest, and its day."""
    block = -(-values.size // _DRAWN)
    starts = range(0, values.size, block)
    peaks = [start + int(np.argmax(values[start : start + block])) for start in starts]
    return [float(day) for day in peaks], [float(values[day]) for day in peaks]


def _chart(found: SeasonDays, name: str, system: UnitSystem) -> Figure:
    unit = system_unit("water_depth", system)

    def shown(depths: FloatArray) -> FloatArray:
        return np.asarray([to_unit(float(depth), "water_depth", unit) for depth in depths])

    lines = (
        ("watered as the soil asks", found.asked.depletion),
        ("what may be gone", np.append(found.ready[:1], found.ready)),
        ("by the timer card", found.others.depletion[:, 0]),
    )
    series = []
    for label, depths in lines:
        days, values = _drawn(shown(depths))
        series.append(Series(label=label, x=days, y=values))
    driest = int(np.argmax(found.asked.depletion))
    most, by_card, least, greatest = (
        format_value(float(depth), "water_depth", system, 2)
        for depth in (
            found.asked.depletion[driest],
            found.others.depletion[:, 0].max(),
            found.ready.min(),
            found.ready.max(),
        )
    )
    words = (
        f"Water gone from the roots of {name} on {found.dates.size} days from "
        f"{_date(found.dates[0], system)}. Watered as the soil asks it is {most} at the most, on "
        f"day {driest}; by the timer card {by_card}. From {least} to {greatest} may be gone."
    )
    start = _plain(found.dates[0])
    return Figure(
        name="soil_water",
        title=f"Water gone from the roots of {name}",
        svg=line_chart(
            series,
            x_label=f"days since {day_words(start.month, start.day, system)}",
            y_label=f"water gone ({unit})",
            alternative=words,
        ),
        alternative=words,
    )


def _in_words(days: list[int]) -> str:
    """Return days of a month with their neighbours together: ``"2, 7, 12–15"``."""
    ends = [day for day in days if day + 1 not in days]
    begins = [day for day in days if day - 1 not in days]
    return ", ".join(
        str(begin) if begin == end else f"{begin}–{end}"
        for begin, end in zip(begins, ends, strict=True)
    )


def _months(found: SeasonDays, plan: Watering, system: UnitSystem) -> Table:
    """Return the months with the days to water on."""
    month_of = found.dates.astype("datetime64[M]")
    asked, card = found.asked, found.short(0)
    rows = []
    for month in np.unique(month_of):
        here = month_of == month
        on = here & (asked.irrigation > 0.0)
        days = _in_words([_plain(day).day for day in found.dates[on]])
        runs = found.seconds[on]
        rows.append(
            (
                f"{MONTHS[_plain(month).month - 1].capitalize()} {_plain(month).year}",
                days or "–",
                float(runs.mean()) if runs.size else None,
                float(asked.used[here].sum()),
                float(found.fell[here].sum()),
                float((asked.rain - asked.percolation)[here].sum()),
                float(asked.irrigation[here].sum()),
                int(card[here].sum()),
            )
        )
    told = [f"Begun with a full soil on {_date(found.dates[0], system)}."]
    if found.filled:
        told.append(
            f"{found.filled} days without ETo have the mean of their month, and without rain none."
        )
    elif found.dry:
        told.append(f"{found.dry} days without a figure for rain are taken as dry.")
    zone = plan.zones[plan.longest].name
    longest = duration(float(found.seconds.max()), system)
    return Table(
        name="day_months",
        title=f"When {zone} wants water",
        columns=(
            Column(name="month", label="Month"),
            Column(name="on", label="Water on the"),
            Column(name="run", label="Run, mean", kind="duration"),
            Column(name="use", label="Used", kind="water_depth"),
            Column(name="rain", label="Rain", kind="water_depth"),
            Column(name="rain_used", label="Rain used", kind="water_depth"),
            Column(name="net", label="Watering", kind="water_depth"),
            Column(name="short", label="Days short by the card", kind="count"),
        ),
        rows=tuple(rows),
        note=" ".join(told) + f" The longest of these runs takes {longest}; cut it into the runs "
        "of the card. Rain used below 0: rain of the month before drained.",
    )
