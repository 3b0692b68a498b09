"""Curves of many laterals looked up together, and the outlets they make on many headers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics.curve import LateralCurve

Index = NDArray[np.int64]

#: Index of a take-off without a lateral.
NO_LATERAL = -1


class Bank:
    """Curves of many laterals, looked up together."""

    def __init__(self, curves: Sequence[LateralCurve]) -> None:
        self.heads = np.concatenate([curve.heads for curve in curves])
        self.flows = np.concatenate([curve.flows for curve in curves])
        self.slopes = np.concatenate([curve.root_slopes for curve in curves])
        self.roots = np.concatenate([curve.roots for curve in curves])
        sizes = np.array([curve.heads.size for curve in curves])
        self.first = np.concatenate(([0], np.cumsum(sizes)[:-1]))
        self.last = self.first + sizes - 1
        self.low, self.high = self.heads[self.first], self.heads[self.last]
        # One rising list for all: each curve's roots lifted above those of the one before.
        self.lift = np.arange(len(curves)) * 2.0 * float(self.roots.max())
        self.lifted = self.roots + np.repeat(self.lift, sizes)
        y0 = np.maximum(self.flows[self.first], 1e-300)
        # d(ln q) / d(ln h) there, half that by the root.
        steep = 0.5 * self.slopes[self.first] * self.roots[self.first] / y0
        self.power = np.clip(steep, 0.05, 20.0)

    def look_up(self, head: FloatArray, which: Index) -> tuple[FloatArray, FloatArray]:
        """Return flow [m3/s] and slope [m2/s] at heads [m] on the curves `which`."""
        low, high = self.low[which], self.high[which]
        inside = np.sqrt(np.minimum(np.maximum(head, low), high))
        i = np.searchsorted(self.lifted, inside + self.lift[which], side="right") - 1
        i = np.minimum(np.maximum(i, self.first[which]), self.last[which] - 1)
        left = self.roots[i]
        width = self.roots[i + 1] - left
        t = (inside - left) / width
        d0, d1, y0 = self.slopes[i], self.slopes[i + 1], self.flows[i]
        rise = (self.flows[i + 1] - y0) / width
        c2 = 3.0 * rise - 2.0 * d0 - d1
        c3 = d0 + d1 - 2.0 * rise
        q = y0 + width * t * (d0 + t * (c2 + t * c3))
        s = (d0 + t * (2.0 * c2 + 3.0 * t * c3)) / (2.0 * inside)
        q += np.maximum(head - high, 0.0) * s
        below = head < low
        if below.any():
            curve = which[below]
            part = np.maximum(head[below] / self.low[curve], 1e-14)
            power = self.power[curve]
            flow = self.flows[self.first[curve]] * part**power * (head[below] > 0.0)
            q[below] = flow
            s[below] = power * flow / (part * self.low[curve])
        return q, s


class Outlets:
    """The laterals of all headers as outlets of a `Line` of shape (rows, n)."""

    law_exponent = 0.5

    def __init__(self, bank: Bank, which: Index) -> None:
        self.bank = bank
        self.which = which
        self.none = which == NO_LATERAL
        self.any_none = bool(self.none.any())
        self.known = np.maximum(which, 0)

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope of all outlets."""
        q, s = self.bank.look_up(head, self.known)
        if self.any_none:
            q[self.none] = 0.0
            s[self.none] = 0.0
        return q, s

    def flows(self, head: FloatArray) -> FloatArray:
        """Return the flow of all outlets."""
        return self.flows_and_slopes(head)[0]

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one outlet; a line of many rows has none."""
        raise NotImplementedError
