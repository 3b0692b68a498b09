"""Solving a lateral without fail: Newton first, then milder outlets, then brackets."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from evenrow.errors import ConvergenceError
from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._line import (
    EMPTY,
    Line,
    State,
    evaluate,
    every_equation_holds,
    guess,
    newton,
)
from evenrow.words import tr

_MARCH_WIDTH = 24
_HEAD_CAP = 1e6
_MARCH_ROUNDS = 14
_SOFTER = (10.0, 3.0, 1.0, 0.3, 0.1, 0.05, 0.025, 0.012, 0.006, 0.003, 0.002, 0.0014)  # [m]
_POLISH = (2, 5, 8, 13)  # rounds of the march after which Newton tries again


def solve(
    line: Line, inlet: FloatArray, start: FloatArray | None = None, *, slopes: bool = True
) -> State:
    """Solve the line for inlet heads of shape (1,) or (k, 1).

    Newton from `start`, or from a guess; rows that fail are bracketed by a march from the
    closed end, in which the inlet head rises with the end head without exception, and polished.
    """
    begun = guess(line, inlet) if start is None else start
    state, done = newton(line, inlet, begun, slopes=slopes)
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
    return state if state.flow_slope is not EMPTY else evaluate(line, inlet, state.head)


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
        if bool(every_equation_holds(state)):
            return state
        if turn in _POLISH:
            state, done = newton(line, inlet, start)
            if done.all():
                return state
        if best is None or float(state.norm) < float(best.norm):
            best = state
    worst = math.nan if best is None else float(best.norm)
    raise ConvergenceError(
        tr(
            "the lateral did not reach its tolerance: {worst:.2g} m of head are left over",
            worst=worst,
        ),
        code="not_converged",
        hint=tr("report this line with its inputs"),
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
