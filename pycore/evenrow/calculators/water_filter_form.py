"""The form of water and filter: the report, the emitters, the filter, what is injected."""

from __future__ import annotations

from dataclasses import replace

from evenrow.calculators.fields import (
    DEVICE,
    EMITTER_SPACING,
    FLOW_MAX,
    HEAD_MAX,
    LENGTH_MAX,
    ROW_SLOPE,
)
from evenrow.calculators.spec import Choice, Field

#: Label, default and help of each line of the report. The report is invented.
_REPORT = {
    "ph": ("pH", "7.6", "Acid below 7, alkaline above."),
    "suspended": ("Suspended solids", "35 mg/L", "Sand, silt and scum: what a filter may catch."),
    "dissolved": ("Dissolved solids", "620 mg/L", "Salts. Leave empty to reckon with the EC."),
    "ec": ("Conductivity (EC)", "", "Such as 0.9 dS/m or 900 µS/cm. Stands in for dissolved "
           "solids."),
    "iron": ("Iron", "0.4 mg/L", "Total iron."),
    "manganese": ("Manganese", "<0.05 mg/L", "Settles black, as iron settles red."),
    "sulphide": ("Hydrogen sulphide", "<0.1 mg/L", "The smell of bad eggs; it feeds slime."),
    "hardness": ("Hardness", "210 mg/L", "As calcium carbonate: mg/L, mmol/L, °dH, °f or gpg."),
    "bicarbonate": ("Bicarbonate", "", "With the pH it tells whether lime will settle."),
    "bacteria": ("Bacteria, total count", "8000/mL", "All bacteria, not only coliforms."),
}  # fmt: skip
LAB_LABELS = {name: label for name, (label, _, _) in _REPORT.items()}

LAB_FIELDS = tuple(
    Field(
        name=f"lab.{name}",
        label=label,
        kind="text",
        hi=40,
        default=default,
        required=False,
        help=f"{words} Empty = not tested.",
        group="Water report, as the laboratory wrote it",
    )
    for name, (label, default, words) in _REPORT.items()
)

WATER_SOURCES = (
    Choice(value="well", label="a well"),
    Choice(value="municipal", label="a town or house supply"),
    Choice(value="open", label="a pond, stream or canal"),
    Choice(value="tank", label="a rain tank"),
)

_EMITTERS = "Flow and emitters"
SYSTEM_FIELDS = (
    Field(
        name="water.source",
        label="The water comes from",
        kind="choice",
        choices=WATER_SOURCES,
        default="well",
        help="It decides the kind of filter and the backflow protection.",
        group=_EMITTERS,
    ),
    Field(
        name="flow",
        label="Flow through the filter",
        kind="flow",
        above=0.0,
        hi=FLOW_MAX,
        default={"us": "8 gal/min", "metric": "1.8 m³/h"},
        help="That of the largest zone.",
        group=_EMITTERS,
    ),
    Field(
        name="passage",
        label="Narrowest passage of the emitters",
        kind="thickness",
        above=0.0,
        hi=0.02,
        required=False,
        default={"us": "24 mil", "metric": "0.6 mm"},
        help="From the data sheet. Empty = that of the generic line chosen below.",
        group=_EMITTERS,
    ),
    replace(DEVICE, group=_EMITTERS),
)

_FILTER = "Filter"
FILTER_FIELDS = (
    Field(
        name="filter.kind",
        label="Kind of filter",
        kind="choice",
        choices=(
            Choice(value="suggest", label="suggest one"),
            Choice(value="screen", label="screen"),
            Choice(value="disc", label="disc"),
            Choice(value="media", label="sand media"),
        ),
        default="suggest",
        assumed=True,
        help="What you have or want.",
        group=_FILTER,
    ),
    Field(
        name="filter.area",
        label="Filter surface of the one you have",
        kind="area",
        above=0.0,
        hi=1000.0,
        required=False,
        help="Open it and measure: around the screen times its height; of a sand filter, the "
        "area of the bed. Empty = as much as is needed.",
        group=_FILTER,
    ),
    Field(
        name="filter.dirty",
        label="Loss that dirt may add before you flush",
        kind="pressure",
        above=0.0,
        hi=HEAD_MAX,
        required=False,
        default={"us": "5 psi", "metric": "0.35 bar"},
        help="Gauge before the filter less gauge behind it, beyond what it loses when clean. 3 to "
        "5 psi (0.2 to 0.35 bar) is usual. Empty = 3 psi.",
        group=_FILTER,
    ),
    Field(
        name="filter.held",
        label="Share of the suspended solids that the filter holds",
        kind="share",
        lo=0.0,
        hi=1.0,
        default="30 %",
        assumed=True,
        help="A guess until you know: sand nearly all of it, silt and clay hardly any.",
        group=_FILTER,
    ),
)

_CHEMICAL = "What you inject"
_LIQUID, _GRANULAR, _ACID, _FERTILISER = "liquid", "granular", "acid", "fertiliser"
_CHLORINE = (_LIQUID, _GRANULAR)
_STOCK = (_GRANULAR, _FERTILISER)
CHEMICAL_FIELDS = (
    Field(
        name="chemical.kind",
        label="What you inject",
        kind="choice",
        choices=(
            Choice(value="none", label="nothing"),
            Choice(value=_LIQUID, label="liquid chlorine"),
            Choice(value=_GRANULAR, label="granular chlorine, dissolved"),
            Choice(value=_ACID, label="acid, by titration"),
            Choice(value=_FERTILISER, label="fertiliser, dissolved"),
        ),
        default=_LIQUID,
        help="One at a time, each by its own injection point.",
        group=_CHEMICAL,
    ),
    Field(
        name="chemical.chlorine",
        label="Chlorine wanted in the water",
        kind="text",
        hi=40,
        default="10 mg/L",
        required=False,
        help="As the label allows. Common practice: 1 to 2 mg/L all the time, or 10 to 20 mg/L for "
        "an hour now and then.",
        group=_CHEMICAL,
        only_for=("chemical.kind", _CHLORINE),
    ),
    Field(
        name="chemical.percent",
        label="Available chlorine of the liquid",
        kind="share",
        above=0.0,
        hi=0.3,
        default="5.25 %",
        required=False,
        help="From the label. It weakens with age, warmth and light.",
        group=_CHEMICAL,
        only_for=("chemical.kind", (_LIQUID,)),
    ),
    Field(
        name="chemical.granules",
        label="Available chlorine of the granules",
        kind="share",
        above=0.0,
        hi=0.95,
        default="65 %",
        required=False,
        help="From the label, by mass.",
        group=_CHEMICAL,
        only_for=("chemical.kind", (_GRANULAR,)),
    ),
    Field(
        name="chemical.nutrient_dose",
        label="Nutrient wanted in the water",
        kind="text",
        hi=40,
        default="100 mg/L",
        required=False,
        help="Of the nutrient that you reckon by, such as nitrogen.",
        group=_CHEMICAL,
        only_for=("chemical.kind", (_FERTILISER,)),
    ),
    Field(
        name="chemical.nutrient",
        label="Share of that nutrient in the fertiliser",
        kind="share",
        above=0.0,
        hi=1.0,
        default="20 %",
        required=False,
        help="From the bag, by mass: the first number is nitrogen.",
        group=_CHEMICAL,
        only_for=("chemical.kind", (_FERTILISER,)),
    ),
    Field(
        name="chemical.mass",
        label="You dissolve",
        kind="mass",
        above=0.0,
        hi=1e5,
        default={"us": "2 lb", "metric": "1 kg"},
        required=False,
        help="Granules or fertiliser.",
        group=_CHEMICAL,
        only_for=("chemical.kind", _STOCK),
    ),
    Field(
        name="chemical.stock",
        label="… to make this much solution",
        kind="volume",
        above=0.0,
        hi=1000.0,
        default={"us": "10 gal", "metric": "40 L"},
        required=False,
        help="The finished stock in the tank.",
        group=_CHEMICAL,
        only_for=("chemical.kind", _STOCK),
    ),
    Field(
        name="chemical.acid",
        label="Acid that brought the sample to the pH wanted",
        kind="volume",
        above=0.0,
        hi=10.0,
        default="10 mL",
        required=False,
        help="Of the very acid that you will inject, added a little at a time and stirred.",
        group=_CHEMICAL,
        only_for=("chemical.kind", (_ACID,)),
    ),
    Field(
        name="chemical.sample",
        label="Water in the sample",
        kind="volume",
        above=0.0,
        hi=1000.0,
        default={"us": "5 gal", "metric": "20 L"},
        required=False,
        help="A clean plastic bucket of the water itself.",
        group=_CHEMICAL,
        only_for=("chemical.kind", (_ACID,)),
    ),
)

_WAY = "Way to the last emitter"
_BY_LINE = ("travel.by", ("line",))
TRAVEL_FIELDS = (
    Field(
        name="travel.by",
        label="How long the water takes there",
        kind="choice",
        choices=(
            Choice(value="time", label="I know it"),
            Choice(value="line", label="work it out from the line"),
        ),
        default="line",
        help="From the injection point to the last emitter. Dye or a chlorine strip shows it.",
        group=_WAY,
    ),
    Field(
        name="travel.time",
        label="Travel time",
        kind="duration",
        above=0.0,
        hi=86_400.0,
        default="25 min",
        required=False,
        help="From injection to the last emitter, with the line full and running.",
        group=_WAY,
        only_for=("travel.by", ("time",)),
    ),
    replace(EMITTER_SPACING, group=_WAY, only_for=_BY_LINE, required=False),
    Field(
        name="travel.length",
        label="Length of the longest line",
        kind="length",
        above=0.0,
        hi=LENGTH_MAX,
        default={"us": "150 ft", "metric": "45 m"},
        required=False,
        help="From the header to its closed end.",
        group=_WAY,
        only_for=_BY_LINE,
    ),
    Field(
        name="travel.pressure",
        label="Pressure at the start of that line",
        kind="pressure",
        above=0.0,
        hi=HEAD_MAX,
        required=False,
        help="Empty = the pressure at which this kind of line is rated.",
        group=_WAY,
        only_for=_BY_LINE,
    ),
    replace(ROW_SLOPE, group=_WAY, only_for=_BY_LINE),
    Field(
        name="travel.main",
        label="Pipe from the injector to that line",
        kind="length",
        lo=0.0,
        hi=LENGTH_MAX,
        default={"us": "60 ft", "metric": "18 m"},
        required=False,
        help="Main and header. Empty = none.",
        group=_WAY,
        only_for=_BY_LINE,
    ),
    Field(
        name="travel.bore",
        label="Inside diameter of that pipe",
        kind="diameter",
        lo=0.001,
        hi=1.0,
        default={"us": "0.82 in", "metric": "21 mm"},
        required=False,
        help="Its bore, not its outside.",
        group=_WAY,
        only_for=_BY_LINE,
    ),
)

FIELDS = (*LAB_FIELDS, *SYSTEM_FIELDS, *FILTER_FIELDS, *CHEMICAL_FIELDS, *TRAVEL_FIELDS)
