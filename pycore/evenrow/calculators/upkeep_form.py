"""What the upkeep calculator asks for."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from evenrow.agronomy.upkeep import ENDS_TOGETHER, RUNS_MAX
from evenrow.calculators.checks_log import CHECKS_LOG
from evenrow.calculators.fields import DEVICE, EU_TARGET, LENGTH_MAX, SOURCE_KIND
from evenrow.calculators.season_days import MONTHS
from evenrow.calculators.spec import Choice, Field

#: All lines of a system together are taken for real up to this. [m]
LINES_MAX = 200.0 * LENGTH_MAX
_HOUR = 3600.0
_MONTH_CHOICES = tuple(Choice(value=name.lower(), label=name) for name in MONTHS)


def _count(name: str, label: str, help_text: str, group: str, **more: Any) -> Field:
    return Field(name=name, label=label, kind="count", help=help_text, group=group, **more)


def _choices(*pairs: tuple[str, str]) -> tuple[Choice, ...]:
    return tuple(Choice(value=value, label=label) for value, label in pairs)


_TODAY = Field(
    name="today",
    label="Today's date",
    kind="text",
    hi=40,
    required=False,
    help="With it the next three jobs come with their dates. Such as 2026-05-31 or 31 May 2026.",
    group="Today",
)

_SYSTEM = (
    replace(DEVICE, group="System"),
    replace(SOURCE_KIND, group="System", help="What the water comes out of."),
    Field(
        name="filter.kind",
        label="Filter",
        kind="choice",
        choices=_choices(("screen", "screen"), ("disc", "disc"), ("media", "sand media")),
        default="screen",
        help="What holds the dirt back. It decides how it is cleaned.",
        group="System",
    ),
    Field(
        name="lines.length",
        label="All lines together",
        kind="length",
        above=0.0,
        hi=LINES_MAX,
        default={"us": "310 ft", "metric": "95 m"},
        required=False,
        help="Length of all tape or dripline. Empty = no times for walking and flushing.",
        group="System",
    ),
    _count(
        "lines.runs",
        "Number of lines",
        "Every line that has an end of its own.",
        "System",
        lo=1,
        hi=RUNS_MAX,
        default="5",
        required=False,
    ),
    _count(
        "lines.together",
        "Ends that you flush at once",
        "As many as still run hard, fewer than 10. The answer for the whole field tells it.",
        "System",
        lo=1,
        hi=1000,
        default=str(ENDS_TOGETHER),
        assumed=True,
    ),
    Field(
        name="crop.life",
        label="Crop",
        kind="choice",
        choices=_choices(
            ("annual", "for a season: the lines come up"), ("perennial", "for years: they stay")
        ),
        default="perennial",
        help="Whether the lines are taken up after the season.",
        group="System",
    ),
)

_SEASON = (
    Field(
        name="season.by",
        label="Watering season",
        kind="choice",
        choices=_choices(
            ("days", "I know its first and last day"),
            ("frost", "between the frosts; all the year without frost"),
        ),
        default="days",
        help="How the season is known. It may go over the turn of the year.",
        group="Season",
        assumed=True,
    ),
    *(
        Field(
            name=f"season.{name}",
            label=f"{label} day of watering",
            kind="text",
            hi=30,
            default=default,
            help="Day and month, such as 15 April or April 15.",
            group="Season",
            only_for=("season.by", ("days",)),
        )
        for name, label, default in (
            ("start", "First", "15 April"),
            ("end", "Last", "30 September"),
        )
    ),
    Field(
        name="season.frost_first",
        label="First month with frost",
        kind="choice",
        choices=(Choice(value="none", label="no frost here"), *_MONTH_CHOICES),
        default="october",
        help="South of the equator about May, north of it about October.",
        group="Season",
    ),
    Field(
        name="season.frost_last",
        label="Last month with frost",
        kind="choice",
        choices=_MONTH_CHOICES,
        default="april",
        help="Months between the two have frost too.",
        group="Season",
        only_for=("season.frost_first", tuple(choice.value for choice in _MONTH_CHOICES)),
    ),
)

_WATER = (
    Field(
        name="water.hazard",
        label="How much the water clogs",
        kind="choice",
        choices=_choices(
            ("unknown", "not known: by the kind of source"),
            ("low", "little (low hazard)"),
            ("moderate", "some (moderate hazard)"),
            ("high", "much (high hazard)"),
        ),
        default="unknown",
        help="From a water analysis.",
        group="Water",
        assumed=True,
    ),
    Field(
        name="water.treatment",
        label="What the water asks for",
        kind="choice",
        choices=_choices(
            ("none", "nothing, or not known"),
            ("chlorine", "chlorine, against slime and iron bacteria"),
            ("acid", "acid, against lime"),
            ("both", "both, on different days"),
        ),
        default="none",
        help="From a water analysis, or from what you find in clogged emitters.",
        group="Water",
        assumed=True,
    ),
    Field(
        name="water.injected",
        label="Fertiliser is injected",
        kind="flag",
        default="no",
        help="Then the injector has its own upkeep, and lines are rinsed after each dose.",
        group="Water",
        assumed=True,
    ),
    Field(
        name="watering.hours",
        label="Watering in a week",
        kind="hours",
        above=0.0,
        hi=168.0 * _HOUR,
        default="10 h",
        help="All zones together, in a usual week of summer.",
        group="Water",
    ),
    Field(
        name="filter.hours",
        label="Watering between two cleanings of the filter",
        kind="hours",
        above=0.0,
        hi=10000.0 * _HOUR,
        required=False,
        help="If you know it. Empty = by the calendar.",
        group="Water",
    ),
)

_CHECKS = (
    replace(
        EU_TARGET,
        label="Uniformity wanted",
        help="What the field should keep. 85 to 90 % is usual.",
        group="Checks with cups",
    ),
    Field(
        name="checks.kind",
        label="What was measured",
        kind="choice",
        choices=_choices(
            ("dulq", "uniformity of the low quarter (DUlq)"), ("eu", "emission uniformity (EU)")
        ),
        default="dulq",
        help="The same at every check, or they cannot be compared.",
        group="Checks with cups",
        assumed=True,
    ),
    replace(
        CHECKS_LOG,
        help="Three or more show where it goes. The rows that stand here at first are invented.",
        rows={
            system: (
                {"date": "2023-05-20", "measured": "92 %", "note": "new"},
                {"date": "2024-05-18", "measured": "91 %"},
                {"date": "2025-05-24", "measured": "88 %", "note": "lines flushed first"},
                {"date": "2026-05-23", "measured": "87 %"},
            )
            for system in ("us", "metric")
        },
        folded=False,
    ),
)

_STOCK = (
    Field(
        name="stock.offcuts",
        label="Off-cuts of the line",
        kind="table",
        required=False,
        help="What was left when the lines were cut: see the cut plan of your parts list.",
        columns=(
            Field(
                name="length",
                label="Length",
                kind="length",
                lo=0.0,
                hi=LENGTH_MAX,
                help="Of one piece.",
            ),
            Field(
                name="pieces",
                label="Pieces",
                kind="count",
                lo=1,
                hi=10_000,
                required=False,
                help="Of that length. Empty: one.",
            ),
        ),
        rows={"us": (), "metric": ()},
        row_limits=(0, 100),
        group="Repair stock",
        folded=True,
    ),
    *(
        replace(
            _count(f"stock.{name}", label, "How many you have.", "Repair stock"),
            lo=0,
            hi=1_000_000,
            required=False,
            folded=True,
        )
        for name, label in (
            ("couplings", "Couplings"),
            ("plugs", "Hole plugs"),
            ("caps", "End caps"),
            ("takeoffs", "Take-offs"),
        )
    ),
)

UPKEEP_FIELDS = (_TODAY, *_SYSTEM, *_SEASON, *_WATER, *_CHECKS, *_STOCK)
