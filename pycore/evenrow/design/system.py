"""The hydraulics of a field: its distinct laterals, and what its rows take."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.design.budget import Budget
from evenrow.design.field import Field
from evenrow.design.ground import Ground
from evenrow.design.layout import ZoneLayout
from evenrow.design.line import Line
from evenrow.design.reach import SourceReach
from evenrow.design.runs import Run
from evenrow.design.segments import TAKEOFF_K
from evenrow.design.settings import set_heads
from evenrow.design.zones import Partition, Partitions, partitions
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.uniformity import emission_uniformity

#: Solves that a lateral curve takes, about.
CURVE_SOLVES = 40
#: Digits of the flows of rows in proportion to the first: what differs less is alike.
PROPORTION_DIGITS = 9
#: Largest relative error of a lateral's curve: far below what a design is told to.
CURVE_TOLERANCE = 1e-5


class Outlets(NamedTuple):
    """Take-off in its zone, kind of lateral and row index of each outlet."""

    takeoffs: NDArray[np.int64]
    kinds: NDArray[np.int64]
    rows: NDArray[np.int64]


class CurveStore:
    """Curves and partitions of fields that differ in little, worked out once for all of them."""

    def __init__(self) -> None:
        self._curves: dict[tuple[Line, Ground, Run, float, float], LateralCurve] = {}
        self._partitions: dict[tuple[tuple[float, ...], tuple[str, ...]], Partitions] = {}
        self._rows: dict[tuple[Line, Ground, tuple[Run, ...], float], tuple[float, float]] = {}

    def curve(
        self, line: Line, ground: Ground, run: Run, heads: tuple[float, float], tolerance: float
    ) -> LateralCurve:
        """Return flow by head in the header of a run; the loss of its take-off is in it."""
        key = (line, ground, run, *heads)
        if key not in self._curves:
            lateral = replace(run.lateral(line, ground), inlet_k=TAKEOFF_K)
            self._curves[key] = lateral_curve(lateral, *heads, tolerance)
        return self._curves[key]

    def best_case(
        self, line: Line, ground: Ground, runs: tuple[Run, ...], head: float
    ) -> tuple[float, float]:
        """Return lowest emitter head [m] and EU [-] of runs with a head right at their start."""
        key = (line, ground, runs, head)
        if key not in self._rows:
            solved = [solve_lateral(run.lateral(line, ground), head) for run in runs]
            flows = np.concatenate([one.flow for one in solved])
            self._rows[key] = (
                min(float(one.min_head) for one in solved),
                float(emission_uniformity(flows, line.device.emitter.cv)),
            )
        return self._rows[key]

    def table(self, shares: tuple[float, ...], crops: tuple[str, ...]) -> Partitions:
        """Return the most even partitions of rows with flows in that proportion."""
        key = (shares, crops)
        if key not in self._partitions:
            self._partitions[key] = partitions(shares, crops)
        return self._partitions[key]


class FieldHydraulics:
    """The lateral curves of a field, worked out when first asked for.

    Each distinct lateral (length and ground) is characterised once.

    Parameters
    ----------
    field : Field
        The field.
    budget : Budget, optional
        What solving may cost.
    reach : SourceReach, optional
        That of the field's source, where another field on the same source has one.
    tolerance : float
        Largest relative error of a curve between its nodes.
    store : CurveStore, optional
        What is shared with fields that differ in little.
    """

    def __init__(
        self,
        field: Field,
        budget: Budget | None = None,
        reach: SourceReach | None = None,
        tolerance: float = CURVE_TOLERANCE,
        store: CurveStore | None = None,
    ) -> None:
        self.field = field
        self.budget = budget or Budget()
        self.reach = reach or SourceReach(field.source, field.reserve)
        self.tolerance = tolerance
        self.store = store or CurveStore()
        self.kinds: dict[Run, int] = {}
        for row in field.rows:
            for run in field.runs(row):
                self.kinds.setdefault(run, len(self.kinds))
        self.laterals = [run.lateral(field.line, field.ground) for run in self.kinds]
        self.counts = np.array([lateral.count for lateral in self.laterals])
        self._row_flows: dict[float, list[float]] = {}
        self._outlets: dict[tuple[int, int], Outlets] = {}
        self._zones: dict[tuple[int, int], tuple[int, float]] = {}

    def guess(self, set_head: float | None) -> float:
        """Return the head at which lines are taken to run before anything is solved [m]."""
        above = self.field.supply(set_head) - self.field.middle
        emitter = self.field.line.device.emitter
        rated = emitter.head_nominal if set_head is None else emitter.head_max
        return min(max(above, emitter.head_min), rated)

    def row_flows(self, head: float) -> list[float]:
        """Return the flow of every row at one head in the header [m3/s]."""
        if head not in self._row_flows:
            heads = np.array([head])
            flow = [float(curve.flows_and_slopes(heads)[0][0]) for curve in self.curves]
            self._row_flows[head] = [
                row.lines * sum(flow[self.kinds[run]] for run in self.field.runs(row))
                for row in self.field.rows
            ]
        return self._row_flows[head]

    def partition(self, set_head: float | None, zones: int) -> Partition:
        """Return the most even partition of the rows into that many zones."""
        flows = self.row_flows(self.guess(set_head))
        shares = tuple(round(flow / flows[0], PROPORTION_DIGITS) for flow in flows)
        table = self.store.table(shares, self.field.crops)
        self.budget.spend(rows=len(flows) * (1 + max(0, zones - table.layers)))
        ranges = table.into(zones).ranges
        return Partition(ranges, tuple(sum(flows[a:b]) for a, b in ranges))

    def usable(self, head: float | None) -> float:
        """Return the flow that the source holds at a head, less the reserve [m3/s]."""
        return self.reach.usable(head)

    @cached_property
    def highest(self) -> float:
        """A head that no line of the field can see more than, at any setting [m]."""
        settings = set_heads(self.field)
        supply = max((self.field.supply(head) for head in settings), default=0.0)
        return supply + max(0.0, -self.field.lowest) + 0.5

    @cached_property
    def curves(self) -> list[LateralCurve]:
        """Flow by head in the header of each distinct lateral.

        The loss of the take-off belongs to the lateral here.
        """
        # A line fed with less than half its lowest pressure breaks that limit anyway.
        low = min(0.5 * self.field.line.device.emitter.head_min, 0.5 * self.highest)
        self.budget.spend(CURVE_SOLVES * int(self.counts.sum()), calls=2 * self.counts.size)
        field = self.field
        return [
            self.store.curve(field.line, field.ground, run, (low, self.highest), self.tolerance)
            for run in self.kinds
        ]

    @cached_property
    def with_takeoffs(self) -> list[Lateral]:
        """The laterals with the loss of their take-off, so that they start in the header."""
        return [replace(lateral, inlet_k=TAKEOFF_K) for lateral in self.laterals]

    @cached_property
    def spread(self) -> float:
        """Share of the emission uniformity that manufacturing leaves [-]."""
        return float(emission_uniformity(np.ones(1), self.field.line.device.emitter.cv))

    def emitters(self, zone: ZoneLayout) -> int:
        """Return how many emitters a zone has."""
        return self._of_zone(zone)[0]

    def lowest(self, zone: ZoneLayout) -> float:
        """Return the height of the lowest point of a zone's lines above the source [m]."""
        return self._of_zone(zone)[1]

    def _of_zone(self, zone: ZoneLayout) -> tuple[int, float]:
        if zone.rows not in self._zones:
            count = int(self.counts[self.outlets(zone).kinds].sum())
            level = float(self.field.lowest_of_rows[slice(*zone.rows)].min())
            self._zones[zone.rows] = (count, level)
        return self._zones[zone.rows]

    def outlets(self, zone: ZoneLayout) -> Outlets:
        """Return the outlets of a zone's header in their order: one for each run of line."""
        if zone.rows not in self._outlets:
            rows = self.field.rows[slice(*zone.rows)]
            kinds = np.array([[self.kinds[run] for run in self.field.runs(row)] for row in rows])
            lines = [row.lines for row in rows]
            sides = kinds.shape[1]
            self._outlets[zone.rows] = Outlets(
                takeoffs=np.repeat(np.arange(len(zone.takeoffs)), sides),
                kinds=np.repeat(kinds, lines, axis=0).ravel(),
                rows=np.repeat(np.arange(*zone.rows), np.multiply(lines, sides)),
            )
        return self._outlets[zone.rows]
