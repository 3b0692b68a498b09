"""The longest lateral that keeps every limit, counted from zero without a gap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from evenrow.errors import InputError
from evenrow.hydraulics._check import number, whole
from evenrow.hydraulics._columns import Cell
from evenrow.hydraulics._scan import first_failures
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.flush_lateral import flush_at
from evenrow.hydraulics.lateral import MAX_EMITTERS, Lateral, LateralSolution, solve_lateral
from evenrow.hydraulics.laws import FrictionLaw, friction_law

#: Governing "limit" when nothing fails up to the longest length asked for.
MAXIMUM_LENGTH: Final = "maximum length"

#: Limits that say how much there must be at least; the others say how much at most.
LEAST: Final = frozenset({"eu", "head_min", "flush_velocity_min"})

# Two numbers this close are equal for a limit: less than any reading can tell apart.
_EQUAL = 1e-12


@dataclass(frozen=True)
class RunLimits:
    """Limits of a lateral; None leaves one out.

    Parameters
    ----------
    eu : float, optional
        Least emission uniformity [-], 0 to 1.
    flow_variation : float, optional
        Largest flow variation (max - min) / max [-], 0 to 1.
    head_max : float, optional
        Largest pressure head the device stands [m]: anywhere along the line, the inlet
        included, with water running or standing still.
    head_min : float, optional
        Least pressure head at any device [m].
    inlet_flow_max : float, optional
        Largest flow into the lateral, its share of the source [m3/s].
    inlet_velocity_max : float, optional
        Largest mean velocity at the inlet [m/s].
    per_plant : int
        Number of emitters that feed one plant, for `eu`.
    head_variation : float, optional
        Largest head variation (max - min) / max of the emitters [-], 0 to 1.
    flush_velocity_min : float, optional
        Least velocity at the end when it is open and the emitters run [m/s], reached at the
        same inlet head.

    Raises
    ------
    InputError
        If a limit is not finite or out of range.
    """

    eu: float | None = None
    flow_variation: float | None = None
    head_max: float | None = None
    head_min: float | None = None
    inlet_flow_max: float | None = None
    inlet_velocity_max: float | None = None
    per_plant: int = 1
    head_variation: float | None = None
    flush_velocity_min: float | None = None

    def __post_init__(self) -> None:
        for name in ("eu", "flow_variation", "head_variation"):
            if getattr(self, name) is not None:
                number(name, getattr(self, name), 0.0, 1.0)
        for name in ("head_max", "head_min", "inlet_flow_max", "inlet_velocity_max"):
            if getattr(self, name) is not None:
                number(name, getattr(self, name), 0.0)
        if self.flush_velocity_min is not None:
            number("flush_velocity_min", self.flush_velocity_min, 0.0, 10.0, unit="m/s")
        whole("per_plant", self.per_plant, 1, 1000)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the limits that are set."""
        return tuple(name for name in _NAMES if getattr(self, name) is not None)


@dataclass(frozen=True)
class LimitCheck:
    """One limit at the length that was found.

    Attributes
    ----------
    name : str
        Name of the limit, as in `RunLimits`.
    limit : float
        The limit itself.
    value_at_length : float or None
        Value at the length found; None if not even one emitter fits.
    value_one_longer : float
        Value with one emitter more.
    holds : bool
        True if the limit is kept at the length found.
    """

    name: str
    limit: float
    value_at_length: float | None
    value_one_longer: float
    holds: bool

    @property
    def margin(self) -> float | None:
        """Room left at the length found, relative to the limit [-]; None without a length.

        0 is just at the limit; below 0 the limit is broken.
        """
        if self.value_at_length is None:
            return None
        room = self.limit - self.value_at_length
        return (-room if self.name in LEAST else room) / max(abs(self.limit), 1e-9)


@dataclass(frozen=True)
class RunLength:
    """The longest run that keeps every limit.

    Attributes
    ----------
    count : int
        Number of emitters; 0 if not even one keeps the limits.
    length : float
        Length to the last emitter [m]; 0 if `count` is 0.
    governing : str
        Name of the limit that stops it, or "maximum length".
    solution : LateralSolution or None
        The lateral of that length, solved exactly; None if `count` is 0.
    checks : tuple of LimitCheck
        Every limit that was set.
    fails_at_once : bool
        True if one emitter alone breaks a limit.
    """

    count: int
    length: float
    governing: str
    solution: LateralSolution | None
    checks: tuple[LimitCheck, ...]
    fails_at_once: bool


class Search:
    """Exact values and pass or fail of each length of one cell, remembered."""

    def __init__(self, cell: Cell, limits: RunLimits) -> None:
        self.cell = cell
        self.limits = limits
        self.solved: dict[int, LateralSolution] = {}

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
            self.solved[count] = solve_lateral(self.lateral(count), self.cell.inlet_head)
        return self.solved[count]

    def length(self, count: int) -> float:
        """Return the length to emitter `count` [m]."""
        return self.cell.first_spacing + (count - 1) * self.cell.spacing

    def static_head(self, count: int) -> float:
        """Return the largest head with the water standing still, which flow cannot exceed [m]."""
        return self.cell.inlet_head + max(0.0, -self.cell.slope * self.length(count))

    def value(self, name: str, count: int) -> float:
        """Return the value that limit `name` is about, at `count` emitters."""
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
        limit = float(getattr(self.limits, name))
        over = self.value(name, count) - limit
        if name in LEAST:
            over = -over
        return over / max(abs(limit), 1e-9) - _EQUAL

    def holds(self, names: Sequence[str], count: int) -> bool:
        """Return True if all the named limits hold at `count` emitters."""
        return all(self.excess(name, count) <= 0.0 for name in names)


def longest_run(
    emitter: Emitter,
    spacing: float,
    diameter: float,
    inlet_head: float,
    *,
    slope: float = 0.0,
    limits: RunLimits,
    maximum_length: float = 1500.0,
    roughness: float = ROUGHNESS_SMOOTH,
    viscosity: float = VISCOSITY_20C,
    barb_length: float = 0.0,
    first_spacing: float | None = None,
    barb_k: float = 0.0,
    friction: str | FrictionLaw = "churchill",
) -> RunLength:
    """Return the longest lateral that keeps every limit at every shorter length too.

    Parameters
    ----------
    emitter : Emitter
        The device.
    spacing, diameter : float
        Distance between emitters and inside diameter [m].
    inlet_head : float
        Pressure head at the inlet [m], more than 0.
    slope : float
        Rise per length toward the far end [-]; negative falls away from the inlet.
    limits : RunLimits
        The limits.
    maximum_length : float
        Longest length of interest [m].
    roughness, viscosity, barb_length, first_spacing, barb_k, friction
        As of `Lateral`.

    Returns
    -------
    RunLength
        Count 0 with `fails_at_once` if not even one emitter keeps the limits.

    Raises
    ------
    InputError
        If an argument is not finite or out of range.
    ConvergenceError
        If a lateral cannot be solved.

    Notes
    -----
    A march from the closed end over many end heads shows every length at once, none
    skipped: uniformity may fail and recover on a downhill line, and the answer is the last
    length before the *first* failure. Lengths too close to a limit to be told by the march
    are solved exactly, and so are the answer and one emitter more for the report.
    """
    number("inlet_head", inlet_head, 0.0, 10_000.0, open_low=True, unit="m")
    probe = Lateral(
        emitter, 1, spacing, diameter, first_spacing, slope, None, roughness, viscosity,
        barb_length, barb_k, friction,
    )  # fmt: skip
    cell = Cell(
        emitter, float(spacing), probe.inlet_spacing, float(diameter), float(slope),
        float(roughness), float(viscosity), float(barb_length), friction_law(friction),
        float(inlet_head), float(barb_k),
    )  # fmt: skip
    most = most_emitters(cell, maximum_length)
    search = Search(cell, limits)
    names = limits.names
    counts, _ = first_failures(
        [cell],
        [[scan_limits(cell, limits)]],
        np.array([[last_under_pressure(search, most)]]),
        lambda _cell, _set, count: search.holds(names, count),
    )
    return _report(search, names, int(counts[0, 0]), most)


_NAMES: Final = (
    "eu", "flow_variation", "head_variation", "head_max", "head_min", "inlet_flow_max",
    "inlet_velocity_max", "flush_velocity_min",
)  # fmt: skip


def most_emitters(cell: Cell, maximum_length: float) -> int:
    """Return how many emitters fit into a length, or raise if not even one does."""
    reach = number("maximum_length", maximum_length, 0.0, 1e6, open_low=True, unit="m")
    first = cell.first_spacing
    if reach < first:
        raise InputError(
            "is shorter than the distance to the first emitter", code="out_of_range",
            field="maximum_length", given=maximum_length, accepted=f"at least {first:g} m",
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


def _report(search: Search, names: Sequence[str], count: int, most: int) -> RunLength:
    """Check the count and one more exactly and say what governs."""
    worst = [(search.excess(name, count + 1), name) for name in names]
    broken = [item for item in worst if item[0] > 0.0]
    governing = max(broken)[1] if broken and count < most else MAXIMUM_LENGTH
    checks = tuple(
        LimitCheck(
            name,
            float(getattr(search.limits, name)),
            search.value(name, count) if count else None,
            search.value(name, count + 1),
            count > 0 and search.excess(name, count) <= 0.0,
        )
        for name in names
    )
    return RunLength(
        count=count,
        length=search.length(count) if count else 0.0,
        governing=governing,
        solution=search.solution(count) if count else None,
        checks=checks,
        fails_at_once=count == 0,
    )
