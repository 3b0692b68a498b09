"""Each zone of a candidate through the network solve, and the limits that it breaks."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

import numpy as np
from numpy.typing import NDArray

from evenrow.design.assembly import HeadAssembly, loss_at
from evenrow.design.field import Field
from evenrow.design.layout import ZoneLayout
from evenrow.design.model import Candidate, Shortfall, Station, ZoneSolution
from evenrow.design.rowflow import row_flows
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.hydraulics.network import SystemSolution, solve_system
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
)
from evenrow.units import format_value

#: Loss coefficient of a take-off in the velocity head of its line: common practice, no source.
TAKEOFF_K = 1.0
#: Relative slack of limits: rounding, not water.
SLACK = 1e-9

FloatArray = NDArray[np.float64]


class FieldHydraulics:
    """The lateral curves of a field, and the solve of its zones.

    Each distinct lateral (length and slope) is characterised once for each regulator setting.
    """

    def __init__(self, field: Field) -> None:
        self.field = field
        self.kinds: dict[tuple[float, float], int] = {}
        for row in field.rows:
            for run in field.runs(row):
                self.kinds.setdefault(run, len(self.kinds))
        self.laterals = [field.line.lateral(*run) for run in self.kinds]
        self._curves: dict[float, list[LateralCurve]] = {}
        self._row_flows: dict[float, list[float]] = {}

    def guess(self, set_head: float | None) -> float:
        """Return the head at which lines are taken to run before anything is solved. [m]."""
        if set_head is not None:
            return set_head
        still = self.field.source.shutoff_head - self.field.rise
        return min(self.field.line.device.emitter.head_nominal, 0.9 * still)

    def row_flows(self, head: float) -> list[float]:
        """Return the flow of every row at one inlet head. [m3/s]."""
        if head not in self._row_flows:
            field = self.field
            self._row_flows[head] = row_flows(
                field.rows, field.line, place=field.place, slope=field.row_slope, head=head
            )
        return self._row_flows[head]

    def usable(self, head: float | None) -> float:
        """Return the flow that the source holds at a head, less the reserve. [m3/s].

        Without a head, the flow at half the head standing still.
        """
        source = self.field.source
        wanted = 0.5 * source.shutoff_head if head is None else head
        if wanted >= source.shutoff_head:
            return 0.0
        flow = float(source.flow_at(wanted))
        # A tank without outlet loss gives any flow at its head; pipe and filter then limit it.
        return (1.0 - self.field.reserve) * min(flow, 1e3)

    def curves(self, head_high: float) -> list[LateralCurve]:
        """Return inlet flow by inlet head of each distinct lateral, up to a head. [m]."""
        if head_high not in self._curves:
            # A line fed with less than half its lowest pressure breaks that limit anyway.
            low = min(0.5 * self.field.line.device.emitter.head_min, 0.5 * head_high)
            self._curves[head_high] = [
                lateral_curve(lateral, low, head_high) for lateral in self.laterals
            ]
        return self._curves[head_high]

    def solve(self, candidate: Candidate) -> tuple[tuple[ZoneSolution, ...], list[Shortfall]]:
        """Solve the zones of a candidate, filter dirty, the most demanding first.

        Returns
        -------
        zones : tuple of ZoneSolution
            All zones in their order; only the failing one if one fails.
        broken : list of Shortfall
            The limits that the first failing zone breaks; empty if none does.
        """
        flows = self.row_flows(self.guess(candidate.assembly.set_head))
        hardest = sorted(
            candidate.layout.zones,
            key=lambda zone: (sum(flows[slice(*zone.rows)]), zone.number),
            reverse=True,
        )
        solved = []
        for zone in hardest:
            solved.append(self._zone(candidate, zone))
            broken = shortfalls(self.field, candidate, (solved[-1],))
            if broken:
                return (solved[-1],), broken
        return tuple(sorted(solved, key=lambda zone: zone.layout.number)), []

    def outlets(self, zone: ZoneLayout) -> Iterator[tuple[float, int, int]]:
        """Yield position [m], kind of lateral and row index of each outlet of a zone."""
        start, end = zone.rows
        takeoffs = iter(zone.takeoffs)
        for index in range(start, end):
            row = self.field.rows[index]
            runs = self.field.runs(row)
            for _ in range(row.lines):
                position = next(takeoffs)
                for run in runs:
                    yield position, self.kinds[run], index

    def supply_head(self, assembly: HeadAssembly) -> float:
        """Return the highest head [m] that main and headers can see."""
        set_head = assembly.set_head
        return self.field.source.shutoff_head if set_head is None else set_head

    def _zone(self, candidate: Candidate, zone: ZoneLayout) -> ZoneSolution:
        field = self.field
        outlets = list(self.outlets(zone))
        positions = np.array([position for position, _, _ in outlets])
        kinds = np.array([kind for _, kind, _ in outlets])
        supply = self.supply_head(candidate.assembly)
        lowest_take_off = field.rise + float(np.min(field.header_slope * positions))
        curves = self.curves(supply + max(0.0, -lowest_take_off) + 0.5)
        system = solve_system(
            field.source,
            candidate.assembly.components(dirty=True),
            _main(field, candidate, zone),
            _header(field, candidate, zone, positions),
            curves,
            kinds,
            field.line.viscosity,
        )
        return self._described(candidate, zone, outlets, system, supply)

    def _described(
        self,
        candidate: Candidate,
        zone: ZoneLayout,
        outlets: list[tuple[float, int, int]],
        system: SystemSolution,
        supply: float,
    ) -> ZoneSolution:
        field = self.field
        emitter = field.line.device.emitter
        kinds = np.array([kind for _, kind, _ in outlets])
        heads, flows = self._emitters(kinds, np.asarray(system.outlet_heads))
        flowing = system.state == "flowing" and float(flows.max()) > 0.0
        rows = np.array([row for _, _, row in outlets])
        row_heads = tuple(
            float(system.outlet_heads[rows == row].mean()) for row in range(*zone.rows)
        )
        arms = [0.0, *(float(q) for q in system.segment_flows)]
        return ZoneSolution(
            layout=zone,
            flow=system.source_flow,
            usable=self._usable(candidate.assembly, system.source_flow),
            regulator_state=system.regulator,
            stations=_stations(field, candidate, system, heads),
            row_heads=row_heads,
            emitter_head_min=float(heads.min()),
            emitter_head_max=float(heads.max()),
            static_head_max=self._static(zone, supply),
            emitter_flow_min=float(flows.min()),
            emitter_flow_mean=float(flows.mean()),
            emitter_flow_max=float(flows.max()),
            emitters=int(flows.size),
            eu=float(emission_uniformity(flows, emitter.cv)) if flowing else 0.0,
            dulq=float(distribution_uniformity_lq(flows)) if flowing else 0.0,
            flow_variation=float(flow_variation(flows)) if flowing else 1.0,
            header_velocity=max(arms) / _area(candidate.header.bore),
            main_velocity=system.source_flow / _area(candidate.main.bore),
        )

    def _emitters(self, kinds: NDArray[np.int64], inlets: FloatArray) -> tuple[FloatArray, ...]:
        """Return head and flow of every emitter of a zone, each distinct lateral solved once."""
        heads, flows = [], []
        for kind in np.unique(kinds):
            lateral = self.laterals[int(kind)]
            different, times = np.unique(inlets[kinds == kind], return_counts=True)
            wet = different > 0.0
            if not np.all(wet):
                dry = int(times[~wet].sum()) * lateral.count
                heads.append(np.zeros(dry))
                flows.append(np.zeros(dry))
            if np.any(wet):
                solved = solve_lateral(lateral, different[wet])
                heads.append(np.repeat(solved.head, times[wet], axis=0).ravel())
                flows.append(np.repeat(solved.flow, times[wet], axis=0).ravel())
        return np.concatenate(heads), np.concatenate(flows)

    def _usable(self, assembly: HeadAssembly, flow: float) -> float | None:
        set_head = assembly.set_head
        if set_head is None:
            return None
        return self.usable(set_head + loss_at(assembly.up_to_regulator, flow))

    def _static(self, zone: ZoneLayout, supply: float) -> float:
        """Return the highest head in the zone's lines with the water standing still. [m]."""
        field = self.field
        lowest = min(
            field.header_slope * position + min(0.0, slope * length)
            for row, position in zip(
                field.rows[slice(*zone.rows)],
                (field.rows[i].position for i in range(*zone.rows)),
                strict=True,
            )
            for length, slope in field.runs(row)
        )
        return supply - field.rise - lowest


def _area(diameter: float) -> float:
    return pi / 4 * diameter**2


def _main(field: Field, candidate: Candidate, zone: ZoneLayout) -> list[Pipe]:
    """Return the main up to the zone's header, its valve as a pipe of no length."""
    bore = candidate.main.bore
    pipes = [
        Pipe(
            length=candidate.layout.main_to(zone),
            diameter=bore,
            rise=field.rise + field.header_slope * zone.feed,
        )
    ]
    valve = candidate.valve
    if valve is not None:
        velocity_head = (valve.flow / _area(bore)) ** 2 / (2.0 * G)
        pipes.append(Pipe(length=0.0, diameter=bore, minor_k=valve.loss / velocity_head))
    return pipes


def _header(field: Field, candidate: Candidate, zone: ZoneLayout, positions: FloatArray) -> Header:
    """Return the zone's header; segments lead away from the feed on either side."""
    feed = int(np.searchsorted(positions, zone.feed - 1e-9)) if zone.tee else 0
    # Each take-off's neighbour on the side of the feed, or the feed itself.
    nearer = np.concatenate((positions[1:feed], [zone.feed] * (feed > 0)))
    beyond = np.concatenate(([zone.feed] * (feed < positions.size), positions[feed:-1]))
    step = positions - np.concatenate((nearer, beyond))
    return Header(
        length=np.abs(step),
        diameter=candidate.header.bore,
        rise=field.header_slope * step,
        feed=feed,
        takeoff_k=TAKEOFF_K,
        takeoff_diameter=field.line.device.diameter,
    )


def _stations(
    field: Field, candidate: Candidate, system: SystemSolution, heads: FloatArray
) -> tuple[Station, ...]:
    stations = [
        Station(name="source, standing still", head=field.source.shutoff_head),
        Station(name="source, running", head=system.source_head),
    ]
    stations += [
        Station(name=f"after the {name}", head=float(head))
        for name, head in zip(system.names, system.component_heads, strict=True)
    ]
    mains = ["end of the main", "after the zone valve"][: len(system.main_heads)]
    stations += [
        Station(name=name, head=float(head))
        for name, head in zip(mains, system.main_heads, strict=True)
    ]
    stations += [
        Station(name="start of the worst line", head=float(np.min(system.outlet_heads))),
        Station(name="emitter with the lowest pressure", head=float(heads.min())),
    ]
    return tuple(stations)


def shortfalls(
    field: Field, candidate: Candidate, zones: tuple[ZoneSolution, ...]
) -> list[Shortfall]:
    """Return the limits that a solved candidate breaks, the worst zone of each.

    Each says in words which limit, where and by how much, and what may cure it.
    """
    return [short for check in _CHECKS if (short := check(field, candidate, zones)) is not None]


def _words(field: Field, value: float, quantity: str) -> str:
    return format_value(value, quantity, field.system)


def _source(
    field: Field, candidate: Candidate, zones: tuple[ZoneSolution, ...]
) -> Shortfall | None:
    zone = max(zones, key=lambda z: z.flow / max(z.usable, 1e-12) if z.usable is not None else 0.0)
    if zone.usable is None:
        return None
    regulating = zone.regulator_state == "regulating"
    if zone.flow <= zone.usable * (1 + SLACK) and regulating:
        return None
    if zone.flow > zone.usable:
        text = (
            f"zone {zone.layout.number} takes {_words(field, zone.flow, 'flow')} and the source "
            f"can give {_words(field, zone.usable, 'flow')} at the pressure the regulator needs"
        )
    else:
        text = f"the regulator of zone {zone.layout.number} is {zone.regulator_state}"
    return Shortfall(limit="flow of the source", text=text, cure="zones")


def _uniformity(
    field: Field, candidate: Candidate, zones: tuple[ZoneSolution, ...]
) -> Shortfall | None:
    zone = min(zones, key=lambda z: z.eu)
    if zone.eu >= field.eu * (1 - SLACK):
        return None
    return Shortfall(
        limit="emission uniformity",
        text=f"zone {zone.layout.number} reaches an emission uniformity of {zone.eu:.1%}, "
        f"below the {field.eu:.0%} wanted",
        cure="header",
    )


def _lowest(
    field: Field, candidate: Candidate, zones: tuple[ZoneSolution, ...]
) -> Shortfall | None:
    zone = min(zones, key=lambda z: z.emitter_head_min)
    bound = field.line.device.emitter.head_min
    if zone.emitter_head_min >= bound * (1 - SLACK):
        return None
    return Shortfall(
        limit="lowest pressure of the line",
        text=f"the lowest pressure of zone {zone.layout.number} is "
        f"{_words(field, zone.emitter_head_min, 'pressure')}, below the "
        f"{_words(field, bound, 'pressure')} that the line needs",
        cure="main",
    )


def _highest(
    field: Field, candidate: Candidate, zones: tuple[ZoneSolution, ...]
) -> Shortfall | None:
    zone = max(zones, key=lambda z: max(z.emitter_head_max, z.static_head_max))
    highest = max(zone.emitter_head_max, zone.static_head_max)
    bound = field.line.device.emitter.head_max
    if highest <= bound * (1 + SLACK):
        return None
    return Shortfall(
        limit="highest pressure of the line",
        text=f"the highest pressure of zone {zone.layout.number} is "
        f"{_words(field, highest, 'pressure')}, above the "
        f"{_words(field, bound, 'pressure')} that the line bears",
        cure="",
    )


def _velocity(
    field: Field, candidate: Candidate, zones: tuple[ZoneSolution, ...]
) -> Shortfall | None:
    for cure in ("header", "main"):
        velocity = max(getattr(zone, f"{cure}_velocity") for zone in zones)
        if velocity > field.velocity * (1 + SLACK):
            return Shortfall(
                limit=f"velocity in the {cure}",
                text=f"the water runs at {_words(field, velocity, 'velocity')} in the {cure}, "
                f"above the {_words(field, field.velocity, 'velocity')} allowed",
                cure=cure,
            )
    return None


_CHECKS = (_source, _highest, _lowest, _uniformity, _velocity)
