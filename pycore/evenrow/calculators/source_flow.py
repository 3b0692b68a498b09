"""Source flow: what the source really gives, and what of it can be used."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.carries import FROM_SOURCE_FLOW
from evenrow.calculators.fields import (
    HEAD_MAX,
    READINGS,
    STATIC_PRESSURE,
    THROTTLED,
)
from evenrow.calculators.result import Column, Notice, Number, Result, Section, Table
from evenrow.calculators.spec import Calculator, Field
from evenrow.design.source import FlowTest, flow_test
from evenrow.units import UnitSystem

REQUIRED_PRESSURE = Field(
    name="required_pressure",
    label="Pressure the system needs at the source",
    kind="pressure",
    lo=0.0,
    hi=HEAD_MAX,
    default={"us": "30 psi", "metric": "2 bar"},
    help="Regulator setting plus what filter, backflow preventer and main take. "
    "30 psi (2 bar) is a fair start; the whole-field page works it out.",
    group="What you need",
)

_TEST_SOURCE = "energy balance at the outlet; exponent 2 for losses of valves and fittings"
_SPREAD_SOURCE = "mean and Student's t interval, NIST/SEMATECH e-Handbook 1.3.5.2"


def _pressure_table(test: FlowTest) -> Table:
    rows = tuple(
        (share, head, flow) for share, head, flow in test.curve_points((0.0, 0.25, 0.5, 0.75, 1.0))
    )
    return Table(
        name="source_curve",
        title="Pressure left while water runs",
        columns=(
            Column(name="share", label="Of the open flow", kind="share", digits=2),
            Column(name="pressure", label="Pressure", kind="pressure"),
            Column(name="flow", label="Flow", kind="flow"),
        ),
        rows=rows,
        note=f"H = H0 − k Q^{test.exponent:.3g}, through the static pressure and the open flow.",
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer what the source gives; see `evenrow.design.source.flow_test`."""
    source = inputs["source"]
    test = flow_test(
        readings=[(r["volume"], r["time"]) for r in source["readings"]],
        static_head=source["static_pressure"],
        throttled=[(r["pressure"], r["flow"]) for r in source["throttled"]],
        required_head=inputs["required_pressure"],
    )
    spread: tuple[Number, ...] = (
        Number(
            name="open_flow",
            label="Open flow (average of the readings)",
            value=test.open_flow,
            kind="flow",
            rule="Volume over time, averaged over the readings.",
            source=_SPREAD_SOURCE,
        ),
        Number(
            name="reading_count",
            label="Readings",
            value=test.count,
            kind="count",
            rule="How many bucket readings were taken.",
        ),
    )
    if test.count > 1:
        spread += (
            Number(
                name="spread",
                label="Spread of the readings",
                value=test.spread,
                kind="share",
                digits=2,
                rule="Largest minus smallest flow, over the average.",
            ),
            Number(
                name="half_width",
                label="Average is good to ±",
                value=test.half_width,
                kind="flow",
                digits=2,
                rule="Half-width of the 95 % interval of the mean.",
                source=_SPREAD_SOURCE,
            ),
        )
    sections: list[Section] = [Section(title="Readings", items=spread)]
    if test.curve is not None:
        sections.append(Section(title="Source curve", items=(_pressure_table(test),)))
    headline = Number(
        name="usable_flow",
        label="Usable flow",
        value=test.usable_flow,
        kind="flow",
        rule=test.rule,
        source=test.source,
    )
    return Result(
        headline=headline,
        verdict=test.verdict,
        sections=tuple(sections),
        notices=tuple(Notice(level="warning", text=text) for text in test.warnings),
    )


CALCULATOR = Calculator(
    id="source-flow",
    title="Source flow",
    question="How much water can I really use?",
    fields=(
        READINGS,
        STATIC_PRESSURE,
        THROTTLED,
        REQUIRED_PRESSURE,
    ),
    run=run,
    examples={},
    carries=FROM_SOURCE_FLOW,
    cautions=(
        "A tap that feeds an irrigation system needs a backflow preventer so that nothing is "
        "drawn back into drinking water. Follow your local code; ask the water supplier.",
    ),
)
