"""The parts of a whole field's answer that tell about water, pressure and pipes."""

from __future__ import annotations

from evenrow.calculators.parts_text import total_text
from evenrow.calculators.ratings_section import closing_numbers, ratings_table
from evenrow.calculators.result import Column, Fact, Figure, Number, Section, Table
from evenrow.calculators.zones import row_span
from evenrow.design.hours import RULE as HOURS_RULE
from evenrow.design.hours import SOURCE as HOURS_SOURCE
from evenrow.design.hours import watering_times
from evenrow.design.limits import REGULATOR_STATES
from evenrow.design.model import Design
from evenrow.design.runs import SHARES
from evenrow.figures.from_design import (
    Drawing,
    budget_figure,
    emitter_histogram,
    header_profile,
    plan_figure,
    row_profile,
)
from evenrow.units import format_number, format_value
from evenrow.words import said, tr

EU_SOURCE = said(
    "Keller and Karmeli (1974), Trans. ASAE 17(4): EU = 100 (1 − 1.27 CV/√n) qmin/qavg"
)
SOLVE = said("Network solve from the source to every emitter, filter dirty.")
FRICTION = said("Darcy–Weisbach, Churchill (1977)")
#: A header nearer than this share of a row to an end or to the middle is said to be there.
PLACE_SLACK = 1e-6


def figure(name: str, drawing: Drawing) -> Figure:
    """Return a drawing as part of an answer."""
    return Figure(name=name, title=drawing.title, svg=drawing.svg, alternative=drawing.alternative)


def _setting(set_head: float | None) -> Number | Fact:
    name, label = "regulator_setting", tr("Regulator setting")
    if set_head is None:
        return Fact(
            name=name,
            label=label,
            text=tr("no regulator needed"),
            rule=tr("The source never reaches the highest pressure that the line bears."),
        )
    return Number(
        name=name,
        label=label,
        value=set_head,
        kind="pressure",
        rule=tr(
            "The setting that leaves the rating of the line at the middle of the "
            "header, or the nearest to it that keeps every limit with the fewest zones."
        ),
    )


def short_section(found: Design, fewer: tuple[str, ...]) -> Section:
    """Return the answer in short.

    Parameters
    ----------
    found : Design
        The design.
    fewer : tuple of str
        Changes that make it a zone fewer, as `evenrow.design.solve.one_fewer` found them.
    """
    several = len(found.zones) > 1
    less = (
        Fact(
            name="one_fewer",
            label=tr("One zone fewer would need one of these"),
            text="; ".join(fewer),
            rule=tr("Each of these changes was designed and solved by itself."),
        ),
    )
    return Section(
        title=tr("The answer in short"),
        items=(
            Number(
                name="eu",
                label=tr("Uniformity (EU), worst zone") if several else tr("Uniformity (EU)"),
                value=found.worst.eu,
                kind="share",
                rule=tr(SOLVE),
                source=tr(EU_SOURCE),
            ),
            Number(
                name="largest_flow",
                label=tr("Flow of the largest zone"),
                value=found.largest.flow,
                kind="flow",
                rule=tr(SOLVE),
                source=tr(FRICTION),
            ),
            _setting(found.candidate.assembly.set_head),
            Fact(
                name="price",
                label=tr("Price of all parts"),
                text=total_text(found.parts),
                rule=tr("Sum of all lines that have a price, packs and coils counted whole."),
                source=found.parts.catalogue,
            ),
            Number(
                name="hours",
                label=tr("Watering on the hottest day, all zones")
                if several
                else tr("Watering on the hottest day"),
                value=sum(watering_times(found.field, found.zones)),
                kind="hours",
                rule=tr(HOURS_RULE),
                source=tr(HOURS_SOURCE),
            ),
            Fact(name="why_zones", label=tr("Why this many zones"), text=found.why_zones),
            *(less if fewer else ()),
        ),
    )


def plan_section(found: Design) -> Section:
    """Return the plan; its numbers are those of the parts list."""
    return Section(title=tr("Plan"), items=(figure("plan", plan_figure(found, cups=True)),))


def _zone_table(found: Design) -> Table:
    rows = found.field.rows
    times = watering_times(found.field, found.zones)
    return Table(
        name="zones",
        title=tr("What each zone takes"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="rows", label=tr("Rows")),
            Column(name="crop", label=tr("Crop")),
            Column(name="ground", label=tr("Ground"), kind="area"),
            Column(name="flow", label=tr("Flow"), kind="flow"),
            Column(name="usable", label=tr("Source could give"), kind="flow"),
            Column(name="eu", label=tr("Uniformity (EU)"), kind="share"),
            Column(name="lowest", label=tr("Lowest pressure"), kind="pressure"),
            Column(name="highest", label=tr("Highest pressure"), kind="pressure"),
            Column(name="hours", label=tr("Hottest day"), kind="hours"),
        ),
        rows=tuple(
            (
                zone.layout.number,
                row_span(rows, *zone.layout.rows),
                rows[zone.layout.rows[0]].crop or None,
                sum(row.length * row.width for row in rows[slice(*zone.layout.rows)]),
                zone.flow,
                zone.usable,
                zone.eu,
                zone.emitter_head_min,
                zone.emitter_head_max,
                time,
            )
            for zone, time in zip(found.zones, times, strict=True)
        ),
        note=tr(
            "Solved emitter by emitter at the source's real operating point, filter "
            "dirty. Pressures are those at the emitters; hours are for {depth} over "
            "the ground of the rows.",
            depth=format_value(found.field.watering.depth, "water_depth", found.field.system),
        ),
    )


def _emitter_table(found: Design) -> Table:
    return Table(
        name="emitters",
        title=tr("What the emitters give"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="emitters", label=tr("Emitters"), kind="count"),
            Column(name="least", label=tr("Least"), kind="emitter_flow"),
            Column(name="average", label=tr("Average"), kind="emitter_flow"),
            Column(name="most", label=tr("Most"), kind="emitter_flow"),
            Column(name="variation", label=tr("Flow variation"), kind="share"),
            Column(name="dulq", label=tr("Lowest quarter (DUlq)"), kind="share"),
        ),
        rows=tuple(
            (
                zone.layout.number,
                zone.emitters,
                zone.emitter_flow_min,
                zone.emitter_flow_mean,
                zone.emitter_flow_max,
                zone.flow_variation,
                zone.dulq,
            )
            for zone in found.zones
        ),
    )


def _regulator_table(found: Design) -> tuple[Table, ...]:
    """Return what the regulator does in each zone; nothing where there is none."""
    part = found.candidate.assembly.regulator
    if part is None:
        return ()
    return (
        Table(
            name="regulator",
            title=tr("The regulator: {label}", label=tr(part.label)),
            columns=(
                Column(name="zone", label=tr("Zone"), kind="count"),
                Column(name="state", label=tr("It is")),
                Column(name="set", label=tr("Set pressure"), kind="pressure"),
                Column(name="flow", label=tr("Flow"), kind="flow"),
                Column(name="least", label=tr("Made for, from"), kind="flow"),
                Column(name="most", label=tr("Made for, up to"), kind="flow"),
            ),
            rows=tuple(
                (
                    zone.layout.number,
                    tr(REGULATOR_STATES.get(zone.regulator_state, zone.regulator_state)),
                    part.set_head,
                    zone.flow,
                    part.flow_min,
                    part.flow_max,
                )
                for zone in found.zones
            ),
            note=tr(
                "It holds the set pressure only while it regulates: between the two "
                "flows, and with more pressure before it than it is set to."
            ),
        ),
    )


def zones_section(found: Design) -> Section:
    """Return what zones and emitters take, and what the regulator does in each."""
    return Section(title=tr("Zones"), items=(_zone_table(found), _emitter_table(found)))


def _way_note(found: Design) -> str:
    """Return for what the pressures on the way hold, and what the emitters' bodies take."""
    note = tr("Largest zone, filter as dirty as it may get before it is cleaned.")
    k = found.field.line.device.body_k
    if k == 0.0:
        return note
    bodies = tr(
        "On the line, each emitter's body takes {k} times the velocity head, beside the friction.",
        k=f"{k:.3g}",
    )
    return f"{note} {bodies}"


def _budget_table(found: Design) -> Table:
    rows: list[tuple[str, float, float | None]] = []
    before: float | None = None
    for station in found.largest.stations:
        # Less than a thousandth of the head is arithmetic, not a loss to read.
        loss = None if before is None else before - station.head
        if loss is not None and abs(loss) < 1e-3 * abs(station.head):
            loss = 0.0
        rows.append((tr(station.name), station.head, loss))
        before = station.head
    return Table(
        name="pressure_budget",
        title=tr(
            "Pressure from source to last emitter, zone {number}",
            number=found.largest.layout.number,
        ),
        columns=(
            Column(name="place", label=tr("Place")),
            Column(name="pressure", label=tr("Pressure left"), kind="pressure"),
            Column(name="loss", label=tr("Taken on the way"), kind="pressure", digits=2),
        ),
        rows=tuple(rows),
        note=_way_note(found),
    )


def pressure_section(found: Design) -> Section:
    """Return the pressure budget as a table and as a drawing, and the regulator."""
    return Section(
        title=tr("Pressure"),
        items=(
            _budget_table(found),
            figure("budget", budget_figure(found)),
            *_regulator_table(found),
            ratings_table(found),
        ),
    )


_PLACES = {
    "end": said("at the near end of the rows"),
    "far": said("at the far end of the rows"),
    "middle": said("across the middle"),
}


def place_words(found: Design) -> str:
    """Return where along the rows the header lies."""
    share = found.field.share
    for place, name in _PLACES.items():
        if abs(share - SHARES[place]) <= PLACE_SLACK:
            return tr(name)
    row = max(found.field.rows, key=lambda each: each.length)
    away = format_value(share * row.length, "length", found.field.system)
    return tr(
        "{share} % of the way along the rows, the best place for even watering: {away} from the "
        "near end of row {row}, of {length}",
        share=format_number(100.0 * share, 3),
        away=away,
        row=row.number,
        length=format_value(row.length, "length", found.field.system),
    )


def _header_text(found: Design) -> str:
    candidate = found.candidate
    header, tapers = tr(candidate.header.label), candidate.tapers
    if not tapers:
        return header
    zones = ", ".join(
        tr("zone {zone} at its outer {count}", zone=number, count=sum(taper.takeoffs))
        for number, taper in tapers.items()
    )
    return tr(
        "{header}; going on in {smaller} ({zones} take-offs)",
        header=header,
        smaller=tr(next(iter(tapers.values())).size.label),
        zones=zones,
    )


def sizes_section(found: Design) -> Section:
    """Return header, main and place of the header, with the limit that chose each size."""
    feed = (
        tr("at a tee in its middle")
        if found.field.feed == "tee"
        else tr("at its end near the source")
    )
    return Section(
        title=tr("Sizes"),
        items=(
            Fact(
                name="header_pipe",
                label=tr("Header"),
                text=_header_text(found),
                rule=found.sizing[0],
            ),
            Fact(
                name="main_pipe",
                label=tr("Main"),
                text=tr(found.candidate.main.label),
                rule=found.sizing[1],
            ),
            Number(
                name="header_velocity",
                label=tr("Velocity in the header"),
                value=max(zone.header_velocity for zone in found.zones),
                kind="velocity",
                rule=tr("Largest flow in a header arm over its bore."),
            ),
            Number(
                name="main_velocity",
                label=tr("Velocity in the main"),
                value=found.largest.main_velocity,
                kind="velocity",
                rule=tr("Flow of the largest zone over the bore."),
            ),
            *closing_numbers(found),
            Fact(
                name="header_place",
                label=tr("Where the header lies"),
                text=place_words(found),
                rule=tr(
                    "Where you chose, or, for “the best place”, where the uphill and "
                    "the downhill side of the longest row water alike."
                ),
            ),
            Fact(name="feed", label=tr("The main meets each header"), text=feed),
        ),
    )


def evenness_section(found: Design) -> Section:
    """Return the drawings of how even the watering is."""
    return Section(
        title=tr("How even"),
        items=(
            figure("row_profile", row_profile(found)),
            figure("header_profile", header_profile(found)),
            figure("histogram", emitter_histogram(found)),
        ),
    )
