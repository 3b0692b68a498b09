"""Each zone of a candidate through the network solve."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.design.assembly import HeadAssembly, loss_at
from evenrow.design.field import Field
from evenrow.design.layout import ZoneLayout
from evenrow.design.limits import shortfalls
from evenrow.design.model import Candidate, Shortfall, Station, ZoneSolution
from evenrow.design.runs import Run, row_flows
from evenrow.design.segments import header_pipe, header_steps, main_pipes, segment_areas
from evenrow.design.zones import Partition, Partitions, partitions
from evenrow.errors import EvenrowError
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.hydraulics.network import SystemSolution, solve_system
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
)

#: Solves that a lateral curve takes, about.
CURVE_SOLVES = 12
#: Pipe shorter than this is none. [m]
SHORTEST = 1e-6
#: Halvings that find a flow to more digits than a float has use for.
BISECTIONS = 50
#: More than any source gives. [m3/s]
FLOW_MAX = 1e3

FloatArray = NDArray[np.float64]


class OutOfBudgetError(EvenrowError):
    """A search that was to cost little would cost more."""


class Budget:
    """How much solving a search may cost, counted in emitters and outlets, not in time.

    The same field thus always gets the same answer, on any device.
    """

    def __init__(self, left: float = math.inf) -> None:
        self.left = left

    def spend(self, emitters: int = 0, outlets: int = 0, rows: int = 0) -> None:
        """Count a solve, or rows laid into zones; raise `OutOfBudgetError` when nothing is left."""
        self.left -= emitters + 200 * outlets + 20 * rows + 10_000
        if self.left < 0.0:
            raise OutOfBudgetError("the search was stopped because it would take too long")


class _Outlets(NamedTuple):
    """Take-off in its zone, kind of lateral and row index of each outlet."""

    takeoffs: NDArray[np.int64]
    kinds: NDArray[np.int64]
    rows: NDArray[np.int64]


class FieldHydraulics:
    """The lateral curves of a field, and the solve of its zones.

    Each distinct lateral (length and slope) is characterised once for each regulator setting.
    """

    def __init__(self, field: Field, budget: Budget | None = None) -> None:
        self.field = field
        self.budget = budget or Budget()
        self._partitions: dict[float, Partitions] = {}
        self.kinds: dict[Run, int] = {}
        for row in field.rows:
            for run in field.runs(row):
                self.kinds.setdefault(run, len(self.kinds))
        self.laterals = [run.lateral(field.line, field.ground) for run in self.kinds]
        self._curves: dict[float, list[LateralCurve]] = {}
        self._row_flows: dict[float, list[float]] = {}
        self._brought: dict[HeadAssembly, float | None] = {}

    def guess(self, set_head: float | None) -> float:
        """Return the head at which lines are taken to run before anything is solved [m]."""
        above = self.field.supply(set_head) - self.field.middle
        emitter = self.field.line.device.emitter
        rated = emitter.head_nominal if set_head is None else emitter.head_max
        return min(max(above, emitter.head_min), rated)

    def row_flows(self, head: float) -> list[float]:
        """Return the flow of every row at one inlet head [m3/s]."""
        if head not in self._row_flows:
            field = self.field
            self._row_flows[head] = row_flows(
                field.rows, field.line, share=field.share, ground=field.ground, head=head
            )
        return self._row_flows[head]

    def partition(self, set_head: float | None, zones: int) -> Partition:
        """Return the most even partition of the rows into that many zones."""
        head = self.guess(set_head)
        if head not in self._partitions:
            self._partitions[head] = partitions(self.row_flows(head), self.field.crops)
        table = self._partitions[head]
        rows = len(self.field.rows)
        self.budget.spend(rows=rows * (1 + max(0, zones - table.layers)))
        return table.into(zones)

    def usable(self, head: float | None) -> float:
        """Return the flow that the source holds at a head, less the reserve [m3/s].

        Without a head, its open flow or the last point of its curve; a tank whose outlet loses
        nothing gives any flow, and pipe and filter then limit it.
        """
        source = self.field.source
        if head is None:
            flow = source.max_flow
        elif head >= source.shutoff_head:
            flow = 0.0
        else:
            flow = min(float(source.flow_at(head)), source.max_flow)
        return (1.0 - self.field.reserve) * min(flow, FLOW_MAX)

    def curves(self, head_high: float) -> list[LateralCurve]:
        """Return inlet flow by inlet head of each distinct lateral, up to a head [m]."""
        if head_high not in self._curves:
            # A line fed with less than half its lowest pressure breaks that limit anyway.
            low = min(0.5 * self.field.line.device.emitter.head_min, 0.5 * head_high)
            emitters = sum(lateral.count for lateral in self.laterals)
            self.budget.spend(CURVE_SOLVES * emitters, CURVE_SOLVES * len(self.laterals))
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

    def outlets(self, zone: ZoneLayout) -> _Outlets:
        """Return the outlets of a zone's header in their order: one for each run of line."""
        rows = self.field.rows[slice(*zone.rows)]
        kinds = np.array([[self.kinds[run] for run in self.field.runs(row)] for row in rows])
        lines = [row.lines for row in rows]
        sides = kinds.shape[1]
        return _Outlets(
            takeoffs=np.repeat(np.arange(len(zone.takeoffs)), sides),
            kinds=np.repeat(kinds, lines, axis=0).ravel(),
            rows=np.repeat(np.arange(*zone.rows), np.multiply(lines, sides)),
        )

    def _zone(self, candidate: Candidate, zone: ZoneLayout) -> ZoneSolution:
        field = self.field
        outlets = self.outlets(zone)
        counts = np.array([lateral.count for lateral in self.laterals])
        self.budget.spend(int(counts[outlets.kinds].sum()), outlets.kinds.size)
        supply = field.supply(candidate.assembly.set_head)
        curves = self.curves(supply + max(0.0, -field.lowest) + 0.5)
        system = solve_system(
            field.source,
            candidate.assembly.components(dirty=True),
            main_pipes(field, candidate, zone),
            header_pipe(field, candidate, zone, outlets.takeoffs),
            curves,
            outlets.kinds,
            field.line.viscosity,
        )
        return self._described(candidate, zone, outlets, system, supply)

    def _described(
        self,
        candidate: Candidate,
        zone: ZoneLayout,
        outlets: _Outlets,
        system: SystemSolution,
        supply: float,
    ) -> ZoneSolution:
        field = self.field
        emitter = field.line.device.emitter
        heads, flows, driest = self._emitters(outlets.kinds, np.asarray(system.outlet_heads))
        flowing = system.state == "flowing" and float(flows.max()) > 0.0
        row_heads = tuple(
            float(system.outlet_heads[outlets.rows == row].mean()) for row in range(*zone.rows)
        )
        # A take-off right at the feed has no pipe before it.
        piped = header_steps(zone, outlets.takeoffs).length > SHORTEST
        speeds = np.asarray(system.segment_flows) / segment_areas(candidate, zone, outlets.takeoffs)
        return ZoneSolution(
            layout=zone,
            flow=system.source_flow,
            usable=self._usable(candidate.assembly),
            beyond_source=system.beyond_source,
            regulator_state=system.regulator,
            stations=_stations(field, system, driest, float(heads.min())),
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
            header_velocity=float(max(speeds[piped], default=0.0)),
            main_velocity=system.source_flow / candidate.main.area,
        )

    def _emitters(
        self, kinds: NDArray[np.int64], inlets: FloatArray
    ) -> tuple[FloatArray, FloatArray, float]:
        """Return head and flow of every emitter, and the inlet head of the line with the lowest.

        Each distinct lateral is solved once for each distinct inlet head.
        """
        heads, flows = [], []
        driest = (np.inf, 0.0)
        for kind in np.unique(kinds):
            lateral = self.laterals[int(kind)]
            different, times = np.unique(inlets[kinds == kind], return_counts=True)
            wet = different > 0.0
            if not np.all(wet):
                dry = int(times[~wet].sum()) * lateral.count
                heads.append(np.zeros(dry))
                flows.append(np.zeros(dry))
                driest = min(driest, (0.0, float(different[0])))
            if np.any(wet):
                solved = solve_lateral(lateral, different[wet])
                lowest = solved.head.min(axis=-1)
                where = int(np.argmin(lowest))
                driest = min(driest, (float(lowest[where]), float(different[wet][where])))
                heads.append(np.repeat(solved.head, times[wet], axis=0).ravel())
                flows.append(np.repeat(solved.flow, times[wet], axis=0).ravel())
        return np.concatenate(heads), np.concatenate(flows), driest[1]

    def _usable(self, assembly: HeadAssembly) -> float | None:
        """Return the most that the source brings through an assembly, reserve left [m3/s]."""
        if assembly not in self._brought:
            self._brought[assembly] = self._through(assembly)
        return self._brought[assembly]

    def _through(self, assembly: HeadAssembly) -> float | None:
        set_head = assembly.set_head
        kept = 1.0 - self.field.reserve
        if set_head is None:
            usable = self.usable(None)
            return usable if usable < kept * FLOW_MAX else None
        # The parts before the regulator take more as the flow grows, and the source gives
        # less: the most that it brings through them is where both meet.
        low, high = 0.0, self.usable(set_head)
        for _ in range(BISECTIONS):
            middle = 0.5 * (low + high)
            brought = float(self.field.source.head(middle / kept)[0])
            if brought >= set_head + loss_at(assembly.up_to_regulator, middle):
                low = middle
            else:
                high = middle
        return low

    def _static(self, zone: ZoneLayout, supply: float) -> float:
        """Return the highest head in the zone's lines with the water standing still [m]."""
        return supply - float(self.field.lowest_of_rows[slice(*zone.rows)].min())


def _stations(
    field: Field, system: SystemSolution, inlet: float, lowest: float
) -> tuple[Station, ...]:
    """Return the heads from the source to the emitter with the lowest, by way of its line."""
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
        Station(name="start of the line with the lowest emitter", head=inlet),
        Station(name="emitter with the lowest pressure", head=lowest),
    ]
    return tuple(stations)
