"""The longest lateral that keeps every limit, counted from zero without a gap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from evenrow.hydraulics import _rising
from evenrow.hydraulics._check import number
from evenrow.hydraulics._columns import Cell
from evenrow.hydraulics._scan import first_failures
from evenrow.hydraulics._search import Search, last_under_pressure, most_emitters, scan_limits
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, LateralSolution
from evenrow.hydraulics.laws import FrictionLaw, friction_law
from evenrow.hydraulics.run_limits import LEAST, RunLimits

__all__ = [
    "LEAST",
    "MAXIMUM_LENGTH",
    "LimitCheck",
    "RunLength",
    "RunLimits",
    "longest_run",
]

#: Governing "limit" when nothing fails up to the longest length asked for.
MAXIMUM_LENGTH: Final = "maximum length"


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
    On flat and rising ground a limit that fails once fails at all greater lengths (see the
    module `_rising` for why), so that a few exact solves find the last length that holds.
    On falling ground uniformity may fail and recover further on, and the answer is the last
    length before the *first* failure: a march from the closed end over many end heads shows
    every length at once, none skipped. Lengths too close to a limit to be told by the march
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
    stop = last_under_pressure(search, most)
    scanned = scan_limits(cell, limits)
    if stop and _rising.applies(cell, scanned):
        count = _rising.last_kept(cell, scanned, stop, search.measured)
    else:
        counts, _ = first_failures(
            [cell], [[scanned]], np.array([[stop]]),
            lambda _cell, _set, count: search.holds(names, count),
        )  # fmt: skip
        count = _settled(search, names, int(counts[0, 0]), stop)
    return _report(search, names, count, most)


def _settled(search: Search, names: Sequence[str], count: int, stop: int) -> int:
    """Return the count that holds by exact solves while one more, if `stop` allows, does not.

    The march tells how far its interpolation may be off by an estimate; these solves are needed
    for the report in any case.
    """
    while count and not search.holds(names, count):
        count -= 1
    while count < stop and search.holds(names, count + 1):
        count += 1
    return count


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
