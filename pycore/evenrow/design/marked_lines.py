"""The lines of a design that are measured, emitter by emitter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics.lateral import Lateral, solve_lateral
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
    zones: Sequence[ZoneNetwork], clean: Sequence[SystemSolution], dirty: Sequence[SystemSolution]
) -> tuple[tuple[MarkedLine, ...], ...]:
    """Return the lines of each zone that are measured, each once.

    That nearest the feed, that farthest from it, and the one with the lowest emitter.

    Parameters
    ----------
    zones : sequence of ZoneNetwork
        Zones of one design.
    clean, dirty : sequence of SystemSolution
        Each as it runs with a clean and with a dirty filter.
    """
    starts = [running.outlet_heads for running in clean]
    outlets = []
    for network, lowest in zip(zones, weakest_lines(zones, starts), strict=True):
        ways = np.array([abs(end.way) for end in network.ends])
        # Equal to a hair is equal: the first of them is taken, on any machine.
        wanted = (ways - ways.min(), ways.max() - ways, lowest - lowest.min())
        outlets.append(list(dict.fromkeys(int(np.argmax(off <= 1e-6)) for off in wanted)))
    asked = [
        (network, outlet, running.outlet_heads[outlet])
        for state in (clean, dirty)
        for network, mine, running in zip(zones, outlets, state, strict=True)
        for outlet in mine
    ]
    lines = lines_at(
        zones[0].laterals,
        [int(network.kinds[outlet]) for network, outlet, _ in asked],
        [float(head) for *_, head in asked],
    )
    half = len(lines) // 2
    pairs = iter(zip(lines[:half], lines[half:], strict=True))
    return tuple(
        tuple(
            MarkedLine(outlet, head, flow, later)
            for outlet, ((head, flow), (later, _)) in zip(mine, pairs, strict=False)
        )
        for mine in outlets
    )


def lines_at(
    laterals: Sequence[Lateral], kinds: Sequence[int], heads: Sequence[float]
) -> list[tuple[FloatArray, FloatArray]]:
    """Return lines emitter by emitter, each kind of lateral solved once for all its heads.

    Parameters
    ----------
    laterals : sequence of Lateral
        The distinct laterals.
    kinds : sequence of int
        Which of them each line is.
    heads : sequence of float
        Head at the start of each [m]; a line that gets none is dry.

    Returns
    -------
    list of (head, flow)
        Head at [m] and flow of [m3/s] each emitter.
    """
    found: list[tuple[FloatArray, FloatArray]] = [(EMPTY, EMPTY)] * len(kinds)
    for kind in set(kinds):
        mine = [i for i, k in enumerate(kinds) if k == kind]
        starts, back = np.unique([max(heads[i], 0.0) for i in mine], return_inverse=True)
        nothing = np.zeros(laterals[kind].count)
        wet = starts > 0.0
        solved = solve_lateral(laterals[kind], starts[wet]) if wet.any() else None
        dry = int(starts.size - wet.sum())
        for i, place in zip(mine, back.tolist(), strict=True):
            known = solved is not None and place >= dry
            found[i] = (
                (solved.head[place - dry], solved.flow[place - dry])
                if solved is not None and known
                else (nothing, nothing)
            )
    return found


def weakest_lines(zones: Sequence[ZoneNetwork], starts: Sequence[FloatArray]) -> list[FloatArray]:
    """Return the lowest emitter head of the lines of each zone that may have the lowest of all.

    Parameters
    ----------
    zones : sequence of ZoneNetwork
        Zones of one design.
    starts : sequence of numpy.ndarray
        Heads at the start of the lines of each [m].

    Returns
    -------
    list of numpy.ndarray
        Lowest head of each line [m]; inf for lines of a kind of which others start lower by
        `WEAKEST` or more: along equal lines every head rises with that at the start.
    """
    asked: list[tuple[int, int]] = []
    for i, (network, heads) in enumerate(zip(zones, starts, strict=True)):
        for kind in np.unique(network.kinds):
            mine = np.flatnonzero(network.kinds == kind)
            asked += [(i, int(k)) for k in mine[heads[mine] < heads[mine].min() + WEAKEST]]
    lines = lines_at(
        zones[0].laterals,
        [int(zones[i].kinds[k]) for i, k in asked],
        [float(starts[i][k]) for i, k in asked],
    )
    lowest: list[FloatArray] = [np.full(heads.size, np.inf) for heads in starts]
    for (i, k), (head, _) in zip(asked, lines, strict=True):
        lowest[i][k] = head.min()
    return lowest
