"""A field as the user describes it, in SI, and the rows that it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from evenrow.design.assembly import TIMED
from evenrow.design.line import Line, line_of
from evenrow.design.source import tap_curve
from evenrow.errors import InputError
from evenrow.hydraulics.source import SourceCurve, bucket_statistics
from evenrow.units import UnitSystem

#: Rows that one design may hold.
ROWS_MAX = 5000


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: `position` of its middle along the header from the first row's [m]."""

    number: int
    crop: str
    length: float
    lines: int
    position: float


@dataclass(frozen=True, kw_only=True)
class Field:
    """What the user has.  Lengths in metres, heads in metres of water, slopes as ratios.

    Parameters
    ----------
    name : str
        What the user calls it.
    source_kind : str
        ``"hose-tap"``, ``"municipal"``, ``"pump"`` or ``"tank"``.
    source : SourceCurve
        Head at the source's outlet by flow.
    reserve : float
        Share of the source's flow that is left for others and for a bad day, 0 to 0.9.
    rise : float
        Height of the first row's header above the source, + is higher. [m]
    rows : tuple of Row
        In their order along the header.
    line : Line
        The tape or dripline.
    row_slope, header_slope : float
        Rise over length away from the header along the rows, and from the first row to
        the last along the header.
    place : str
        Header at the ``"end"`` or across the ``"middle"`` of the rows.
    feed : str
        Main meets each zone's header at its near ``"end"`` or at a ``"tee"`` in its middle.
    main_length : float
        From the source to the first row. [m]
    eu : float
        Emission uniformity wanted in every zone, as a fraction.
    velocity : float
        Highest velocity in main and header. [m/s]
    timer : bool
        Whether a timer or controller is wanted.
    system : str
        ``"us"`` or ``"metric"``: units of the sentences that a design says.
    """

    name: str
    source_kind: str
    source: SourceCurve
    reserve: float
    rise: float
    rows: tuple[Row, ...]
    line: Line
    row_slope: float
    header_slope: float
    place: str
    feed: str
    main_length: float
    eu: float
    velocity: float
    timer: bool
    system: UnitSystem = "metric"

    def supply(self, set_head: float | None) -> float:
        """Return the highest head [m] that main and headers can see.

        That of the regulator, or without one (None) that of the source standing still.
        """
        return self.source.shutoff_head if set_head is None else set_head

    @cached_property
    def lowest(self) -> float:
        """Height of the lowest emitter above the source [m]."""
        return self.rise + min(
            self.header_slope * row.position + min(0.0, slope * length)
            for row in self.rows
            for length, slope in self.runs(row)
        )

    @property
    def middle(self) -> float:
        """Height of the middle of the header above the source [m]."""
        return self.rise + self.header_slope * (self.rows[0].position + self.rows[-1].position) / 2

    @cached_property
    def crops(self) -> tuple[str, ...]:
        """Crop group of each row."""
        return tuple(row.crop for row in self.rows)

    def runs(self, row: Row) -> tuple[tuple[float, float], ...]:
        """Return (length, slope) of the laterals that one line of that row is made of."""
        if self.place == "middle":
            half = row.length / 2
            return ((half, self.row_slope), (half, -self.row_slope))
        return ((row.length, self.row_slope),)


def rows_of(groups: list[Mapping[str, Any]]) -> tuple[Row, ...]:
    """Return the rows that the groups of the form stand for, with their positions.

    Two neighbours of different groups lie half of each group's spacing apart.

    Raises
    ------
    InputError
        More than `ROWS_MAX` rows.
    """
    total = sum(group["count"] for group in groups)
    if total > ROWS_MAX:
        raise InputError(
            "too many rows for one design",
            code="out_of_range",
            field="rows",
            given=total,
            accepted=f"up to {ROWS_MAX}",
            hint="split the field into several designs",
        )
    rows: list[Row] = []
    position = 0.0
    before: float | None = None
    for group in groups:
        for _ in range(group["count"]):
            if before is not None:
                position += (before + group["spacing"]) / 2
            before = group["spacing"]
            rows.append(
                Row(
                    number=len(rows) + 1,
                    crop=group.get("crop") or "",
                    length=group["length"],
                    lines=group["lines"],
                    position=position,
                )
            )
    return tuple(rows)


def _missing(field: str, message: str, accepted: str) -> InputError:
    return InputError(message, code="missing", field=field, accepted=accepted)


def source_of(source: Mapping[str, Any]) -> SourceCurve:
    """Return the source curve that the ``source`` part of the form describes.

    Raises
    ------
    InputError
        What this kind of source needs is missing.
    """
    readings = [(r["volume"], r["time"]) for r in source["readings"]]
    open_flow = (
        bucket_statistics([v for v, _ in readings], [t for _, t in readings]).mean
        if readings
        else None
    )
    kind = source["kind"]
    if kind == "pump":
        points = sorted((p["flow"], p["pressure"]) for p in source["pump_curve"])
        if len(points) < 2:
            raise _missing(
                "source.pump_curve",
                "a pump needs its curve",
                "at least two pairs of flow and pressure",
            )
        return SourceCurve.from_pump_points([q for q, _ in points], [h for _, h in points])
    if kind == "tank":
        if source["water_height"] is None:
            raise _missing(
                "source.water_height",
                "a tank needs the height of its water above the header",
                "a height such as 1.3 m or 4 ft 3 in",
            )
        return SourceCurve.from_tank(source["water_height"])
    if open_flow is None:
        raise _missing(
            "source.readings", "a bucket reading is needed", "a volume and the time it took"
        )
    if source["static_pressure"] is None:
        raise _missing(
            "source.static_pressure",
            "a whole design needs the static pressure",
            "a gauge reading with no water running, such as 52 psi or 3.1 bar",
        )
    throttled = [(p["pressure"], p["flow"]) for p in source["throttled"]]
    return tap_curve(source["static_pressure"], open_flow, throttled)[0]


def field_of(inputs: Mapping[str, Any], system: UnitSystem) -> Field:
    """Return the `Field` that a read whole-field form describes."""
    ground = inputs["ground"]
    source = inputs["source"]
    return Field(
        name=inputs.get("name") or "",
        source_kind=source["kind"],
        source=source_of(source),
        reserve=source["reserve"],
        rise=source["rise"],
        rows=rows_of(inputs["rows"]),
        line=line_of(inputs["line"], ground["water_temperature"]),
        row_slope=ground["row_slope"],
        header_slope=ground["header_slope"],
        place=inputs["header"]["place"],
        feed=inputs["header"]["feed"],
        main_length=inputs["main"]["length"],
        eu=inputs["limits"]["eu"],
        velocity=inputs["limits"]["velocity"],
        timer=inputs["assembly"]["timer"] and source["kind"] in TIMED,
        system=system,
    )
