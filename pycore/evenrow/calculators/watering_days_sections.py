"""The season of a weather table in words: when to water, what rain was worth, who went short."""

from __future__ import annotations

import datetime
import math

import numpy as np
from numpy.typing import NDArray

from evenrow.calculators.result import Column, Fact, Figure, Number, Section, Table
from evenrow.calculators.season_days import date_words, day_words, month_and_year
from evenrow.calculators.watering_card import duration
from evenrow.calculators.watering_days import SeasonDays, season_days
from evenrow.calculators.watering_dual import apart_numbers, season_apart
from evenrow.calculators.watering_plan import Watering
from evenrow.figures.charts import POINTS, Series, line_chart
from evenrow.units import UnitSystem, format_value, system_unit, to_unit
from evenrow.words import said, tr

FloatArray = NDArray[np.float64]

_TITLE = said("Day by day, by your weather table")
_BALANCE = said("FAO-56, chapter 8 (eq. 82 to 85)")
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
        text = tr("too few days of the weather table lie in the season")
        fact = Fact(name="by_day", label=tr("Balance"), text=text)
        return Section(title=tr(_TITLE), items=(fact,))
    name = plan.zones[plan.longest].name
    return Section(
        title=tr(_TITLE),
        items=(
            _next(found, name, system),
            *_sums(found, name),
            *apart_numbers(season_apart(plan, found)),
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
    if days >= _FAR:
        text = tr(
            "no water wanted soon, at the use of the last week: {gone} of the {ready} at hand is "
            "gone",
            gone=gone,
            ready=ready,
        )
    else:
        # Watered on the morning before the day whose use would be too much.
        date = _date(last + 1 + np.timedelta64(math.floor(days)), system)
        text = (
            tr(
                "next on the morning of {date}: {gone} of the {ready} at hand is gone",
                date=date,
                gone=gone,
                ready=ready,
            )
            if days > 0.0
            else tr(
                "next on the morning of {date}: all of the {ready} at hand is gone",
                date=date,
                ready=ready,
            )
        )
    return Fact(
        name="next_watering",
        label=tr("After {date}, {zone}", date=_date(last, system), zone=name),
        text=text,
        rule=tr(
            "At the mean use of the table's last seven days, without rain, if it was watered on "
            "the days told below."
        ),
        source=tr(_BALANCE),
    )


def _sums(found: SeasonDays, name: str) -> tuple[Number, ...]:
    """Return the sums of the season."""
    asked, others = found.asked, found.others
    waterings = int((asked.irrigation > 0.0).sum())
    return (
        Number(
            name="day_waterings",
            label=tr("Waterings that the soil asked for"),
            value=waterings,
            kind="count",
            rule=tr(
                "{zone}, {days} days: each morning of a day whose use would take more than the "
                "crop can have without suffering. The roots are filled then, as far as the "
                "hours and the water of a day allow. Begun with a full soil.",
                zone=name,
                days=found.dates.size,
            ),
            source=tr(_BALANCE),
        ),
        Number(
            name="day_use",
            label=tr("What the crop used"),
            value=float(asked.used.sum()),
            kind="water_depth",
            rule=tr("Each day's ETo times its Kc, less where it went short."),
            source=tr("FAO-56, chapters 6 and 8"),
        ),
        Number(
            name="day_net",
            label=tr("Of it from watering"),
            value=float(asked.irrigation.sum()),
            kind="water_depth",
            rule=tr("At the roots, over all the ground."),
            source=tr(_BALANCE),
        ),
        Number(
            name="day_rain",
            label=tr("Rain that fell"),
            value=float(found.fell.sum()),
            kind="water_depth",
            rule=tr("As in the table."),
            source=tr("yours"),
        ),
        Number(
            name="day_rain_used",
            label=tr("Rain that stayed in the roots"),
            value=max(found.rain_used, 0.0),
            kind="water_depth",
            rule=tr(
                "Rain of more than a fifth of the day's ETo, less what drained below the wetted "
                "roots. Rain beside them is not counted."
            ),
            source=tr(_BALANCE),
        ),
        Number(
            name="day_short",
            label=tr("Days on which the crop went short, so watered"),
            value=int(found.short().sum()),
            kind="count",
            rule=tr(
                "More was gone than it can have without suffering. Above 0 where hours or water "
                "of a day are too few."
            ),
            source=tr(_BALANCE),
        ),
        Number(
            name="card_short",
            label=tr("The same by the timer card"),
            value=int(found.short(0).sum()),
            kind="count",
            rule=tr("Run by the card on all its days, through the rain too."),
            source=tr(_BALANCE),
        ),
        Number(
            name="card_drained",
            label=tr("Drained away by the timer card"),
            value=float(others.percolation[:, 0].sum()),
            kind="water_depth",
            rule=tr(
                "Rain and watering that the roots had no room for. What rain gave is saved by "
                "switching the timer off after it."
            ),
            source=tr(_BALANCE),
        ),
        Number(
            name="dry_short",
            label=tr("The same days without any watering"),
            value=int(found.short(1).sum()),
            kind="count",
            rule=tr("Days short on rain alone."),
            source=tr(_BALANCE),
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
        (tr("watered as the soil asks"), found.asked.depletion),
        (tr("what may be gone"), np.append(found.ready[:1], found.ready)),
        (tr("by the timer card"), found.others.depletion[:, 0]),
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
    words = tr(
        "Water gone from the roots of {zone} on {days} days from {date}. Watered as the soil asks "
        "it is {most} at the most, on day {driest}; by the timer card {by_card}. From {least} to "
        "{greatest} may be gone.",
        zone=name,
        days=found.dates.size,
        date=_date(found.dates[0], system),
        most=most,
        driest=driest,
        by_card=by_card,
        least=least,
        greatest=greatest,
    )
    start = _plain(found.dates[0])
    return Figure(
        name="soil_water",
        title=tr("Water gone from the roots of {zone}", zone=name),
        svg=line_chart(
            series,
            x_label=tr("days since {day}", day=day_words(start.month, start.day, system)),
            y_label=tr("water gone ({unit})", unit=unit),
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
                month_and_year(_plain(month)),
                days or "–",
                float(runs.mean()) if runs.size else None,
                float(asked.used[here].sum()),
                float(found.fell[here].sum()),
                float((asked.rain - asked.percolation)[here].sum()),
                float(asked.irrigation[here].sum()),
                int(card[here].sum()),
            )
        )
    told = [tr("Begun with a full soil on {date}.", date=_date(found.dates[0], system))]
    if found.filled:
        told.append(
            tr(
                "{count} days without ETo have the mean of their month, and without rain none.",
                count=found.filled,
            )
        )
    elif found.dry:
        told.append(tr("{count} days without a figure for rain are taken as dry.", count=found.dry))
    zone = plan.zones[plan.longest].name
    told.append(
        tr(
            "The longest of these runs takes {duration}; cut it into the runs of the card. Rain "
            "used below 0: rain of the month before drained.",
            duration=duration(float(found.seconds.max()), system),
        )
    )
    return Table(
        name="day_months",
        title=tr("When {zone} wants water", zone=zone),
        columns=(
            Column(name="month", label=tr("Month")),
            Column(name="on", label=tr("Water on the")),
            Column(name="run", label=tr("Run, mean"), kind="duration"),
            Column(name="use", label=tr("Used"), kind="water_depth"),
            Column(name="rain", label=tr("Rain"), kind="water_depth"),
            Column(name="rain_used", label=tr("Rain used"), kind="water_depth"),
            Column(name="net", label=tr("Watering"), kind="water_depth"),
            Column(name="short", label=tr("Days short by the card"), kind="count"),
        ),
        rows=tuple(rows),
        note=" ".join(told),
    )
