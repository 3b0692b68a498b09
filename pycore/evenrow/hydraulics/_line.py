"""The numerical core of a lateral: arrays and Newton iteration."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._tridiagonal import solve_symmetric
from evenrow.hydraulics.friction import laminar_scale
from evenrow.hydraulics.laws import CHURCHILL, FrictionLaw

Rows = NDArray[np.bool_]

#: Largest cumulated head residual of a finished solve [m].
TOLERANCE = 1e-10
#: Largest residual of one head equation where the sum cannot reach `TOLERANCE` [m].
EACH_EQUATION = 5e-10
_MAX_NEWTON = 40
_ROUND_OFF = 4e-16
_LEFT = 0.01


class Law(Protocol):
    """What an outlet gives at a head, for outlets that may differ along the line."""

    @property
    def law_exponent(self) -> float:
        """Rough exponent of flow by head near zero [-]."""

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flows and slopes for heads of shape (..., n)."""

    def flows(self, head: FloatArray) -> FloatArray:
        """Return flows alone."""

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one outlet at several heads."""


EMPTY: FloatArray = np.zeros(0)


@dataclass(frozen=True)
class Line:
    """A closed-end pipe with one outlet at the end of each segment (no checks).

    Parameters
    ----------
    law : Law
        The outlets: an `Emitter`, or laterals along a header.
    rise : numpy.ndarray
        Elevation of each emitter above the inlet [m], shape (n,).
    length : numpy.ndarray
        Hydraulic length of each segment [m], shape (n,).
    diameter, roughness : float or numpy.ndarray
        Inside diameter [m] and roughness [m], one number or one for each segment.
    viscosity : float
        Kinematic viscosity [m2/s].
    friction : FrictionLaw
        The friction law.
    local : numpy.ndarray, optional
        c of a local loss c Q^2 on each segment [s2/m5].
    """

    law: Law
    rise: FloatArray
    length: FloatArray
    diameter: FloatArray | float
    roughness: FloatArray | float
    viscosity: float
    friction: FrictionLaw = CHURCHILL
    local: FloatArray | None = None

    @cached_property
    def constants(self) -> tuple[FloatArray | float, FloatArray, FloatArray | float]:
        """Return Re per flow, loss per (f Re) and flow, and the friction law's parameter."""
        return (
            4.0 / (math.pi * self.viscosity) / self.diameter,
            self.length * laminar_scale(self.diameter, self.viscosity),
            self.friction.parameter(self.diameter, self.roughness, self.viscosity),
        )

    @cached_property
    def highest(self) -> float:
        """Return the largest rise or fall from the inlet [m]."""
        return float(np.abs(self.rise).max())


@dataclass
class State:
    """One evaluation of the line at trial heads, shapes (..., n) and (...)."""

    head: FloatArray
    flow: FloatArray
    segment_flow: FloatArray
    missing: FloatArray
    norm: FloatArray
    flow_slope: FloatArray
    conductance: FloatArray


def gather(flow: FloatArray) -> FloatArray:
    """Return the flow of each segment: the sum of the emitters at and beyond its end."""
    total: FloatArray = flow[..., ::-1].cumsum(-1)[..., ::-1]
    return total


def evaluate(line: Line, inlet: FloatArray, head: FloatArray) -> State:
    """Return flows, slopes and what each head misses of its equation."""
    per_re, scale, eps = line.constants
    flow, slope = line.law.flows_and_slopes(head)
    segment = gather(flow)
    f_re, j_slope = line.friction.f_re_slope(segment * per_re, eps)
    f_re *= segment
    f_re *= scale
    j_slope *= scale
    if line.local is not None:
        local = line.local * segment
        j_slope += 2.0 * local
        local *= segment
        f_re += local
    missing = _missing(line, inlet, head, f_re)
    norm = np.abs(missing).max(axis=-1)
    return State(head, flow, segment, missing, norm, slope, 1.0 / j_slope)


def _missing(line: Line, inlet: FloatArray, head: FloatArray, loss: FloatArray) -> FloatArray:
    """Return what each head misses of its equation, summed from the inlet [m]."""
    missing = inlet - line.rise
    missing -= loss.cumsum(-1)
    missing -= head
    return missing


def evaluate_flat(line: Line, inlet: FloatArray, head: FloatArray) -> State:
    """Return the same as `evaluate`, with empty slopes: all that a last look needs."""
    per_re, scale, eps = line.constants
    flow = line.law.flows(head)
    segment = gather(flow)
    loss = line.friction.f_re(segment * per_re, eps)
    loss *= segment
    loss *= scale
    if line.local is not None:
        loss += line.local * segment * segment
    missing = _missing(line, inlet, head, loss)
    return State(head, flow, segment, missing, np.abs(missing).max(axis=-1), EMPTY, EMPTY)


def matrix(state: State) -> tuple[FloatArray, FloatArray]:
    """Return diagonal and coupling of the linearised mass balance."""
    g = state.conductance
    diagonal = state.flow_slope + g
    diagonal[..., :-1] += g[..., 1:]
    coupling = g.copy()
    coupling[..., 0] = 0.0
    return diagonal, coupling


def newton_step(state: State) -> FloatArray:
    """Return the Newton correction of the heads."""
    diagonal, coupling = matrix(state)
    part = state.missing.copy()
    part[..., 1:] -= state.missing[..., :-1]
    part *= state.conductance
    part[..., :-1] -= part[..., 1:]
    return solve_symmetric(diagonal, coupling, part)


def inlet_slope(line: Line, inlet: FloatArray, state: State) -> FloatArray:
    """Return d(inlet flow)/d(inlet head) of a solved line [m2/s], shape (...)."""
    if state.flow_slope is EMPTY:
        state = evaluate(line, inlet, state.head)
    diagonal, coupling = matrix(state)
    rhs = np.zeros_like(diagonal)
    rhs[..., 0] = state.conductance[..., 0]
    response = solve_symmetric(diagonal, coupling, rhs)
    # Summed, not g*(1-response): that difference cancels on short lines.
    return np.asarray((state.flow_slope * response).sum(axis=-1))


def _tolerance(line: Line, inlet: FloatArray) -> FloatArray:
    """Return the residual to reach: fixed, or round-off of the sums where that is more."""
    size = np.abs(inlet) + line.highest + 1.0
    return np.asarray(np.maximum(TOLERANCE, _ROUND_OFF * size * math.sqrt(line.rise.size)))[..., 0]


def guess(line: Line, inlet: FloatArray) -> FloatArray:
    """Return starting heads: friction of the friction-free flows, scaled to fit on average."""
    per_re, scale, _ = line.constants
    static: FloatArray = inlet - line.rise
    segment = gather(line.law.flows(static))
    # Blasius' law will do for a start: f Re = 0.3164 Re^0.75, not less than laminar
    loss = np.log(np.maximum(segment * per_re, 1.0))
    loss *= 0.75
    np.exp(loss, out=loss)
    loss *= 0.3164
    np.maximum(loss, 64.0, out=loss)
    loss *= segment
    loss *= scale
    loss = np.cumsum(loss, axis=-1)
    power = 1.0 / max(line.law.law_exponent, 0.1)
    ratio = loss.sum(-1) / np.maximum(np.maximum(static, 0.0).sum(-1), 1e-12)
    loss *= _share(np.asarray(ratio), power)[..., None]
    static -= loss
    return static


def _share(ratio: FloatArray, power: float) -> FloatArray:
    """Return t^1.75 of the roots t of t^power + ratio t^1.75 = 1, in 0..1."""
    t = np.where(ratio < 1.0, 1.0, np.maximum(ratio, 1.0) ** (-1.0 / 1.75))
    for _ in range(4):
        a, b = t**power, ratio * t**1.75
        step = (a + b - 1.0) * t / (power * a + 1.75 * b)
        t = np.maximum(t - step, 0.1 * t)
    return np.asarray(t**1.75)


def newton(
    line: Line, inlet: FloatArray, head: FloatArray, *, slopes: bool = True
) -> tuple[State, Rows]:
    """Iterate from `head`; return the last state and which rows have converged.

    Where the slopes are not wanted, the last look may be a lean one, which leaves them out.
    """
    if inlet.ndim == 1:
        state, done = _newton_one(line, inlet, head)
        return state, np.asarray(done)
    tolerance = _tolerance(line, inlet)
    state = evaluate(line, inlet, head)
    for _ in range(_MAX_NEWTON):
        open_rows = state.norm > tolerance
        if not open_rows.any():
            break
        step = newton_step(state)
        if not slopes:
            # A relative error of e leaves far less than e^2 of the head: some thousandth of it.
            left = _LEFT * state.norm * (state.norm / (1.0 + np.abs(inlet[..., 0])))
            if bool((left < tolerance).all()):
                trial = evaluate_flat(line, inlet, state.head + step)
                if bool((trial.norm <= tolerance).all()):
                    return trial, trial.norm <= tolerance
        trial = evaluate(line, inlet, state.head + step)
        worse = open_rows & (trial.norm > state.norm)
        halvings = 0
        while worse.any() and halvings < 8:
            step = np.where(worse[..., None], 0.5 * step, step)
            trial = evaluate(line, inlet, state.head + step)
            worse = open_rows & (trial.norm > state.norm)
            halvings += 1
        if worse.any() and bool((worse == open_rows).all()):
            break  # no row gets any further
        state = trial
    reached: Rows = state.norm <= tolerance
    return state, reached if reached.all() else reached | every_equation_holds(state)


def _newton_one(line: Line, inlet: FloatArray, head: FloatArray) -> tuple[State, bool]:
    """Do the same for one inlet head, with plain numbers and a lean last look."""
    size = abs(float(inlet[0])) + line.highest + 1.0
    tolerance = max(TOLERANCE, _ROUND_OFF * size * math.sqrt(line.rise.size))
    state = evaluate(line, inlet, head)
    norm = before = float(state.norm)
    for _ in range(_MAX_NEWTON):
        if norm <= tolerance:
            return state, True
        step = newton_step(state)
        # Converging quadratically, the next residual is about norm * (norm / before)^2.
        if norm * (norm / max(before, 1e-300)) ** 2 < 0.1 * tolerance:
            trial = evaluate_flat(line, inlet, state.head + step)
            if float(trial.norm) <= tolerance:
                return trial, True
        trial = evaluate(line, inlet, state.head + step)
        halvings = 0
        while float(trial.norm) > norm and halvings < 8:
            step = 0.5 * step
            trial = evaluate(line, inlet, state.head + step)
            halvings += 1
        if float(trial.norm) > norm:
            break  # no further
        state = trial
        norm, before = float(state.norm), norm
    return state, bool(every_equation_holds(state))


def every_equation_holds(state: State) -> Rows:
    """Return the rows in which each single head equation holds to `EACH_EQUATION`.

    Lines that run dry have heads next to 0 in which round-off decides; there the sum
    over thousands of segments cannot be brought as low as on an ordinary line.
    """
    each = np.abs(np.diff(state.missing, axis=-1, prepend=0.0)).max(axis=-1)
    return np.asarray((each <= EACH_EQUATION) & (state.norm <= 1e-5))
