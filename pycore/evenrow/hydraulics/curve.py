"""The inlet flow of a lateral as a smooth function of its inlet head."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics._line import Line, inlet_slope
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics.lateral import Lateral, LateralSolution, solution_of

Index = NDArray[np.intp]

_MAX_NODES = 4000
# Where some emitters are dry every emitter that starts leaves a kink; there this will do.
_DRY_TOLERANCE = 1e-4
#: Share of a piece's width over which a wrong slope at its middle may lead the curve astray.
_BESIDE = 0.1
#: Most heads at outlets that a curve keeps: 80 MB for a hundred curves.
_KEPT = 100_000
_MIN_WIDTH = 1e-7  # [m] narrower pieces are not split: a kink of the law sits there


@dataclass(frozen=True)
class LateralCurve:
    """Inlet flow against inlet head of one lateral; build it with `lateral_curve`.

    Attributes
    ----------
    lateral : Lateral
        The lateral it describes.
    heads, flows, slopes : numpy.ndarray
        Nodes of the curve [m, m3/s, m2/s], heads rising.
    error : float
        Largest interpolation error met at the middle of a piece before that middle was
        made a node, relative to the flow there, where the whole line is wet [-].
    lowest, highest : numpy.ndarray
        Lowest and highest head at an outlet at each node [m].
    outlet_heads : numpy.ndarray or None
        Head at every outlet at each node [m], shape (nodes, n); None where that would be much
        to keep.
    """

    lateral: Lateral
    heads: FloatArray
    flows: FloatArray
    slopes: FloatArray
    error: float
    lowest: FloatArray
    highest: FloatArray
    outlet_heads: FloatArray | None = None

    @cached_property
    def roots(self) -> FloatArray:
        """Square roots of the heads [m^0.5], against which most flows are nearly straight."""
        return np.sqrt(self.heads)

    @cached_property
    def root_slopes(self) -> FloatArray:
        """Derivatives of the flows by these roots [m2.5/s]."""
        return 2.0 * self.roots * self.slopes

    @property
    def head_low(self) -> float:
        """Lowest head of the curve [m]."""
        return float(self.heads[0])

    @property
    def head_high(self) -> float:
        """Highest head of the curve [m]."""
        return float(self.heads[-1])

    def outlet_range(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return lowest and highest head at an outlet [m] for inlet heads, nearly.

        As shares of the inlet head, straight between the nodes; 0 at a dry inlet.
        """
        x = self.roots
        root = np.sqrt(np.maximum(head, 0.0))
        low = np.interp(root, x, self.lowest / self.heads)
        high = np.interp(root, x, self.highest / self.heads)
        return np.maximum(low * head, 0.0), np.maximum(high * head, 0.0)

    def solved(self, head: FloatArray) -> LateralSolution:
        """Return the lateral emitter by emitter at inlet heads [m] of shape (k,), exactly.

        Newton's method begins with the heads between those of the nodes, next to the solution.

        Raises
        ------
        ConvergenceError
            As of `solve_lateral`.
        """
        state = solve(self.lateral.line, head[:, None], self.near(head), slopes=False)
        return solution_of(self.lateral, head, state)

    def near(self, head: FloatArray) -> FloatArray | None:
        """Return about the heads at the outlets [m], shape (k, n), for inlet heads [m].

        Cubic through the four nodes around; None outside them, or where they were not kept.
        """
        if self.outlet_heads is None or not head.size:
            return None
        if float(head.min()) < self.head_low or float(head.max()) > self.head_high:
            return None
        root, x = np.sqrt(head), self.roots
        first = np.clip(np.searchsorted(x, root) - 2, 0, x.size - 4)
        at = first[:, None] + np.arange(4)
        node = x[at]
        share = np.zeros((head.size, x.size))
        for k in range(4):
            others = [j for j in range(4) if j != k]
            over = root[:, None] - node[:, others]
            share[np.arange(head.size), at[:, k]] = (over / (node[:, [k]] - node[:, others])).prod(
                axis=1
            )
        return np.asarray(share @ self.outlet_heads)

    def flow(self, head: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the inlet flow at each inlet head and its derivative.

        Parameters
        ----------
        head : array_like
            Pressure head at the inlet [m]. Below the curve the flow falls to 0 at head
            0 by a power law that meets it smoothly; above, it goes on straight.

        Returns
        -------
        flow, slope : numpy.ndarray
            Flow [m3/s] and derivative by head [m2/s].

        Raises
        ------
        InputError
            If a head is not finite.
        """
        h = array("head", head)
        flow, slope = self.flows_and_slopes(np.atleast_1d(h))
        return flow.reshape(h.shape), slope.reshape(h.shape)

    def flows_and_slopes(self, h: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope without checks, for the solver (see `flow`)."""
        x, y, d = self.roots, self.flows, self.root_slopes
        root = np.sqrt(np.minimum(np.maximum(h, self.heads[0]), self.heads[-1]))
        i = np.minimum(np.maximum(np.searchsorted(x, root, side="right") - 1, 0), x.size - 2)
        left = x[i]
        width = x[i + 1] - left
        t = np.minimum(np.maximum((root - left) / width, 0.0), 1.0)
        d0, d1, y0 = d[i], d[i + 1], y[i]
        rise = (y[i + 1] - y0) / width
        c2 = 3.0 * rise - 2.0 * d0 - d1
        c3 = d0 + d1 - 2.0 * rise
        q = np.asarray(y0 + width * t * (d0 + t * (c2 + t * c3)))
        s = np.asarray((d0 + t * (2.0 * c2 + 3.0 * t * c3)) / (2.0 * root))
        q += np.maximum(h - self.heads[-1], 0.0) * s
        low = h < self.heads[0]
        if low.any():
            q_low, s_low = self._below(h[low])
            q[low] = q_low
            s[low] = s_low
        return q, s

    def _below(self, h: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope below the curve."""
        x, y = float(self.heads[0]), float(self.flows[0])
        if y <= 0.0:
            return np.zeros_like(h), np.zeros_like(h)
        power = min(max(float(self.slopes[0]) * x / y, 0.05), 20.0)
        part = np.maximum(h / x, 1e-14)
        q = y * part**power * (h > 0.0)
        return q, power * q / (part * x)


def lateral_curve(
    lateral: Lateral, head_low: float, head_high: float, tolerance: float = 1e-7
) -> LateralCurve:
    """Solve a lateral at as many inlet heads as a smooth curve between them needs.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    head_low, head_high : float
        Range of inlet head [m], more than 0 and rising.
    tolerance : float
        Largest interpolation error, relative to the flow (and to a thousandth of the
        largest flow where less flows) [-], 1e-10 to 0.1. Where part of the line is dry
        not less than 1e-4 is kept to: each emitter that starts leaves a kink.

    Returns
    -------
    LateralCurve
        Piecewise cubic with the exact derivative at each node. Each piece was
        compared with the exact solution at its middle and split until they agreed.

    Raises
    ------
    InputError
        If the range or the tolerance is not usable.
    ConvergenceError
        If a solve fails or more than 4,000 nodes would be needed.

    Notes
    -----
    Cubic Hermite interpolation in the square root of the head, in which the flow of orifices is
    nearly straight. Halving a smooth piece cuts its error by 16, so the error that is measured
    bounds the one that is left.
    """
    return line_curve(lateral, lateral.line, head_low, head_high, tolerance)


def line_curve(
    lateral: Lateral, line: Line, head_low: float, head_high: float, tolerance: float = 1e-7
) -> LateralCurve:
    """Return the curve of a line made of a lateral, such as one with its end open.

    Parameters
    ----------
    lateral : Lateral
        The lateral the curve is filed under.
    line : Line
        What is solved.
    head_low, head_high, tolerance : float
        See `lateral_curve`.

    Returns
    -------
    LateralCurve
        See `lateral_curve`.

    Raises
    ------
    InputError, ConvergenceError
        See `lateral_curve`.
    """
    low = number("head_low", head_low, 0.0, 10_000.0, open_low=True, unit="m")
    high = number("head_high", head_high, 0.0, 10_000.0, open_low=True, unit="m")
    limit = number("tolerance", tolerance, 1e-10, 0.1)
    if high <= low * (1.0 + 1e-9):
        raise InputError(
            "must be above head_low",
            code="out_of_range",
            field="head_high",
            given=head_high,
            accepted=f"more than {low:g} m",
        )
    heads: FloatArray = np.asarray(np.geomspace(low, high, 5), dtype=np.float64)
    heads[0], heads[-1] = low, high
    at = np.arange(heads.size - 1)
    # The first middles are looked at in any case: solved along with the ends of their pieces.
    both = _solve(line, np.concatenate((heads, _middles(heads, at))))
    nodes = _Nodes(*(values[: heads.size] for values in both))
    new = _Nodes(*(values[heads.size :] for values in both))
    floor = max(1e-3 * float(nodes.flows.max()), 1e-300)
    worst = 0.0
    while True:
        coarse = nodes.curve(lateral, 0.0)
        guess, slope = coarse.flows_and_slopes(new.heads)
        width = nodes.heads[at + 1] - nodes.heads[at]
        # A piece with a kink may be right at its middle and wrong beside it; its slope is not.
        beside = _BESIDE * np.abs(slope - new.slopes) * width
        missed = np.maximum(np.abs(guess - new.flows), beside)
        error = missed / np.maximum(np.abs(new.flows), floor)
        full = (coarse.lowest[at] > 0.0) & (coarse.lowest[at + 1] > 0.0)
        split = (error > np.where(full, limit, max(limit, _DRY_TOLERANCE))) & (width > _MIN_WIDTH)
        worst = max(worst, float(error[~split & full].max(initial=0.0)))
        nodes = nodes.with_middles(at, new)
        # Both halves of a piece that was split are looked at next.
        first = (at + np.arange(at.size))[split]
        at = np.sort(np.concatenate((first, first + 1)))
        if not at.size:
            return nodes.curve(lateral, worst)
        if nodes.heads.size > _MAX_NODES:
            raise ConvergenceError(
                f"the curve of the lateral needs more than {_MAX_NODES} nodes",
                code="not_converged",
                hint="ask for a larger tolerance or a smaller range",
            )
        middles = _middles(nodes.heads, at)
        new = _solve(line, middles, nodes.curve(lateral, 0.0).near(middles))


class _Nodes(NamedTuple):
    """Inlet heads and what was solved there; `outlets`, the heads, has shape (nodes, n)."""

    heads: FloatArray
    flows: FloatArray
    slopes: FloatArray
    outlets: FloatArray

    def with_middles(self, pieces: Index, middles: _Nodes) -> _Nodes:
        """Return these with a node more in each of those pieces."""
        pairs = zip(self, middles, strict=True)
        return _Nodes(*(np.insert(mine, pieces + 1, theirs, axis=0) for mine, theirs in pairs))

    def curve(self, lateral: Lateral, error: float) -> LateralCurve:
        """Return the curve through them."""
        outlets = self.outlets
        return LateralCurve(
            lateral, self.heads, self.flows, self.slopes, error,
            outlets.min(axis=1), outlets.max(axis=1),
            outlets if outlets.size <= _KEPT else None,
        )  # fmt: skip


def _middles(heads: FloatArray, pieces: Index) -> FloatArray:
    """Return the heads in the middle of pieces between nodes, by their square roots."""
    return np.asarray((0.5 * (np.sqrt(heads[pieces]) + np.sqrt(heads[pieces + 1]))) ** 2)


def _solve(line: Line, heads: FloatArray, start: FloatArray | None = None) -> _Nodes:
    """Return exact nodes, solved in batches."""
    batch = max(1, 60_000 // line.rise.size)
    flows, slopes, outlets = [], [], []
    for first in range(0, heads.size, batch):
        part = slice(first, first + batch)
        inlet = heads[part, None]
        state = solve(line, inlet, None if start is None else start[part])
        flows.append(state.segment_flow[..., 0])
        slopes.append(inlet_slope(line, inlet, state))
        outlets.append(state.head)
    return _Nodes(heads, np.concatenate(flows), np.concatenate(slopes), np.concatenate(outlets))
