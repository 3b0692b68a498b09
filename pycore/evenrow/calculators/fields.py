"""Fields that several calculators ask for, declared once."""

from __future__ import annotations

from evenrow.calculators.catalogue_choices import CatalogueChoices
from evenrow.calculators.spec import Choice, Field
from evenrow.catalogue import devices, pipes
from evenrow.catalogue.forms import BODY_LOSS_MAX
from evenrow.design.assembly import PUMPS, TIMED
from evenrow.words import said

#: Longest row or pipe that is taken for real. [m]
LENGTH_MAX = 5000.0
#: Highest pressure that is taken for real, as head. [m]
HEAD_MAX = 150.0
#: Largest flow that is taken for real. [m3/s]
FLOW_MAX = 1.0

SOURCE_KINDS = (
    Choice(value="hose-tap", label="hose tap"),
    Choice(value="municipal", label="municipal or house supply"),
    Choice(value="pump", label="well pump"),
    Choice(value="pond-pump", label="pump on a pond or stream"),
    Choice(value="tank", label="raised tank"),
)

#: Sources that a bucket and a gauge describe, and on which a timer is offered.
TAPS = ("source.kind", TIMED)

SOURCE_KIND = Field(
    name="source.kind",
    label="Kind of source",
    kind="choice",
    choices=SOURCE_KINDS,
    default="hose-tap",
    help="What the water comes out of. It decides the parts of the head assembly.",
    group="Source",
)

READINGS = Field(
    name="source.readings",
    label="Bucket readings, tap fully open",
    kind="table",
    help="Fill a bucket with the tap fully open and time it. Three readings tell more than one.",
    columns=(
        Field(
            name="volume",
            label="Volume",
            kind="volume",
            above=0.0,
            hi=100.0,
            help="What the bucket holds up to your mark.",
        ),
        Field(
            name="time",
            label="Time",
            kind="time",
            above=0.0,
            hi=86400.0,
            help="From opening under the stream to the mark.",
        ),
    ),
    rows={
        "us": tuple({"volume": "5 gal", "time": time} for time in ("41 s", "40 s", "42 s")),
        "metric": tuple({"volume": "10 L", "time": time} for time in ("24 s", "23.5 s", "24.5 s")),
    },
    row_limits=(0, 30),
    group="Source",
)

STATIC_PRESSURE = Field(
    name="source.static_pressure",
    label="Static pressure",
    kind="pressure",
    above=0.0,
    hi=HEAD_MAX,
    default={"us": "52 psi", "metric": "3.1 bar"},
    required=False,
    help="Gauge on the tap with no water running anywhere. Leave empty if you have no gauge.",
    group="Source",
)

THROTTLED = Field(
    name="source.throttled",
    label="Throttled readings",
    kind="table",
    help="With a gauge and a valve after it: pressure and flow with the valve partly closed. "
    "They show how fast the pressure falls as the flow grows.",
    columns=(
        Field(
            name="pressure",
            label="Pressure",
            kind="pressure",
            above=0.0,
            hi=HEAD_MAX,
            help="Gauge reading while the water runs.",
        ),
        Field(
            name="flow",
            label="Flow",
            kind="flow",
            above=0.0,
            hi=FLOW_MAX,
            help="Flow at that reading.",
        ),
    ),
    rows={"us": (), "metric": ()},
    row_limits=(0, 30),
    group="More about the source",
    folded=True,
)

PUMP_CURVE = Field(
    name="source.pump_curve",
    label="Pump curve",
    kind="table",
    help="Pairs of flow and pressure at the pump outlet, from the pump's data sheet. "
    "Pressure must fall as flow grows.",
    columns=(
        Field(
            name="flow", label="Flow", kind="flow", lo=0.0, hi=FLOW_MAX, help="Flow at that point."
        ),
        Field(
            name="pressure",
            label="Pressure",
            kind="pressure",
            lo=0.0,
            hi=HEAD_MAX,
            help="Pressure at the pump outlet at that flow.",
        ),
    ),
    rows={"us": (), "metric": ()},
    row_limits=(0, 30),
    group="Source",
    only_for=("source.kind", PUMPS),
)

WATER_HEIGHT = Field(
    name="source.water_height",
    label="Height of the water above the first row",
    kind="length",
    above=0.0,
    hi=HEAD_MAX,
    required=False,
    help="For a raised tank: from the near end of the first row up to the lowest water level that "
    "you still water at.",
    group="Source",
    only_for=("source.kind", ("tank",)),
)

DEVICE = Field(
    name="line.device",
    label="Tape or dripline",
    kind="choice",
    choices=CatalogueChoices(devices),
    default="dripline-16",
    help="A generic kind of line. Its figures are typical, not those of a product.",
    group="Line",
)

EMITTER_SPACING = Field(
    name="line.spacing",
    label="Emitter spacing",
    kind="spacing",
    lo=0.02,
    hi=5.0,
    default={"us": "12 in", "metric": "30 cm"},
    help="Distance from one emitter to the next along the line.",
    group="Line",
)

EU_TARGET = Field(
    name="limits.eu",
    label="Emission uniformity wanted",
    kind="share",
    lo=0.3,
    hi=0.99,
    default="85 %",
    help="How even the watering must be: the least-watered emitter against the average, "
    "with manufacturing variation allowed for. 85 to 90 % is usual.",
    group="Limits",
    assumed=True,
)

ROW_SLOPE = Field(
    name="ground.row_slope",
    label="Slope along the row",
    kind="slope",
    lo=-0.3,
    hi=0.3,
    default="0 %",
    help="From its near end, on the side of the source, to its far end: 1 % climbs 1 ft in "
    "100 ft, −1 % falls 1 ft in 100 ft.",
    group="Ground",
    assumed=True,
)

TEMPERATURE = Field(
    name="ground.water_temperature",
    label="Water temperature",
    kind="temperature",
    lo=0.0,
    hi=60.0,
    default={"us": "59 °F", "metric": "15 °C"},
    help="Cold water is more viscous and loses a little more pressure.",
    group="Water temperature",
    folded=True,
    assumed=True,
)

PLACE = Field(
    name="header.place",
    label="Where the header meets the rows",
    kind="choice",
    choices=(
        Choice(value="end", label="at the near end of the rows"),
        Choice(value="middle", label="across the middle of the rows"),
        Choice(value="far", label="at the far end of the rows"),
    ),
    default="end",
    help="The header is the pipe that the rows join. Across the middle it halves every run.",
    group="Header and main",
    assumed=True,
)

FEED = Field(
    name="header.feed",
    label="How the main meets each header",
    kind="choice",
    choices=(
        Choice(value="end", label="at the end nearest the source"),
        Choice(value="tee", label="at a tee in its middle"),
    ),
    default="end",
    help="A tee in the middle halves the flow in each arm of the header.",
    group="Header and main",
    assumed=True,
)

MAIN_LENGTH = Field(
    name="main.length",
    label="Main: distance from the source to the near end of the first row",
    kind="length",
    lo=0.0,
    hi=LENGTH_MAX,
    default={"us": "30 ft", "metric": "10 m"},
    help="Measured along the way the pipe will lie. To a header further along the rows the main "
    "goes on beside a row.",
    group="Header and main",
)

PIPE_CHOICES = CatalogueChoices(pipes)


#: Further columns of the rows, for a whole field.
MORE_ROW_COLUMNS = (
    Field(
        name="path",
        label="Path before",
        kind="length",
        lo=0.0,
        hi=1000.0,
        required=False,
        help="Width of a path between this group and the one before it. Empty: none.",
    ),
    Field(
        name="plants",
        label="Plants apart",
        kind="spacing",
        above=0.0,
        hi=50.0,
        required=False,
        help="From plant to plant along the row; for the water that each plant gets.",
    ),
)


def rows_field(*, group: str = "Rows", more: bool = False) -> Field:
    """Return the table of row groups: equal rows beside each other are one line.

    With `more` it also asks for paths and plant spacing.
    """
    return Field(
        name="rows",
        label="Rows, in the order they lie along the header",
        kind="table",
        help="One line for each group of equal rows beside each other.",
        columns=(
            Field(
                name="crop",
                label="Crop",
                kind="text",
                hi=40,
                required=False,
                help="Rows with different names never share a zone.",
            ),
            Field(name="count", label="Rows", kind="count", lo=1, hi=2000, help="How many."),
            Field(
                name="length",
                label="Length",
                kind="length",
                above=0.0,
                hi=LENGTH_MAX,
                help="Length of one row.",
            ),
            Field(
                name="spacing",
                label="Apart",
                kind="length",
                above=0.0,
                hi=100.0,
                help="From the middle of one row or bed to the next.",
            ),
            Field(
                name="lines",
                label="Lines per row",
                kind="count",
                lo=1,
                hi=8,
                help="Tapes or driplines on each row or bed.",
            ),
            *(MORE_ROW_COLUMNS if more else ()),
        ),
        rows={
            "us": (
                {
                    "crop": "raspberries",
                    "count": "5",
                    "length": "62 ft",
                    "spacing": "9 ft",
                    "lines": "1",
                },
            ),
            "metric": (
                {
                    "crop": "tomato",
                    "count": "6",
                    "length": "30 m",
                    "spacing": "1.2 m",
                    "lines": "2",
                },
            ),
        },
        row_limits=(1, 60),
        group=group,
    )


OWN_FIGURES = (
    Field(
        name="line.own.flow",
        label="Emitter flow",
        kind="emitter_flow",
        above=0.0,
        hi=1e-4,
        required=False,
        help="From the data sheet of your line. Empty = the generic figure.",
        group="Own figures of the line",
        folded=True,
    ),
    Field(
        name="line.own.at",
        label="… at this pressure",
        kind="pressure",
        above=0.0,
        hi=HEAD_MAX,
        required=False,
        help="Pressure at which that flow is stated.",
        group="Own figures of the line",
        folded=True,
    ),
    Field(
        name="line.own.exponent",
        label="Emitter exponent",
        kind="number",
        lo=0.01,
        hi=1.0,
        required=False,
        help="How strongly flow follows pressure: 0.5 for most, near 0 if compensating.",
        group="Own figures of the line",
        folded=True,
    ),
    Field(
        name="line.own.cv",
        label="Manufacturing variation (CV)",
        kind="share",
        lo=0.0,
        hi=0.4,
        required=False,
        help="Spread between new emitters, from the data sheet: 2 to 7 % is usual.",
        group="Own figures of the line",
        folded=True,
    ),
    Field(
        name="line.own.diameter",
        label="Inside diameter",
        kind="diameter",
        lo=0.001,
        hi=0.2,
        required=False,
        help="Bore of the line, not its outside.",
        group="Own figures of the line",
        folded=True,
    ),
    Field(
        name="line.own.body_loss",
        label=said("Loss at each emitter's body"),
        kind="number",
        lo=0.0,
        hi=BODY_LOSS_MAX,
        required=False,
        help=said(
            "Coefficient on the velocity head in the line, called K or Kd in data sheets: 0 for "
            "tape with its passages in the seam, about 0.3 to 1.5 for bodies inside the line."
        ),
        group="Own figures of the line",
        folded=True,
    ),
    Field(
        name="line.own.pressure_max",
        label="Highest pressure",
        kind="pressure",
        above=0.0,
        hi=HEAD_MAX,
        required=False,
        help="What the wall is rated for.",
        group="Own figures of the line",
        folded=True,
    ),
)

LINE_FIELDS = (DEVICE, EMITTER_SPACING)
