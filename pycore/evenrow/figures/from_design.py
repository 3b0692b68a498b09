"""From a solved design to drawings: the one place that knows both.

Each function takes a `Design` and gives a `Drawing`: the SVG with its title and its words.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenrow.design.cup_map import cup_places
from evenrow.design.detail import TIE, first_lowest
from evenrow.design.layout import ZoneLayout
from evenrow.design.model import Design, ZoneSolution
from evenrow.design.parts import HEADERS_AND_MAIN
from evenrow.design.runs import Run
from evenrow.figures.bars import Station, pressure_budget
from evenrow.figures.frame import Limit
from evenrow.figures.plan import plan_drawing
from evenrow.figures.plan_model import Cup, Obstacle, Piece, Plan, PlanRow, PlanZone, Ref, Worst
from evenrow.figures.profile import Profile, flow_histogram, profile_chart
from evenrow.figures.svg import label
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.units import format_value, system_unit, to_unit
from evenrow.words import said, tr

FloatArray = NDArray[np.float64]

SOURCES = {
    "hose-tap": said("hose tap"),
    "municipal": said("municipal tap"),
    "pump": said("pump"),
    "pond-pump": said("pond pump"),
    "tank": said("rain tank"),
}


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A drawing as SVG, its title, and what it shows in words."""

    title: str
    svg: str
    alternative: str


def refs_of(design: Design) -> dict[str, Ref]:
    """Return which element of the plan is which line of the parts list, counted from 1.

    Of several lines for one element, such as two lengths of coil, the first counts.
    """
    found: dict[str, Ref] = {}
    # Where header and main are one pipe they are one line of the list.
    shared = any(cuts.element == HEADERS_AND_MAIN for cuts in design.parts.cuts)
    main = design.candidate.main.code
    for number, part in enumerate(design.parts.parts, start=1):
        for use in part.uses:
            found.setdefault(use.element, Ref(number=number, label=part.label))
            if (use.element, part.product.code) == ("header", main) and shared:
                found.setdefault("main", found["header"])
    return found


def plan_of(design: Design, *, cups: bool = False) -> Plan:
    """Return what the plan of a design shows.

    Parameters
    ----------
    design : Design
        As solved.
    cups : bool
        Whether it shows where cups are set to check the design later.
    """
    field = design.field
    takeoffs = iter([p for zone in design.candidate.layout.zones for p in zone.takeoffs])
    rows = []
    for row in field.rows:
        lines = tuple(next(takeoffs) for _ in range(row.lines))
        header = field.share * row.length
        rows.append(PlanRow(number=row.number, lines=lines, length=row.length, header=header))
    _, index, run, away = _driest(design)
    place = field.share * field.rows[index].length + run.away * away
    longest, last = max(row.length for row in field.rows), field.rows[-1].position
    return Plan(
        title=tr("Plan of the field: {name}", name=field.name)
        if field.name
        else tr("Plan of the field"),
        source=tr(SOURCES[field.source_kind]),
        rows=tuple(rows),
        zones=tuple(_zone(design, zone) for zone in design.zones),
        main_length=field.route.main_length,
        arrives=field.route.arrives,
        assembly=tuple(tr(part.label) for part in design.candidate.assembly.parts),
        refs=refs_of(design),
        row_slope=float(field.ground.along_row(longest)) / longest,
        header_slope=float(field.ground.along_header(last)) / last if last > 0.0 else 0.0,
        system=field.system,
        bearing=field.bearing,
        worst=Worst(row=index, along=place),
        obstacles=tuple(
            Obstacle(
                position=o.position,
                label=tr(
                    "obstacle: {extra} more pipe, {elbows} elbows",
                    extra=format_value(o.extra, "length", field.system),
                    elbows=o.elbows,
                ),
            )
            for o in field.route.obstacles
        ),
        cups=tuple(
            Cup(row=cup.index, line=cup.line - 1, along=cup.along) for cup in cup_places(design)
        )
        if cups
        else (),
    )


def _pieces(design: Design, zone: ZoneLayout) -> tuple[Piece, ...]:
    """Return a header's pieces from end to end, one for each bore in turn."""
    bore, at = design.candidate.header.bore, zone.takeoffs
    taper = design.candidate.tapers.get(zone.number)
    if taper is None:
        return (Piece(start=at[0], end=at[-1], bore=bore),)
    near, far = taper.takeoffs
    inner = at[near], at[len(at) - 1 - far]
    found = (
        Piece(start=at[0], end=inner[0], bore=taper.size.bore),
        Piece(start=inner[0], end=inner[1], bore=bore),
        Piece(start=inner[1], end=at[-1], bore=taper.size.bore),
    )
    return tuple(piece for piece in found if piece.end > piece.start)


def _zone(design: Design, zone: ZoneSolution) -> PlanZone:
    layout = zone.layout
    crop = design.field.rows[layout.rows[0]].crop
    flow = format_value(zone.flow, "flow", design.field.system)
    return PlanZone(
        number=layout.number,
        rows=layout.rows,
        feed=layout.feed,
        pieces=_pieces(design, layout),
        note=f"{crop}, {flow}" if crop else flow,
    )


def plan_figure(design: Design, *, cups: bool = False) -> Drawing:
    """Return the plan of a design; see `plan_of`."""
    plan = plan_of(design, cups=cups)
    drawn, words = plan_drawing(plan)
    return Drawing(title=plan.title, svg=drawn, alternative=words)


def _run(design: Design, run: Run) -> Lateral:
    return run.lateral(design.field.line, design.field.ground)


def _zone_emitters(design: Design, zone: ZoneSolution) -> tuple[FloatArray, list[FloatArray]]:
    """Return the flow of each row of a zone [m3/s], and the flows of all emitters by run.

    The lines of a row are taken at the row's mean head at its take-offs.
    """
    field = design.field
    rows = field.rows[slice(*zone.layout.rows)]
    heads = np.maximum(np.asarray(zone.row_heads), 1e-6)
    total = np.zeros(len(rows))
    flows: list[FloatArray] = []
    runs = [field.runs(row) for row in rows]
    for run in dict.fromkeys(run for of_row in runs for run in of_row):
        times = np.array(
            [of_row.count(run) * row.lines for of_row, row in zip(runs, rows, strict=True)]
        )
        here = np.flatnonzero(times)
        solved = solve_lateral(_run(design, run), heads[here])
        total[here] += solved.flow.sum(axis=-1) * times[here]
        flows.append(np.repeat(solved.flow, times[here], axis=0).ravel())
    return total, flows


def _weakest(design: Design) -> ZoneSolution:
    """Return the first zone with the least pressure at an emitter."""
    least = np.array([zone.emitter_head_min for zone in design.zones])
    return design.zones[first_lowest(least)]


def _driest(design: Design) -> tuple[ZoneSolution, int, Run, float]:
    """Return zone, row index, run and place along it [m] of the emitter with the least head."""
    field = design.field
    worst = _weakest(design)
    first = worst.layout.rows[0]
    least, found = np.inf, (first, Run(0.0, 1), 0.0)
    rows = field.rows[slice(*worst.layout.rows)]
    runs = [field.runs(row) for row in rows]
    for run in dict.fromkeys(run for of_row in runs for run in of_row):
        here = [i for i, of_row in enumerate(runs) if run in of_row]
        heads = np.maximum(np.asarray([worst.row_heads[i] for i in here]), 1e-6)
        lateral = _run(design, run)
        head = solve_lateral(lateral, heads).head
        row, emitter = np.unravel_index(first_lowest(head), head.shape)
        if head[row, emitter] < least - TIE:
            least = head[row, emitter]
            found = (first + here[int(row)], run, float(lateral.positions[emitter]))
    return (worst, *found)


def _shown(design: Design, values: FloatArray, quantity: str) -> list[float]:
    unit = system_unit(quantity, design.field.system)
    return [to_unit(float(value), quantity, unit) for value in values]


def _limits(design: Design) -> tuple[Limit, ...]:
    emitter = design.field.line.device.emitter
    heads = _shown(design, np.array([emitter.head_max, emitter.head_min]), "pressure")
    return (
        Limit(label=tr("highest for this line"), y=heads[0]),
        Limit(label=tr("lowest"), y=heads[1]),
    )


def row_profile(design: Design) -> Drawing:
    """Return pressure, emitter flow and ground along the line with the driest emitter."""
    system = design.field.system
    zone, index, run, _ = _driest(design)
    row = design.field.rows[index]
    lateral = _run(design, run)
    ground = design.field.ground.along_row(run.start + run.away * lateral.positions)
    ground = ground - design.field.ground.along_row(run.start)
    inlet = zone.stations[-2].head
    solved = solve_lateral(lateral, np.array([max(inlet, 1e-6)]))
    head, flow = solved.head[0], solved.flow[0]
    profile = Profile(
        distance=_shown(design, lateral.positions, "length"),
        pressure=_shown(design, head, "pressure"),
        flow=_shown(design, flow, "emitter_flow"),
        ground=_shown(design, ground, "length"),
        limits=_limits(design),
    )
    first, last, least = (
        format_value(float(value), "pressure", system) for value in (head[0], head[-1], head.min())
    )
    words = tr(
        "Along row {row} from the header: pressure {first} at the first emitter, {last} at the "
        "last, {least} at the least; flow of an emitter from {most} down to {fewest}.",
        row=row.number,
        first=first,
        last=last,
        least=least,
        most=format_value(float(flow.max()), "emitter_flow", system),
        fewest=format_value(float(flow.min()), "emitter_flow", system),
    )
    return _profile(
        design,
        profile,
        tr("Along row {row}, the one with the least pressure", row=row.number),
        words,
        (
            said("distance from the header ({length})"),
            said("flow of an emitter ({unit})"),
        ),
        "emitter_flow",
    )


def header_profile(design: Design) -> Drawing:
    """Return pressure at the rows, flow in the pipe and ground along the worst zone's header."""
    system = design.field.system
    zone = _weakest(design)
    rows = design.field.rows[slice(*zone.layout.rows)]
    places = np.array([row.position for row in rows])
    taken, _ = _zone_emitters(design, zone)
    beyond = np.cumsum(taken[::-1])[::-1]
    # On the near side of a feed in the middle the water runs to the first row.
    near = places < zone.layout.feed - 1e-9
    flow = np.where(near, np.cumsum(taken), beyond)
    heads = np.asarray(zone.row_heads)
    levels = design.field.levels[slice(*zone.layout.rows)]
    profile = Profile(
        distance=_shown(design, places - places[0], "length"),
        pressure=_shown(design, heads, "pressure"),
        flow=_shown(design, flow, "flow"),
        ground=_shown(design, levels - levels[0], "length"),
        limits=_limits(design),
    )
    words = tr(
        "Along the header of zone {zone}: pressure at the rows from {most} down to {least}, "
        "flow in the pipe up to {flow}.",
        zone=zone.layout.number,
        most=format_value(float(heads.max()), "pressure", system),
        least=format_value(float(heads.min()), "pressure", system),
        flow=format_value(float(flow.max()), "flow", system),
    )
    axes = said("distance from the first row ({length})"), said("flow in the header ({unit})")
    title = tr("Along the header of zone {zone}", zone=zone.layout.number)
    return _profile(design, profile, title, words, axes, "flow")


def _profile(
    design: Design, profile: Profile, title: str, words: str, axes: tuple[str, str], kind: str
) -> Drawing:
    """Return a profile; `axes` are the English names of the axes of distance and flow."""
    system = design.field.system
    length, pressure = system_unit("length", system), system_unit("pressure", system)
    drawn = profile_chart(
        profile,
        distance_label=tr(axes[0], length=length),
        pressure_label=tr("pressure ({unit})", unit=pressure),
        flow_label=tr(axes[1], unit=tr(system_unit(kind, system))),
        ground_label=tr("ground ({unit})", unit=length),
        alternative=words,
    )
    return Drawing(title=title, svg=drawn, alternative=words)


def emitter_histogram(design: Design) -> Drawing:
    """Return how the emitter flows of the least even zone are spread.

    The line that least should reach is the mean times the uniformity wanted: where new emitters
    differ, the uniformity also counts their spread, so that a little more is asked in truth.
    """
    field, zone = design.field, design.worst
    flows = np.concatenate(_zone_emitters(design, zone)[1])
    unit = system_unit("emitter_flow", field.system)
    shown = to_unit(1.0, "emitter_flow", unit) * flows
    mean, least = float(shown.mean()), float(shown.min())
    words = tr(
        "Flows of the {count} emitters of zone {zone}: mean {mean:.3g} {unit}, least "
        "{least:.3g} {unit}, most {most:.3g} {unit}.",
        count=flows.size,
        zone=zone.layout.number,
        mean=mean,
        least=least,
        most=float(shown.max()),
        unit=tr(unit),
    )
    drawn = flow_histogram(
        [float(v) for v in shown], target=field.eu * mean, unit=tr(unit), alternative=words
    )
    return Drawing(
        title=tr("How even zone {zone} is", zone=zone.layout.number), svg=drawn, alternative=words
    )


def budget_figure(design: Design) -> Drawing:
    """Return the pressure from the source to the last emitter of the largest zone, as steps."""
    field, zone = design.field, design.largest
    unit = system_unit("pressure", field.system)
    lefts = _shown(design, np.array([station.head for station in zone.stations]), "pressure")
    band = _limits(design)
    words = "; ".join(
        f"{tr(station.name)} {label(float(f'{left:.3g}'))} {unit}"
        for station, left in zip(zone.stations, lefts, strict=True)
    )
    alternative = tr("Pressure left: {places}.", places=words)
    drawn = pressure_budget(
        [
            Station(label=tr(s.name), left=left)
            for s, left in zip(zone.stations, lefts, strict=True)
        ],
        unit=unit,
        band=(band[1].y, band[0].y),
        band_label=tr("what the line may have"),
        alternative=alternative,
    )
    return Drawing(
        title=tr("Pressure from source to last emitter, zone {number}", number=zone.layout.number),
        svg=drawn,
        alternative=alternative,
    )
