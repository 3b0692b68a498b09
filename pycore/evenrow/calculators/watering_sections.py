"""The reasons of a watering plan: months, steps, soil, water, and how much hangs on ETo."""

from __future__ import annotations

import numpy as np

from evenrow.agronomy.need import loss_factor
from evenrow.agronomy.plan_inputs import DAY
from evenrow.calculators.result import (
    Column,
    Fact,
    Figure,
    Number,
    Section,
    Table,
)
from evenrow.calculators.season_days import month_words
from evenrow.calculators.watering_card import duration, month_name
from evenrow.calculators.watering_plan import Watering
from evenrow.figures.bars import bar_chart
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

_SOIL_SOURCE = said("FAO-56, chapter 8 (eq. 82 and 83) and tables 19 and 22")


def by_month(plan: Watering, system: UnitSystem) -> Section:
    """Return the weather, the crop and the need of each month, and the run time as bars."""
    zone = plan.longest
    table = Table(
        name="months",
        title=tr("The average day of each month, run time of {zone}", zone=plan.zones[zone].name),
        columns=(
            Column(name="month", label=tr("Month")),
            Column(name="days", label=tr("Days"), kind="count"),
            Column(name="eto", label=tr("ETo"), kind="water_depth"),
            Column(name="kc", label=tr("Kc"), kind="number", digits=2),
            Column(name="rain", label=tr("Rain counted"), kind="water_depth", digits=2),
            Column(name="need", label=tr("Need"), kind="water_depth"),
            Column(name="average", label=tr("Run time"), kind="duration"),
            Column(name="volume", label=tr("Water of all zones"), kind="volume"),
        ),
        rows=tuple(
            (
                month_name(month),
                round(float(plan.season.days[i])),
                float(plan.eto[i]),
                float(plan.season.kc[i]),
                float(plan.rain[i]) or None,
                float(month.plan.net[0][zone]),
                float(month.plan.seconds[0][zone]),
                month.plan.total_volume,
            )
            for i, month in enumerate(plan.months)
        ),
        note=tr(
            "Need: ETo times Kc, less the rain counted on. The run time is that of every day, "
            "before days are gathered and minutes rounded up. The water is that of the whole month."
        ),
    )
    items: list[Table | Figure] = [table]
    if len(plan.months) > 1:
        items.insert(0, _chart(plan, system))
    return Section(title=tr("Month by month"), items=tuple(items))


def _chart(plan: Watering, system: UnitSystem) -> Figure:
    zone = plan.longest
    minutes = [0.0] * 12
    for month in plan.months:
        minutes[month.number] = float(month.plan.seconds[0][zone]) / 60.0
    # Every language here shortens its months to three letters.
    months = [month_words(number)[:3] for number in range(1, 13)]
    told = ", ".join(
        f"{month_name(m)} {duration(float(m.plan.seconds[0][zone]), system)}" for m in plan.months
    )
    name = plan.zones[zone].name
    words = tr("Run time of {zone} on the average day: {told}.", zone=name, told=told)
    return Figure(
        name="run_times",
        title=tr("Run time of {zone}, average day of each month", zone=name),
        svg=bar_chart(
            months,
            minutes,
            y_label=tr("minutes a day"),
            alternative=words,
        ),
        alternative=words,
    )


def worked_out(plan: Watering) -> Section:
    """Return every figure from the weather to the run time of the month that wants most."""
    at, zone = plan.peak, plan.longest
    month, chosen = plan.months[at], plan.zones[zone]
    season, weather = plan.season, plan.weather
    loss = float(loss_factor(np.array(chosen.uniformity), np.array(plan.leaching), np.array(1.0)))
    rain = float(plan.rain[at])
    figures = [
        Number(
            name="eto",
            label=tr("ETo, a day"),
            value=float(plan.eto[at]),
            kind="water_depth",
            rule=weather.rule,
            source=weather.source,
        ),
        Number(
            name="kc",
            label=tr("Crop coefficient Kc"),
            value=float(season.kc[at]),
            kind="number",
            digits=2,
            rule=season.rule,
            source=season.source,
        ),
        Number(
            name="net",
            label=tr("Need at the roots, a day"),
            value=float(month.plan.net[0][zone]),
            kind="water_depth",
            rule=tr("ETo times Kc, less the rain counted on; over all the ground of the rows."),
            source=tr("FAO-56, chapter 6 (eq. 58)"),
        ),
        Number(
            name="loss",
            label=tr("Given for each part needed"),
            value=loss,
            kind="number",
            rule=_loss_rule(chosen.uniformity * 100, plan.leaching),
            source=tr("Keller and Bliesner (1990), chapter 19 (from memory)"),
        ),
        Number(
            name="average_run",
            label=tr("{zone}, average day", zone=chosen.name),
            value=float(month.plan.seconds[0][zone]),
            kind="duration",
            rule=tr("Depth to be given times the ground of the zone, over its flow."),
            source=tr("volume over flow"),
        ),
    ]
    if rain:
        figures.insert(2, _rain_number(rain))
    if plan.leaching:
        figures.insert(-1, _leaching_number(plan.leaching))
    return Section(title=tr("{month}, step by step", month=month_name(month)), items=tuple(figures))


def _loss_rule(percent: float, leaching: float) -> str:
    if leaching:
        return tr(
            "1 over the emission uniformity of {percent:.0f} %, so that the least-watered plants "
            "get enough, and more to wash salt down.",
            percent=percent,
        )
    return tr(
        "1 over the emission uniformity of {percent:.0f} %, so that the least-watered plants get "
        "enough.",
        percent=percent,
    )


def _rain_number(rain: float) -> Number:
    return Number(
        name="rain",
        label=tr("Rain counted on, a day"),
        value=rain,
        kind="water_depth",
        rule=tr("Of the month's rain P in mm: P (125 − 0.2 P) / 125, spread over its days."),
        source=tr(
            "USDA Soil Conservation Service, as in FAO Irrigation and Drainage Paper 46; read in "
            "the R package FAO56"
        ),
    )


def _leaching_number(share: float) -> Number:
    return Number(
        name="leaching",
        label=tr("Of it to wash salt down"),
        value=share,
        kind="share",
        digits=2,
        rule=tr(
            "ECw over twice the salinity of the soil at which the crop yields nothing, typical "
            "of its class."
        ),
        source=tr(
            "Keller and Bliesner (1990), chapter 19 (from memory); classes by FAO-29 rev. 1, table "
            "4, read in PLOS ONE 13(6) e0198290, which quotes it (strawberry and lettuce from "
            "memory)"
        ),
    )


def soil_and_runs(plan: Watering, system: UnitSystem) -> Section:
    """Return how much the roots can hold, and so how long one run may be."""
    month, zone = plan.months[plan.peak], plan.longest
    limited = month.rules.longest_run < DAY
    runs = int(month.runs[zone])
    if runs > 1:
        pulses = tr(
            "{runs} runs of {duration}, because {soil} around these roots holds no more at once",
            runs=runs,
            duration=duration(float(month.each[zone]), system),
            soil=tr(plan.soil.label),
        )
    else:
        pulses = tr("one run is enough")
    return Section(
        title=tr("Soil and runs"),
        items=(
            Number(
                name="held",
                label=tr("Water that the wetted roots hold"),
                value=month.taw,
                kind="water_depth",
                rule=tr(
                    "Of {soil} {percent:.0f} % of its volume, down to {depth}, on the "
                    "share of the ground that gets wet; as a depth over all the ground.",
                    soil=tr(plan.soil.label),
                    percent=plan.soil.available_water * 100,
                    depth=format_value(float(plan.season.roots[plan.peak]), "spacing", system, 2),
                ),
                source=tr(_SOIL_SOURCE),
            ),
            Number(
                name="longest_run",
                label=tr("Longest single run of {zone}", zone=plan.zones[zone].name),
                value=float(month.plan.longest[0][zone]),
                kind="duration",
                rule=_longest_rule(limited=limited),
                source=tr(
                    "FAO-56, chapter 8 (eq. 82 and 83) and tables 19 and 22; Schwartzman and Zur "
                    "(1986) (from memory)"
                )
                if limited
                else tr(_SOIL_SOURCE),
            ),
            Number(
                name="interval",
                label=tr("Days from one watering to the next"),
                value=int(month.plan.interval[0][zone]),
                kind="count",
                rule=tr(
                    "The longest whole number of days in which the crop uses no more than that, "
                    "that you allow, and whose water fits the hours you have."
                ),
                source=tr("FAO-56, chapter 8 (from memory)"),
            ),
            Fact(name="pulses", label=tr("Cut into runs?"), text=pulses),
        ),
    )


def _longest_rule(*, limited: bool) -> str:
    """Say what bounds one run; `limited` where the flow of an emitter is known."""
    if limited:
        return tr(
            "What the crop may take of that water before it suffers, put back at one go; what "
            "comes on top drains away below the roots; by the flow of one emitter also the time "
            "in which dry soil is wet down to the roots."
        )
    return tr(
        "What the crop may take of that water before it suffers, put back at one go; what comes "
        "on top drains away below the roots."
    )


def season_water(plan: Watering, system: UnitSystem, price: float | None) -> Section:
    """Return water and cost of the season, and who goes short."""
    items: list[Number | Fact | Table] = [
        Number(
            name="volume",
            label=tr("Water of the days of {month}", month=month_name(plan.months[0]))
            if len(plan.months) == 1
            else tr("Water of the season"),
            value=plan.volume,
            kind="volume",
            rule=tr(
                "Run times before rounding, times flow, over all days on which the crop grows."
            ),
            source=tr("volume = flow times time"),
        )
    ]
    if price is not None:
        items.append(
            Number(
                name="cost",
                label=tr("It costs, in your money"),
                value=plan.cost,
                kind="number",
                digits=4,
                rule=tr("That volume times your price."),
                source=tr("yours"),
            )
        )
    if any(zone.plants is not None for zone in plan.zones):
        items.append(_plants(plan))
    if plan.short:
        items += [
            Number(
                name="missing",
                label=tr("Water that is missing"),
                value=plan.missing,
                kind="volume",
                rule=tr("What is wanted beyond what the hours and the water of a day give."),
                source=tr("volume = flow times time"),
            ),
            _shortage(plan),
        ]
    return Section(title=tr("Water and cost"), items=tuple(items))


def _plants(plan: Watering) -> Table:
    return Table(
        name="plants",
        title=tr("Water of one plant, average day"),
        columns=(
            Column(name="month", label=tr("Month")),
            Column(name="zone", label=tr("Zone")),
            Column(name="per_plant", label=tr("Each plant"), kind="volume", digits=2),
        ),
        rows=tuple(
            (month_name(month), zone.name, float(month.plan.per_plant[0][index]))
            for month in plan.months
            for index, zone in enumerate(plan.zones)
            if zone.plants is not None
        ),
        note=tr("Out of the emitters: the water of the zone over the number of its plants."),
    )


def _shortage(plan: Watering) -> Table:
    return Table(
        name="shortage",
        title=tr("Who gets less"),
        columns=(
            Column(name="month", label=tr("Month")),
            Column(name="zone", label=tr("Zone")),
            Column(name="share", label=tr("Gets of its need"), kind="share", digits=2),
        ),
        rows=tuple(
            (month_name(month), zone.name, float(month.plan.share[0][index]))
            for month in plan.months
            for index, zone in enumerate(plan.zones)
            if month.plan.share[0][index] < 1.0 - 1e-9
        ),
        note=tr("Rank 1 is served first; zones of one rank share alike."),
    )


def if_eto_is_off(plan: Watering) -> Section:
    """Return the run time of a drier and a wetter year."""
    zone = plan.longest
    names = (tr("20 % less"), tr("as given"), tr("20 % more"))
    found = plan.sensitivity()
    return Section(
        title=tr("If ETo is 20 % off"),
        items=(
            Table(
                name="sensitivity",
                title=tr(
                    "{zone} in {month}",
                    zone=plan.zones[zone].name,
                    month=month_name(plan.months[plan.peak]),
                ),
                columns=(
                    Column(name="eto", label=tr("ETo")),
                    Column(name="need", label=tr("Need, a day"), kind="water_depth"),
                    Column(name="average", label=tr("Average day"), kind="duration"),
                    Column(name="interval", label=tr("Days between"), kind="count"),
                    Column(name="watering", label=tr("On a watering day"), kind="duration"),
                ),
                rows=tuple(
                    (
                        name,
                        float(each.net[0][zone]),
                        float(each.seconds[0][zone]),
                        int(each.interval[0][zone]) or None,
                        float(each.watering_seconds[0][zone]),
                    )
                    for name, each in zip(names, found, strict=True)
                ),
                note=tr(
                    "ETo of a single year is easily that far from the mean; where rain is counted "
                    "on, the need moves by more."
                ),
            ),
        ),
    )
