"""Laterals near the heads they work at: rough curves first, then exact local laws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._rows import Rows, RowsState, chunks
from evenrow.hydraulics.lateral import Lateral, solve_lateral

_LUMPS = 24
_GRID = 8
_DEGREES = (8, 16)
#: Flow below which errors are counted as parts of it, over the mean flow of the emitters.
FLOW_FLOOR = 1e-3


class RoughLaterals:
    """Inlet flow by inlet head of laterals whose emitters are lumped, for first guesses.

    Parameters
    ----------
    lines : sequence of Lateral
        The distinct laterals.
    index : numpy.ndarray of int
        Which one each take-off has; -1 for none.
    high : float
        Highest head to expect [m].
    """

    def __init__(
        self, lines: Sequence[Lateral], index: NDArray[np.int64], high: float,
        table: tuple[FloatArray, FloatArray, FloatArray] | None = None,
    ) -> None:  # fmt: skip
        self.lines, self.index, self.high = lines, index, high
        if table is None:
            heads: FloatArray = np.asarray(np.geomspace(0.02 * high, high, _GRID), np.float64)
            rows = Rows([lateral.line for lateral in lines], _LUMPS).repeated(_GRID)
            solved = rows.solve(np.repeat(heads, len(lines)))
            none = np.zeros((_GRID, 1))  # the last column serves the index -1
            table = (
                heads,
                np.maximum.accumulate(np.hstack([solved.total.reshape(_GRID, -1), none])),
                np.hstack([solved.slope.reshape(_GRID, -1), none]),
            )
        self.table: tuple[FloatArray, FloatArray, FloatArray] = table

    def pick(self, order: NDArray[np.int64]) -> RoughLaterals:
        """Return the same for some take-offs in another order."""
        return RoughLaterals(self.lines, self.index[order], self.high, self.table)

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope for inlet heads of shape (..., n)."""
        return self._read(head, self.index)

    def one(self, outlet: int, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope of one lateral at several inlet heads."""
        return self._read(head, np.broadcast_to(self.index[outlet], head.shape))

    def _read(self, h: FloatArray, kind: NDArray[np.int64]) -> tuple[FloatArray, FloatArray]:
        """Interpolate; in proportion to the head below the table, straight above it."""
        x, y, d = self.table
        i = np.clip(np.searchsorted(x, h) - 1, 0, x.size - 2)
        width = x[i + 1] - x[i]
        t = np.clip((h - x[i]) / width, 0.0, 1.0)
        d0, d1, y0 = d[i, kind], d[i + 1, kind], y[i, kind]
        rise = (y[i + 1, kind] - y0) / width
        c2 = 3.0 * rise - 2.0 * d0 - d1
        c3 = d0 + d1 - 2.0 * rise
        q = y0 + width * t * (d0 + t * (c2 + t * c3))
        s: FloatArray = np.maximum(d0 + t * (2.0 * c2 + 3.0 * t * c3), 0.0)
        q = q + np.maximum(h - x[-1], 0.0) * s
        low = h < x[0]
        part = y0 / x[0]
        flow = np.where(low, part * np.maximum(h, 0.0), np.maximum(q, 0.0))
        slope = np.where(low, part * (h > 0.0), s)
        return np.asarray(flow, dtype=np.float64), np.asarray(slope, dtype=np.float64)


@cache
def _nodes(degree: int) -> tuple[FloatArray, FloatArray]:
    """Return Chebyshev's points from 1 down to -1, and node values to power coefficients."""
    t: FloatArray = np.cos(np.pi * np.arange(degree + 1) / degree)
    inverse: FloatArray = np.asarray(np.linalg.inv(_powers(t, degree)), dtype=np.float64)
    return np.asarray(t, dtype=np.float64), inverse


def _powers(t: FloatArray, degree: int) -> FloatArray:
    """Return 1, t, t^2, … in columns."""
    out = np.ones((t.size, degree + 1))
    np.multiply.accumulate(np.broadcast_to(t[:, None], (t.size, degree)), axis=1, out=out[:, 1:])
    return out


@dataclass(frozen=True)
class Profile:
    """All emitter flows of one lateral as polynomials of its inlet head.

    Attributes
    ----------
    low, high : float
        Range of inlet heads [m].
    flows : numpy.ndarray
        Emitter flows at the nodes [m3/s], shape (nodes, count).
    error : float
        Largest error of the polynomial of half the degree at the nodes that it leaves
        out, relative to the emitter's flow [-]; the error of the full degree is less.
    """

    low: float
    high: float
    flows: FloatArray
    error: float

    @property
    def degree(self) -> int:
        """Degree of the polynomials."""
        return int(self.flows.shape[0]) - 1

    def coefficients(self) -> FloatArray:
        """Return the inlet flow as power coefficients of the scaled head."""
        return np.asarray(_nodes(self.degree)[1] @ self.flows.sum(axis=1))

    def at(self, heads: FloatArray) -> FloatArray:
        """Return the emitter flows [m3/s] at some heads of the range, (heads, count)."""
        t = (heads - 0.5 * (self.low + self.high)) / (0.5 * (self.high - self.low))
        weights = _powers(t, self.degree) @ _nodes(self.degree)[1]
        return np.asarray(weights @ self.flows)


def make_profile(lateral: Lateral, low: float, high: float, tolerance: float) -> Profile | None:
    """Return the profile of a lateral between two heads, or None if it is not smooth enough.

    Kinks come from emitters that run dry or reach their compensating range; there no
    polynomial keeps the tolerance and each lateral is solved at its own head instead.
    """
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    flows: FloatArray | None = None
    for degree in _DEGREES:
        t, _ = _nodes(degree)
        if flows is None:
            flows = _solve(lateral, middle + half * t)
        else:
            fresh = _solve(lateral, middle + half * t[1::2])
            merged = np.empty((degree + 1, lateral.count))
            merged[0::2], merged[1::2] = flows, fresh
            flows = merged
        coarse = _powers(t[1::2], degree // 2) @ _nodes(degree // 2)[1] @ flows[0::2]
        exact = flows[1::2]
        floor = np.maximum(exact, FLOW_FLOOR * exact.mean(axis=1, keepdims=True))
        error = float((np.abs(coarse - exact) / np.maximum(floor, 1e-300)).max())
        if error <= tolerance:
            return Profile(low, high, flows, error)
    return None


def _solve(lateral: Lateral, heads: FloatArray) -> FloatArray:
    """Return emitter flows at inlet heads, in batches that fit a cache."""
    batch = max(1, 20_000 // lateral.count)
    return np.concatenate(
        [solve_lateral(lateral, heads[i : i + batch]).flow for i in range(0, heads.size, batch)]
    )


class Exact:
    """Laterals solved exactly, one for each of some take-offs, and their tangents.

    Parameters
    ----------
    laterals : sequence of Lateral
        One for each take-off.
    """

    def __init__(self, laterals: Sequence[Lateral]) -> None:
        self.laterals = laterals
        lines = [lateral.line for lateral in laterals]
        self.runs = chunks(lines)
        self.rows = [Rows(lines[a:b]) for a, b in self.runs]
        self.states: list[RowsState] = []
        self.heads: FloatArray = np.zeros(len(laterals))

    def solve(self, heads: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Solve all at their inlet heads; return inlet flows and slopes."""
        states = []
        for i, ((a, b), rows) in enumerate(zip(self.runs, self.rows, strict=True)):
            start = None
            if self.states:
                last = self.states[i]
                moved = np.repeat(heads[a:b] - self.heads[a:b], rows.counts)
                start = last.head + last.response * moved
            state = rows.solve(heads[a:b], start)
            if not state.done.all():
                state = self._mend(a, rows, heads[a:b], state)
            states.append(state)
        self.states, self.heads = states, heads
        return (
            np.concatenate([s.total for s in states]),
            np.concatenate([s.slope for s in states]),
        )

    def _mend(self, first: int, rows: Rows, heads: FloatArray, state: RowsState) -> RowsState:
        """Solve the rows that failed one by one, with the safe method of a lateral."""
        start = state.head.copy()
        for i in np.flatnonzero(~state.done).tolist():
            one = slice(int(rows.start[i]), int(rows.last[i]) + 1)
            start[one] = solve_lateral(self.laterals[first + i], float(heads[i])).head
        return rows.solve(heads, start)

    def flows_at(self, heads: FloatArray, tolerance: float) -> list[FloatArray]:
        """Return the emitter flows of each lateral at heads next to the solved ones.

        The tangents lead there; a residual above `tolerance` [m] has them solved again.
        """
        out: list[FloatArray] = []
        again = False
        for (a, b), rows, state in zip(self.runs, self.rows, self.states, strict=True):
            moved = np.repeat(heads[a:b] - self.heads[a:b], rows.counts)
            flow, missing = rows.flows_at(heads[a:b], state.head + state.response * moved)
            again = again or missing > tolerance
            out.extend(np.split(flow, rows.start[1:]))
        if not again:
            return out
        self.solve(heads)
        return [
            part
            for rows, state in zip(self.rows, self.states, strict=True)
            for part in np.split(state.flow, rows.start[1:])
        ]


class LocalLaterals:
    """Inlet flow of each take-off as its own polynomial, straight outside its range.

    Parameters
    ----------
    middle, half : numpy.ndarray
        Middle and half width of the range of heads [m], shape (n,).
    coefficients : numpy.ndarray
        Power coefficients of the scaled head [m3/s], shape (n, terms).
    """

    def __init__(self, middle: FloatArray, half: FloatArray, coefficients: FloatArray) -> None:
        self.middle, self.half, self.coefficients = middle, half, coefficients

    def pick(self, order: NDArray[np.int64]) -> LocalLaterals:
        """Return the same for some take-offs in another order."""
        return LocalLaterals(self.middle[order], self.half[order], self.coefficients[order])

    def one(self, outlet: int, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope of one lateral at several inlet heads."""
        return self.pick(np.full(head.shape, outlet)).flows_and_slopes(head)

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope for inlet heads of shape (n,)."""
        u = (head - self.middle) / self.half
        t = np.minimum(np.maximum(u, -1.0), 1.0)
        c = self.coefficients
        q, s = c[:, -1].copy(), np.zeros_like(t)
        for k in range(c.shape[1] - 2, -1, -1):
            s *= t
            s += q
            q *= t
            q += c[:, k]
        q += (u - t) * s
        s /= self.half
        dry = q < 0.0
        if dry.any():
            q[dry] = 0.0
            s[dry] = 0.0
        return q, s
