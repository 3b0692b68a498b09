"""The hydraulics of a field: its distinct laterals, and what its rows take."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.design.budget import Budget
from evenrow.design.field import Field
from evenrow.design.layout import ZoneLayout
from evenrow.design.reach import SourceReach
from evenrow.design.runs import Run, row_flows
from evenrow.design.segments import TAKEOFF_K
from evenrow.design.settings import set_heads
from evenrow.design.zones import Partition, Partitions, partitions
from evenrow.hydraulics.curve import LateralCurve, lateral_curve

#: Solves that a lateral curve takes, about.
CURVE_SOLVES = 40
#: Largest relative error of a lateral's curve: far below what a design is told to.
CURVE_TOLERANCE = 1e-6


class Outlets(NamedTuple):
    """Take-off in its zone, kind of lateral and row index of each outlet."""

    takeoffs: NDArray[np.int64]
    kinds: NDArray[np.int64]
    rows: NDArray[np.int64]


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
    """

    def __init__(
        self,
        field: Field,
        budget: Budget | None = None,
        reach: SourceReach | None = None,
        tolerance: float = CURVE_TOLERANCE,
    ) -> None:
        self.field = field
        self.budget = budget or Budget()
        self.reach = reach or SourceReach(field.source, field.reserve)
        self.tolerance = tolerance
        self._partitions: dict[float, Partitions] = {}
        self.kinds: dict[Run, int] = {}
        for row in field.rows:
            for run in field.runs(row):
                self.kinds.setdefault(run, len(self.kinds))
        self.laterals = [run.lateral(field.line, field.ground) for run in self.kinds]
        self.counts = np.array([lateral.count for lateral in self.laterals])
        self._row_flows: dict[float, list[float]] = {}
        self._outlets: dict[tuple[int, int], Outlets] = {}

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
        return [
            lateral_curve(replace(lateral, inlet_k=TAKEOFF_K), low, self.highest, self.tolerance)
            for lateral in self.laterals
        ]

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
