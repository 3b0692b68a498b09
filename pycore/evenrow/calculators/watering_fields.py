"""What the watering time asks for beside the weather: crop, zones, timer and water."""

from __future__ import annotations

from dataclasses import replace

from evenrow.agronomy.plan_inputs import DAY
from evenrow.calculators.fields import FLOW_MAX
from evenrow.calculators.planting_fields import CROP, SOIL
from evenrow.calculators.spec import Choice, Field
from evenrow.calculators.watering_more_fields import DATED, MORE_FIELDS
from evenrow.calculators.watering_weather_fields import MONTH_CHOICES, WEATHER_FIELDS

#: Most zones of one watering plan.
ZONES_MAX = 30

_CROP_GROUP = CROP.group
_TIMER = "Timer"

START = Field(
    name="season.start",
    label="How the season begins",
    kind="choice",
    choices=(
        Choice(value="planted", label="planted or sown on a day"),
        Choice(value="leaves", label="grown already: leaves come out on a day"),
        Choice(value="always", label="grown already: green all year"),
    ),
    default="planted",
    help="Young plants use little and root shallowly; what is grown already has its roots.",
    group=_CROP_GROUP,
    assumed=True,
)

_SEASON = (
    Field(
        name="season.month",
        label="Month of planting, or when leaves come out",
        kind="choice",
        choices=MONTH_CHOICES,
        default="april",
        help="Sowing counts as planting.",
        group=_CROP_GROUP,
        only_for=DATED,
    ),
    Field(
        name="season.day",
        label="Day of that month",
        kind="count",
        lo=1,
        hi=31,
        default="15",
        help="About is good enough.",
        group=_CROP_GROUP,
        only_for=DATED,
    ),
)

_ZONE_COLUMNS = (
    Field(
        name="name",
        label="Name",
        kind="text",
        hi=40,
        required=False,
        help="What you call it. Empty: zone 1, zone 2 and so on.",
    ),
    Field(
        name="row_length",
        label="Length of its rows",
        kind="length",
        lo=0.1,
        hi=1e6,
        required=False,
        help="All rows or beds of the zone together.",
    ),
    Field(
        name="row_spacing",
        label="Rows apart",
        kind="length",
        lo=0.01,
        hi=100.0,
        required=False,
        help="From the middle of one row or bed to the next.",
    ),
    Field(
        name="area",
        label="Or its ground",
        kind="area",
        lo=0.01,
        hi=1e7,
        required=False,
        help="Length of rows times distance between them, if you know it already.",
    ),
    Field(
        name="flow",
        label="Flow",
        kind="flow",
        above=0.0,
        hi=FLOW_MAX,
        help="What the zone takes while it runs: from the whole-field or zones page, or a water "
        "meter.",
    ),
    Field(
        name="uniformity",
        label="Emission uniformity",
        kind="share",
        lo=0.3,
        hi=1.0,
        default="90 %",
        required=False,
        help="How evenly it waters. Empty: 90 %.",
    ),
    Field(
        name="plants",
        label="Plants apart",
        kind="spacing",
        lo=0.01,
        hi=50.0,
        required=False,
        help="Along the row; where several rows of plants share a bed, divided by their number. "
        "For the water of one plant.",
    ),
    Field(
        name="rank",
        label="Rank when water is short",
        kind="count",
        lo=1,
        hi=9,
        required=False,
        help="1 gets its water first, then 2. Empty: 1.",
    ),
)

ZONES = Field(
    name="zones",
    label="Zones",
    kind="table",
    help="One entry for each part that is watered at one time; they run one after the other.",
    columns=_ZONE_COLUMNS,
    rows={
        "us": tuple(
            {
                "name": name,
                "row_length": "300 ft",
                "row_spacing": "4 ft",
                "flow": "4.8 gal/min",
                "uniformity": "90 %",
            }
            for name in ("beds 1–3", "beds 4–6")
        ),
        "metric": tuple(
            {
                "name": name,
                "row_length": "90 m",
                "row_spacing": "1.2 m",
                "flow": "1.1 m³/h",
                "uniformity": "90 %",
            }
            for name in ("beds 1–3", "beds 4–6")
        ),
    },
    row_limits=(1, ZONES_MAX),
    group="Zones",
)

TIMER_FIELDS = (
    Field(
        name="timer.start",
        label="First start",
        kind="text",
        hi=20,
        default="5:00",
        help="Time of day such as 5:00 or 5:30 pm. Early morning loses least to wind and sun.",
        group=_TIMER,
        assumed=True,
    ),
    Field(
        name="timer.window",
        label="Hours in which water may run",
        kind="hours",
        above=0.0,
        hi=DAY,
        default="8 h",
        help="From the first start on, for all zones together.",
        group=_TIMER,
        assumed=True,
    ),
    Field(
        name="timer.longest_interval",
        label="Most days between two waterings",
        kind="count",
        lo=1,
        hi=30,
        default="3",
        help="1 waters every day. The soil may ask for less than you allow.",
        group=_TIMER,
        assumed=True,
    ),
    Field(
        name="timer.starts",
        label="Most starts of a zone in a day",
        kind="count",
        lo=1,
        hi=24,
        default="4",
        help="As many as the timer can hold.",
        group=_TIMER + ": more",
        folded=True,
        assumed=True,
    ),
    Field(
        name="timer.step",
        label="Steps of the timer",
        kind="duration",
        lo=1.0,
        hi=3600.0,
        default="1 min",
        help="Run times are rounded up to whole steps.",
        group=_TIMER + ": more",
        folded=True,
        assumed=True,
    ),
    Field(
        name="timer.rest",
        label="Rest between two runs of a zone",
        kind="duration",
        lo=0.0,
        hi=21600.0,
        default="30 min",
        help="Where a watering is cut into several runs: time for the water to spread.",
        group=_TIMER + ": more",
        folded=True,
        assumed=True,
    ),
)

FIELDS = (
    replace(
        CROP,
        help="It says how deep the roots go and how much of the ETo the crop uses. Yours is not "
        "there? Take one that grows like it.",
    ),
    SOIL,
    START,
    *_SEASON,
    *WEATHER_FIELDS,
    ZONES,
    *TIMER_FIELDS,
    *MORE_FIELDS,
)
