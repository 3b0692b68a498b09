"""The lines of a design that are measured, emitter by emitter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.network import SystemSolution

if TYPE_CHECKING:
    from evenrow.design.expected import ZoneNetwork

#: Lines that start so much higher than an equal one are not the weakest [m].
WEAKEST = 1e-4

FloatArray = NDArray[np.float64]
EMPTY: FloatArray = np.zeros(0)


@dataclass(frozen=True)
class MarkedLine:
    """A line that is measured: its take-off, and each emitter's head [m] and flow [m3/s].

    `later` are the heads with a dirty filter.
    """

    outlet: int
    head: FloatArray
    flow: FloatArray
    later: FloatArray


def marked_lines(
    zones: Sequence[ZoneNetwork],
    curves: Sequence[LateralCurve],
    clean: Sequence[SystemSolution],
    dirty: Sequence[SystemSolution],
) -> tuple[tuple[MarkedLine, ...], ...]:
    """Return the lines of each zone that are measured, each once.

    That nearest the feed, that farthest from it, and the one with the lowest emitter.

    Parameters
    ----------
    zones : sequence of ZoneNetwork
        Zones of one design.
    curves : sequence of LateralCurve
        Those of its laterals, the loss of their take-off in them.
    clean, dirty : sequence of SystemSolution
        Each as it runs with a clean and with a dirty filter.
    """
    asked: list[tuple[int, int]] = []
    for i, (network, running) in enumerate(zip(zones, clean, strict=True)):
        ways = [abs(end.way) for end in network.ends]
        near, far = _first(ways, min(ways)), _first(ways, max(ways))
        weak = may_be_weakest(network, running.outlet_heads)
        asked += [(i, outlet) for outlet in dict.fromkeys((near, far, *weak))]
    lines = lines_at(
        curves,
        [int(zones[i].kinds[outlet]) for i, outlet in asked] * 2,
        [float(state[i].takeoff_heads[k]) for state in (clean, dirty) for i, k in asked],
    )
    half = len(asked)
    found: list[dict[int, MarkedLine]] = [{} for _ in zones]
    for (i, outlet), (head, flow), (later, _) in zip(
        asked, lines[:half], lines[half:], strict=True
    ):
        found[i][outlet] = MarkedLine(outlet, head, flow, later)
    return tuple(
        _marked(network, mine, running.outlet_heads)
        for network, mine, running in zip(zones, found, clean, strict=True)
    )


def _first(values: Sequence[float], wanted: float) -> int:
    """Return the place of the first of some values that is what is wanted.

    Equal to a hair is equal: the first of them is taken, on any machine.
    """
    return next(i for i, value in enumerate(values) if abs(value - wanted) <= 1e-6)


def _marked(
    network: ZoneNetwork, lines: dict[int, MarkedLine], starts: FloatArray
) -> tuple[MarkedLine, ...]:
    """Return of lines of a zone those that are measured, by their take-offs."""
    ways = [abs(end.way) for end in network.ends]
    near, far = _first(ways, min(ways)), _first(ways, max(ways))
    weak = sorted(may_be_weakest(network, starts))
    lowest = [float(lines[outlet].head.min()) for outlet in weak]
    weakest = weak[_first(lowest, min(lowest))]
    return tuple(lines[outlet] for outlet in dict.fromkeys((near, far, weakest)))


def lines_at(
    curves: Sequence[LateralCurve], kinds: Sequence[int], heads: Sequence[float]
) -> list[tuple[FloatArray, FloatArray]]:
    """Return lines emitter by emitter, each kind of lateral solved once for all its heads.

    Parameters
    ----------
    curves : sequence of LateralCurve
        Those of the distinct laterals.
    kinds : sequence of int
        Which of them each line is.
    heads : sequence of float
        Head where each lateral starts [m]; a line that gets none is dry.

    Returns
    -------
    list of (head, flow)
        Head at [m] and flow of [m3/s] each emitter.
    """
    found: list[tuple[FloatArray, FloatArray]] = [(EMPTY, EMPTY)] * len(kinds)
    for kind in set(kinds):
        mine = [i for i, k in enumerate(kinds) if k == kind]
        starts, back = np.unique([max(heads[i], 0.0) for i in mine], return_inverse=True)
        nothing = np.zeros(curves[kind].lateral.count)
        wet = starts > 0.0
        solved = curves[kind].solved(starts[wet]) if wet.any() else None
        dry = int(starts.size - wet.sum())
        for i, place in zip(mine, back.tolist(), strict=True):
            known = solved is not None and place >= dry
            found[i] = (
                (solved.head[place - dry], solved.flow[place - dry])
                if solved is not None and known
                else (nothing, nothing)
            )
    return found


def may_be_weakest(network: ZoneNetwork, starts: FloatArray) -> list[int]:
    """Return the take-offs of the lines of a zone that may have its lowest emitter.

    Not those of a kind of which others start lower by `WEAKEST` or more: along equal lines every
    head rises with that at the start.

    Parameters
    ----------
    network : ZoneNetwork
        The zone.
    starts : numpy.ndarray
        Heads at the start of its lines [m].
    """
    found: list[int] = []
    for kind in set(network.kinds.tolist()):
        mine = np.flatnonzero(network.kinds == kind)
        found += mine[starts[mine] < starts[mine].min() + WEAKEST].tolist()
    return found
