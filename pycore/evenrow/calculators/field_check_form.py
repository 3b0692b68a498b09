"""The form of the field check: cups, what they should give, the zone, what is wrong."""

from __future__ import annotations

from evenrow.agronomy.sampling import FEWEST
from evenrow.calculators.fields import HEAD_MAX, LENGTH_MAX
from evenrow.calculators.spec import Choice, Field
from evenrow.calculators.troubles import SYMPTOMS

PLACE_CHOICES = (
    Choice(value="near", label="near end"),
    Choice(value="third", label="one third"),
    Choice(value="two-thirds", label="two thirds"),
    Choice(value="far", label="far end"),
)
PLACE_LABELS = {choice.value: choice.label for choice in PLACE_CHOICES}
_PLACES = tuple(PLACE_LABELS)

#: Cups of the form at first: row, then mL in two minutes at the four places. Invented.
_CUPS = {
    "1": (62, 60, 60, 57),
    "9": (62, 61, 38, 57),
    "16": (61, 58, 57, 44),
    "24": (60, 57, 55, 52),
}
#: Pressures at the near and far end of those rows.
_PRESSURES = {
    "us": {"1": (15, 13.5), "9": (14.7, 13.3), "16": (14.4, 13), "24": (14, 12.5)},
    "metric": {"1": (1.03, 0.93), "9": (1.01, 0.92), "16": (0.99, 0.9), "24": (0.97, 0.86)},
}


def _rows(system: str) -> tuple[dict[str, str], ...]:
    unit = "psi" if system == "us" else "bar"
    rows = []
    for row, volumes in _CUPS.items():
        near, far = _PRESSURES[system][row]
        pressures = {"near": f"{near:g} {unit}", "far": f"{far:g} {unit}"}
        for place, volume in zip(_PLACES, volumes, strict=True):
            cup = {"place": place, "row": row, "volume": f"{volume} mL"}
            rows.append(cup | ({"pressure": pressures[place]} if place in pressures else {}))
    return tuple(rows)


_CUP_GROUP = "Cups"
CUP_TIME = Field(
    name="cup_time",
    label="Time that each cup stood",
    kind="time",
    above=0.0,
    hi=86_400.0,
    default="2 min",
    help="From setting it under the emitter to taking it away. A row may have its own.",
    group=_CUP_GROUP,
)
CUPS = Field(
    name="cups",
    label="What the cups caught",
    kind="table",
    help=f"{FEWEST} cups at least, 16 tell much more: four rows, four places on each. A dry cup is "
    "0 mL. Leave the table empty to be told only where to look for a trouble.",
    columns=(
        Field(
            name="place",
            label="Place",
            kind="choice",
            choices=PLACE_CHOICES,
            default="near",
            help="How far along the line.",
        ),
        Field(
            name="row",
            label="Row",
            kind="text",
            hi=20,
            required=False,
            help="Its number or name.",
        ),
        Field(
            name="volume",
            label="Volume",
            kind="volume",
            lo=0.0,
            hi=0.1,
            required=False,
            help="In a measuring cylinder or by weight: 1 g is 1 mL. Empty = not measured yet, and "
            "left out; a dry cup is 0 mL.",
        ),
        Field(
            name="time",
            label="Own time",
            kind="time",
            above=0.0,
            hi=86_400.0,
            required=False,
            help="Empty = as above.",
        ),
        Field(
            name="pressure",
            label="Pressure",
            kind="pressure",
            lo=0.0,
            hi=HEAD_MAX,
            required=False,
            help="Gauge on the line there. Empty = not taken.",
        ),
        Field(
            name="expected",
            label="Should give",
            kind="emitter_flow",
            above=0.0,
            hi=1e-4,
            required=False,
            help="Of that emitter by the design; the whole-field page takes it along. Empty = as "
            "below.",
        ),
    ),
    rows={"us": _rows("us"), "metric": _rows("metric")},
    row_limits=(0, 100),
    required=False,
    group=_CUP_GROUP,
)

_CHECK = "This check"
CHECK_FIELDS = (
    Field(
        name="check.date",
        label="Date of the check",
        kind="text",
        hi=40,
        required=False,
        help="Such as 2026-05-31, for the log. Empty = the day on which you put it there.",
        group=_CHECK,
        folded=True,
    ),
    Field(
        name="check.note",
        label="Note",
        kind="text",
        hi=80,
        required=False,
        help="What was done or found, for the log.",
        group=_CHECK,
        folded=True,
    ),
)

_EXPECTED = "What they should give"
EXPECTED_FIELDS = (
    Field(
        name="expected.flow",
        label="Emitter flow",
        kind="emitter_flow",
        above=0.0,
        hi=1e-4,
        required=False,
        default={"us": "0.5 gal/h", "metric": "1.9 L/h"},
        help="From the design or the data sheet. Empty = not compared.",
        group=_EXPECTED,
    ),
    Field(
        name="expected.pressure",
        label="… at this pressure",
        kind="pressure",
        above=0.0,
        hi=HEAD_MAX,
        required=False,
        default={"us": "15 psi", "metric": "1.03 bar"},
        help="Empty = at the pressure the field has.",
        group=_EXPECTED,
    ),
    Field(
        name="expected.exponent",
        label="Emitter exponent",
        kind="number",
        lo=0.0,
        hi=1.0,
        default="0.5",
        assumed=True,
        help="0.5 for most emitters, near 0 if pressure-compensating.",
        group=_EXPECTED,
    ),
    Field(
        name="expected.cv",
        label="Manufacturing variation (CV)",
        kind="share",
        lo=0.0,
        hi=0.4,
        default="4 %",
        assumed=True,
        help="Spread between new emitters, from the data sheet.",
        group=_EXPECTED,
    ),
    Field(
        name="expected.kind",
        label="Kind of line",
        kind="choice",
        choices=(
            Choice(value="point", label="dripline or single emitters"),
            Choice(value="line", label="tape"),
        ),
        default="point",
        assumed=True,
        help="The classes of new emitters differ.",
        group=_EXPECTED,
    ),
)

_ZONE = "The zone, for where to put cups"
ZONE_FIELDS = (
    Field(
        name="zone.rows",
        label="Rows of the zone",
        kind="count",
        lo=1,
        hi=100_000,
        required=False,
        default="24",
        help="Empty = told in thirds.",
        group=_ZONE,
    ),
    Field(
        name="zone.length",
        label="Length of a row",
        kind="length",
        above=0.0,
        hi=LENGTH_MAX,
        required=False,
        default={"us": "200 ft", "metric": "60 m"},
        help="From header to closed end. Empty = told in thirds.",
        group=_ZONE,
    ),
)

_SURE = "How sure you want to be"
SURE_FIELDS = (
    Field(
        name="sure.confidence",
        label="Sure in",
        kind="choice",
        choices=tuple(
            Choice(value=value, label=f"{value} of 100 fields") for value in ("80", "90", "95")
        ),
        default="95",
        assumed=True,
        help="How often the band holds what the whole zone really has.",
        group=_SURE,
        folded=True,
    ),
    Field(
        name="sure.half_width",
        label="Uniformity to within ±",
        kind="share",
        lo=0.002,
        hi=0.5,
        default="4 %",
        assumed=True,
        help="Half the width of the band you want; it sets the number of cups.",
        group=_SURE,
        folded=True,
    ),
)

SYMPTOM = Field(
    name="symptom",
    label="Something you see",
    kind="choice",
    choices=SYMPTOMS,
    default="none",
    assumed=True,
    help="Choose it to be told where to look, with or without cups.",
    group="Trouble",
)

FIELDS = (SYMPTOM, CUP_TIME, CUPS, *EXPECTED_FIELDS, *ZONE_FIELDS, *CHECK_FIELDS, *SURE_FIELDS)
