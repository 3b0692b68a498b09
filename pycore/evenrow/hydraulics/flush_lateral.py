"""Flushing a lateral: its end open, its emitters running."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from evenrow.errors import ConvergenceError
from evenrow.hydraulics import _line
from evenrow.hydraulics._check import FloatArray, number
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral
from evenrow.words import tr

#: Velocity at the open end that takes fine particles with it [m/s]: 1 ft/s, as published in
#: maintenance guides of the University of California.
FLUSH_VELOCITY = 0.3048

_HEAD_CAP = 1e6
_SETTLED = 1e-12
_MAX_SWEEPS = 300
_MAX_TRIALS = 100
_RESOLUTION = 4e-16  # halving cannot tell velocities apart that lie closer, relatively
_MAX_VELOCITY = 100.0


@dataclass(frozen=True)
class FlushSolution:
    """A lateral with its end open.

    Attributes
    ----------
    inlet_head, inlet_flow : float
        Pressure head [m] and flow [m3/s] at the inlet.
    end_velocity, end_flow : float
        Mean velocity [m/s] and flow [m3/s] out of the open end; 0 if no water comes that far.
    head, flow : numpy.ndarray
        Pressure head [m] at and flow [m3/s] of each emitter, shape (count,).
    velocity : numpy.ndarray
        Mean velocity in the pipe just before each emitter [m/s], shape (count,).
    """

    inlet_head: float
    inlet_flow: float
    end_velocity: float
    end_flow: float
    head: FloatArray
    flow: FloatArray
    velocity: FloatArray


def flush_need(
    lateral: Lateral, end_velocity: float = FLUSH_VELOCITY, *, end_k: float = 1.0
) -> FlushSolution:
    """Return the inlet head and flow with which the open end runs at a velocity.

    Parameters
    ----------
    lateral : Lateral
        The lateral; its emitters go on dripping.
    end_velocity : float
        Mean velocity at the open end [m/s], 0 to 100.
    end_k : float
        Pressure head at the last emitter in velocity heads [-], at least 0: 1 for a plain
        open pipe end (the velocity head is lost), more with a flush valve.

    Returns
    -------
    FlushSolution
        The line as it then runs. On a fall the inlet head may come out below 0: the line
        flushes by its fall alone.

    Raises
    ------
    InputError
        If an argument is not finite or out of range.
    ConvergenceError
        If the heads along the line do not settle.

    Notes
    -----
    With head and flow known at the end, each head depends only on what lies beyond it, so
    that sweeps of flows from heads and heads from flows settle without fail: the first
    sweep is right for the last emitter, the second for the last two, and so on.
    """
    speed = number("end_velocity", end_velocity, 0.0, _MAX_VELOCITY, unit="m/s")
    return _need(lateral, speed, number("end_k", end_k, 0.0, 1e6))


def _need(lateral: Lateral, speed: float, end_k: float) -> FlushSolution:
    """Return the same without checks."""
    line = lateral.line
    per_re, scale, parameter = line.constants
    end_flow = speed * float(np.broadcast_to(lateral.area, (lateral.count,))[-1])
    end_head = end_k * speed**2 / (2.0 * G)
    climb = np.diff(line.rise, prepend=0.0)
    head = end_head + (float(line.rise[-1]) - line.rise)
    for _ in range(_MAX_SWEEPS):
        flow = line.law.flows(head)
        segment = _line.gather(flow) + end_flow
        loss = line.friction.f_re(segment * per_re, parameter) * segment * scale
        if line.local is not None:
            loss = loss + line.local * segment * segment
        # before[i] is the head at the start of segment i, the end of the one before
        before = np.minimum(end_head + (loss + climb)[::-1].cumsum()[::-1], _HEAD_CAP)
        new = np.append(before[1:], end_head)
        moved = float(np.abs(new - head).max())
        head = new
        if moved <= _SETTLED * (1.0 + float(np.abs(before).max())):
            return FlushSolution(
                float(before[0]), float(segment[0]), speed, end_flow, head, flow,
                segment / lateral.area,
            )  # fmt: skip
    raise ConvergenceError(
        tr("the heads of the flushed lateral still move by {moved:.2g} m", moved=moved),
        code="not_converged", hint=tr("report this line with its inputs"),
    )  # fmt: skip


def flush_at(lateral: Lateral, inlet_head: float, *, end_k: float = 1.0) -> FlushSolution:
    """Return the velocity that the open end reaches at an inlet head.

    Parameters
    ----------
    lateral : Lateral
        The lateral; its emitters go on dripping.
    inlet_head : float
        Pressure head at the inlet while flushing [m], 0 to 10,000.
    end_k : float
        As of `flush_need`.

    Returns
    -------
    FlushSolution
        With `end_velocity` 0 if no water comes to the end.

    Raises
    ------
    InputError
        If an argument is not finite or out of range.
    ConvergenceError
        If no end velocity gives the inlet head, or the heads of the line do not settle.

    Notes
    -----
    The inlet head of `flush_need` rises with the end velocity; its root is bracketed and
    found by the Illinois form of regula falsi (Dowell and Jarratt 1971, BIT 11, 168), then
    by halving.  On a long steep fall the inlet head can change by metres with the last digit
    of the end velocity; there the velocity is exact to that digit, and the heads are solved
    for it from the inlet.
    """
    target = number("inlet_head", inlet_head, 0.0, 10_000.0, unit="m")
    k = number("end_k", end_k, 0.0, 1e6)
    low, high = 0.0, 0.5
    at_low = _need(lateral, low, k)
    if at_low.inlet_head >= target:
        return _dry_end(lateral, target)
    at_high = _need(lateral, high, k)
    while at_high.inlet_head < target and high < _MAX_VELOCITY:
        low, at_low = high, at_high
        high *= 2.0
        at_high = _need(lateral, high, k)
    if at_high.inlet_head < target:
        raise ConvergenceError(
            tr("no velocity at the open end gives an inlet head of {target:g} m", target=target),
            code="not_converged", hint=tr("report this line with its inputs"),
        )  # fmt: skip
    g_low, g_high = at_low.inlet_head - target, at_high.inlet_head - target
    kept = 0
    for _ in range(_MAX_TRIALS):
        middle = (low * g_high - high * g_low) / (g_high - g_low)
        found = _need(lateral, middle, k)
        gap = found.inlet_head - target
        if abs(gap) <= 1e-10 * (1.0 + target):
            return found
        if high - low <= _RESOLUTION * high:
            break
        if gap < 0.0:
            low, g_low = middle, gap
            g_high *= 0.5 if kept < 0 else 1.0
            kept = -1
        else:
            high, g_high = middle, gap
            g_low *= 0.5 if kept > 0 else 1.0
            kept = 1
    while high - low > _RESOLUTION * high:
        middle = 0.5 * (low + high)
        if _need(lateral, middle, k).inlet_head < target:
            low = middle
        else:
            high = middle
    return _with_end_flow(lateral, target, 0.5 * (low + high))


class _EndDraw:
    """Emitters, and at the last of them a fixed flow that leaves by the open end."""

    def __init__(self, law: Emitter, count: int, flow: float) -> None:
        self.law, self.count, self.flow = law, count, flow
        self.law_exponent = law.law_exponent

    def softened(self, head: float) -> _EndDraw:
        """Return the same with emitter flows proportional to the head up to `head` [m]."""
        return _EndDraw(self.law.softened(head), self.count, self.flow)

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flows and slopes for heads of shape (..., n)."""
        q, s = self.law.flows_and_slopes(head)
        q[..., -1] += self.flow
        return q, s

    def flows(self, head: FloatArray) -> FloatArray:
        """Return flows alone."""
        q = self.law.flows(head)
        q[..., -1] += self.flow
        return q

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one outlet at several heads."""
        extra = self.flow if outlet == self.count - 1 else 0.0
        return self.law.flow_of(outlet, head) + extra


def _with_end_flow(lateral: Lateral, inlet_head: float, speed: float) -> FlushSolution:
    """Return the line with an end velocity that is known, solved from its inlet."""
    line = lateral.line
    end_flow = speed * float(np.broadcast_to(lateral.area, (lateral.count,))[-1])
    drawn = replace(line, law=_EndDraw(lateral.emitter, lateral.count, end_flow))
    state = solve(drawn, np.array([inlet_head]))
    flow = np.array(state.flow)
    flow[-1] -= end_flow
    return FlushSolution(
        inlet_head, float(state.segment_flow[0]), speed, end_flow, state.head, flow,
        np.asarray(state.segment_flow / lateral.area),
    )  # fmt: skip


def _dry_end(lateral: Lateral, inlet_head: float) -> FlushSolution:
    """Return a line whose water does not reach its end, where open and closed are the same."""
    state = solve(lateral.line, np.array([inlet_head]))
    return FlushSolution(
        inlet_head, float(state.segment_flow[0]), 0.0, 0.0, state.head, state.flow,
        np.asarray(state.segment_flow / lateral.area),
    )  # fmt: skip
