"""Exact values of each length of one lateral, and what a search of lengths starts from."""

from __future__ import annotations

import math
from collections.abc import Sequence

from evenrow.errors import InputError
from evenrow.hydraulics._check import number
from evenrow.hydraulics._columns import Cell
from evenrow.hydraulics.flush_lateral import flush_at
from evenrow.hydraulics.lateral import (
    MAX_EMITTERS,
    Lateral,
    LateralSolution,
    solve_lateral,
    solve_lateral_near,
)
from evenrow.hydraulics.run_limits import LEAST, RunLimits
from evenrow.words import tr

# Two numbers this close are equal for a limit: less than any reading can tell apart.
_EQUAL = 1e-12

# Relative difference of two lengths up to which one solution starts the other.
_NEAR = 0.2


class Search:
    """Exact values and pass or fail of each length of one cell, remembered."""

    def __init__(self, cell: Cell, limits: RunLimits) -> None:
        self.cell = cell
        self.limits = limits
        self.solved: dict[int, LateralSolution] = {}
        self.values: dict[tuple[str, int], float] = {}

    def lateral(self, count: int) -> Lateral:
        """Return the lateral of `count` emitters."""
        c = self.cell
        return Lateral(
            c.emitter, count, c.spacing, c.diameter, c.first_spacing, c.slope, None,
            c.roughness, c.viscosity, c.barb_length, c.barb_k, c.friction,
        )  # fmt: skip

    def solution(self, count: int) -> LateralSolution:
        """Return the solved lateral of `count` emitters."""
        if count not in self.solved:
            head, near = self.cell.inlet_head, None
            if self.solved:
                near = min(self.solved, key=lambda other: abs(other - count))
            if near is None or abs(near - count) > _NEAR * count:
                self.solved[count] = solve_lateral(self.lateral(count), head)
            else:
                self.solved[count] = solve_lateral_near(
                    self.lateral(count), head, self.solved[near]
                )
        return self.solved[count]

    def length(self, count: int) -> float:
        """Return the length to emitter `count` [m]."""
        return self.cell.first_spacing + (count - 1) * self.cell.spacing

    def static_head(self, count: int) -> float:
        """Return the largest head with the water standing still, which flow cannot exceed [m]."""
        return self.cell.inlet_head + max(0.0, -self.cell.slope * self.length(count))

    def value(self, name: str, count: int) -> float:
        """Return the value that limit `name` is about, at `count` emitters."""
        key = (name, count)
        if key not in self.values:
            self.values[key] = self._value(name, count)
        return self.values[key]

    def _value(self, name: str, count: int) -> float:
        """Work out what `value` remembers."""
        if name == "head_max":
            return self.static_head(count)
        if name == "flush_velocity_min":
            return flush_at(self.lateral(count), self.cell.inlet_head).end_velocity
        solved = self.solution(count)
        if name == "eu":
            return float(solved.emission_uniformity(self.limits.per_plant))
        if name in ("flow_variation", "head_variation"):
            return float(getattr(solved, name))
        if name == "head_min":
            return float(solved.min_head)
        if name == "inlet_flow_max":
            return float(solved.inlet_flow)
        return float(solved.velocity[0])

    def excess(self, name: str, count: int) -> float:
        """Return by how much of itself a limit is broken; 0 or less if it holds."""
        return self._excess(name, self.value(name, count), float(getattr(self.limits, name)))

    @staticmethod
    def _excess(name: str, value: float, limit: float) -> float:
        """Return by how much of itself a limit is broken by a value."""
        over = limit - value if name in LEAST else value - limit
        return over / max(abs(limit), 1e-9) - _EQUAL

    def measured(self, count: int) -> tuple[bool, dict[str, float]]:
        """Return whether all limits hold at `count` emitters, and the value of each."""
        values = {name: self.value(name, count) for name in self.limits.names}
        holds = all(
            self._excess(name, value, float(getattr(self.limits, name))) <= 0.0
            for name, value in values.items()
        )
        if "eu" in values:
            values["eu"] /= 1.0 - 1.27 * self.cell.emitter.cv / math.sqrt(self.limits.per_plant)
        if "inlet_velocity_max" in values:
            values["inlet_velocity_max"] *= self.cell.area
        return holds, values

    def holds(self, names: Sequence[str], count: int) -> bool:
        """Return True if all the named limits hold at `count` emitters."""
        return all(self.excess(name, count) <= 0.0 for name in names)


def most_emitters(cell: Cell, maximum_length: float) -> int:
    """Return how many emitters fit into a length, or raise if not even one does."""
    reach = number("maximum_length", maximum_length, 0.0, 1e6, open_low=True, unit="m")
    first = cell.first_spacing
    if reach < first:
        raise InputError(
            tr("is shorter than the distance to the first emitter"),
            code="out_of_range",
            field="maximum_length",
            given=maximum_length,
            accepted=tr("at least {first:g} m", first=first),
        )
    return min(math.floor((reach - first) / cell.spacing + 1e-9) + 1, MAX_EMITTERS - 1)


def last_under_pressure(search: Search, most: int) -> int:
    """Return the last count up to `most` that the device's largest head allows.

    The water standing still sets the largest head, so that no solve is needed; it only
    rises with length.
    """
    if search.limits.head_max is None or search.holds(["head_max"], most):
        return most
    good, bad = 0, most
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if search.holds(["head_max"], middle) else (good, middle)
    return good


def scan_limits(cell: Cell, limits: RunLimits) -> dict[str, float]:
    """Return a set of limits as the scan takes them (see `first_failures`)."""
    out = {name: float(getattr(limits, name)) for name in limits.names if name != "head_max"}
    if "eu" in out:
        spread = 1.0 - 1.27 * cell.emitter.cv / math.sqrt(limits.per_plant)
        # A spread this large leaves no uniformity: only a limit of 0 is kept then, and always.
        never = -1.0 if out["eu"] <= 0.0 else 2.0
        out["eu"] = out["eu"] / spread if spread > 0.0 else never
    if "inlet_velocity_max" in out:
        out["inlet_velocity_max"] *= cell.area
    if out.get("flush_velocity_min") == 0.0:
        del out["flush_velocity_min"]  # kept by any line, also one that runs dry
    return out
