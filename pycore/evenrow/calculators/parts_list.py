"""Parts list: what to buy for a layout that is already known, with the cutting plan."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.build_fields import BUILD_FIELDS, build_choices
from evenrow.calculators.carries import FROM_PARTS_LIST
from evenrow.calculators.fields import (
    FEED,
    FLOW_MAX,
    HEAD_MAX,
    LINE_FIELDS,
    MAIN_LENGTH,
    PIPE_CHOICES,
    PLACE,
    SOURCE_KIND,
    TAPS,
    rows_field,
)
from evenrow.calculators.parts_section import parts_sections
from evenrow.calculators.result import Notice, Number, Result
from evenrow.calculators.spec import Calculator, Field
from evenrow.catalogue import device, pipe
from evenrow.design.assembly import (
    TIMED,
    head_assembly,
    nearest_setting,
    regulator_for,
    smallest,
)
from evenrow.design.field import rows_of
from evenrow.design.layout import layout
from evenrow.design.parts import parts_of
from evenrow.design.runs import SHARES
from evenrow.design.solve import ZONES_MAX
from evenrow.design.zones import partition
from evenrow.units import UnitSystem, format_value
from evenrow.words import tr, tr_count

ZONES = Field(
    name="zones",
    label="Zones",
    kind="count",
    lo=1,
    hi=ZONES_MAX,
    default="1",
    help="From the zones page. Rows are shared out evenly, crops apart.",
    group="Header and main",
    assumed=True,
)

FLOW = Field(
    name="flow",
    label="Flow of the largest zone",
    kind="flow",
    above=0.0,
    hi=FLOW_MAX,
    default={"us": "2.8 gal/min", "metric": "0.8 m³/h"},
    help="From the zones page. It decides the size of the head assembly.",
    group="Source",
)

REGULATED = Field(
    name="pressure",
    label="Pressure the regulator shall hold",
    kind="pressure",
    above=0.0,
    hi=HEAD_MAX,
    default={"us": "15 psi", "metric": "1 bar"},
    help="The nearest setting in the catalogue is taken.",
    group="Source",
)

TIMER = Field(
    name="assembly.timer",
    label="Timer",
    kind="flag",
    default="yes",
    help="A timer on the tap opens and closes the water on time.",
    group="Source",
    assumed=True,
    only_for=TAPS,
)

HEADER_PIPE = Field(
    name="header.pipe",
    label="Header pipe",
    kind="choice",
    choices=PIPE_CHOICES,
    default="tube-21",
    help="The whole-field page sizes it for you.",
    group="Header and main",
)

MAIN_PIPE = Field(
    name="main.pipe",
    label="Main pipe",
    kind="choice",
    choices=PIPE_CHOICES,
    default="tube-21",
    help="The whole-field page sizes it for you.",
    group="Header and main",
)


def _verdict(coils: int) -> str:
    return tr_count(
        coils,
        "{count} coil of line, with the cuts below.",
        "{count} coils of line, with the cuts below.",
    )


def _setting_note(asked: float, setting: float | None, system: UnitSystem) -> str:
    """Return what to know where the regulator differs from what was asked for."""
    if setting is None or abs(setting - asked) < 0.05 * asked:
        return ""
    return tr(
        "You asked for {asked}; the nearest setting that this line bears is {setting}.",
        asked=format_value(asked, "pressure", system),
        setting=format_value(setting, "pressure", system),
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer what to buy; see `evenrow.design.parts.parts_list`."""
    rows = rows_of(inputs["rows"])
    line = device(inputs["line"]["device"])
    weights = [row.lines * row.length for row in rows]
    zones = inputs["zones"]
    found = partition(weights, sum(weights), [row.crop for row in rows], zones=zones)
    share = SHARES[inputs["header"]["place"]]
    place = layout(
        rows,
        found.ranges,
        main_length=inputs["main"]["length"],
        feed=inputs["header"]["feed"],
        share=share,
    )
    flow = inputs["flow"]
    kind = inputs["source"]["kind"]
    setting = nearest_setting(inputs["pressure"], line.emitter.head_max)
    regulator = None
    if kind != "tank" and setting is not None:
        regulator = regulator_for([flow], setting)
    setting_note = ""
    if regulator is not None:
        setting_note = _setting_note(inputs["pressure"], setting, system)
    several = zones > 1
    valve = smallest("ball valve" if kind == "tank" else "zone valve", flow) if several else None
    timer = inputs["assembly"]["timer"] and kind in TIMED
    assembly = head_assembly(
        kind, flow, timer=timer and not several, regulator=regulator, standing=several
    )
    parts = parts_of(
        place,
        share=share,
        device=line,
        header=pipe(inputs["header"]["pipe"]),
        main=pipe(inputs["main"]["pipe"]),
        assembly=assembly.parts,
        valve=valve,
        choices=build_choices(inputs["build"], timer=timer),
    )
    return Result(
        headline=Number(
            name="line_needed",
            label=tr("Tape to lay") if line.kind == "tape" else tr("Dripline to lay"),
            value=parts.line_plan.cut,
            kind="length",
            rule=tr(
                "All runs with 1 ft (0.3 m) more at each to reach the take-off and close the end."
            ),
            source=tr("count from the layout"),
        ),
        verdict=_verdict(len(parts.line_plan.coils)),
        sections=parts_sections(parts, system),
        notices=(
            *(Notice(level="warning", text=note) for note in (setting_note,) if note),
            Notice(
                level="note",
                text=tr(
                    "Generic descriptions: check that threads and pipe sizes of what "
                    "you buy fit each other."
                ),
            ),
        ),
    )


CALCULATOR = Calculator(
    id="parts-list",
    title="Parts list",
    question="What do I have to buy?",
    fields=(
        rows_field(),
        *LINE_FIELDS[:1],
        PLACE,
        FEED,
        MAIN_LENGTH,
        ZONES,
        HEADER_PIPE,
        MAIN_PIPE,
        SOURCE_KIND,
        FLOW,
        REGULATED,
        TIMER,
        *BUILD_FIELDS,
    ),
    run=run,
    examples={},
    carries=FROM_PARTS_LIST,
    cautions=(
        "Before you dig a trench for the main, have buried power, gas, water and data lines "
        "located.",
        "What joins a drinking-water supply needs the backflow preventer that your local code "
        "asks for; in many places a licensed person must fit it.",
    ),
)
