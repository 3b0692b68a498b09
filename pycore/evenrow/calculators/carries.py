"""What goes over from one calculator to another, declared once.

Lines, ground and limits have the same names everywhere, so that most of it is a list of names.
"""

from __future__ import annotations

from collections.abc import Mapping

from evenrow.calculators.fields import OWN_FIGURES
from evenrow.calculators.spec import Added, Carry


def _same(*names: str) -> Mapping[str, str]:
    """Return fields that bear the same name in both."""
    return {name: name for name in names}


_OWN = tuple(field.name for field in OWN_FIGURES)
_LINE = ("line.device", "line.spacing", *_OWN)
_WATER = ("ground.water_temperature",)
_SLOPE = ("ground.row_slope",)
_EU = ("limits.eu",)

#: What is left of the coils of line is stock to mend with.
_OFFCUTS = {"cuts_line": ("stock.offcuts", {"left": "length", "coils": "pieces"})}

FROM_SOURCE_FLOW = (
    Carry(to="zones", label="Zones", numbers={"usable_flow": "flow"}),
    Carry(
        to="whole-field",
        label="Whole field",
        inputs=_same("source.readings", "source.static_pressure", "source.throttled"),
    ),
    Carry(
        to="line-choice", label="Tape or dripline", inputs={"source.static_pressure": "pressure"}
    ),
)

_GROWN = ("planting.crop", "planting.soil")

FROM_LINE_CHOICE = (
    Carry(to="run-length", label="Run length", inputs=_same(*_SLOPE, *_EU, *_WATER)),
    Carry(to="whole-field", label="Whole field", inputs=_same(*_SLOPE, *_EU, *_WATER)),
    Carry(to="watering-time", label="Watering time", inputs=_same(*_GROWN)),
)

FROM_RUN_LENGTH = (
    Carry(
        to="zones",
        label="Zones",
        numbers={"start_pressure": "pressure"},
        inputs=_same(*_LINE, *_SLOPE, *_WATER),
    ),
    Carry(to="whole-field", label="Whole field", inputs=_same(*_LINE, *_SLOPE, *_EU, *_WATER)),
)

FROM_ZONES = (
    Carry(
        to="parts-list",
        label="Parts list",
        numbers={"zones": "zones", "largest_flow": "flow", "start_pressure": "pressure"},
        inputs=_same("rows", "line.device", "header.place"),
    ),
    Carry(
        to="whole-field",
        label="Whole field",
        inputs=_same("rows", *_LINE, "header.place", *_SLOPE, *_WATER),
    ),
)

FROM_PARTS_LIST = (
    Carry(
        to="whole-field",
        label="Whole field",
        inputs=_same(
            "rows",
            "line.device",
            "header.place",
            "header.feed",
            "main.length",
            "source.kind",
            "assembly.timer",
        ),
    ),
    Carry(
        to="upkeep",
        label="Upkeep",
        numbers={"line_needed": "lines.length"},
        inputs=_same("line.device", "source.kind"),
        tables=_OFFCUTS,
    ),
)

FROM_WHOLE_FIELD = (
    Carry(
        to="run-length",
        label="Run length",
        inputs=_same(*_LINE, *_SLOPE, *_EU, *_WATER),
    ),
    Carry(
        to="watering-time",
        label="Watering time",
        numbers={"check_flow": "planting.emitter_flow"},
        tables={
            "zones": (
                "zones",
                {"ground": "area", "flow": "flow", "eu": "uniformity", "crop": "name"},
            )
        },
    ),
    Carry(to="zones", label="Zones", inputs=_same("rows", *_LINE, *_SLOPE, *_WATER)),
    Carry(
        to="water-filter",
        label="Water & filter",
        numbers={
            "largest_flow": "flow",
            "passage": "passage",
            "travel_time": "travel.time",
        },
        inputs=_same("line.device", "line.spacing", *_SLOPE),
        fixed={"travel.by": "time"},
    ),
    Carry(
        to="field-check",
        label="Field check",
        numbers={
            "check_flow": "expected.flow",
            "check_pressure": "expected.pressure",
            "check_exponent": "expected.exponent",
            "check_cv": "expected.cv",
            "check_rows": "zone.rows",
            "check_length": "zone.length",
        },
        tables={
            "cup_list": ("cups", {"row": "row", "place": "place", "flow": "expected"}),
        },
    ),
    Carry(
        to="upkeep",
        label="Upkeep",
        numbers={"line_length": "lines.length", "line_ends": "lines.runs"},
        inputs=_same("line.device", "source.kind", *_EU, "checks.log"),
        tables=_OFFCUTS,
    ),
)

FROM_WATER_FILTER = (
    Carry(
        to="upkeep",
        label="Upkeep",
        facts={"hazard": "water.hazard", "filter_kind": "filter.kind"},
        inputs=_same("line.device"),
    ),
)

FROM_FIELD_CHECK = (
    Carry(
        to="upkeep",
        label="Upkeep",
        adds={
            "checks.log": Added(
                numbers={"dulq": "measured"},
                inputs={"check.date": "date", "check.note": "note"},
                dated="date",
            )
        },
    ),
    Carry(
        to="whole-field",
        label="Whole field",
        adds={
            "checks.log": Added(
                numbers={"dulq": "measured"},
                inputs={"check.date": "date", "check.note": "note"},
                dated="date",
            )
        },
    ),
)

FROM_UPKEEP = (Carry(to="whole-field", label="Whole field", inputs=_same("checks.log")),)

FROM_WATERING_TIME = (Carry(to="line-choice", label="Tape or dripline", inputs=_same(*_GROWN)),)
