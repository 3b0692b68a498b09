"""Zones: how many parts the field has to be watered in, and which rows go together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.carries import FROM_ZONES
from evenrow.calculators.fields import (
    FLOW_MAX,
    HEAD_MAX,
    LINE_FIELDS,
    OWN_FIGURES,
    PLACE,
    ROW_SLOPE,
    TEMPERATURE,
    rows_field,
)
from evenrow.calculators.result import Column, Fact, Notice, Number, Result, Section, Table
from evenrow.calculators.spec import Calculator, Field
from evenrow.design.field import rows_of
from evenrow.design.ground import Ground
from evenrow.design.line import Line, line_of
from evenrow.design.runs import SHARES, Row, row_flows
from evenrow.design.solve import ZONES_MAX
from evenrow.design.zones import Partition, fewest_zones, group_runs, least_capacity, partition
from evenrow.errors import ImpossibleError, InputError
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr, tr_count

AVAILABLE = Field(
    name="flow",
    label="Usable flow of the source",
    kind="flow",
    above=0.0,
    hi=FLOW_MAX,
    default={"us": "4.8 gal/min", "metric": "0.9 m³/h"},
    help="From the source flow page: what the source gives at the pressure you need.",
    group="Source",
)

PRESSURE = Field(
    name="pressure",
    label="Pressure at the start of the lines",
    kind="pressure",
    above=0.0,
    hi=HEAD_MAX,
    required=False,
    help="Close to the regulator setting. Empty: the pressure at which this line is rated.",
    group="Line",
)

_RULE = said(
    "Rows lie together in their order, crops apart; fewest zones first, then the most even "
    "flow, found exactly by dynamic programming."
)
_SOURCE = said("linear partition, Bellman (1957)")


def row_span(rows: tuple[Row, ...], start: int, end: int) -> str:
    """Return "3" or "3–5" for the half-open range of row indices."""
    first, last = rows[start].number, rows[end - 1].number
    return str(first) if first == last else f"{first}–{last}"


def _zone_table(rows: tuple[Row, ...], found: Partition, capacity: float) -> Table:
    return Table(
        name="zones",
        title=tr("What each zone takes"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="rows", label=tr("Rows")),
            Column(name="crop", label=tr("Crop")),
            Column(name="flow", label=tr("Flow"), kind="flow"),
            Column(name="share", label=tr("Of the usable flow"), kind="share", digits=2),
        ),
        rows=tuple(
            (number, row_span(rows, a, b), rows[a].crop, flow, flow / capacity)
            for number, ((a, b), flow) in enumerate(
                zip(found.ranges, found.flows, strict=True), start=1
            )
        ),
    )


def _one_fewer(
    flows: list[float], crops: list[str], zones: int, capacity: float, system: UnitSystem
) -> str:
    """Say what flow would make it one zone fewer, or why there is none."""
    if zones <= group_runs(crops):
        return (
            tr("One zone waters everything.")
            if zones == 1
            else tr("Each crop already has only one zone; only joining crops would make it fewer.")
        )
    wanted = least_capacity(flows, zones - 1, crops)
    return tr(
        "With {wanted} it would be one zone fewer ({more} more than now).",
        wanted=format_value(wanted, "flow", system, 4),
        more=format_value(wanted - capacity, "flow", system),
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer how many zones; see `evenrow.design.zones.partition`."""
    rows = rows_of(inputs["rows"])
    line: Line = line_of(inputs["line"], inputs["ground"]["water_temperature"])
    emitter = line.device.emitter
    pressure = inputs["pressure"] if inputs["pressure"] is not None else emitter.head_nominal
    if pressure > emitter.head_max:
        raise InputError(
            tr("this line does not bear that pressure"),
            code="out_of_range",
            field="pressure",
            given=format_value(pressure, "pressure", system),
            accepted=tr(
                "up to {pressure}", pressure=format_value(emitter.head_max, "pressure", system)
            ),
            hint=tr("the setting of the regulator behind the filter"),
        )
    flows = row_flows(
        rows,
        line,
        share=SHARES[inputs["header"]["place"]],
        ground=Ground(row_slope=inputs["ground"]["row_slope"]),
        head=pressure,
    )
    crops = [row.crop for row in rows]
    capacity = inputs["flow"]
    if max(flows) <= capacity and (least := fewest_zones(flows, capacity, crops)) > ZONES_MAX:
        raise ImpossibleError(
            tr(
                "at least {least} zones would be needed, more than the {zones_max} of one design",
                least=least,
                zones_max=ZONES_MAX,
            ),
            limit="flow of the source",
            field="flow",
            changes=(tr("more flow"), tr("a line with a lower flow"), tr("several designs")),
        )
    found = partition(flows, capacity, crops)
    count = len(found.ranges)
    largest = max(found.flows)
    verdict = tr_count(
        count,
        "The source can water every row at once.",
        "Water the field in {count} parts, one after the other.",
    )
    return Result(
        headline=Number(
            name="zones",
            label=tr("Zones"),
            value=count,
            kind="count",
            rule=tr(_RULE),
            source=tr(_SOURCE),
        ),
        verdict=verdict,
        sections=(
            Section(title=tr("Zones"), items=(_zone_table(rows, found, capacity),)),
            Section(
                title=tr("How even"),
                items=(
                    Number(
                        name="largest_flow",
                        label=tr("Largest zone"),
                        value=largest,
                        kind="flow",
                        rule=tr(
                            "Sum of its rows, each solved emitter by emitter at that pressure."
                        ),
                        source=tr("Darcy–Weisbach with the friction factor of Churchill (1977)"),
                    ),
                    Number(
                        name="start_pressure",
                        label=tr("Pressure at the start of the lines"),
                        value=pressure,
                        kind="pressure",
                        rule=tr("As given; left empty, the pressure at which the line is rated."),
                    ),
                    Number(
                        name="evenness",
                        label=tr("Smallest zone over largest"),
                        value=found.evenness,
                        kind="share",
                        digits=3,
                        rule=tr("Even zones let the regulator and the pump work at one point."),
                    ),
                    Fact(
                        name="one_fewer",
                        label=tr("One zone fewer?"),
                        text=_one_fewer(flows, crops, count, capacity, system),
                        rule=tr("The least flow at which filling zones greedily needs one fewer."),
                    ),
                ),
            ),
        ),
        notices=(
            Notice(
                level="note",
                text=tr(
                    "Every zone is taken at the same pressure here. The whole-field "
                    "page solves each zone at the source's real pressure."
                ),
            ),
        ),
    )


CALCULATOR = Calculator(
    id="zones",
    title="Zones",
    question="In how many parts must I water?",
    fields=(
        AVAILABLE,
        rows_field(),
        *LINE_FIELDS,
        PRESSURE,
        PLACE,
        ROW_SLOPE,
        TEMPERATURE,
        *OWN_FIGURES,
    ),
    run=run,
    examples={},
    carries=FROM_ZONES,
)
