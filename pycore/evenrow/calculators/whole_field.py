"""Whole field: from the field as it is to everything that has to be built."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from evenrow.calculators.carries import FROM_WHOLE_FIELD
from evenrow.calculators.parts_section import parts_sections
from evenrow.calculators.result import (
    Column,
    Fact,
    Notice,
    Number,
    Result,
    Section,
    Steps,
    Table,
)
from evenrow.calculators.spec import Calculator
from evenrow.calculators.whole_field_form import FIELDS
from evenrow.calculators.zones import row_span
from evenrow.design.demos import NAMES, demo
from evenrow.design.field import field_of
from evenrow.design.line import spacing_note
from evenrow.design.model import Design
from evenrow.design.solve import design
from evenrow.design.steps import assembly_steps, cautions, fineness_note, flushing_steps
from evenrow.units import UnitSystem

_EU_SOURCE = "Keller and Karmeli (1974), Trans. ASAE 17(4): EU = 100 (1 − 1.27 CV/√n) qmin/qavg"
_SOLVE = "Network solve from the source to every emitter, filter dirty."
_FRICTION = "Darcy–Weisbach, Churchill (1977)"


def _zone_table(found: Design) -> Table:
    rows = found.field.rows
    return Table(
        name="zones",
        title="What each zone takes",
        columns=(
            Column(name="zone", label="Zone", kind="count"),
            Column(name="rows", label="Rows"),
            Column(name="crop", label="Crop"),
            Column(name="ground", label="Ground", kind="area"),
            Column(name="flow", label="Flow", kind="flow"),
            Column(name="usable", label="Source could give", kind="flow"),
            Column(name="eu", label="Uniformity (EU)", kind="share"),
            Column(name="lowest", label="Lowest pressure", kind="pressure"),
            Column(name="highest", label="Highest pressure", kind="pressure"),
        ),
        rows=tuple(
            (
                zone.layout.number,
                row_span(rows, *zone.layout.rows),
                rows[zone.layout.rows[0]].crop,
                sum(row.length * row.width for row in rows[slice(*zone.layout.rows)]),
                zone.flow,
                zone.usable,
                zone.eu,
                zone.emitter_head_min,
                zone.emitter_head_max,
            )
            for zone in found.zones
        ),
        note="Solved emitter by emitter at the source's real operating point, filter dirty.",
    )


def _emitter_table(found: Design) -> Table:
    return Table(
        name="emitters",
        title="What the emitters give",
        columns=(
            Column(name="zone", label="Zone", kind="count"),
            Column(name="emitters", label="Emitters", kind="count"),
            Column(name="least", label="Least", kind="emitter_flow"),
            Column(name="average", label="Average", kind="emitter_flow"),
            Column(name="most", label="Most", kind="emitter_flow"),
            Column(name="variation", label="Flow variation", kind="share"),
            Column(name="dulq", label="Lowest quarter (DUlq)", kind="share"),
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


def _budget_table(found: Design) -> Table:
    stations = found.largest.stations
    rows: list[tuple[str, float, float | None]] = []
    before: float | None = None
    for station in stations:
        # Less than a thousandth of the head is arithmetic, not a loss to read.
        loss = None if before is None else before - station.head
        if loss is not None and abs(loss) < 1e-3 * abs(station.head):
            loss = 0.0
        rows.append((station.name, station.head, loss))
        before = station.head
    return Table(
        name="pressure_budget",
        title=f"Pressure from source to last emitter, zone {found.largest.layout.number}",
        columns=(
            Column(name="place", label="Place"),
            Column(name="pressure", label="Pressure left", kind="pressure"),
            Column(name="loss", label="Taken on the way", kind="pressure", digits=2),
        ),
        rows=tuple(rows),
        note="Largest zone, filter as dirty as it may get before it is cleaned.",
    )


def _setting(set_head: float | None) -> Number | Fact:
    name, label = "regulator_setting", "Regulator setting"
    if set_head is None:
        return Fact(
            name=name,
            label=label,
            text="no regulator needed",
            rule="The source never reaches the highest pressure that the line bears.",
        )
    return Number(
        name=name,
        label=label,
        value=set_head,
        kind="pressure",
        rule="The setting that leaves the rating of the line at the middle of the header, or the "
        "nearest to it that keeps every limit with the fewest zones.",
    )


def _sizes(found: Design) -> Section:
    candidate = found.candidate
    largest = found.largest
    return Section(
        title="Sizes",
        items=(
            Fact(
                name="header_pipe",
                label="Header",
                text=candidate.header.label,
                rule=found.sizing[0],
            ),
            Fact(name="main_pipe", label="Main", text=candidate.main.label, rule=found.sizing[1]),
            Number(
                name="header_velocity",
                label="Velocity in the header",
                value=max(zone.header_velocity for zone in found.zones),
                kind="velocity",
                rule="Largest flow in a header arm over its bore.",
            ),
            Number(
                name="main_velocity",
                label="Velocity in the main",
                value=largest.main_velocity,
                kind="velocity",
                rule="Flow of the largest zone over the bore.",
            ),
        ),
    )


def _commissioning(found: Design, system: UnitSystem) -> Table:
    volume = 0.0189270589 if system == "us" else 0.02
    name = "5 gal" if system == "us" else "20 L"
    return Table(
        name="expected",
        title="What you should measure",
        columns=(
            Column(name="zone", label="Zone", kind="count"),
            Column(name="meter", label="Flow at the meter", kind="flow"),
            Column(name="bucket", label=f"{name} goes through in", kind="duration"),
            Column(name="first", label="Pressure at the first row", kind="pressure"),
            Column(name="last", label="Pressure at the last row", kind="pressure"),
        ),
        rows=tuple(
            (
                zone.layout.number,
                zone.flow,
                volume / zone.flow,
                zone.row_heads[0],
                zone.row_heads[-1],
            )
            for zone in found.zones
        ),
        note="A measured flow more than 10 % off means a leak, a plug or a regulator that does "
        "not hold.",
    )


def _verdict(found: Design) -> str:
    zones = len(found.zones)
    parts = "all rows at once" if zones == 1 else f"in {zones} zones, one after the other"
    where = "" if zones == 1 else " in the worst zone"
    return (
        f"Water {parts}. Even to {found.worst.eu:.0%}{where} ({found.field.eu:.0%} wanted), the "
        "spread between new emitters included."
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer with a whole design; see `evenrow.design.solve.design`."""
    found = design(field_of(inputs, system))
    candidate = found.candidate
    worst = found.worst
    notices = [
        Notice(
            level="note",
            text="Lines, pipes and parts are generic; their figures are typical, invented for "
            "demonstration. Put the figures of what you buy over them before you buy.",
        )
    ]
    notices += [
        Notice(level="warning", text=text)
        for text in (
            spacing_note(found.field.line.device, found.field.line.spacing, system),
            fineness_note(found.field.line.device, found.field.source_kind),
        )
        if text
    ]
    notices += [Notice(level="caution", text=text) for text in cautions(found.field.source_kind)]
    return Result(
        headline=Number(
            name="zones",
            label="Zones",
            value=len(found.zones),
            kind="count",
            rule="Fewest zones that keep every limit; rows in order, crops apart, then the most "
            "even flow. Every zone is verified by the network solve.",
            source="linear partition, Bellman (1957)",
        ),
        verdict=_verdict(found),
        sections=(
            Section(
                title="The answer in short",
                items=(
                    Number(
                        name="eu",
                        label="Uniformity (EU)" + (", worst zone" if len(found.zones) > 1 else ""),
                        value=worst.eu,
                        kind="share",
                        rule=_SOLVE,
                        source=_EU_SOURCE,
                    ),
                    Number(
                        name="largest_flow",
                        label="Flow of the largest zone",
                        value=found.largest.flow,
                        kind="flow",
                        rule=_SOLVE,
                        source=_FRICTION,
                    ),
                    _setting(candidate.assembly.set_head),
                    Fact(name="why_zones", label="Why this many zones", text=found.why_zones),
                ),
            ),
            Section(title="Zones", items=(_zone_table(found), _emitter_table(found))),
            Section(
                title="Head assembly",
                items=(
                    Steps(
                        name="assembly",
                        title="Put it together in this order",
                        items=assembly_steps(found),
                    ),
                    _budget_table(found),
                ),
            ),
            _sizes(found),
            *parts_sections(found.parts, system),
            Section(
                title="Start it up",
                items=(
                    Steps(name="flushing", title="Flush and close", items=flushing_steps(found)),
                    _commissioning(found, system),
                ),
            ),
        ),
        notices=tuple(notices),
    )


CALCULATOR = Calculator(
    id="whole-field",
    title="Whole field",
    question="What do I build for this field?",
    fields=FIELDS,
    run=run,
    examples={demo(name)["name"]: partial(demo, name) for name in NAMES},
    carries=FROM_WHOLE_FIELD,
)
