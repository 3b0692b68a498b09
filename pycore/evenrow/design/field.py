"""A field as the user describes it, in SI, and the rows that it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.catalogue import PipeSize, pipe
from evenrow.design.assembly import PUMPS, TIMED
from evenrow.design.ground import BEARINGS, Ground, survey_of
from evenrow.design.layout import HeaderLine, Obstacle, Route
from evenrow.design.line import FIRST_EMITTER, Line, line_of
from evenrow.design.runs import SHARES, Row, Run, runs_of
from evenrow.design.source import tap_curve
from evenrow.errors import InputError
from evenrow.hydraulics.paired import MAX_ROW, paired_places
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve, bucket_statistics
from evenrow.units import UnitSystem
from evenrow.words import tr

#: Rows that one design may hold.
ROWS_MAX = 5000
#: Choice in the form that leaves the size of a pipe to the design.
ANY_PIPE = "any"


@dataclass(frozen=True, kw_only=True)
class Watering:
    """What the field has to get: `depth` on the hottest day [m] within a `window` [s].

    A window of None is no limit.
    """

    depth: float = 0.005
    window: float | None = None


@dataclass(frozen=True, kw_only=True)
class Field:
    """What the user has.  Lengths in metres, heads in metres of water, slopes as ratios.

    Parameters
    ----------
    name : str
        What the user calls it.
    source_kind : str
        ``"hose-tap"``, ``"municipal"``, ``"pump"``, ``"pond-pump"`` or ``"tank"``.
    source : SourceCurve
        Head at the source's outlet by flow.
    reserve : float
        Share of the source's flow that is left for others and for a bad day, 0 to 0.9.
    rise : float
        Height of the near end of the first row above the source, + is higher. [m]
    rows : tuple of Row
        In their order along the header.
    line : Line
        The tape or dripline.
    ground : Ground
        Heights along rows and header.
    share : float
        Where the header crosses the rows: 0 at their near ends, 1 at their far ends.
    feed : str
        Main meets each zone's header at its near ``"end"`` or at a ``"tee"`` in its middle.
    route : Route
        Way of the main and obstacles of the header; its share is `share`.
    eu : float
        Emission uniformity wanted in every zone, as a fraction.
    velocity : float
        Highest velocity in main and header. [m/s]
    least_header, least_main : PipeSize or None
        The smallest pipe that headers and main shall have, where one is asked for.
    timer, injection : bool
        Whether a timer or controller, and an injector for fertiliser, are wanted.
    watering : Watering
        What the rows have to get, and in how many hours.
    system : str
        ``"us"`` or ``"metric"``: units of the sentences that a design says.
    bearing : float or None
        Direction along the rows from their near ends, in degrees from north by way of east;
        None where it is not known.
    """

    name: str
    source_kind: str
    source: SourceCurve
    reserve: float
    rise: float
    rows: tuple[Row, ...]
    line: Line
    ground: Ground
    share: float
    feed: str
    route: Route
    eu: float
    velocity: float
    timer: bool
    injection: bool = False
    least_header: PipeSize | None = None
    least_main: PipeSize | None = None
    watering: Watering = Watering()
    system: UnitSystem = "metric"
    bearing: float | None = None

    def supply(self, set_head: float | None) -> float:
        """Return the highest head [m] that main and headers can see.

        That of the regulator, or without one (None) that of the source standing still.
        """
        return self.source.shutoff_head if set_head is None else set_head

    def standing(self, set_head: float | None) -> float:
        """Return the highest head [m] at the lowest take-off, the water standing still."""
        return self.supply(set_head) + self._fall

    def placed(self, share: float) -> Field:
        """Return the same field with its header at another place along the rows."""
        return replace(self, share=share, route=replace(self.route, share=share))

    @cached_property
    def header_line(self) -> HeaderLine:
        """The line across the rows on which the headers lie."""
        return HeaderLine(self.rows, self.route)

    @cached_property
    def levels(self) -> NDArray[np.float64]:
        """Height of the header at the middle of each row, above the source [m]."""
        across = self.ground.along_row([self.share * row.length for row in self.rows])
        along = self.ground.along_header([row.position for row in self.rows])
        return np.asarray(self.rise + along + across)

    @cached_property
    def takeoff_levels(self) -> NDArray[np.float64]:
        """Height of the header at every line of the field, above the source [m]."""
        line = self.header_line
        across = self.ground.along_row([self.share * row.length for row in self.rows])
        along = self.ground.along_header(line.positions)
        return np.asarray(self.rise + along + np.repeat(across, np.diff(line.first)))

    @cached_property
    def _spans(self) -> NDArray[np.float64]:
        """Heights of the lowest and highest point of each row's lines above the header [m]."""
        known: dict[Run, tuple[float, float]] = {}
        spans = []
        for row in self.rows:
            for run in self.runs(row):
                if run not in known:
                    known[run] = run.span(self.ground)
            low, high = zip(*(known[run] for run in self.runs(row)), strict=True)
            spans.append((min(low), max(high)))
        return np.asarray(spans)

    @cached_property
    def lowest_of_rows(self) -> NDArray[np.float64]:
        """Height of the lowest point of each row's lines above the source [m]."""
        lowest = np.minimum.reduceat(self.takeoff_levels, self.header_line.first[:-1])
        return np.asarray(lowest + self._spans[:, 0])

    @cached_property
    def highest(self) -> float:
        """Height of the highest point of headers and lines above the source [m]."""
        highest = np.maximum.reduceat(self.takeoff_levels, self.header_line.first[:-1])
        return float((highest + self._spans[:, 1]).max())

    @cached_property
    def _fall(self) -> float:
        """How far the lowest take-off lies below the source, 0 if above it [m]."""
        return max(0.0, -float(self.takeoff_levels.min()))

    @property
    def lowest(self) -> float:
        """Height of the lowest emitter above the source [m]."""
        return float(self.lowest_of_rows.min())

    @property
    def middle(self) -> float:
        """Height of the middle of the header above the source [m]."""
        return float(0.5 * (self.levels[0] + self.levels[-1]))

    @cached_property
    def mains(self) -> dict[tuple[tuple[int, int], str, str], list[Pipe]]:
        """Mains to zones as `evenrow.design.segments` made them, by rows, pipe and valve."""
        return {}

    @cached_property
    def geometries(self) -> dict[tuple[int, int], Any]:
        """Headers of zones as `evenrow.design.segments` worked them out, by range of rows."""
        return {}

    @cached_property
    def crops(self) -> tuple[str, ...]:
        """Crop group of each row."""
        return tuple(row.crop for row in self.rows)

    def runs(self, row: Row) -> tuple[Run, ...]:
        """Return the runs that one line of that row is made of."""
        return runs_of(row.length, self.share, self.ground.even)


def rows_of(groups: list[Mapping[str, Any]]) -> tuple[Row, ...]:
    """Return the rows that the groups of the form stand for, with their positions.

    Two neighbours of different groups lie half of each group's spacing apart, and as much
    further as the ``path`` before a group is wide.

    Raises
    ------
    InputError
        More than `ROWS_MAX` rows.
    """
    total = sum(group["count"] for group in groups)
    if total > ROWS_MAX:
        raise InputError(
            tr("too many rows for one design"),
            code="out_of_range",
            field="rows",
            given=total,
            accepted=tr("up to {rows}", rows=ROWS_MAX),
            hint=tr("split the field into several designs"),
        )
    rows: list[Row] = []
    position = 0.0
    before: float | None = None
    for group in groups:
        path = group.get("path") or 0.0
        for _ in range(group["count"]):
            if before is not None:
                position += (before + group["spacing"]) / 2 + path
            path = 0.0
            before = group["spacing"]
            rows.append(
                Row(
                    number=len(rows) + 1,
                    crop=group.get("crop") or "",
                    length=group["length"],
                    lines=group["lines"],
                    position=position,
                    width=group["spacing"],
                    plant_spacing=group.get("plants"),
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
    if kind in PUMPS:
        points = sorted((p["flow"], p["pressure"]) for p in source["pump_curve"])
        if len(points) < 2:
            raise _missing(
                "source.pump_curve",
                tr("a pump needs its curve"),
                tr("at least two pairs of flow and pressure"),
            )
        return SourceCurve.from_pump_points([q for q, _ in points], [h for _, h in points])
    if kind == "tank":
        if source["water_height"] is None:
            raise _missing(
                "source.water_height",
                tr("a tank needs the height of its water above the first row"),
                tr("a height such as 1.3 m or 4 ft 3 in"),
            )
        return SourceCurve.from_tank(source["water_height"])
    if open_flow is None:
        raise _missing(
            "source.readings", tr("a bucket reading is needed"), tr("a volume and the time it took")
        )
    if source["static_pressure"] is None:
        raise _missing(
            "source.static_pressure",
            tr("a whole design needs the static pressure"),
            tr("a gauge reading with no water running, such as 52 psi or 3.1 bar"),
        )
    throttled = [(p["pressure"], p["flow"]) for p in source["throttled"]]
    return tap_curve(source["static_pressure"], open_flow, throttled)[0]


def best_share(line: Line, rows: tuple[Row, ...], ground: Ground) -> float:
    """Return where along the rows the header waters the longest of them most evenly.

    Raises
    ------
    InputError
        A row with more emitters than every place of can be tried.
    """
    return _best_share(line, max(row.length for row in rows), ground)


# Every emitter of a row is a place to try: too dear to try them again when another field changes.
@lru_cache(maxsize=64)
def _best_share(line: Line, length: float, ground: Ground) -> float:
    """Return the best share for a row of that length [m]."""
    count = line.emitters_on(length)
    if count < 2:
        return SHARES["end"]
    if count > MAX_ROW:
        raise InputError(
            tr("the rows are too long to try every place of the header"),
            code="out_of_range",
            field="header.place",
            accepted=tr("up to {max_row} emitters on one line", max_row=MAX_ROW),
            hint=tr("an end or the middle of the rows"),
        )
    emitter = line.device.emitter
    places = paired_places(
        emitter,
        count,
        line.spacing,
        line.device.diameter,
        emitter.head_nominal,
        elevations=ground.along_row(line.positions(length)),
        viscosity=line.viscosity,
        barb_k=line.device.body_k,
    )
    if places.best in (0, count):
        return SHARES["end"] if places.best == 0 else SHARES["far"]
    return float((places.position + FIRST_EMITTER * line.spacing) / length)


def _least(code: str, field: str) -> PipeSize | None:
    return None if code == ANY_PIPE else pipe(code, field=field)


def _obstacles(found: list[Mapping[str, Any]]) -> tuple[Obstacle, ...]:
    return tuple(
        Obstacle(position=o["position"], extra=o["extra"], elbows=o["elbows"]) for o in found
    )


def field_of(inputs: Mapping[str, Any], system: UnitSystem) -> Field:
    """Return the `Field` that a read whole-field form describes."""
    land, source, header = inputs["ground"], inputs["source"], inputs["header"]
    rows = rows_of(inputs["rows"])
    ground = Ground(
        row_slope=land["row_slope"],
        header_slope=land["header_slope"],
        row_survey=survey_of(
            land["row_survey"], max(row.length for row in rows), "ground.row_survey", system
        ),
        header_survey=survey_of(
            land["header_survey"], rows[-1].position, "ground.header_survey", system
        ),
    )
    line = line_of(inputs["line"], land["water_temperature"])
    share = SHARES.get(header["place"])
    if share is None:
        share = best_share(line, rows, ground)
    main, watering = inputs["main"], inputs["watering"]
    return Field(
        name=inputs.get("name") or "",
        source_kind=source["kind"],
        source=source_of(source),
        reserve=source["reserve"],
        # The height of a tank's water is told above the first row already.
        rise=0.0 if source["kind"] == "tank" else source["rise"],
        rows=rows,
        line=line,
        ground=ground,
        share=share,
        feed=header["feed"],
        route=Route(
            main_length=main["length"],
            arrives=main["arrives"],
            share=share,
            depth=main["depth"],
            obstacles=_obstacles(header["obstacles"]),
        ),
        eu=inputs["limits"]["eu"],
        velocity=inputs["limits"]["velocity"],
        timer=inputs["assembly"]["timer"] and source["kind"] in TIMED,
        injection=inputs["assembly"]["injection"],
        least_header=_least(header["least"], "header.least"),
        least_main=_least(main["least"], "main.least"),
        watering=Watering(depth=watering["depth"], window=watering["window"]),
        system=system,
        bearing=BEARINGS[land["bearing"]],
    )
