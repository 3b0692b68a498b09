"""Run lengths of whole families of lines in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics._columns import Cell
from evenrow.hydraulics._scan import first_failures
from evenrow.hydraulics._search import Search, last_under_pressure, most_emitters, scan_limits
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.laws import FrictionLaw, friction_law
from evenrow.hydraulics.run_limits import RunLimits

_CELLS_MAX: Final = 1_000_000


@dataclass(frozen=True)
class LineKind:
    """A tape or dripline without its emitter spacing, for `run_length_family`.

    Parameters
    ----------
    emitter : Emitter
        The device.
    diameter : float
        Inside diameter [m], more than 0, at most 1.
    roughness : float
        Equivalent roughness [m].
    barb_length, barb_k : float
        Local loss of one emitter, as of `Lateral`.

    Raises
    ------
    InputError
        If a value is not finite or out of range.
    """

    emitter: Emitter
    diameter: float
    roughness: float = ROUGHNESS_SMOOTH
    barb_length: float = 0.0
    barb_k: float = 0.0

    def __post_init__(self) -> None:
        Lateral(
            self.emitter, 1, 1.0, self.diameter, roughness=self.roughness,
            barb_length=self.barb_length, barb_k=self.barb_k,
        )  # fmt: skip


@dataclass(frozen=True)
class RunLengthFamily:
    """Run lengths over all combinations, in arrays of shape (D, S, G, H, T).

    The axes are devices, spacings, slopes (G), inlet heads and targets.

    Attributes
    ----------
    count : numpy.ndarray of int
        Number of emitters just before the first failure; 0 if one already fails.
    length : numpy.ndarray
        Length to the last emitter [m]; 0 where `count` is 0.
    limited : numpy.ndarray of bool
        False where nothing failed up to the maximum length.
    exact_solves : int
        Lengths too close to a limit for interpolation that were solved one by one.
    """

    count: NDArray[np.int64]
    length: FloatArray
    limited: NDArray[np.bool_]
    exact_solves: int


def run_length_family(
    devices: Sequence[LineKind],
    spacings: ArrayLike,
    slopes: ArrayLike,
    inlet_heads: ArrayLike,
    targets: Sequence[float | RunLimits],
    *,
    maximum_length: float = 1500.0,
    viscosity: float = VISCOSITY_20C,
    friction: str | FrictionLaw = "churchill",
) -> RunLengthFamily:
    """Return the longest run of every combination, as `longest_run` does one by one.

    Parameters
    ----------
    devices : sequence of LineKind
        D tapes or driplines.
    spacings : array_like
        S distances between emitters [m], more than 0; the first emitter sits half of it
        from the inlet.
    slopes : array_like
        G rises per length toward the far end [-], -1 to 1.
    inlet_heads : array_like
        H pressure heads at the inlet [m], more than 0, at most 10,000.
    targets : sequence of float or RunLimits
        T sets of limits; a number stands for the least emission uniformity [-].
    maximum_length : float
        Longest length of interest [m].
    viscosity : float
        Kinematic viscosity of the water [m2/s].
    friction : str or FrictionLaw
        Friction law, by its name in `FRICTION_LAWS`.

    Returns
    -------
    RunLengthFamily
        Arrays of shape (D, S, G, H, T).

    Raises
    ------
    InputError
        If an argument is empty, not finite or out of range.
    ConvergenceError
        If a lateral that needs an exact solve cannot be solved.

    Notes
    -----
    As `longest_run`, with all lines marched side by side. Not every answer is checked by the two
    exact solves with which `longest_run` ends: none of 4,500 random lines on falls that were, half
    of them compensating, was off.
    """
    s = array("spacings", spacings, 0.0, 1000.0, open_low=True, unit="m").ravel()
    g = array("slopes", slopes, -1.0, 1.0).ravel()
    h = array("inlet_heads", inlet_heads, 0.0, 10_000.0, open_low=True, unit="m").ravel()
    sets = [t if isinstance(t, RunLimits) else RunLimits(eu=t) for t in targets]
    for name, items in (("devices", devices), ("targets", sets)):
        if not items:
            raise InputError("must not be empty", code="empty", field=name, accepted="at least one")
    shape = (len(devices), s.size, g.size, h.size, len(sets))
    if int(np.prod(shape)) > _CELLS_MAX:
        raise InputError(
            "are too many combinations", code="out_of_range", field="devices",
            given=int(np.prod(shape)), accepted=f"up to {_CELLS_MAX:,}",
        )  # fmt: skip
    law = friction_law(friction)
    nu = number("viscosity", viscosity, 1e-8, 1e-4, unit="m2/s")
    cells = [
        Cell(
            kind.emitter, spacing, 0.5 * spacing, float(kind.diameter), slope,
            float(kind.roughness), nu, float(kind.barb_length), law, head,
            float(kind.barb_k),
        )
        for kind in devices for spacing in s.tolist() for slope in g.tolist()
        for head in h.tolist()
    ]  # fmt: skip
    most = np.array([most_emitters(cell, maximum_length) for cell in cells])
    ends = np.repeat(most[:, None], len(sets), axis=1)
    for i, cell in enumerate(cells):
        for t, limits in enumerate(sets):
            if limits.head_max is not None:
                ends[i, t] = last_under_pressure(Search(cell, limits), int(most[i]))
    searches: dict[tuple[int, int], Search] = {}

    def holds(cell: int, target: int, count: int) -> bool:
        search = searches.setdefault((cell, target), Search(cells[cell], sets[target]))
        return search.holds(sets[target].names, count)

    scanned = [[scan_limits(cell, limits) for limits in sets] for cell in cells]
    count, exact = first_failures(cells, scanned, ends, holds)
    spaced = np.array([c.spacing for c in cells])[:, None]
    length = np.where(count > 0, (count - 0.5) * spaced, 0.0)
    return RunLengthFamily(
        count.reshape(shape),
        length.reshape(shape),
        (count < most[:, None]).reshape(shape),
        exact,
    )
