"""Flushing: which open ends run, and in which order to close them again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.hydraulics import _line
from evenrow.hydraulics._check import FloatArray, number
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics.assembly import Component
from evenrow.hydraulics.constants import VISCOSITY_20C, G
from evenrow.hydraulics.curve import LateralCurve, lateral_curve, line_curve
from evenrow.hydraulics.emitter import LINEAR_BELOW, Emitter
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY
from evenrow.hydraulics.header import CurveLaterals, Header, HeaderModel
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.network import Supply, SystemSolution, checked_index, meet, report
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve

#: Velocity heads lost where water leaves an open end [-]: all it has.
EXIT_K = 1.0
_CURVE_TOLERANCE = 1e-6
#: Ends whose velocities differ by less, relatively, are equally strong.
EQUAL = 1e-5


@dataclass(frozen=True)
class FlushState:
    """A header with some ends open.

    Attributes
    ----------
    system : SystemSolution
        Heads and flows; `outlet_flows` are those into the laterals.
    open_ends : numpy.ndarray of bool
        Which laterals have their end open.
    end_flows, end_velocities : numpy.ndarray
        Flow [m3/s] and velocity [m/s] out of each end; 0 where it is closed.
    runs : numpy.ndarray of bool
        Which open ends reach the velocity asked for.
    """

    system: SystemSolution
    open_ends: NDArray[np.bool_]
    end_flows: FloatArray
    end_velocities: FloatArray
    runs: NDArray[np.bool_]


@dataclass(frozen=True)
class RecapPlan:
    """The order in which the ends are closed again.

    Attributes
    ----------
    first : FlushState
        All ends open.
    order : tuple of int
        Take-offs in the order of closing: of the ends that run the strongest first, as it
        is clean and gives most to the others; if none runs the strongest all the same.
    velocities : tuple of float
        Velocity out of each of them when its turn comes [m/s].
    caps_until_all_run : int or None
        How many ends are closed when all that are left run; None if that never happens.
    reopen : tuple of int
        Ends closed before they ran: open each again alone when the others are done.
    stuck : tuple of int
        Those of them that do not run even then.
    nearest_first : bool
        True if no end is closed while one nearer to the feed, on the same side of it, is
        still open: the common practice of closing those nearest the source first.
    exception : int or None
        The first take-off that is.
    """

    first: FlushState
    order: tuple[int, ...]
    velocities: tuple[float, ...]
    caps_until_all_run: int | None
    reopen: tuple[int, ...]
    stuck: tuple[int, ...]
    nearest_first: bool
    exception: int | None


class _OpenLine:
    """Emitters, and after the last of them one more outlet: the open end."""

    def __init__(self, emitter: Emitter, end: Emitter, count: int) -> None:
        self.emitter, self.end, self.count = emitter, end, count
        self.law_exponent = emitter.law_exponent

    def softened(self, head: float) -> _OpenLine:
        """Return the same with flows proportional to the head up to `head` [m]."""
        return _OpenLine(self.emitter.softened(head), self.end.softened(head), self.count)

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flows and slopes for heads of shape (..., n)."""
        q, s = self.emitter.flows_and_slopes(head)
        q[..., -1:], s[..., -1:] = self.end.flows_and_slopes(head[..., -1:])
        return q, s

    def flows(self, head: FloatArray) -> FloatArray:
        """Return flows alone."""
        q = self.emitter.flows(head)
        q[..., -1:] = self.end.flows(head[..., -1:])
        return q

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one outlet at several heads."""
        return (self.end if outlet == self.count else self.emitter).flows(head)


def far_bore(lateral: Lateral) -> float:
    """Return the inside diameter at the far end [m]."""
    return float(np.broadcast_to(lateral.line.diameter, (lateral.count,))[-1])


def open_line(lateral: Lateral, exit_k: float = EXIT_K) -> _line.Line:
    """Return the line of a lateral with its far end open, as its last outlet.

    Parameters
    ----------
    lateral : Lateral
        The lateral; the end lies at its last emitter.
    exit_k : float
        Velocity heads lost at the end [-], 0.5 to 1,000; more than 1 for a narrow valve.

    Returns
    -------
    Line
        One outlet more than the lateral has emitters.

    Raises
    ------
    InputError
        If `exit_k` is out of range.

    Notes
    -----
    A free jet: pressure 0 behind the end, so h = K V^2 / (2 g) before it (textbook).
    """
    k = number("exit_k", exit_k, 0.5, 1000.0)
    line = lateral.line
    n = lateral.count
    area = 0.25 * math.pi * far_bore(lateral) ** 2
    end = Emitter(area * math.sqrt(2.0 * G / k), 1.0, 0.5, 0.0, 0.0, 1e4, linear_below=LINEAR_BELOW)

    def longer(values: FloatArray | float) -> FloatArray | float:
        return values if np.ndim(values) == 0 else np.append(values, np.asarray(values)[-1])

    return replace(
        line,
        law=_OpenLine(lateral.emitter, end, n),
        rise=np.append(line.rise, line.rise[-1]),
        # As good as no pipe between the last emitter and the end.
        length=np.append(line.length, 1e-3),
        diameter=longer(line.diameter),
        roughness=longer(line.roughness),
        local=None if line.local is None else np.append(line.local, 0.0),
    )


class _Flush:
    """A header whose laterals can be open or closed, with all curves it needs."""

    def __init__(
        self, supply: Supply, header: Header, laterals: Sequence[Lateral],
        index: NDArray[np.int64], velocity_min: float, exit_k: float,
    ) -> None:  # fmt: skip
        self.supply, self.header, self.index = supply, header, index
        self.velocity_min = velocity_min
        used = sorted(set(index.tolist()))
        self.lines = {k: open_line(laterals[k], exit_k) for k in used}
        bores = np.array([far_bore(lateral) for lateral in laterals])
        self.area = 0.25 * math.pi * bores[index] ** 2
        empty = CurveLaterals([], np.full(header.count, -1))
        nothing = HeaderModel(header, empty, supply.viscosity)
        high = max(supply.still - nothing.dry_head, 0.02)
        low = 1e-3 * high  # open ends leave little at the far end of a thin header
        self.curves: list[LateralCurve] = []
        place: dict[int, int] = {}
        for k in used:
            place[k] = len(self.curves)
            self.curves.append(lateral_curve(laterals[k], low, high, _CURVE_TOLERANCE))
            self.curves.append(line_curve(laterals[k], self.lines[k], low, high, _CURVE_TOLERANCE))
        self.place = np.array([place[k] for k in index.tolist()])
        #: Square of the end's flow at the nodes of each open curve: nearly straight by head.
        self.ends = {k: self.end_flows(k, self.curves[place[k] + 1].heads) ** 2 for k in used}
        self.distance = distances(header)

    def end_flows(self, kind: int, heads: FloatArray) -> FloatArray:
        """Return the flows out of the open end of a lateral at inlet heads."""
        return np.asarray(solve(self.lines[kind], heads[:, None]).flow[:, -1])

    def solve(self, open_ends: NDArray[np.bool_]) -> tuple[SystemSolution, FloatArray]:
        """Return the system with these ends open, and velocities by interpolation."""
        laterals = CurveLaterals(self.curves, self.place + open_ends)
        met = meet(self.supply, HeaderModel(self.header, laterals, self.supply.viscosity))
        system = report(self.supply, met, laterals.outside(met.state))
        velocity = np.zeros(self.index.size)
        for k, squares in self.ends.items():
            mine = np.flatnonzero((self.index == k) & open_ends)
            nodes = self.curves[int(self.place[self.index == k][0]) + 1].heads
            square = np.interp(
                system.outlet_heads[mine], np.append(0.0, nodes), np.append(0.0, squares)
            )
            velocity[mine] = np.sqrt(square) / self.area[mine]
        return system, velocity

    def exact(self, system: SystemSolution, open_ends: NDArray[np.bool_]) -> FloatArray:
        """Return the flows out of the open ends, each line solved at its head."""
        flows = np.zeros(self.index.size)
        for k in self.lines:
            mine = np.flatnonzero((self.index == k) & open_ends)
            if mine.size:
                flows[mine] = self.end_flows(k, system.outlet_heads[mine])
        return flows

    def state(self, open_ends: NDArray[np.bool_]) -> FlushState:
        """Return the exact state with these ends open."""
        system, _ = self.solve(open_ends)
        flows = self.exact(system, open_ends)
        velocity = flows / self.area
        runs = open_ends & (velocity >= self.velocity_min)
        return FlushState(system, open_ends.copy(), flows, velocity, runs)


def distances(header: Header) -> FloatArray:
    """Return how far along the header each take-off is from the feed [m]."""
    length = np.asarray(header.length)
    out = np.cumsum(length)
    before = out[header.feed - 1] if header.feed else 0.0
    behind = np.cumsum(length[: header.feed][::-1])[::-1]
    return np.concatenate([behind, out[header.feed :] - before])


def _prepare(
    source: SourceCurve, assembly: Sequence[Component], main: Sequence[Pipe], header: Header,
    laterals: Sequence[Lateral], lateral_index: ArrayLike, velocity_min: float, exit_k: float,
    viscosity: float,
) -> _Flush:  # fmt: skip
    """Check the arguments and make ready."""
    nu = number("viscosity", viscosity, 1e-8, 1e-4, unit="m2/s")
    velocity = number("velocity_min", velocity_min, 0.0, 10.0, open_low=True, unit="m/s")
    index = checked_index("lateral_index", lateral_index, header.count, len(laterals))
    supply = Supply(source, tuple(assembly), tuple(main), nu)
    return _Flush(supply, header, laterals, index, velocity, exit_k)


def flush_state(
    source: SourceCurve,
    assembly: Sequence[Component],
    main: Sequence[Pipe],
    header: Header,
    laterals: Sequence[Lateral],
    lateral_index: ArrayLike,
    open_ends: ArrayLike = True,
    *,
    velocity_min: float = FLUSH_VELOCITY,
    exit_k: float = EXIT_K,
    viscosity: float = VISCOSITY_20C,
) -> FlushState:
    """Find which ends run while some or all caps are off.

    Parameters
    ----------
    source, assembly, main, header, viscosity
        See `evenrow.hydraulics.network.solve_system`.
    laterals : sequence of Lateral
        The distinct laterals.
    lateral_index : array_like of int
        Which of them each take-off has, one number or shape (n,).
    open_ends : array_like of bool
        Which ends are open, one for all or shape (n,).
    velocity_min : float
        Velocity that counts as running [m/s], more than 0.
    exit_k : float
        Velocity heads lost at an open end [-].

    Returns
    -------
    FlushState
        Heads, and flow and velocity out of each end.

    Raises
    ------
    InputError
        If an argument does not fit.
    ConvergenceError
        If the system is not solved.

    Notes
    -----
    The meeting point with curves of open and closed laterals good to 1e-6 of their flow;
    the ends themselves solved at the heads found.
    """
    flush = _prepare(
        source, assembly, main, header, laterals, lateral_index, velocity_min, exit_k, viscosity
    )
    wanted = checked_index("open_ends", np.asarray(open_ends, dtype=np.float64), header.count, 2)
    return flush.state(wanted.astype(bool))


def recap_plan(
    source: SourceCurve,
    assembly: Sequence[Component],
    main: Sequence[Pipe],
    header: Header,
    laterals: Sequence[Lateral],
    lateral_index: ArrayLike,
    *,
    velocity_min: float = FLUSH_VELOCITY,
    exit_k: float = EXIT_K,
    viscosity: float = VISCOSITY_20C,
) -> RecapPlan:
    """Find in which order to close the ends so that each runs before it is closed.

    Parameters
    ----------
    source, assembly, main, header, laterals, lateral_index
        As in `flush_state`.
    velocity_min, exit_k, viscosity
        As in `flush_state`.

    Returns
    -------
    RecapPlan
        The order, and whether it is the common practice of nearest the source first.

    Raises
    ------
    InputError
        If an argument does not fit.
    ConvergenceError
        If the system is not solved.

    Notes
    -----
    One solve for each cap. Among ends equally strong the nearest to the feed is closed.
    """
    flush = _prepare(
        source, assembly, main, header, laterals, lateral_index, velocity_min, exit_k, viscosity
    )
    n = header.count
    is_open: NDArray[np.bool_] = np.ones(n, dtype=bool)
    first = flush.state(is_open)
    order: list[int] = []
    velocities: list[float] = []
    reopen: list[int] = []
    enough: int | None = None
    for turn in range(n):
        system, velocity = flush.solve(is_open)
        if enough is None and bool((velocity[is_open] >= velocity_min).all()):
            enough = turn
        strongest = float(velocity[is_open].max())
        ties = np.flatnonzero(is_open & (velocity >= strongest * (1.0 - EQUAL)))
        chosen = int(ties[np.argmin(flush.distance[ties])])
        only: NDArray[np.bool_] = np.zeros(n, dtype=bool)
        only[chosen] = True
        velocities.append(float((flush.exact(system, only) / flush.area)[chosen]))
        if velocities[-1] < velocity_min:
            reopen.append(chosen)
        order.append(chosen)
        is_open[chosen] = False
    return RecapPlan(
        first,
        tuple(order),
        tuple(velocities),
        enough,
        tuple(reopen),
        tuple(k for k in reopen if not flush.state(np.arange(n) == k).runs[k]),
        *against_nearest_first(order, flush.distance, header.feed),
    )


def against_nearest_first(
    order: list[int], distance: FloatArray, feed: int
) -> tuple[bool, int | None]:
    """Return whether the order passes over no nearer end of a side, and the first that does."""
    for turn, chosen in enumerate(order):
        side = [k for k in order[turn:] if (k < feed) == (chosen < feed)]
        if distance[chosen] > float(distance[side].min()) + 1e-9:
            return False, chosen
    return True, None
