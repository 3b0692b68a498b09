"""How long the water takes from the head assembly to the last emitter of each zone."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from evenrow.design.expected import Expected, ZoneNetwork
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.network import SystemSolution

FloatArray = NDArray[np.float64]

#: Heads at which the time along a lateral is solved; between them it is nearly straight.
_HEADS = 9


def travel_times(expected: Expected) -> tuple[float, ...]:
    """Return for each zone the time of the water to its last emitter [s].

    Parameters
    ----------
    expected : Expected
        The zones as they run with a clean filter.

    Returns
    -------
    tuple of float
        From behind the head assembly, where injectors stand, with every pipe full: volume over
        flow of each piece of main, header and line, the longest of all lines. inf where no
        water arrives. The head assembly itself holds next to nothing.
    """
    heads: list[FloatArray] = [np.maximum(one.takeoff_heads, 0.0) for one in expected.clean]
    found = np.zeros(len(heads))
    # Lines of one kind are solved together, whatever their zone.
    for kind, curve in enumerate(expected.hydraulics.curves):
        mine = [np.flatnonzero(network.kinds == kind) for network in expected.zones]
        inlets = np.concatenate([head[at] for head, at in zip(heads, mine, strict=True)])
        if not inlets.size:
            continue
        along = _along(curve, inlets)
        start = 0
        for zone, at in enumerate(mine):
            if at.size:
                to_line = _to_lines(expected.zones[zone], expected.clean[zone])[at]
                longest = float((to_line + along[start : start + at.size]).max())
                found[zone] = max(found[zone], longest)
            start += at.size
    return tuple(float(time) for time in found)


def _along(curve: LateralCurve, inlets: FloatArray) -> FloatArray:
    """Return the times along lines of one kind, by the heads where they leave the header [s]."""
    times = np.full(inlets.size, math.inf)
    wet = inlets > 0.0
    if wet.any():
        different = np.unique(inlets[wet])
        if different.size > _HEADS:
            different = np.linspace(different[0], different[-1], _HEADS)
        solved = np.asarray(curve.solved(different).travel_time)
        times[wet] = np.interp(inlets[wet], different, solved)
    return times


def _to_lines(network: ZoneNetwork, running: SystemSolution) -> FloatArray:
    """Return the times from the head assembly to the start of each line [s]."""
    header = network.header
    flows = np.asarray(running.outlet_flows)
    volumes = np.asarray(header.length) * np.asarray(header.diameter) ** 2 * (0.25 * math.pi)
    times = np.empty(flows.size)
    # Outward from the feed: what flows in a piece leaves it at this line or further out.
    for side, outward in (
        (slice(header.feed, None), slice(None)),
        (slice(0, header.feed), slice(None, None, -1)),
    ):
        carried = np.cumsum(flows[side][outward][::-1])[::-1]
        piece = np.divide(
            volumes[side][outward],
            carried,
            out=np.full(carried.size, math.inf),
            where=carried > 0.0,
        )
        times[side] = np.cumsum(piece)[outward]
    main = sum(pipe.length * pipe.diameter**2 for pipe in network.main) * 0.25 * math.pi
    flow = float(flows.sum())
    return times + (main / flow if flow > 0.0 else math.inf)
