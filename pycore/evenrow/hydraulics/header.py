"""The header: a pipe with laterals as pressure-dependent outlets, fed anywhere."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import InputError
from evenrow.hydraulics import _line
from evenrow.hydraulics._check import FloatArray, array, whole
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics._tridiagonal import solve_symmetric
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, G
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.laws import FrictionLaw, friction_law


@dataclass(frozen=True)
class Header:
    """A header with n take-offs in a row; the main meets it at one place.

    Segment i leads to take-off i from its neighbour on the side of the feed (or from the
    feed itself), so there are as many segments as take-offs.

    Parameters
    ----------
    length : array_like
        Length of each segment [m], shape (n,), at least 0.
    diameter : array_like
        Inside diameter of each segment [m], one number or shape (n,).
    rise : array_like
        Rise along each segment in the direction away from the feed [m], one number
        or shape (n,).
    feed : int
        Place of the main: 0 before the first take-off (end-fed), k between take-offs k-1
        and k (tee-fed), n after the last.
    takeoff_k : array_like
        Loss coefficient of each take-off [-], one number or shape (n,).
    takeoff_diameter : array_like, optional
        Inside diameter in which the velocity head of the take-off is reckoned [m]; needed
        if `takeoff_k` is not 0.
    roughness : array_like
        Equivalent roughness [m].
    friction : str or FrictionLaw
        Friction law, by its name in `FRICTION_LAWS`.

    Raises
    ------
    InputError
        If a value is not finite, out of range or of the wrong length.
    """

    length: ArrayLike
    diameter: ArrayLike
    rise: ArrayLike = 0.0
    feed: int = 0
    takeoff_k: ArrayLike = 0.0
    takeoff_diameter: ArrayLike | None = None
    roughness: ArrayLike = ROUGHNESS_SMOOTH
    friction: str | FrictionLaw = "churchill"
    count: int = field(init=False)

    def __post_init__(self) -> None:
        length: FloatArray = np.atleast_1d(array("length", self.length, 0.0, unit="m"))
        n = int(length.size)
        whole("feed", self.feed, 0, n)
        # A segment of no length still needs some resistance to have a defined flow.
        keep = {
            "length": np.maximum(length, 1e-6),
            "diameter": _spread("diameter", self.diameter, n, 0.0, 5.0, True),
            "rise": _spread("rise", self.rise, n, -10_000.0, 10_000.0, False),
            "takeoff_k": _spread("takeoff_k", self.takeoff_k, n, 0.0, 1e6, False),
            "roughness": _spread("roughness", self.roughness, n, 0.0, 0.1, False),
        }
        if self.takeoff_diameter is not None:
            size = _spread("takeoff_diameter", self.takeoff_diameter, n, 0.0, 5.0, True)
            keep["takeoff_diameter"] = size
        elif bool(keep["takeoff_k"].any()):
            raise InputError(
                "is needed with a take-off loss",
                code="missing",
                field="takeoff_diameter",
                accepted="more than 0 m",
            )
        for name, value in keep.items():
            object.__setattr__(self, name, value)
        object.__setattr__(self, "count", n)
        object.__setattr__(self, "friction", friction_law(self.friction))

    @classmethod
    def of_arrays(
        cls, length: FloatArray, diameter: FloatArray, rise: FloatArray, feed: int,
        takeoff_k: float = 0.0, takeoff_diameter: float | None = None,
    ) -> Header:  # fmt: skip
        """Return a header of arrays that are known to be right.

        For searches that build thousands of headers from a layout: nothing is checked.

        Parameters
        ----------
        length, diameter, rise : numpy.ndarray
            As of the class [m], shape (n,).
        feed : int
            Place of the main.
        takeoff_k, takeoff_diameter : float
            As of the class, the same for all take-offs.
        """
        header = object.__new__(cls)
        known = {
            "length": np.maximum(length, 1e-6),
            "diameter": diameter,
            "rise": rise,
            "feed": feed,
            "takeoff_k": np.full(length.size, takeoff_k),
            "takeoff_diameter": (
                None if takeoff_diameter is None else np.full(length.size, takeoff_diameter)
            ),
            "roughness": np.full(length.size, ROUGHNESS_SMOOTH),
            "friction": friction_law("churchill"),
            "count": int(length.size),
        }
        for name, value in known.items():
            object.__setattr__(header, name, value)
        return header

    @property
    def takeoff_loss(self) -> FloatArray:
        """Loss of each take-off as c of c Q^2 [s2/m5], shape (n,)."""
        if self.takeoff_diameter is None:
            return np.zeros(self.count)
        area = 0.25 * math.pi * np.asarray(self.takeoff_diameter) ** 2
        return np.asarray(np.asarray(self.takeoff_k) / (2.0 * G * area**2))


def _spread(
    name: str, value: ArrayLike, n: int, low: float, high: float, open_low: bool
) -> FloatArray:
    """Return one number or n numbers as n checked numbers."""
    got = array(name, value, low, high, open_low=open_low)
    if got.shape not in ((), (1,), (n,)):
        raise InputError(
            "must be one number or one for each segment",
            code="length",
            field=name,
            given=got.shape,
            accepted=f"1 or {n} numbers",
        )
    return np.array(np.broadcast_to(got, (n,)))


class Laterals(Protocol):
    """What the laterals of a header take at the heads of their inlets."""

    def pick(self, order: NDArray[np.int64]) -> Laterals:
        """Return the same for some take-offs in another order."""

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow [m3/s] and slope [m2/s] for inlet heads of shape (..., n)."""

    def one(self, outlet: int, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope of one lateral at several inlet heads."""


class CurveLaterals:
    """Laterals described by curves; a curve index of -1 stands for no lateral."""

    def __init__(self, curves: Sequence[LateralCurve], index: NDArray[np.int64]) -> None:
        self.curves = curves
        self.index = index
        self.groups = [(int(c), np.flatnonzero(index == c)) for c in np.unique(index)]

    def pick(self, order: NDArray[np.int64]) -> CurveLaterals:
        """Return the same for some take-offs in another order."""
        return CurveLaterals(self.curves, self.index[order])

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope for inlet heads of shape (..., n)."""
        if len(self.groups) == 1 and self.groups[0][0] >= 0:
            return self.curves[self.groups[0][0]].flows_and_slopes(head)
        q, s = np.zeros_like(head), np.zeros_like(head)
        for curve, where in self.groups:
            if curve >= 0:
                q[..., where], s[..., where] = self.curves[curve].flows_and_slopes(head[..., where])
        return q, s

    def one(self, outlet: int, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope of one lateral at several inlet heads."""
        curve = int(self.index[outlet])
        if curve < 0:
            return np.zeros_like(head), np.zeros_like(head)
        return self.curves[curve].flows_and_slopes(head)

    def outside(self, state: HeaderState) -> bool:
        """Return whether a lateral that flows has a head outside the range of its curve."""
        low = np.array([c.head_low for c in self.curves])[self.index]
        high = np.array([c.head_high for c in self.curves])[self.index]
        beyond = (state.inlet_heads < low) | (state.inlet_heads > high)
        return bool((beyond & (state.flows > 0.0)).any())


class TakeOffs:
    """The laterals along one side of a header as outlets of a `Line`."""

    law_exponent = 0.5

    def __init__(self, laterals: Laterals, loss: FloatArray) -> None:
        self._bare = laterals.flows_and_slopes
        self._one = laterals.one
        self.loss = loss
        self.lossy = bool(loss.any())

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope for heads in the header, shape (..., n)."""
        q, s = self._bare(head)
        if not self.lossy:
            return q, s
        return _behind_loss(self._bare, head, q, s, self.loss)

    def flows(self, head: FloatArray) -> FloatArray:
        """Return the flow for heads in the header, shape (..., n)."""
        return self.flows_and_slopes(head)[0]

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one take-off at several header heads."""
        q, s = self._one(outlet, head)
        if self.loss[outlet] > 0.0:
            q, _ = _behind_loss(lambda h: self._one(outlet, h), head, q, s, self.loss[outlet])
        return q

    def head_behind(self, head: FloatArray, flow: FloatArray) -> FloatArray:
        """Return the heads at the inlets of the laterals."""
        return np.asarray(head - self.loss * flow * flow)


def _behind_loss(
    law: Callable[[FloatArray], tuple[FloatArray, FloatArray]],
    head: FloatArray,
    q: FloatArray,
    s: FloatArray,
    loss: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Solve q = law(head - loss q^2) by Newton kept inside 0..law(head)."""
    low, high = np.zeros_like(q), q.copy()
    for _ in range(60):
        value, s = law(head - loss * q * q)
        gap = q - value
        high = np.where(gap > 0.0, np.minimum(high, q), high)
        low = np.where(gap < 0.0, np.maximum(low, q), low)
        if bool((np.abs(gap) <= 1e-13 * np.maximum(q, 1e-9)).all()):
            break
        new = q - gap / (1.0 + 2.0 * loss * q * s)
        q = np.where((new > low) & (new < high), new, 0.5 * (low + high))
    return q, s / (1.0 + 2.0 * loss * q * s)


@dataclass
class HeaderState:
    """A header solved for one inlet head, arrays in the order of the take-offs."""

    total: float
    slope: float
    heads: FloatArray
    inlet_heads: FloatArray
    flows: FloatArray
    segment_flows: FloatArray
    residual: float
    inlet: float
    #: Derivative of the heads by the inlet head [-], by take-off or, in a tree, by node.
    response: FloatArray
    #: Heads of all nodes of a tree [m].
    nodes: FloatArray | None = None


class HeaderModel:
    """The two sides of a header, ready to be solved for many inlet heads."""

    def __init__(
        self,
        header: Header,
        laterals: Laterals,
        viscosity: float,
    ) -> None:
        n, feed = header.count, header.feed
        self.count = n
        loss = header.takeoff_loss
        self.sides: list[tuple[NDArray[np.int64], _line.Line, TakeOffs]] = []
        for order in (np.arange(feed, n), np.arange(feed - 1, -1, -1)):
            if order.size == 0:
                continue
            law = TakeOffs(laterals.pick(order), loss[order])
            line = _line.Line(
                law,
                np.cumsum(np.asarray(header.rise)[order]),
                np.asarray(header.length)[order],
                one_or_all(np.asarray(header.diameter)[order]),
                one_or_all(np.asarray(header.roughness)[order]),
                viscosity,
                friction_law(header.friction),
            )
            self.sides.append((order, line, law))
        #: Inlet head at or below which no take-off gets any pressure [m].
        self.dry_head = min(0.0, *(float(line.rise.min()) for _, line, _ in self.sides))

    def solve(self, inlet_head: float, near: HeaderState | None = None) -> HeaderState:
        """Return heads and flows for one head where the main meets the header [m].

        The solution for a head nearby, if given, serves as the start.
        """
        n = self.count
        out = HeaderState(
            0.0,
            0.0,
            np.zeros(n),
            np.zeros(n),
            np.zeros(n),
            np.zeros(n),
            0.0,
            inlet_head,
            np.zeros(n),
        )
        for order, line, law in self.sides:
            inlet = np.array([inlet_head])
            state = solve(line, inlet) if near is None else self._from(line, inlet, near, order)
            out.heads[order] = state.head
            out.flows[order] = state.flow
            out.inlet_heads[order] = law.head_behind(state.head, state.flow)
            out.segment_flows[order] = state.segment_flow
            if state.flow_slope.size == 0:  # the last look left the slopes out
                state = _line.evaluate(line, inlet, state.head)
            response = _inlet_response(state)
            out.response[order] = response
            out.slope += float(state.flow_slope @ response)
            out.residual = max(out.residual, float(state.norm))
        out.total = float(out.flows.sum())
        return out

    @staticmethod
    def _from(
        line: _line.Line, inlet: FloatArray, near: HeaderState, order: NDArray[np.int64]
    ) -> _line.State:
        """Solve one side from a solution nearby, or from nothing if that fails."""
        start = near.heads[order] + near.response[order] * (inlet - near.inlet)
        state, done = _line.newton(line, inlet, start)
        return state if done.all() else solve(line, inlet)


def one_or_all(values: FloatArray) -> FloatArray | float:
    """Return equal values as one number: laws reckon with that once, not for each segment."""
    first = float(values[0])
    return first if bool((values == first).all()) else values


def _inlet_response(state: _line.State) -> FloatArray:
    """Return the derivative of each head of a solved line by its inlet head [-]."""
    diagonal, coupling = _line.matrix(state)
    rhs = np.zeros_like(diagonal)
    rhs[0] = state.conductance[0]
    return solve_symmetric(diagonal, coupling, rhs)
