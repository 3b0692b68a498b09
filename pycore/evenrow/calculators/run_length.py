"""Run length: how long one line may run before the far end starves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.carries import FROM_RUN_LENGTH
from evenrow.calculators.fields import (
    DEVICE,
    EMITTER_SPACING,
    EU_TARGET,
    FLOW_MAX,
    HEAD_MAX,
    OWN_FIGURES,
    ROW_SLOPE,
    TEMPERATURE,
)
from evenrow.calculators.result import Column, Fact, Figure, Notice, Number, Result, Section, Table
from evenrow.calculators.spec import Calculator, Field
from evenrow.design.apart import apart
from evenrow.design.line import EMITTERS_MAX, FIRST_EMITTER, Line, line_of, spacing_note
from evenrow.errors import ImpossibleError
from evenrow.figures.charts import Limit, Series, line_chart
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.lateral import LateralSolution
from evenrow.hydraulics.run_length import RunLength, RunLimits, longest_run
from evenrow.units import UnitSystem, format_value, system_unit, to_unit
from evenrow.words import said, tr

#: Longest run that is looked for. [m]
LONGEST = 1500.0

INLET_PRESSURE = Field(
    name="pressure",
    label="Pressure at the start of the line",
    kind="pressure",
    above=0.0,
    hi=HEAD_MAX,
    required=False,
    help="Where the line leaves the header: close to the regulator setting. Empty: the pressure "
    "at which this kind of line is rated.",
    group="Line",
)

FLOW_VARIATION = Field(
    name="limits.flow_variation",
    label="Flow variation allowed",
    kind="share",
    lo=0.01,
    hi=0.9,
    required=False,
    help="Most-watered less least-watered emitter, over the most-watered. Empty = no such limit.",
    group="Limits",
)

FLOW_SHARE = Field(
    name="limits.flow",
    label="Flow you can give to one line",
    kind="flow",
    above=0.0,
    hi=FLOW_MAX,
    required=False,
    help="Empty = as much as it takes.",
    group="Limits",
)

_LIMIT_WORDS = {
    "eu": said("emission uniformity"),
    "flow_variation": said("flow variation"),
    "head_max": said("highest pressure of the line"),
    "head_min": said("lowest pressure of the line"),
    "inlet_flow_max": said("flow you can give to one line"),
    "maximum length": said("longest run looked for"),
}

_LIMIT_KINDS = {
    "eu": "share",
    "flow_variation": "share",
    "head_max": "pressure",
    "head_min": "pressure",
    "inlet_flow_max": "flow",
}

_EU_SOURCE = said(
    "Keller and Karmeli (1974), Trans. ASAE 17(4): EU = 100 (1 − 1.27 CV/√n) qmin/qavg"
)
_FRICTION_SOURCE = said("Darcy–Weisbach with the friction factor of Churchill (1977)")
_BODY_SOURCE = said(
    "definition of a local loss; coefficients of bodies in the line: Provenzano and Pumo (2004), "
    "J. Irrig. Drain. Eng. 130(4) (from memory)"
)


def limit_words(name: str) -> str:
    """Return the limit's name as people read it, in the language in use."""
    return tr(_LIMIT_WORDS.get(name, name))


def _numbers(solution: LateralSolution, count: int) -> tuple[Number, ...]:
    return (
        Number(
            name="eu",
            label=tr("Emission uniformity"),
            value=float(solution.eu),
            kind="share",
            rule=tr(
                "Least-watered emitter over the average, less the spread between new emitters."
            ),
            source=tr(_EU_SOURCE),
        ),
        Number(
            name="flow_variation",
            label=tr("Flow variation"),
            value=float(solution.flow_variation),
            kind="share",
            rule=tr("(Largest − smallest emitter flow) / largest."),
            source=tr("definition"),
        ),
        Number(
            name="inlet_flow",
            label=tr("Flow into the line"),
            value=float(solution.inlet_flow),
            kind="flow",
            rule=tr("Sum of all emitters at their own pressures."),
            source=tr(_FRICTION_SOURCE),
        ),
        Number(
            name="emitters",
            label=tr("Emitters"),
            value=count,
            kind="count",
            rule=tr("One for each whole spacing of the length."),
        ),
        Number(
            name="end_pressure",
            label=tr("Pressure at the far end"),
            value=float(solution.end_head),
            kind="pressure",
            rule=tr("Inlet pressure less friction, less climb or plus fall."),
            source=tr(_FRICTION_SOURCE),
        ),
        Number(
            name="lowest_pressure",
            label=tr("Lowest pressure"),
            value=float(solution.min_head),
            kind="pressure",
            rule=tr("Smallest of all emitters."),
        ),
        Number(
            name="highest_pressure",
            label=tr("Highest pressure while running"),
            value=float(solution.max_head),
            kind="pressure",
            rule=tr("Largest of all emitters."),
        ),
        Number(
            name="travel_time",
            label=tr("Water reaches the far end after"),
            value=float(solution.travel_time),
            kind="duration",
            digits=2,
            rule=tr("Sum of distance over velocity, with the line full."),
        ),
    )


def _lost_at_bodies(solution: LateralSolution, line: Line) -> tuple[Number, ...]:
    """Return what the emitters' bodies take of the pressure, nothing where they take nothing."""
    k = line.device.body_k
    if k == 0.0:
        return ()
    return (
        Number(
            name="body_loss",
            label=tr("Of the pressure, lost at the emitters' bodies"),
            value=float((k * solution.velocity**2 / (2.0 * G)).sum()),
            kind="pressure",
            rule=tr(
                "At each emitter {k} times the velocity head in the line before it; the rest is "
                "friction along the line, and climb or fall.",
                k=f"{k:.3g}",
            ),
            source=tr(_BODY_SOURCE),
        ),
    )


def _checks_table(found: RunLength, system: UnitSystem) -> Table:
    rows = []
    for check in found.checks:
        kind = _LIMIT_KINDS[check.name]
        shown = (check.limit, check.value_at_length, check.value_one_longer)
        rows.append(
            (limit_words(check.name), *(format_value(value, kind, system, 5) for value in shown))
        )
    return Table(
        name="limits",
        title=tr("Limits, here and one emitter further"),
        columns=(
            Column(name="limit", label=tr("What")),
            Column(name="bound", label=tr("Limit")),
            Column(name="here", label=tr("At this length")),
            Column(name="longer", label=tr("One emitter longer")),
        ),
        rows=tuple(rows),
    )


def _pressure_figure(solution: LateralSolution, line: Line, system: UnitSystem) -> Figure:
    length_unit, pressure_unit = system_unit("length", system), system_unit("pressure", system)
    places = [
        to_unit(line.spacing * (i + FIRST_EMITTER), "length", length_unit)
        for i in range(solution.head.size)
    ]
    heads = [to_unit(float(h), "pressure", pressure_unit) for h in solution.head]
    emitter = line.device.emitter
    levels = ((tr("highest for this line"), emitter.head_max), (tr("lowest"), emitter.head_min))
    first, last = (format_value(float(solution.head[i]), "pressure", system) for i in (0, -1))
    words = tr(
        "Pressure along the line: {first} at the first emitter, {last} at the last.",
        first=first,
        last=last,
    )
    svg = line_chart(
        [Series(label=tr("pressure"), x=places, y=heads)],
        x_label=tr("distance from the header ({unit})", unit=length_unit),
        y_label=tr("pressure ({unit})", unit=pressure_unit),
        limits=[Limit(label=t, y=to_unit(h, "pressure", pressure_unit)) for t, h in levels],
        alternative=words,
    )
    return Figure(
        name="pressure_figure", title=tr("Pressure along the line"), svg=svg, alternative=words
    )


#: Where to look, and what to try, when not even one emitter keeps a limit.
_TOO_SHORT = {
    "eu": ("limits.eu", said("a lower uniformity, or a line with less manufacturing variation")),
    "flow_variation": ("limits.flow_variation", said("a larger flow variation")),
    "head_max": ("pressure", said("a regulator that holds less, or a line that bears more")),
    "head_min": ("pressure", said("a higher pressure at the start, or a line made for less")),
    "inlet_flow_max": ("limits.flow", said("more flow for the line, or a line with a lower flow")),
}


def _too_short(found: RunLength, system: UnitSystem) -> ImpossibleError:
    """Return what not even one emitter keeps: the bound, and what it would be."""
    check = next(c for c in found.checks if c.name == found.governing)
    kind = _LIMIT_KINDS[check.name]
    reached, bound = apart(check.value_one_longer, check.limit, kind, system, 4)
    field, change = _TOO_SHORT[check.name]
    return ImpossibleError(
        tr(
            "even one emitter breaks this limit: {limit}. It is {bound}, and here it would be "
            "{reached}",
            limit=limit_words(check.name),
            bound=bound,
            reached=reached,
        ),
        limit=limit_words(check.name),
        field=field,
        changes=(tr(change),),
    )


def _ground_words(slope: float) -> str:
    if slope == 0.0:
        return tr("level")
    return tr(
        "climbs {rise:.3g} in 100, away from the header"
        if slope > 0.0
        else "falls {rise:.3g} in 100, away from the header",
        rise=abs(slope) * 100,
    )


def _standing(solution: LateralSolution, slope: float, length: float) -> Number:
    return Number(
        name="standing_pressure",
        label=tr("Highest pressure with the water standing still"),
        value=float(solution.inlet_head) + max(0.0, -slope * length),
        kind="pressure",
        digits=4,
        rule=tr(
            "Nothing is lost to friction then, so that the low end has the pressure at the start "
            "plus the fall."
        ),
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer how long one line may run; see `evenrow.hydraulics.run_length.longest_run`."""
    line = line_of(inputs["line"], inputs["ground"]["water_temperature"])
    limits = inputs["limits"]
    emitter = line.device.emitter
    slope = inputs["ground"]["row_slope"]
    pressure = inputs["pressure"] if inputs["pressure"] is not None else emitter.head_nominal
    found = longest_run(
        emitter,
        line.spacing,
        line.device.diameter,
        pressure,
        slope=slope,
        limits=RunLimits(
            eu=limits["eu"],
            flow_variation=limits["flow_variation"],
            head_max=emitter.head_max,
            head_min=emitter.head_min,
            inlet_flow_max=limits["flow"],
        ),
        maximum_length=min(LONGEST, EMITTERS_MAX * line.spacing),
        viscosity=line.viscosity,
        first_spacing=FIRST_EMITTER * line.spacing,
        barb_k=line.device.body_k,
    )
    solution = found.solution
    if solution is None:
        raise _too_short(found, system)
    length = found.count * line.spacing
    standing = _standing(solution, slope, length)
    governing = limit_words(found.governing)
    if found.governing == "head_max" and float(solution.max_head) < 0.999 * emitter.head_max:
        governing = tr("{limit}, at the low end with the water standing still", limit=governing)
    notices = []
    if line.device.kind == "tape":
        notices.append(
            Notice(
                level="note",
                text=tr("Tape is laid straight, emitters up; it cannot be bent round."),
            )
        )
    if note := spacing_note(line.device, line.spacing, system):
        notices.append(Notice(level="note", text=note))
    notices.append(
        Notice(
            level="note",
            text=tr(
                "The figures of this line are typical of its kind, invented for demonstration. "
                "Put those of your own line's data sheet over them before you buy."
            ),
        )
    )
    return Result(
        headline=Number(
            name="run_length",
            label=tr("Longest run"),
            value=length,
            kind="length",
            rule=tr(
                "Longest line, counted from nothing upwards without a gap, that keeps every "
                "limit; solved emitter by emitter. What stops it: {limit}.",
                limit=governing,
            ),
            source=tr(_FRICTION_SOURCE),
        ),
        verdict=tr("What stops it from being longer: {limit}.", limit=governing),
        sections=(
            Section(
                title=tr("At that length"),
                items=(
                    Number(
                        name="start_pressure",
                        label=tr("Pressure at the start of the line"),
                        value=pressure,
                        kind="pressure",
                        rule=tr("As given; left empty, the pressure at which the line is rated."),
                    ),
                    Fact(name="ground", label=tr("Ground"), text=_ground_words(slope)),
                    *_numbers(solution, found.count),
                    *_lost_at_bodies(solution, line),
                    standing,
                ),
            ),
            Section(title=tr("Along the line"), items=(_pressure_figure(solution, line, system),)),
            Section(title=tr("Every limit"), items=(_checks_table(found, system),)),
        ),
        notices=tuple(notices),
    )


CALCULATOR = Calculator(
    id="run-length",
    title="Run length",
    question="How long may one line be?",
    fields=(
        DEVICE,
        EMITTER_SPACING,
        INLET_PRESSURE,
        ROW_SLOPE,
        EU_TARGET,
        FLOW_VARIATION,
        FLOW_SHARE,
        TEMPERATURE,
        *OWN_FIGURES,
    ),
    run=run,
    examples={},
    carries=FROM_RUN_LENGTH,
)
