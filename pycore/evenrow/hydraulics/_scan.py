"""The first length at which a limit fails, for many laterals and sets of limits at once.

A march from the closed end over a few end heads shows every length of a lateral in one pass.
Between the end heads what a length shows is interpolated; where that leaves room for doubt the
length is solved exactly. No length is skipped, so that a limit that fails and holds again
further on (steep downhill lines) is found at its first failure.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._columns import Cell, Chunk, Column, March
from evenrow.hydraulics._end_heads import LEAST_NODES, end_heads, flat
from evenrow.hydraulics.constants import G

# The polynomial through five nodes is used. Its error is taken for a share of the difference
# between the cubics through the first and the last four, and a small share of what bends the
# straight line, which speaks where both cubics happen to meet. The tests hold it against
# exact solves.
_NODES = LEAST_NODES - 1
_CUBICS = 1.5
_BOW = 0.01
# Where the flow has a kink, as where a device begins to compensate, the straight line is off by
# up to four times what the second differences show: they see a kink near a node by half of half.
_BOW_COMPENSATING = 4.0
_ERROR_LEAST = 5e-6  # the place of the least head jumps from emitter to emitter
_CHUNK = 24
_CHUNK_NUMBERS = 5000
_UNKNOWN: Final = -1
_WORTH_DROPPING = 0.9  # share of columns still needed below which the others are dropped
_TINY = 1e-300

Limits = Mapping[str, float]
Holds = Callable[[int, int, int], bool]


Pair = tuple[FloatArray, FloatArray]  # values and the errors they may have


@dataclass
class _Lengths:
    """What the lengths of a chunk show once interpolated, pairs of shape (steps, cells)."""

    counts: FloatArray
    law: Column
    between: _Between
    chunk: Chunk
    end_heads: FloatArray

    @cached_property
    def total(self) -> Pair:
        """Flow at the inlet."""
        return self.between.at(self.chunk.total)

    @cached_property
    def low(self) -> Pair:
        """Least head at an emitter."""
        return self.between.at(self.chunk.low)

    @cached_property
    def high(self) -> Pair:
        """Largest head at an emitter.

        Toward the inlet the steps of head grow with the flow (the profile is convex), so
        that it is at one of the ends.
        """
        first, end = self.between.at(self.chunk.first), self.between.at(self.end_heads)
        return np.maximum(first[0], end[0]), np.maximum(first[1], end[1])

    def _flow(self, head: Pair) -> Pair:
        """Return emitter flows at heads."""
        value, error = head
        return self.law.flows(value), self.law.flows(value + error) - self.law.flows(value - error)

    def eu(self) -> Pair:
        """Return q_min / q_avg."""
        q, error = self._flow(self.low)
        total = np.maximum(self.total[0], _TINY)
        ratio = q * self.counts / total
        return ratio, error * self.counts / total + ratio * self.total[1] / total

    def flow_variation(self) -> Pair:
        """Return (q_max - q_min) / q_max."""
        return _variation(self._flow(self.low), self._flow(self.high))

    def head_variation(self) -> Pair:
        """Return (h_max - h_min) / h_max."""
        return _variation(self.low, self.high)


def _variation(low: Pair, high: Pair) -> Pair:
    """Return (high - low) / high."""
    top = np.maximum(high[0], _TINY)
    share = low[0] / top
    return 1.0 - share, (low[1] + np.abs(share) * high[1]) / top


# How each limit is measured, and whether it is the least (True) or the most allowed.
_MEASURES: Final[dict[str, tuple[Callable[[_Lengths], Pair], bool]]] = {
    "eu": (_Lengths.eu, True),
    "flow_variation": (_Lengths.flow_variation, False),
    "head_variation": (_Lengths.head_variation, False),
    "head_min": (lambda m: m.low, True),
    "inlet_flow_max": (lambda m: m.total, False),
    "inlet_velocity_max": (lambda m: m.total, False),
}


def first_failures(
    cells: Sequence[Cell],
    targets: Sequence[Sequence[Limits]],
    most: NDArray[np.int64],
    holds: Holds,
) -> tuple[NDArray[np.int64], int]:
    """Return the number of emitters just before the first failure of each set of limits.

    Parameters
    ----------
    cells : sequence of Cell
        The laterals, with one friction law.
    targets : sequence of sequence of mapping
        For each cell its T sets of limits by measure: "eu" as least q_min / q_avg,
        "inlet_velocity_max" as a flow, the others as named in `RunLimits`.
    most : numpy.ndarray
        Longest count to look at, shape (cells, T).
    holds : callable
        (cell, set, count) to whether the set of limits holds, by an exact solve.

    Returns
    -------
    counts : numpy.ndarray
        Shape (cells, T): 0 if one emitter already fails, `most` if nothing fails.
    exact : int
        How many exact solves the answers needed.
    """
    answer = np.where(most > 0, _UNKNOWN, 0)
    scan = _Scan(cells, targets, most, holds, answer)
    for wide in (False, True):
        open_cells = np.flatnonzero((answer == _UNKNOWN).any(axis=1))
        if open_cells.size:
            scan.run(open_cells, wide)
    return answer, scan.exact


class _Scan:
    """The state of a scan; `run` fills in `answer`."""

    def __init__(
        self,
        cells: Sequence[Cell],
        targets: Sequence[Sequence[Limits]],
        most: NDArray[np.int64],
        holds: Holds,
        answer: NDArray[np.int64],
    ) -> None:
        self.cells, self.targets, self.most = cells, targets, most
        self.holds, self.answer = holds, answer
        self.exact = 0
        names = {name for sets in targets for limits in sets for name in limits}
        self.names = [name for name in _MEASURES if name in names]
        self.limit = {
            name: np.array([[x.get(name, math.nan) for x in sets] for sets in targets])
            for name in (*self.names, "flush_velocity_min")
        }
        self.set = {name: ~np.isnan(self.limit[name]) for name in self.limit}

    def run(self, chosen: NDArray[np.int64], wide: bool) -> None:
        """March the chosen cells until all their limits are settled."""
        ends = [end_heads(self.cells[i], self.targets[i], int(self.most[i].max()), wide)
                for i in chosen.tolist()]  # fmt: skip
        march = March([flat(self.cells[i], self.targets[i]) for i in chosen.tolist()], ends)
        march.cell = chosen[march.cell]
        flush = self._flush_march(chosen)
        while march.head.size:
            live = np.unique(march.cell)
            left = int(self.most[live].max()) - march.count
            if left <= 0:
                break
            steps = min(_CHUNK_NUMBERS // march.head.size, max(march.count, 2 * _CHUNK))
            steps = max(min(steps, 256), _CHUNK)
            self._chunk(march, flush, live, min(steps, left), wide)

    def _flush_march(self, chosen: NDArray[np.int64]) -> March | None:
        """Return a march with the end open at the flushing velocity, one column a set."""
        picked, heads, flows = [], [], []
        for i in chosen.tolist():
            for v in self.limit["flush_velocity_min"][i].tolist():
                speed = 0.0 if math.isnan(v) else v
                picked.append(self.cells[i])
                heads.append(np.array([speed**2 / (2.0 * G)]))
                flows.append(speed * self.cells[i].area)
        if not self.set["flush_velocity_min"][chosen].any():
            return None
        march = March(picked, heads, np.array(flows))
        march.cell = np.repeat(chosen, self.most.shape[1])
        return march

    def _chunk(
        self, march: March, flush: March | None, live: NDArray[np.int64], steps: int, wide: bool
    ) -> None:
        """Advance one chunk, settle what fails in it, drop what is no longer needed."""
        before = march.count
        chunk = march.advance(steps)
        inlet = chunk.inlet
        counts = np.arange(before + 1, before + steps + 1, dtype=np.float64)[:, None]
        starts = np.searchsorted(march.cell, live)
        widths = np.diff(np.append(starts, march.cell.size))
        wanted = march.column.inlet_head[starts]
        above = np.add.reduceat(inlet < march.column.inlet_head, starts, axis=1, dtype=np.int64)
        law = march.column.take(starts)
        bow_share = np.where(law.most_flow < math.inf, _BOW_COMPENSATING, _BOW)
        between = _Between(inlet, wanted, starts, widths, above, bow_share)
        margin: FloatArray = np.full((steps, live.size, self.most.shape[1]), math.inf)
        doubt: FloatArray = np.zeros_like(margin)
        lengths = _Lengths(counts, law, between, chunk, march.end)
        for name in self.names:
            self._apply(name, live, *_MEASURES[name][0](lengths), margin, doubt)
        if flush is not None:
            flush.keep(np.isin(flush.cell, live))
            reached = flush.advance(steps).inlet.reshape(steps, live.size, -1)
            asked = self.set["flush_velocity_min"][live]
            room = np.where(asked, wanted[:, None] - reached, math.inf)
            doubt = np.where(room < margin, 1e-9 * (1.0 + wanted[:, None]), doubt)
            margin = np.minimum(margin, room)
        # Below the lowest end head a length is solved exactly. Above the highest it is left
        # to a wider march, and in that one solved exactly too.
        margin[above == 0] = 0.0
        beyond = above == widths
        margin[beyond] = 0.0
        given_up = self._settle(live, before, margin <= doubt, margin < -doubt, beyond & (not wide))
        self._drop(march, inlet[-1], live, starts, given_up)

    def _apply(
        self, name: str, live: NDArray[np.int64], value: FloatArray, error: FloatArray,
        margin: FloatArray, doubt: FloatArray,
    ) -> None:  # fmt: skip
        """Lower the margins to those of one measure where these are less."""
        limit = self.limit[name][live]
        room = value[:, :, None] - limit if _MEASURES[name][1] else limit - value[:, :, None]
        # Absolute doubt: measures are fractions, heads or flows; the last need their size.
        least = _ERROR_LEAST * np.maximum(np.abs(value), np.nan_to_num(np.abs(limit)).max())
        room_less_doubt = room - (error + least)[:, :, None]
        closer = self.set[name][live] & (room_less_doubt < margin - doubt)
        np.copyto(margin, room, where=closer)
        np.copyto(doubt, (error + least)[:, :, None], where=closer)

    def _settle(
        self,
        live: NDArray[np.int64],
        before: int,
        suspect: NDArray[np.bool_],
        certain: NDArray[np.bool_],
        beyond: NDArray[np.bool_],
    ) -> set[int]:
        """Write the answers that this chunk decides; return cells left to a wider march."""
        given_up: set[int] = set()
        steps = suspect.shape[0]
        unknown = self.answer[live] == _UNKNOWN
        ends = self.most[live] <= before + steps
        for f, t in np.argwhere(unknown & (suspect.any(axis=0) | ends)).tolist():
            cell, last = int(live[f]), int(self.most[live[f], t])
            for k in np.flatnonzero(suspect[:, f, t]).tolist():
                count = before + k + 1
                if count > last:
                    break
                if beyond[k, f]:
                    given_up.add(cell)
                    break
                if certain[k, f, t]:
                    self.answer[cell, t] = count - 1
                    break
                self.exact += 1
                if not self.holds(cell, t, count):
                    self.answer[cell, t] = count - 1
                    break
            else:
                if last <= before + steps:
                    self.answer[cell, t] = last
            if self.answer[cell, t] == _UNKNOWN and cell not in given_up and last <= before + steps:
                self.answer[cell, t] = last
        return given_up

    def _drop(
        self, march: March, inlet: FloatArray, live: NDArray[np.int64],
        starts: NDArray[np.int64], given_up: set[int],
    ) -> None:  # fmt: skip
        """Drop settled cells, and end heads that no longer length can need.

        Where loss and climb together rise upstream the inlet head rises with each emitter
        from here on; two such columns above the wanted head are enough to interpolate.
        """
        open_cells = (self.answer[live] == _UNKNOWN).any(axis=1)
        open_cells &= ~np.isin(live, np.fromiter(given_up, dtype=np.int64))
        rising = inlet > march.column.inlet_head
        if march.step_up is not None:
            rising &= march.step_up > 0.0
        spare = np.zeros_like(rising)
        spare[3:] = rising[:-3] & (march.cell[3:] == march.cell[:-3]) & rising[3:]
        spare &= np.arange(march.cell.size) - starts[np.searchsorted(live, march.cell)] >= _NODES
        needed = open_cells[np.searchsorted(live, march.cell)] & ~spare
        if np.count_nonzero(needed) < _WORTH_DROPPING * needed.size:
            march.keep(needed)


class _Between:
    """Interpolation between the end heads to the inlet head that is really there."""

    def __init__(
        self, inlet: FloatArray, wanted: FloatArray, starts: NDArray[np.int64],
        widths: NDArray[np.int64], above: NDArray[np.int64], bow_share: FloatArray,
    ) -> None:  # fmt: skip
        self.bow_share = bow_share
        self.first = starts + np.clip(above - 2, 0, widths - _NODES)
        self.flat = self.first + np.arange(inlet.shape[0])[:, None] * inlet.shape[1]
        x = [inlet.ravel()[self.flat + k] for k in range(_NODES)]
        h = np.clip(wanted, x[0], x[-1])  # outside the nodes nothing is extrapolated
        # inverse[m][k] belongs to the divided difference of m + 1 steps from node k on
        self.inverse = [
            [1.0 / np.maximum(x[k + m] - x[k], _TINY) for k in range(_NODES - m)]
            for m in range(1, _NODES)
        ]
        self.linear = h - x[1]
        self.square = self.linear * (h - x[2])
        self.cube = self.square * (h - x[3])
        self.fourth = self.cube * (h - x[0])

    def at(self, values: FloatArray) -> Pair:
        """Return interpolated values and their errors of (steps, columns) or (columns,)."""
        flat = values.ravel()
        place = self.flat if values.ndim == 2 else self.first
        level = [flat[place + k] for k in range(_NODES)]
        middle = level[1]
        differences = []
        for inverse in self.inverse:
            level = [
                (b - a) * factor for a, b, factor in zip(level, level[1:], inverse, strict=False)
            ]
            differences.append(level)
        one, two, three, four = differences
        value = middle + self.linear * one[1] + self.square * two[1]
        value += self.cube * three[0] + self.fourth * four[0]
        apart = self.cube * (three[1] - three[0])
        bow = np.abs(self.square) * np.abs(two).max(axis=0)
        return value, _CUBICS * np.abs(apart) + self.bow_share * bow
