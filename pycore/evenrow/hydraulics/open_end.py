"""What runs out of pipes with an open end, many of them on one source."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._supplies import Supplies
from evenrow.hydraulics.assembly import Component
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve

#: Steps at most, and the last of them as a share of the flow: the error left is about its square.
STEPS = 60
NEAR = 1e-7
_FIRST = 1e-3  # flow at which the search for a bracket begins [m3/s]
_POWER = 1.8  # rough exponent of the head lost by the flow


def open_flows(
    source: SourceCurve,
    assembly: tuple[Component, ...],
    pipes: Sequence[Sequence[Pipe]],
    viscosity: float,
) -> FloatArray:
    """Return the flow that leaves each of several pipes, one of them open at a time.

    Parameters
    ----------
    source : SourceCurve
        The source.
    assembly : tuple of LossComponent or Regulator
        Head assembly in the order of the water.
    pipes : sequence of sequence of Pipe
        All pipes in series from the assembly to each open end; the velocity head of the jet is
        theirs (`minor_k`).
    viscosity : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    numpy.ndarray
        Flows [m3/s], shape (pipes,); nan where nothing comes out, or where more would than the
        source's curve reaches to.

    Notes
    -----
    Source, parts and pipes lose all the head, which falls with the flow: Newton's method within
    a bracket.
    """
    count = len(pipes)
    supplies = Supplies(source, [assembly] * count, pipes, viscosity)
    still, _ = supplies.offered(np.zeros(count))
    runs = still > 0.0
    low: FloatArray = np.zeros(count)
    high: FloatArray = np.full(count, _FIRST)
    while True:
        left, _ = supplies.offered(high)
        wider = runs & (left > 0.0)
        runs &= ~(wider & (high > source.max_flow))
        wider &= runs
        if not wider.any():
            break
        low, high = np.where(wider, high, low), np.where(wider, 2.0 * high, high)
    # What a power of the flow would lose comes near.
    lost = np.maximum(still - left, 1e-12)
    share = (np.maximum(still, 0.0) / lost) ** (1.0 / _POWER)
    flow = np.clip(high * np.minimum(share, 1.0), low, high)
    for _ in range(STEPS):
        left, slope = supplies.offered(flow)
        low, high = np.where(left > 0.0, flow, low), np.where(left > 0.0, high, flow)
        near = flow - left / np.minimum(slope, -1e-300)
        near = np.where((near >= low) & (near <= high), near, 0.5 * (low + high))
        settled = np.abs(near - flow) <= NEAR * flow
        flow = near
        if bool((settled | ~runs).all()):
            break
    return np.where(runs & (flow <= source.max_flow), flow, np.nan)
