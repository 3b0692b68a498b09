"""Paired laterals: where along a row its header goes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number, whole
from evenrow.hydraulics._local import Exact
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral

#: Most emitters of a row: the search solves about the square of their number.
MAX_ROW = 4000
_OBJECTIVES = ("eu", "flow_variation")
_TIE = 1e-9


@dataclass(frozen=True)
class PairedPlaces:
    """Every place of the header along a row, and the best.

    Attributes
    ----------
    best : int
        Number of emitters before the header at the best place; 0 and `count` mean that
        the row is fed from its start or its end.
    position : float
        Distance of that place from the row's first emitter [m], negative before it.
    eu, flow_variation : float
        Measures there over the whole row [-].
    positions, eus, flow_variations : numpy.ndarray
        The same for all places, 0 to `count` emitters before the header.
    gain_eu : float
        EU at the best place minus the better EU of both ends [-].
    gain_flow_variation : float
        Least flow variation of both ends minus that at the best place [-].
    """

    best: int
    position: float
    eu: float
    flow_variation: float
    positions: FloatArray
    eus: FloatArray
    flow_variations: FloatArray
    gain_eu: float
    gain_flow_variation: float


def paired_places(
    emitter: Emitter,
    count: int,
    spacing: float,
    diameter: float,
    inlet_head: float,
    *,
    slope: float = 0.0,
    elevations: ArrayLike | None = None,
    objective: str = "eu",
    per_plant: int = 1,
    roughness: float = ROUGHNESS_SMOOTH,
    viscosity: float = VISCOSITY_20C,
    barb_length: float = 0.0,
    barb_k: float = 0.0,
) -> PairedPlaces:
    """Try the header between any two emitters of a row and at both its ends.

    Parameters
    ----------
    emitter : Emitter
        The device.
    count : int
        Emitters of the row, 1 to 4,000.
    spacing : float
        Distance between them [m], more than 0. The header lies half way between two, or
        half a spacing outside the first or last.
    diameter : float
        Inside diameter of the line [m].
    inlet_head : float
        Pressure head in the header, the same at every place [m], more than 0.
    slope : float
        Rise per length from the first emitter to the last [-], -1 to 1.
    elevations : array_like, optional
        Surveyed elevation of each emitter [m], shape (count,); replaces `slope`. The
        header lies on the straight line between its neighbours.
    objective : {"eu", "flow_variation"}
        What is best: the largest emission uniformity or the least flow variation.
    per_plant : int
        Emitters that feed one plant, for the emission uniformity.
    roughness, viscosity, barb_length, barb_k : float
        See `Lateral`.

    Returns
    -------
    PairedPlaces
        Measures at every place. Of places equally good the one nearest the middle is best.

    Raises
    ------
    InputError
        If an argument is not finite or out of range.
    ConvergenceError
        If a lateral is not solved.

    Notes
    -----
    Both laterals of every place are solved exactly; nothing is assumed about the shape of
    the measures along the row. Emission uniformity: Keller and Karmeli (1974), Trans. ASAE
    17(4), 678-684 (from memory), over the emitters of both laterals together.
    """
    n = whole("count", count, 1, MAX_ROW)
    step = number("spacing", spacing, 0.0, 1000.0, open_low=True, unit="m")
    head = number("inlet_head", inlet_head, 0.0, 10_000.0, open_low=True, unit="m")
    if objective not in _OBJECTIVES:
        raise InputError(
            "is unknown",
            code="unknown",
            field="objective",
            given=objective,
            accepted=" or ".join(_OBJECTIVES),
        )
    ground = _ground(n, step, slope, elevations)
    spread = max(1.0 - 1.27 * emitter.cv / math.sqrt(whole("per_plant", per_plant, 1, 1000)), 0.0)

    def line(rises: FloatArray) -> Lateral:
        return Lateral(
            emitter,
            rises.size,
            step,
            diameter,
            rises=rises,
            roughness=roughness,
            viscosity=viscosity,
            barb_length=barb_length,
            barb_k=barb_k,
        )

    # The ground goes on straight beyond both ends; a header lies half way between two places.
    before, after = 2.0 * ground[0] - ground[1], 2.0 * ground[n - 1] - ground[n - 2]
    at = 0.5 * (np.append(before, ground[:n]) + np.append(ground[:n], after))
    sides: list[tuple[int, Lateral]] = []
    for k in range(n + 1):
        if k:
            sides.append((k, line(ground[:k][::-1] - at[k])))
        if k < n:
            sides.append((k, line(ground[k:n] - at[k])))
    eus, variations = _measures(sides, n, head)
    eus *= spread
    best = _best(eus if objective == "eu" else -variations)
    positions = (np.arange(n + 1) - 0.5) * step
    return PairedPlaces(
        best=best,
        position=float(positions[best]),
        eu=float(eus[best]),
        flow_variation=float(variations[best]),
        positions=positions,
        eus=eus,
        flow_variations=variations,
        gain_eu=float(eus[best] - max(eus[0], eus[n])),
        gain_flow_variation=float(min(variations[0], variations[n]) - variations[best]),
    )


def _ground(n: int, spacing: float, slope: float, elevations: ArrayLike | None) -> FloatArray:
    """Return the elevation of each emitter, at least two numbers."""
    if elevations is None:
        grade = number("slope", slope, -1.0, 1.0)
        return grade * spacing * np.arange(max(n, 2), dtype=np.float64)
    got = array("elevations", elevations, -10_000.0, 10_000.0, unit="m")
    if got.shape != (n,):
        raise InputError(
            "must hold one elevation for each emitter",
            code="length",
            field="elevations",
            given=got.shape,
            accepted=f"{n} numbers",
        )
    return got if n > 1 else np.repeat(got, 2)


def _measures(
    sides: list[tuple[int, Lateral]], n: int, head: float
) -> tuple[FloatArray, FloatArray]:
    """Return q_min / q_avg and the flow variation of the row for each place."""
    low, high, total = np.full(n + 1, math.inf), np.zeros(n + 1), np.zeros(n + 1)
    # Many short laterals at a time: memory then stays small for the longest rows too.
    for first in range(0, len(sides), 256):
        part = sides[first : first + 256]
        solver = Exact([lateral for _, lateral in part])
        heads = np.full(len(part), head)
        solver.solve(heads)
        for (k, _), flow in zip(part, solver.flows_at(heads, 1e-8), strict=True):
            low[k] = min(low[k], float(flow.min()))
            high[k] = max(high[k], float(flow.max()))
            total[k] += float(flow.sum())
    wet = total > 0.0
    ratio = np.where(wet, low * n / np.where(wet, total, 1.0), 0.0)
    variation = np.where(wet, (high - low) / np.where(wet, high, 1.0), 1.0)
    return np.minimum(ratio, 1.0), variation


def _best(score: FloatArray) -> int:
    """Return the place of the highest score; of equal ones that nearest the middle."""
    good = np.flatnonzero(score >= score.max() - _TIE)
    return int(good[np.argmin(np.abs(good - 0.5 * (score.size - 1)))])
