"""The numerical core of a lateral: arrays, Newton iteration and the safe fallback."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from evenrow.errors import ConvergenceError
from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._tridiagonal import solve_symmetric
from evenrow.hydraulics.friction import _f_re_slope as _f_re_slope
from evenrow.hydraulics.friction import laminar_scale
from evenrow.hydraulics.laws import CHURCHILL, FrictionLaw

Rows = NDArray[np.bool_]

#: Largest cumulated head residual of a finished solve [m].
TOLERANCE = 1e-10
#: Largest residual of one head equation where the sum cannot reach `TOLERANCE` [m].
EACH_EQUATION = 5e-10
_MAX_NEWTON = 40
_ROUND_OFF = 4e-16
_MARCH_WIDTH = 24
_HEAD_CAP = 1e6
_MARCH_ROUNDS = 14
_SOFTER = (10.0, 3.0, 1.0, 0.3, 0.1, 0.05, 0.025, 0.012, 0.006, 0.003, 0.002, 0.0014)  # [m]
_POLISH = (2, 5, 8, 13)  # rounds of the march after which Newton tries again


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


_EMPTY: FloatArray = np.zeros(0)


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
    return State(head, flow, segment, missing, np.abs(missing).max(axis=-1), _EMPTY, _EMPTY)


def _matrix(state: State) -> tuple[FloatArray, FloatArray]:
    """Return diagonal and coupling of the linearised mass balance."""
    g = state.conductance
    diagonal = state.flow_slope + g
    diagonal[..., :-1] += g[..., 1:]
    coupling = g.copy()
    coupling[..., 0] = 0.0
    return diagonal, coupling


def newton_step(state: State) -> FloatArray:
    """Return the Newton correction of the heads."""
    diagonal, coupling = _matrix(state)
    part = state.missing.copy()
    part[..., 1:] -= state.missing[..., :-1]
    part *= state.conductance
    part[..., :-1] -= part[..., 1:]
    return solve_symmetric(diagonal, coupling, part)


def inlet_slope(line: Line, inlet: FloatArray, state: State) -> FloatArray:
    """Return d(inlet flow)/d(inlet head) of a solved line [m2/s], shape (...)."""
    if state.flow_slope is _EMPTY:
        state = evaluate(line, inlet, state.head)
    diagonal, coupling = _matrix(state)
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
    if ratio.ndim == 0:
        loss *= _share(float(ratio), power)
    else:
        loss *= np.asarray([_share(r, power) for r in ratio.tolist()])[:, None]
    static -= loss
    return static


def _share(ratio: float, power: float) -> float:
    """Return t^1.75 of the root t of t^power + ratio t^1.75 = 1, in 0..1."""
    t = 1.0 if ratio < 1.0 else ratio ** (-1.0 / 1.75)
    for _ in range(6):
        a, b = t**power, ratio * t**1.75
        step = (a + b - 1.0) * t / (power * a + 1.75 * b)
        t = max(t - step, 0.1 * t)
        if abs(step) < 1e-4 * t:
            break
    return float(t**1.75)


def newton(line: Line, inlet: FloatArray, head: FloatArray) -> tuple[State, Rows]:
    """Iterate from `head`; return the last state and which rows have converged."""
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
    return state, reached if reached.all() else reached | _every_equation_holds(state)


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
    return state, bool(_every_equation_holds(state))


def _every_equation_holds(state: State) -> Rows:
    """Return the rows in which each single head equation holds to `EACH_EQUATION`.

    Lines that run dry have heads next to 0 in which round-off decides; there the sum
    over thousands of segments cannot be brought as low as on an ordinary line.
    """
    each = np.abs(np.diff(state.missing, axis=-1, prepend=0.0)).max(axis=-1)
    return np.asarray((each <= EACH_EQUATION) & (state.norm <= 1e-5))


def solve(line: Line, inlet: FloatArray) -> State:
    """Solve the line for inlet heads of shape (1,) or (k, 1).

    Newton from a guess; rows that fail are bracketed by a march from the closed end, in
    which the inlet head rises with the end head without exception, and polished.
    """
    state, done = newton(line, inlet, guess(line, inlet))
    if done.all():
        return state
    if inlet.ndim == 1:
        return _safe(line, inlet)
    rows = [_with_slopes(line, inlet[k]) for k in np.flatnonzero(~done)]
    for name in ("head", "flow", "segment_flow", "missing", "norm", "flow_slope", "conductance"):
        whole = getattr(state, name)
        whole[~done] = [getattr(row, name) for row in rows]
    return state


def _with_slopes(line: Line, inlet: FloatArray) -> State:
    """Return the safe solution of one row with its slopes."""
    state = _safe(line, inlet)
    return state if state.flow_slope is not _EMPTY else evaluate(line, inlet, state.head)


def march(line: Line, end_heads: FloatArray) -> tuple[FloatArray, FloatArray]:
    """March from the closed end; return inlet heads (m,) and the heads (n, m)."""
    per_re, scale, eps = line.constants
    n = line.rise.size
    climb = np.diff(line.rise, prepend=0.0).tolist()
    re_of = np.broadcast_to(per_re, (n,)).tolist()
    eps_of = np.broadcast_to(eps, (n,)).tolist()
    loss_of = scale.tolist()
    local_of = [0.0] * n if line.local is None else line.local.tolist()
    heads = np.empty((n, end_heads.size))
    head = end_heads.copy()
    total = np.zeros_like(head)
    for i in range(n - 1, -1, -1):
        heads[i] = head
        total += line.law.flow_of(i, head)
        loss = line.friction.f_re(total * re_of[i], eps_of[i])
        loss *= total
        loss *= loss_of[i]
        loss += local_of[i] * total * total
        head += loss
        head += climb[i]
        np.minimum(head, _HEAD_CAP, out=head)  # far above any target; keeps powers finite
    return head, heads


def _softly(line: Line, inlet: FloatArray) -> State | None:
    """Solve one inlet head by a chain of milder outlet laws, or return None."""
    soften = getattr(line.law, "softened", None)
    if soften is None:
        return None
    head = guess(line, inlet)
    for below in _SOFTER:
        mild = replace(line, law=soften(below))
        head = newton(mild, inlet, head)[0].head
    state, done = newton(line, inlet, head)
    return state if done.all() else None


def _safe(line: Line, inlet: FloatArray) -> State:
    """Solve one inlet head of shape (1,) by milder laws, or by bracketing the end head."""
    solved = _softly(line, inlet)
    if solved is not None:
        return solved
    target = float(inlet[0])
    high = target - float(line.rise[-1])
    low = min(0.0, float(line.rise.min())) - float(line.rise[-1])
    low = min(low, high)
    best: State | None = None
    for turn in range(_MARCH_ROUNDS):
        ends = _ends(low, high)
        reached, heads = march(line, ends)
        k = int(np.clip(np.searchsorted(reached, target), 1, ends.size - 1))
        low, high = float(ends[k - 1]), float(ends[k])
        gap = float(reached[k] - reached[k - 1])
        share = min(max((target - float(reached[k - 1])) / gap, 0.0), 1.0) if gap > 0.0 else 0.0
        start = heads[:, k - 1] + share * (heads[:, k] - heads[:, k - 1])
        # The march itself solves every segment; only its inlet head may be off.
        state = evaluate(line, inlet, start)
        if bool(_every_equation_holds(state)):
            return state
        if turn in _POLISH:
            state, done = newton(line, inlet, start)
            if done.all():
                return state
        if best is None or float(state.norm) < float(best.norm):
            best = state
    worst = math.nan if best is None else float(best.norm)
    raise ConvergenceError(
        f"the lateral did not reach its tolerance: {worst:.2g} m of head are left over",
        code="not_converged",
        hint="report this line with its inputs",
    )


def _ends(low: float, high: float) -> FloatArray:
    """Return trial end heads from `low` to `high`, dense next to 0 where a line runs dry."""
    if high <= 0.0 or low > 0.25 * high:
        return np.linspace(low, high, _MARCH_WIDTH, dtype=np.float64)
    if low > 0.0:
        inner = np.geomspace(low, high, _MARCH_WIDTH)
        inner[0], inner[-1] = low, high
        return np.asarray(inner, dtype=np.float64)
    positive = high * np.geomspace(1e-90, 1.0, _MARCH_WIDTH - 5)
    positive[-1] = high
    negative = np.linspace(low, 0.0, 5) if low < 0.0 else np.zeros(1)
    return np.concatenate([negative, positive])
