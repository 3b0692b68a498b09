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
from evenrow.words import said, tr

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

_SPREAD_SOURCE = said("mean and Student's t interval, NIST/SEMATECH e-Handbook 1.3.5.2")


def _pressure_table(test: FlowTest) -> Table:
    rows = tuple(
        (share, head, flow) for share, head, flow in test.curve_points((0.0, 0.25, 0.5, 0.75, 1.0))
    )
    return Table(
        name="source_curve",
        title=tr("Pressure left while water runs"),
        columns=(
            Column(name="share", label=tr("Of the open flow"), kind="share", digits=2),
            Column(name="pressure", label=tr("Pressure"), kind="pressure"),
            Column(name="flow", label=tr("Flow"), kind="flow"),
        ),
        rows=rows,
        note=tr(
            "H = H0 − k Q^{exponent:.3g}, through the static pressure and the open flow.",
            exponent=test.exponent,
        ),
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
            label=tr("Open flow (average of the readings)"),
            value=test.open_flow,
            kind="flow",
            rule=tr("Volume over time, averaged over the readings."),
            source=tr(_SPREAD_SOURCE),
        ),
        Number(
            name="reading_count",
            label=tr("Readings"),
            value=test.count,
            kind="count",
            rule=tr("How many bucket readings were taken."),
        ),
    )
    if test.count > 1:
        spread += (
            Number(
                name="spread",
                label=tr("Spread of the readings"),
                value=test.spread,
                kind="share",
                digits=2,
                rule=tr("Largest minus smallest flow, over the average."),
            ),
            Number(
                name="half_width",
                label=tr("Average is good to ±"),
                value=test.half_width,
                kind="flow",
                digits=2,
                rule=tr("Half-width of the 95 % interval of the mean."),
                source=tr(_SPREAD_SOURCE),
            ),
        )
    sections: list[Section] = [Section(title=tr("Readings"), items=spread)]
    if test.curve is not None:
        sections.append(Section(title=tr("Source curve"), items=(_pressure_table(test),)))
    headline = Number(
        name="usable_flow",
        label=tr("Usable flow"),
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
