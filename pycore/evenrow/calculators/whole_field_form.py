"""What the whole-field page asks for, the few things that only the user knows first."""

from __future__ import annotations

from dataclasses import replace

from evenrow.calculators.build_fields import BUILD_FIELDS
from evenrow.calculators.catalogue_choices import CatalogueChoices
from evenrow.calculators.checks_log import CHECKS_LOG
from evenrow.calculators.fields import (
    EU_TARGET,
    FEED,
    LENGTH_MAX,
    LINE_FIELDS,
    MAIN_LENGTH,
    OWN_FIGURES,
    PLACE,
    PUMP_CURVE,
    READINGS,
    ROW_SLOPE,
    SOURCE_KIND,
    STATIC_PRESSURE,
    TAPS,
    TEMPERATURE,
    THROTTLED,
    WATER_HEIGHT,
    rows_field,
)
from evenrow.calculators.spec import Choice, Field
from evenrow.catalogue import pipes
from evenrow.design.assembly import PUMPS, TIMED
from evenrow.design.field import ANY_PIPE

HEIGHT_MAX = 100.0


def _survey(name: str, label: str, group: str, start: str) -> Field:
    return Field(
        name=name,
        label=label,
        kind="table",
        help=f"Only where the slope changes: points with their distance from {start} and their "
        "height above any mark. They replace the slope above.",
        columns=(
            Field(
                name="distance",
                label="Distance",
                kind="length",
                lo=-LENGTH_MAX,
                hi=LENGTH_MAX,
                help="Along the ground.",
            ),
            Field(
                name="height",
                label="Height",
                kind="length",
                lo=-HEIGHT_MAX,
                hi=HEIGHT_MAX,
                help="Above the mark, negative below it.",
            ),
        ),
        rows={"us": (), "metric": ()},
        row_limits=(0, 60),
        group=group,
        folded=True,
    )


_GROUND = "Surveyed ground"
_ROUTE = "Way and size of the pipes"
_WATERING = "Watering"

HEADER_SLOPE = Field(
    name="ground.header_slope",
    label="Slope along the header",
    kind="slope",
    lo=-0.3,
    hi=0.3,
    default="0 %",
    help="From the first row to the last: positive climbs, negative falls.",
    group="Ground",
    assumed=True,
)

BEARING = Field(
    name="ground.bearing",
    label="Direction along the rows",
    kind="choice",
    choices=(
        Choice(value="unknown", label="not known"),
        Choice(value="north", label="to the north"),
        Choice(value="northeast", label="to the northeast"),
        Choice(value="east", label="to the east"),
        Choice(value="southeast", label="to the southeast"),
        Choice(value="south", label="to the south"),
        Choice(value="southwest", label="to the southwest"),
        Choice(value="west", label="to the west"),
        Choice(value="northwest", label="to the northwest"),
    ),
    default="unknown",
    help="Stand at the near ends and look along the rows. The plan then shows where north is.",
    group=_GROUND,
    folded=True,
    assumed=True,
)

ROW_SURVEY = _survey("ground.row_survey", "Heights along a row", _GROUND, "its near end")
HEADER_SURVEY = _survey(
    "ground.header_survey", "Heights along the header", _GROUND, "the first row"
)

RISE = Field(
    name="source.rise",
    label="Height of the first row above the source",
    kind="length",
    lo=-HEIGHT_MAX,
    hi=HEIGHT_MAX,
    default={"us": "0 ft", "metric": "0 m"},
    help="At the near end of the row; negative if it lies lower.",
    group="More about the source",
    folded=True,
    assumed=True,
    only_for=("source.kind", (*TIMED, *PUMPS)),
)

RESERVE = Field(
    name="source.reserve",
    label="Flow left in reserve",
    kind="share",
    lo=0.0,
    hi=0.9,
    default="10 %",
    help="Share of the source kept for other taps and for a day with less pressure.",
    group="More about the source",
    folded=True,
    assumed=True,
)

VELOCITY = Field(
    name="limits.velocity",
    label="Highest velocity in header and main",
    kind="velocity",
    above=0.0,
    hi=10.0,
    default={"us": "5 ft/s", "metric": "1.524 m/s"},
    help="Faster water hammers when a valve shuts. 5 ft/s (1.5 m/s) is usual.",
    group=_ROUTE,
    folded=True,
    assumed=True,
)

TIMER = Field(
    name="assembly.timer",
    label="Timer",
    kind="flag",
    default="yes",
    help="With several zones their valves take its place.",
    group="Source",
    assumed=True,
    only_for=("source.kind", TIMED),
)

INJECTION = Field(
    name="assembly.injection",
    label="Injector for fertiliser",
    kind="flag",
    default="no",
    help="Asks for a higher class of backflow protection: your local code says which.",
    group="More about the source",
    folded=True,
    assumed=True,
    only_for=("source.kind", (*TIMED, *PUMPS)),
)

ARRIVES = Field(
    name="main.arrives",
    label="Where the main meets the header line",
    kind="length",
    lo=-LENGTH_MAX,
    hi=LENGTH_MAX,
    required=False,
    help="From the first row toward the last. Empty: at the first row.",
    group=_ROUTE,
    folded=True,
)

BURIED = Field(
    name="main.depth",
    label="Main buried, depth",
    kind="length",
    lo=0.0,
    hi=3.0,
    default={"us": "0 ft", "metric": "0 m"},
    help="0 = on the ground. Before you dig, have buried lines located.",
    group=_ROUTE,
    folded=True,
    assumed=True,
)

OBSTACLES = Field(
    name="header.obstacles",
    label="Obstacles on the header line",
    kind="table",
    help="A path to go under, a tree to go round: where, how much more pipe, how many elbows.",
    columns=(
        Field(
            name="position",
            label="At",
            kind="length",
            lo=-LENGTH_MAX,
            hi=LENGTH_MAX,
            help="From the first row toward the last.",
        ),
        Field(
            name="extra",
            label="More pipe",
            kind="length",
            lo=0.0,
            hi=100.0,
            help="How much longer than straight the pipe gets.",
        ),
        Field(name="elbows", label="Elbows", kind="count", lo=0, hi=20, help="Bends it takes."),
    ),
    rows={"us": (), "metric": ()},
    row_limits=(0, 20),
    group=_ROUTE,
    folded=True,
)

LEAST_HEADER = Field(
    name="header.least",
    label="Header pipe, at least",
    kind="choice",
    choices=CatalogueChoices(pipes, (Choice(value=ANY_PIPE, label="whatever is enough"),)),
    default=ANY_PIPE,
    help="The design takes a larger one where a limit asks for it.",
    group=_ROUTE,
    folded=True,
    assumed=True,
)

LEAST_MAIN = replace(LEAST_HEADER, name="main.least", label="Main pipe, at least")

DEPTH = Field(
    name="watering.depth",
    label="Water needed on the hottest day",
    kind="water_depth",
    above=0.0,
    hi=0.1,
    default={"us": "0.2 in", "metric": "5.08 mm"},
    help="As a depth over the ground of the rows. It decides the hours, not the pipes.",
    group=_WATERING,
    folded=True,
    assumed=True,
)

WINDOW = Field(
    name="watering.window",
    label="Hours that there are for it",
    kind="hours",
    above=0.0,
    hi=7 * 86400.0,
    required=False,
    help="All zones together have to fit, one after the other. Empty: no limit.",
    group=_WATERING,
    folded=True,
)

WHOLE_PLACE = replace(
    PLACE,
    choices=(*PLACE.choices, Choice(value="best", label="at the best place along the rows")),
)

FIELDS = (
    SOURCE_KIND,
    replace(READINGS, only_for=TAPS),
    replace(
        STATIC_PRESSURE,
        only_for=TAPS,
        required=True,
        help="Gauge on the tap with no water running anywhere. A whole design needs it; "
        "without a gauge the source flow page gives a rough answer.",
    ),
    PUMP_CURVE,
    WATER_HEIGHT,
    TIMER,
    rows_field(more=True),
    ROW_SLOPE,
    HEADER_SLOPE,
    *LINE_FIELDS,
    MAIN_LENGTH,
    WHOLE_PLACE,
    FEED,
    EU_TARGET,
    DEPTH,
    WINDOW,
    VELOCITY,
    LEAST_HEADER,
    LEAST_MAIN,
    ARRIVES,
    BURIED,
    OBSTACLES,
    BEARING,
    ROW_SURVEY,
    HEADER_SURVEY,
    replace(THROTTLED, only_for=TAPS),
    RISE,
    RESERVE,
    INJECTION,
    *BUILD_FIELDS,
    TEMPERATURE,
    *OWN_FIGURES,
    CHECKS_LOG,
)
