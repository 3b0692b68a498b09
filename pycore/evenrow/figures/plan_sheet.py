"""A plan laid on its paper: where each row, line, zone and the header lie in the drawing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from evenrow.figures.plan_model import Plan, PlanRow, PlanZone
from evenrow.figures.plan_scale import Scale
from evenrow.figures.svg import num

FloatArray = NDArray[np.float64]

#: Lines nearer than this run into one another and are drawn as one.
LINES_LEAST = 4.0
#: A zone drawn lower than this has no room for its own valve and number.
ZONE_LEAST = 32.0


@dataclass(frozen=True)
class Sheet:
    """A plan with its scale and the name that its ids start with."""

    plan: Plan
    scale: Scale
    name: str

    @property
    def header_x(self) -> float:
        """Return where the header crosses the first row."""
        return self.scale.x(self.plan.rows[0].header)

    @cached_property
    def crossings(self) -> tuple[FloatArray, FloatArray]:
        """Return the middles of the rows, and where the header crosses each in the drawing."""
        rows = self.plan.rows
        return (
            np.array([row.middle for row in rows]),
            np.array([self.scale.x(row.header) for row in rows]),
        )

    def header_at(self, position: float) -> float:
        """Return where the header lies across the drawing at a position along it."""
        return float(np.interp(position, *self.crossings))

    def header_way(self, start: float, end: float, aside: float = 0.0) -> str:
        """Return the path along the header line from one position to another."""
        middles, crossings = self.crossings
        bent = float(np.ptp(crossings)) > 0.0
        between = middles[(start < middles) & (middles < end)] if bent else ()
        places = [start, *(float(middle) for middle in between), end]
        spots = [f"{num(self.header_at(p) - aside)} {num(self.scale.y(p))}" for p in places]
        return "M" + "L".join(spots)

    @property
    def bottom(self) -> float:
        """Return where the last line lies."""
        return self.scale.top + self.scale.height

    def rows_drawn(self, zone: PlanZone) -> list[PlanRow]:
        """Return the rows of a zone that are drawn: its outer ones and every `step`-th."""
        first, last = zone.rows[0], zone.rows[1] - 1
        return [
            self.plan.rows[i]
            for i in range(first, last + 1)
            if i in (first, last) or (i - first) % self.scale.step == 0
        ]

    def lines(self, row: PlanRow) -> list[float]:
        """Return where the lines of a row are drawn."""
        ys = [self.scale.y(p) for p in row.lines]
        if len(ys) > 1 and (ys[-1] - ys[0]) / (len(ys) - 1) < LINES_LEAST:
            return [(ys[0] + ys[-1]) / 2]
        return ys

    def zones_marked(self) -> list[PlanZone]:
        """Return the zones that have room for a valve and a number of their own."""
        kept: list[PlanZone] = []
        before = -ZONE_LEAST
        for zone in self.plan.zones:
            y = self.zone_middle(zone)
            if y - before >= ZONE_LEAST:
                kept.append(zone)
                before = y
        return kept

    def zone_middle(self, zone: PlanZone) -> float:
        """Return where the middle of a zone lies."""
        rows = self.plan.rows
        return self.scale.y((rows[zone.rows[0]].lines[0] + rows[zone.rows[1] - 1].lines[-1]) / 2)
