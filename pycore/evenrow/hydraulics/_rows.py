"""Many laterals solved side by side, laid end to end in flat arrays."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics import _line
from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._tridiagonal import solve_symmetric

T = TypeVar("T")

#: Emitters solved at once: what a processor's cache holds decides.
CHUNK = 16_000
_MAX_NEWTON = 25
_MAX_HALVINGS = 6


@dataclass
class RowsState:
    """Laterals solved side by side; flat arrays hold one row after the other.

    Attributes
    ----------
    head, flow : numpy.ndarray
        Head [m] and flow [m3/s] of each outlet, flat.
    response : numpy.ndarray
        Derivative of each head by the inlet head of its row [-], flat.
    flow_slope : numpy.ndarray
        Derivative of each flow by the head at the outlet [m2/s], flat.
    total, slope : numpy.ndarray
        Inlet flow [m3/s] of each row and its derivative by inlet head [m2/s].
    done : numpy.ndarray
        Which rows reached their tolerance.
    """

    head: FloatArray
    flow: FloatArray
    response: FloatArray
    flow_slope: FloatArray
    total: FloatArray
    slope: FloatArray
    done: NDArray[np.bool_]


@dataclass
class _Trial:
    """One evaluation of all rows at trial heads."""

    head: FloatArray
    flow: FloatArray
    flow_slope: FloatArray
    missing: FloatArray
    norm: FloatArray
    conductance: FloatArray


class Rows:
    """Lines of any lengths as one system without couplings between the rows.

    Parameters
    ----------
    lines : sequence of Line
        One for each row.
    most : int
        Outlets a row may have at most; neighbours are lumped into one outlet at their
        mean place on longer rows (an approximation of second order, for first guesses).
    """

    def __init__(self, lines: Sequence[_line.Line], most: int | None = None) -> None:
        parts = [_parts(line, most) for line in lines]
        counts = np.array([p[0].size for p in parts])
        self.start: NDArray[np.int64] = np.concatenate([[0], np.cumsum(counts)[:-1]])
        self.counts = counts
        self.last = self.start + counts - 1
        self.rise, self.scale = (np.concatenate([p[i] for p in parts]) for i in range(2))
        self.per_re, self.eps, self.local, self.weight = (
            _flat([p[i] for p in parts], counts) for i in range(2, 6)
        )
        self.one_eps = float(self.eps[0]) if bool((self.eps == self.eps[0]).all()) else None
        self.has_local = bool(self.local.any())
        self.highest = np.maximum.reduceat(np.abs(self.rise), self.start)
        self.laws = self._groups([line.law for line in lines])
        self.frictions = self._groups([line.friction for line in lines])
        self.lumped = most is not None

    def repeated(self, times: int) -> Rows:
        """Return the same rows `times` over, one set after the other."""
        many = copy(self)
        size = self.rise.size
        for name in ("rise", "scale", "per_re", "eps", "local", "weight", "counts", "highest"):
            setattr(many, name, np.tile(getattr(self, name), times))
        many.start = np.concatenate([[0], np.cumsum(many.counts)[:-1]])
        many.last = many.start + many.counts - 1
        shift = size * np.arange(times)[:, None]

        def spread(where: NDArray[np.int64] | None) -> NDArray[np.int64] | None:
            return None if where is None else (where + shift).ravel()

        many.laws = [(law, spread(where)) for law, where in self.laws]
        many.frictions = [(law, spread(where)) for law, where in self.frictions]
        return many

    def weighted(self, weight: FloatArray) -> Rows:
        """Return the same rows with every outlet giving `weight` times its law, flat."""
        other = copy(self)
        other.weight, other.lumped = weight, True
        return other

    def _groups(self, things: Sequence[T]) -> list[tuple[T, NDArray[np.int64] | None]]:
        """Return each different thing with the flat places it rules; None for all."""
        rows: dict[int, list[int]] = {}
        for i, thing in enumerate(things):
            rows.setdefault(id(thing), []).append(i)
        if len(rows) == 1:
            return [(things[0], None)]
        return [
            (
                things[mine[0]],
                np.concatenate(
                    [np.arange(self.start[i], self.start[i] + self.counts[i]) for i in mine]
                ),
            )
            for mine in rows.values()
        ]

    def _flows(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return outlet flows and slopes."""
        law, where = self.laws[0]
        if where is None:
            q, s = law.flows_and_slopes(head)
        else:
            q, s = np.empty_like(head), np.empty_like(head)
            for law, where in self.laws:
                q[where], s[where] = law.flows_and_slopes(head[where])
        if self.lumped:
            q = q * self.weight
            s = s * self.weight
        return q, s

    def _friction(self, re: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return f Re and its slope of each segment, as `FrictionLaw.f_re_slope`."""
        law, where = self.frictions[0]
        if where is None:
            return law.f_re_slope(re, self.eps if self.one_eps is None else self.one_eps)
        value, slope = np.empty_like(re), np.empty_like(re)
        for law, where in self.frictions:
            value[where], slope[where] = law.f_re_slope(re[where], self.eps[where])
        return value, slope

    def flows_at(self, inlet: FloatArray, head: FloatArray) -> tuple[FloatArray, float]:
        """Return the outlet flows at given heads, and the most any head misses [m]."""
        trial = self._evaluate(inlet, head)
        return trial.flow, float(trial.norm.max())

    def _evaluate(self, inlet: FloatArray, head: FloatArray) -> _Trial:
        """Return flows and what each head misses of its equation, row by row."""
        flow, slope = self._flows(head)
        segment = self.gather(flow)
        f_re, j_slope = self._friction(segment * self.per_re)
        f_re *= segment
        f_re *= self.scale
        j_slope *= self.scale
        if self.has_local:
            local = self.local * segment
            j_slope += 2.0 * local
            local *= segment
            f_re += local
        lost = f_re.cumsum()
        missing = np.repeat(inlet + (lost[self.start] - f_re[self.start]), self.counts)
        missing -= lost
        missing -= self.rise
        missing -= head
        norm = np.maximum.reduceat(np.abs(missing), self.start)
        return _Trial(head, flow, slope, missing, norm, 1.0 / j_slope)

    def gather(self, flow: FloatArray) -> FloatArray:
        """Return segment flows: the sum of the outlets at and beyond, within the row."""
        total: FloatArray = flow[::-1].cumsum()[::-1]
        total -= np.repeat(total[self.last] - flow[self.last], self.counts)
        return total

    def _system(self, trial: _Trial) -> tuple[FloatArray, FloatArray]:
        """Return diagonal and coupling of the linearised mass balance."""
        coupling = trial.conductance.copy()
        coupling[self.start] = 0.0
        diagonal = trial.flow_slope + trial.conductance
        diagonal[:-1] += coupling[1:]
        return diagonal, coupling

    def _step(self, trial: _Trial) -> FloatArray:
        """Return the Newton correction of all heads."""
        diagonal, coupling = self._system(trial)
        part = trial.missing.copy()
        part[1:] -= trial.missing[:-1]
        part[self.start] = trial.missing[self.start]
        part *= trial.conductance
        heads = part[self.start]
        part[:-1] -= part[1:]
        # Rows do not feel each other: give back what the next row's first entry took.
        part[self.last[:-1]] += heads[1:]
        return solve_symmetric(diagonal, coupling, part)

    def _response(self, trial: _Trial) -> FloatArray:
        """Return the derivative of each head by the inlet head of its row."""
        diagonal, coupling = self._system(trial)
        rhs = np.zeros_like(diagonal)
        rhs[self.start] = trial.conductance[self.start]
        return solve_symmetric(diagonal, coupling, rhs)

    def guess(self, inlet: FloatArray) -> FloatArray:
        """Return starting heads: the least share of friction-free flow that keeps heads.

        One cheap pass: losses of the friction-free flows, scaled row by row so that the
        mean head balances them for an outlet law with exponent one half.
        """
        static = np.repeat(inlet, self.counts) - self.rise
        flow, _ = self._flows(static)
        segment = self.gather(flow)
        loss = np.maximum(0.3164 * np.maximum(segment * self.per_re, 1.0) ** 0.75, 64.0)
        loss *= segment
        loss *= self.scale
        lost = loss.cumsum()
        lost -= np.repeat(lost[self.start] - loss[self.start], self.counts)
        wanted = np.add.reduceat(np.maximum(static, 0.0), self.start)
        ratio = np.add.reduceat(lost, self.start) / np.maximum(wanted, 1e-12)
        return np.asarray(static - lost * np.repeat(_shares(ratio), self.counts))

    def solve(self, inlet: FloatArray, start: FloatArray | None = None) -> RowsState:
        """Solve all rows for their inlet heads, from starting heads if given.

        Parameters
        ----------
        inlet : numpy.ndarray
            Inlet head of each row [m], shape (rows,).
        start : numpy.ndarray, optional
            Starting heads [m], flat.

        Returns
        -------
        RowsState
            Rows that did not converge are marked in `done`.
        """
        size = np.abs(inlet) + self.highest + 1.0
        tolerance = np.maximum(_line.TOLERANCE, 4e-16 * size * np.sqrt(self.counts))
        # The sums run over all rows: their round-off adds up too.
        tolerance = np.maximum(tolerance, 1e-15 * float(np.abs(inlet).sum()))
        trial = self._evaluate(inlet, self.guess(inlet) if start is None else start)
        for _ in range(_MAX_NEWTON):
            still = trial.norm > tolerance
            if not still.any():
                break
            step = self._step(trial)
            new = self._evaluate(inlet, trial.head + step)
            worse = still & (new.norm > trial.norm)
            halvings = 0
            while worse.any() and halvings < _MAX_HALVINGS:
                step *= np.repeat(np.where(worse, 0.5, 1.0), self.counts)
                new = self._evaluate(inlet, trial.head + step)
                worse = still & (new.norm > trial.norm)
                halvings += 1
            if worse.any() and bool((worse == still).all()):
                break
            trial = new
        response = self._response(trial)
        return RowsState(
            trial.head,
            trial.flow,
            response,
            trial.flow_slope,
            np.add.reduceat(trial.flow, self.start),
            np.add.reduceat(trial.flow_slope * response, self.start),
            np.asarray(trial.norm <= tolerance),
        )


def _shares(ratio: FloatArray) -> FloatArray:
    """Return t^1.75 of the root t of t^2 + ratio t^1.75 = 1, in 0..1, by Newton."""
    t: FloatArray = np.maximum(ratio, 1.0) ** (-1.0 / 1.75)
    for _ in range(6):
        a, b = t * t, ratio * t**1.75
        t = np.maximum(t - (a + b - 1.0) * t / (2.0 * a + 1.75 * b), 0.1 * t)
    return np.asarray(t**1.75)


Part = FloatArray | float


def _parts(
    line: _line.Line, most: int | None
) -> tuple[FloatArray, FloatArray, Part, Part, Part, Part]:
    """Return rise, loss scale, Re per flow, friction parameter, local loss and weight.

    The last four are one number where they do not change along the line.
    """
    per_re, scale, eps = line.constants
    n = line.rise.size
    local: Part = 0.0 if line.local is None else line.local
    if most is None or n <= most:
        return line.rise, scale, _plain(per_re), _plain(eps), local, 1.0
    edge = np.arange(most + 1) * n // most
    first = edge[:-1]
    size = (edge[1:] - first).astype(np.float64)

    def mean(values: Part) -> Part:
        if np.ndim(values) == 0:
            return float(values)
        return np.asarray(np.add.reduceat(values, first) / size)

    def between(values: FloatArray) -> FloatArray:
        place = np.add.reduceat(values.cumsum(), first) / size
        place[1:] -= place[:-1].copy()
        return np.asarray(place)

    rise = np.asarray(np.add.reduceat(line.rise, first) / size)
    lumped = local if isinstance(local, float) else between(local)
    return rise, between(scale), mean(per_re), mean(eps), lumped, size


def _plain(values: Part) -> Part:
    """Return an array without axes as a plain number."""
    return float(values) if np.ndim(values) == 0 else values


def _flat(parts: Sequence[Part], counts: NDArray[np.int64]) -> FloatArray:
    """Return numbers or arrays of each row as one value for each outlet."""
    if all(isinstance(part, float) for part in parts):
        return np.repeat(np.array(parts, dtype=np.float64), counts)
    return np.concatenate(
        [np.broadcast_to(p, (n,)) for p, n in zip(parts, counts.tolist(), strict=True)]
    )


def chunks(lines: Sequence[_line.Line]) -> list[tuple[int, int]]:
    """Return (first, stop) of runs of lines with about `CHUNK` emitters together."""
    runs: list[tuple[int, int]] = []
    first = total = 0
    for i, line in enumerate(lines):
        if i > first and total + line.rise.size > CHUNK:
            runs.append((first, i))
            first, total = i, 0
        total += line.rise.size
    runs.append((first, len(lines)))
    return runs
