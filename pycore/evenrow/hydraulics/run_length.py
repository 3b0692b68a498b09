"""The longest lateral that keeps every limit, counted from zero without a gap."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from evenrow.errors import InputError
from evenrow.hydraulics._check import number, whole
from evenrow.hydraulics._scan import Family, suspects
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import MAX_EMITTERS, Lateral, LateralSolution, solve_lateral

#: Governing "limit" when nothing fails up to the longest length asked for.
MAXIMUM_LENGTH: Final = "maximum length"

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

    def __post_init__(self) -> None:
        for name in ("eu", "flow_variation"):
            if getattr(self, name) is not None:
                number(name, getattr(self, name), 0.0, 1.0)
        for name in ("head_max", "head_min", "inlet_flow_max", "inlet_velocity_max"):
            if getattr(self, name) is not None:
                number(name, getattr(self, name), 0.0)
        whole("per_plant", self.per_plant, 1, 1000)


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


class _Search:
    """Exact values and pass or fail of each length, remembered."""

    def __init__(self, family: Family, inlet_head: float, limits: RunLimits) -> None:
        self.family = family
        self.inlet_head = inlet_head
        self.limits = limits
        self.solved: dict[int, LateralSolution] = {}

    def solution(self, count: int) -> LateralSolution:
        """Return the solved lateral of `count` emitters."""
        if count not in self.solved:
            f = self.family
            lateral = Lateral(
                f.emitter, count, f.spacing, f.diameter, f.first_spacing, f.slope,
                None, f.roughness, f.viscosity, f.barb_length,
            )
            self.solved[count] = solve_lateral(lateral, self.inlet_head)
        return self.solved[count]

    def length(self, count: int) -> float:
        """Return the length to emitter `count` [m]."""
        return self.family.first_spacing + (count - 1) * self.family.spacing

    def static_head(self, count: int) -> float:
        """Return the largest head with the water standing still, which flow cannot exceed [m]."""
        return self.inlet_head + max(0.0, -self.family.slope * self.length(count))

    def value(self, name: str, count: int) -> float:
        """Return the value that limit `name` is about, at `count` emitters."""
        if name == "head_max":
            return self.static_head(count)
        solved = self.solution(count)
        if name == "eu":
            return float(solved.emission_uniformity(self.limits.per_plant))
        if name == "flow_variation":
            return float(solved.flow_variation)
        if name == "head_min":
            return float(solved.min_head)
        if name == "inlet_flow_max":
            return float(solved.inlet_flow)
        return float(solved.velocity[0])

    def excess(self, name: str, count: int) -> float:
        """Return by how much of itself a limit is broken; 0 or less if it holds."""
        limit = float(getattr(self.limits, name))
        over = self.value(name, count) - limit
        if name in ("eu", "head_min"):
            over = -over
        return over / max(abs(limit), 1e-9) - _EQUAL

    def holds(self, names: list[str], count: int) -> bool:
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
    roughness, viscosity, barb_length, first_spacing
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
    With each emitter added all heads along the line fall and its inflow rises, so that
    head and flow limits fail once and for good. Uniformity may fail and recover on a
    downhill line, so it is scanned at *every* length: a march from the closed end
    over many end heads gives all lengths at once, and each place that comes close to the
    limit is then solved exactly. The answer is checked by an exact solve there and with
    one emitter more.
    """
    number("inlet_head", inlet_head, 0.0, 10_000.0, open_low=True, unit="m")
    probe = Lateral(
        emitter, 1, spacing, diameter, first_spacing, slope, None, roughness, viscosity, barb_length
    )
    first = probe.inlet_spacing
    reach = number("maximum_length", maximum_length, 0.0, 1e6, open_low=True, unit="m")
    if reach < first:
        raise InputError(
            "is shorter than the distance to the first emitter", code="out_of_range",
            field="maximum_length", given=maximum_length, accepted=f"at least {first:g} m",
        )
    family = Family(
        emitter, float(spacing), first, float(diameter), float(slope), float(roughness),
        float(viscosity), float(barb_length),
    )
    search = _Search(family, float(inlet_head), limits)
    most = min(math.floor((reach - first) / spacing + 1e-9) + 1, MAX_EMITTERS - 1)
    set_limits: list[str] = [n for n in _NAMES if getattr(limits, n) is not None]
    count = most
    if "head_max" in set_limits:
        count = _last(lambda n: search.holds(["head_max"], n), 0, count)
    uneven: list[str] = [n for n in ("eu", "flow_variation") if n in set_limits]
    if uneven and count > 0:
        count = _first_edge(search, uneven, count)
    steady = [n for n in set_limits if n not in ("head_max", *uneven)]
    if steady and count > 0:
        count = _last(lambda n: search.holds(steady, n), 0, count)
    return _report(search, set_limits, count, most)


_NAMES = (
    "eu", "flow_variation", "head_max", "head_min", "inlet_flow_max", "inlet_velocity_max"
)  # fmt: skip


def _last(holds: Callable[[int], bool], good: int, top: int) -> int:
    """Return the last count up to `top` that holds, where failing is for good."""
    if top <= good or holds(top):
        return max(top, good)
    bad = top
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good


def _first_edge(search: _Search, names: list[str], top: int) -> int:
    """Return the last count before the first failure of a limit that may recover."""
    limits = search.limits
    spread = 1.0 - 1.27 * search.family.emitter.cv / math.sqrt(limits.per_plant)
    if not search.holds(names, 1):
        return 0
    if limits.eu is not None and spread <= 0.0:
        return top  # holds at 1, so the limit is 0 and cannot fail
    ratio = 0.0 if limits.eu is None else limits.eu / spread
    variation = 1.0 if limits.flow_variation is None else limits.flow_variation
    stretches = suspects(search.family, search.inlet_head, top, ratio, variation)
    for begin, worst in stretches:
        if search.holds(names, worst):
            continue
        good = begin
        step = 1
        while good > 1 and not search.holds(names, good):  # the scan was a little late
            good, step = max(1, good - step), 2 * step
        return _last(lambda n: search.holds(names, n), good, worst)
    return top


def _report(search: _Search, names: list[str], count: int, most: int) -> RunLength:
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
