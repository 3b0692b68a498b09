"""Curves of a lateral with its end open, and of a closed one down to low heads, by sweeps.

With the head at the far end given, each head along a line depends only on what lies beyond it.
Many end heads are swept side by side, and each gives one node of a curve, solved emitter by
emitter: no inlet head has to be searched for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.errors import ConvergenceError
from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._line import Law, Line, evaluate, gather, matrix
from evenrow.hydraulics._tridiagonal import solve_symmetric
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.flushing import EXIT_K, open_line
from evenrow.hydraulics.lateral import Lateral
from evenrow.words import tr

#: Largest error of a curve between its nodes, of the flow or of the head at the open end:
#: velocities are told to two digits.
TOLERANCE = 2e-4
#: The same is asked of flows, and of velocities out of the end, below this share of the largest
#: as of that share itself, and below half of it of the highest inlet head nothing.
_FLOOR = 0.02
#: Nodes at first.
_FIRST = 12
_SLOW = np.array([0.1, 0.3, 0.6])  # more velocities where an end falls dry, as parts of the least
_CLOSER = 1.0 / 3.0  # power of the inlet head by which they are spaced evenly
_TRIED = 40  # heads at the end from which those for them are read
_GROUPS = 24  # into which the outlets are drawn for that
_PARTS = np.array([1.0 / 3.0, 2.0 / 3.0])  # where a piece that is too long is parted
_ROUNDS = 2
_SETTLED = 1e-5  # what is left is less by what each sweep gains, about ten times
_SWEEPS = 300
_HEAD_CAP = 1e6
_SHORTEST = 1e-5  # part of the range below which a piece is not halved: a kink sits there
_GAIN = 16.0
_KINK = 1e-5
_FOOT = 0.01  # part of the least head at which a curve that is cut off there begins


class _Nodes(NamedTuple):
    """Lines as solved, one to an end head, each shape (m,); slopes by the inlet head.

    `heads` of all outlets has shape (m, n).
    """

    end: FloatArray
    inlet: FloatArray
    flow: FloatArray
    flow_slope: FloatArray
    end_slope: FloatArray
    heads: FloatArray


@dataclass(frozen=True)
class OpenCurve:
    """A lateral with its end open.

    Attributes
    ----------
    inlet : LateralCurve
        Flow into it by the head at its inlet.
    end : LateralCurve
        Pressure head right before the open end [m] in the place of the flow, by the same.
    line : Line
        What was solved; its last outlet is the end.
    """

    inlet: LateralCurve
    end: LateralCurve
    line: Line

    def end_flows(self, heads: FloatArray) -> FloatArray:
        """Return the flows out of the end [m3/s] at inlet heads [m], shape (n,)."""
        ends, _ = self.end.flows_and_slopes(heads)
        outlet = self.line.rise.size - 1
        return np.asarray(self.line.law.flow_of(outlet, np.maximum(ends, 0.0)))


def _sweep(line: Line, ends: FloatArray, head: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return inlet heads (m,) and heads (m, n) of lines with these heads at their last outlet.

    Begun with trial heads; the first sweep is right for the last outlet, the second for the
    last two, and so on, but far fewer are needed.
    """
    per_re, scale, parameter = line.constants
    climb = np.diff(line.rise, prepend=0.0)
    end = ends[:, None]
    for _ in range(_SWEEPS):
        segment = gather(line.law.flows(head))
        loss = line.friction.f_re(segment * per_re, parameter)
        loss *= segment
        loss *= scale
        if line.local is not None:
            loss += line.local * segment * segment
        loss += climb
        before = end + loss[:, ::-1].cumsum(axis=1)[:, ::-1]
        np.minimum(before, _HEAD_CAP, out=before)
        new = np.concatenate((before[:, 1:], end), axis=1)
        moved = float((np.abs(new - head).max(axis=1) / (1.0 + np.abs(before).max(axis=1))).max())
        head = new
        if moved <= _SETTLED:
            return before[:, 0], head
    raise ConvergenceError(
        tr("the heads of the swept lateral still move by {moved:.2g} of themselves", moved=moved),
        code="not_converged", hint=tr("report this line with its inputs"),
    )  # fmt: skip


def _solved(line: Line, ends: FloatArray, start: FloatArray | None = None) -> _Nodes:
    """Return the lines with these heads at their last outlet, and their exact slopes."""
    if start is None:
        start = ends[:, None] + (line.rise[-1] - line.rise)
    inlet, heads = _sweep(line, ends, start)
    state = evaluate(line, inlet[:, None], heads)
    diagonal, coupling = matrix(state)
    push = np.zeros_like(diagonal)
    push[:, 0] = state.conductance[:, 0]
    response = solve_symmetric(diagonal, coupling, push)
    return _Nodes(
        ends,
        inlet,
        state.segment_flow[:, 0],
        (state.flow_slope * response).sum(axis=1),
        response[:, -1],
        heads,
    )


def _joined(one: _Nodes, other: _Nodes) -> _Nodes:
    """Return the nodes of both by rising inlet head."""
    order = np.argsort(np.concatenate((one.inlet, other.inlet)), kind="stable")
    return _Nodes(*(np.concatenate(pair)[order] for pair in zip(one, other, strict=True)))


def _refined(line: Line, ends: FloatArray, low: float, high: float) -> _Nodes:
    """Return nodes close enough for `TOLERANCE` between inlet heads [m], begun at end heads."""
    nodes = _solved(line, ends)
    for _ in range(_ROUNDS):
        x = nodes.inlet
        used = (x[1:] > max(low, 0.5 * _FLOOR * high)) & (x[:-1] < high)
        at = np.flatnonzero(_wrong(nodes) & used)
        if not at.size:
            break
        roots = np.sqrt(nodes.end)  # of the head: in proportion to the velocity at an open end
        left, right = (np.tile(at + k, _PARTS.size) for k in (0, 1))
        share = np.repeat(_PARTS, at.size)
        ends = (roots[left] + share * (roots[right] - roots[left])) ** 2
        part = ((ends - nodes.end[left]) / (nodes.end[right] - nodes.end[left]))[:, None]
        start = nodes.heads[left] + part * (nodes.heads[right] - nodes.heads[left])
        nodes = _joined(nodes, _solved(line, ends, start))
    return nodes


def _wrong(nodes: _Nodes) -> NDArray[np.bool_]:
    """Return the pieces between nodes that are too long, told from the nodes beside them.

    Each node is compared with the cubic through its neighbours, whose error is some 16 times
    that of the two shorter pieces.
    """
    # In the root of the head, as the curves are; below 0 nothing of it is kept.
    x = np.sign(nodes.inlet) * np.sqrt(np.abs(nodes.inlet))
    wrong = np.zeros(x.size - 1, dtype=bool)
    middle = np.arange(1, x.size - 1)
    for y, rate, floor in (
        (nodes.flow, nodes.flow_slope, _FLOOR), (nodes.end, nodes.end_slope, _FLOOR**2),
    ):  # fmt: skip
        slope = 2.0 * np.abs(x) * rate
        guess, _ = _cubic(x, y, slope, middle - 1, middle + 1, x[middle])
        size = np.maximum(np.abs(y[middle]), floor * y[-1])
        off = np.abs(guess - y[middle]) > _GAIN * TOLERANCE * size
        wrong[:-1] |= off
        wrong[1:] |= off
    return np.asarray(wrong & (np.diff(nodes.inlet) > _SHORTEST * nodes.inlet[-1]))


def _cubic(
    x: FloatArray, y: FloatArray, slope: FloatArray, i: NDArray[np.int64], k: NDArray[np.int64],
    at: FloatArray | float,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Return values and slopes of the cubics through nodes `i` and `k` at places between them."""
    width = x[k] - x[i]
    t = (at - x[i]) / width
    rise = (y[k] - y[i]) / width
    c2 = 3.0 * rise - 2.0 * slope[i] - slope[k]
    c3 = slope[i] + slope[k] - 2.0 * rise
    value = y[i] + width * t * (slope[i] + t * (c2 + t * c3))
    return np.asarray(value), np.asarray(slope[i] + t * (2.0 * c2 + 3.0 * t * c3))


def _cut(
    lateral: Lateral, nodes: _Nodes, y: FloatArray, slope: FloatArray, low: float, high: float,
    power: float,
) -> LateralCurve:  # fmt: skip
    """Return a curve from about `low`, where it reaches so far down, to just above `high`.

    A line that would still run with nothing at its inlet, by its fall, gets nothing there: air
    comes in by its first emitters. Below `low` its curve falls to 0 by a power of the head.
    """
    x = nodes.inlet
    extremes = nodes.heads.min(axis=1), nodes.heads.max(axis=1)
    columns = [x, y, slope, *extremes]
    if x[0] < low:
        first = np.array([int(np.searchsorted(x, low, side="right")) - 1])
        level, rate = (float(v[0]) for v in _cubic(x, y, slope, first, first + 1, low))
        lowest, highest = (float(np.interp(low, x, heads)) for heads in extremes)
        foot, part = _FOOT * low, _FOOT**power * level
        start = (
            (foot, low),
            (part, level),
            (power * part / foot, rate),
            (_FOOT * lowest, lowest),
            (_FOOT * highest, highest),
        )
        above = x > low
        columns = [
            np.concatenate((under, column[above]))
            for under, column in zip(start, columns, strict=True)
        ]
    last = min(int(np.searchsorted(columns[0], high)) + 1, columns[0].size)
    x, y, slope, lowest_heads, highest_heads = (column[:last] for column in columns)
    return LateralCurve(lateral, x, y, slope, TOLERANCE, lowest_heads, highest_heads)


class _Lumped:
    """Outlets of a line in groups: each gives what its last would, as often as it has any."""

    def __init__(self, law: Law, sizes: FloatArray) -> None:
        self.law, self.sizes = law, sizes
        self.law_exponent = law.law_exponent

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flows and slopes for heads of shape (..., groups)."""
        flow, slope = self.law.flows_and_slopes(head)
        return flow * self.sizes, slope * self.sizes

    def flows(self, head: FloatArray) -> FloatArray:
        """Return flows alone."""
        return np.asarray(self.law.flows(head) * self.sizes)

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one group at several heads."""
        return np.asarray(self.law.flow_of(outlet, head) * self.sizes[outlet])


def _lumped(line: Line) -> Line:
    """Return a long line with its outlets in `_GROUPS` groups, the last, maybe open, by itself."""
    n = line.rise.size
    if n <= 2 * _GROUPS:
        return line
    first = np.linspace(0, n - 1, _GROUPS + 1).astype(np.intp)
    last = np.append(first[1:] - 1, n - 1)

    def of_last(values: FloatArray | float) -> FloatArray | float:
        return values if isinstance(values, float) else np.asarray(values[last])

    return replace(
        line,
        law=_Lumped(line.law, np.diff(first, append=n).astype(np.float64)),
        rise=line.rise[last],
        length=np.add.reduceat(np.broadcast_to(line.length, (n,)), first),
        diameter=of_last(line.diameter),
        roughness=of_last(line.roughness),
        local=None if line.local is None else np.add.reduceat(line.local, first),
    )


def _ends(line: Line, low: float, high: float, most: float) -> FloatArray:
    """Return heads at the end for inlet heads from about `low` to about `high`, closer below.

    They are read from the line with its outlets in groups, at heads at the end up to `most` [m].
    """
    ends = most * np.linspace(0.0, 1.0, _TRIED + 1)[1:] ** 2
    few = _lumped(line)
    inlet, _ = _sweep(few, ends, ends[:, None] + (few.rise[-1] - few.rise))
    roots = np.linspace((0.8 * low) ** _CLOSER, (1.01 * high) ** _CLOSER, _FIRST)
    wanted = roots ** (1.0 / _CLOSER)
    found = np.interp(wanted, inlet, np.sqrt(ends)) ** 2
    found = found[np.diff(found, prepend=0.0) > 1e-9 * most]
    if wanted[0] < inlet[0]:  # the end falls dry on the way, where it has to be looked at closely
        found = np.concatenate((found[0] * _SLOW**2, found))
    return np.asarray(found)


def _fastest(line: Line, head: float) -> float:
    """Return the head at the open end if no emitter took water and all of `head` were lost [m]."""
    per_re, scale, parameter = line.constants
    ends = np.asarray(np.geomspace(1e-6 * head, head, 64), dtype=np.float64)
    flow = line.law.flow_of(line.rise.size - 1, ends)[:, None]
    loss = (
        line.friction.f_re(flow * float(np.mean(per_re)), float(np.mean(parameter)))
        * flow
        * scale.sum()
    )
    return float(np.interp(head, ends + loss[:, 0], ends))


def open_curve(
    lateral: Lateral, low: float, high: float, *, exit_k: float = EXIT_K
) -> OpenCurve:  # fmt: skip
    """Return what a lateral takes with its end open, and the head right before that end.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    low, high : float
        Range of inlet head [m], more than 0 and rising.
    exit_k : float
        Velocity heads lost at the end [-], as of `open_line`.

    Returns
    -------
    OpenCurve
        Good to `TOLERANCE` of its values between the nodes, or of a fiftieth of the largest
        where a value is less; beside a kink, as where an end falls dry, to some thousandths.

    Raises
    ------
    InputError
        If `exit_k` is out of range.
    ConvergenceError
        If the heads along the line do not settle.

    Notes
    -----
    A line that rises is dry at its end below some head; there it is the closed one.
    """
    line = open_line(lateral, exit_k)
    rise = line.rise
    most = _fastest(line, high - float(rise[-1]) if rise[-1] < 0.0 else high)
    nodes = _refined(line, _ends(line, low, high, most), low, high)
    while float(nodes.inlet[-1]) < high:
        more = nodes.end[-1] * np.array([1.3, 1.7, 2.2])
        nodes = _joined(nodes, _solved(line, more))
    inlet = _cut(lateral, nodes, nodes.flow, nodes.flow_slope, low, high, 1.0)
    end = _cut(lateral, nodes, nodes.end, nodes.end_slope, low, high, 2.0)
    if float(rise[-1] - min(0.0, float(rise.min()))) > low and inlet.head_low > 2.0 * low:
        # Just below the first node, as the two meet in a kink.
        dry = lateral_curve(lateral, low, inlet.head_low * (1.0 - _KINK), TOLERANCE)
        inlet = _under(dry, inlet)
    return OpenCurve(inlet, end, line)


def closed_curve(lateral: Lateral, low: float, known: LateralCurve) -> LateralCurve:
    """Return the curve of a closed lateral continued down to a lower head.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    low : float
        Inlet head to which it is wanted [m], more than 0.
    known : LateralCurve
        Its curve where it waters.

    Returns
    -------
    LateralCurve
        The two together; on rising ground only as far down as its last emitter runs.

    Raises
    ------
    ConvergenceError
        If the heads along the line do not settle.
    """
    if known.head_low <= low:
        return known
    line = lateral.line
    top = known.head_low - min(0.0, float(line.rise[-1]))
    nodes = _refined(line, _ends(line, low, known.head_low, top), low, known.head_low)
    return _under(_cut(lateral, nodes, nodes.flow, nodes.flow_slope, low, top, 1.0), known)


def _under(lower: LateralCurve, upper: LateralCurve) -> LateralCurve:
    """Return one curve continued below by another."""
    take = lower.heads < upper.head_low * (1.0 - 1e-9)
    return LateralCurve(
        upper.lateral,
        np.concatenate((lower.heads[take], upper.heads)),
        np.concatenate((lower.flows[take], upper.flows)),
        np.concatenate((lower.slopes[take], upper.slopes)),
        max(lower.error, upper.error),
        np.concatenate((lower.lowest[take], upper.lowest)),
        np.concatenate((lower.highest[take], upper.highest)),
    )
