"""Many systems on one source solved together: the zones of a design, or of many designs.

Each is the same system that `solve_system` solves; the header heads of all of them and the
heads where their mains end are iterated at once, so that the cost of a step is shared.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics import _line
from evenrow.hydraulics._bank import NO_LATERAL, Bank, Outlets
from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._tridiagonal import solve_symmetric
from evenrow.hydraulics.assembly import NONE, Component, Regulator
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.header import CurveLaterals, Header, HeaderModel, HeaderState
from evenrow.hydraulics.laws import friction_law
from evenrow.hydraulics.network import Meeting, Supply, SystemSolution, meet, report
from evenrow.hydraulics.pipe import Pipe, PipeRun
from evenrow.hydraulics.source import SourceCurve

Index = NDArray[np.int64]

#: Steps after which a system that has not met its source is left to be solved by itself.
_STEPS = 25
#: Largest head that header and source may be apart [m].
_TOLERANCE = 1e-9
#: Pipe shorter than this is none [m].
SHORTEST = 1e-5


@dataclass(frozen=True)
class System:
    """What lies between the source and the closed ends of one zone.

    Parameters
    ----------
    assembly : tuple of LossComponent or Regulator
        Head assembly in the order of the water.
    main : tuple of Pipe
        Pipes from the assembly to the header, at least one.
    header : Header
        The header, its take-offs without loss of their own: give that to the laterals
        (`inlet_k`).
    index : numpy.ndarray
        Which of the curves each take-off has, shape (n,).
    """

    assembly: tuple[Component, ...]
    main: tuple[Pipe, ...]
    header: Header
    index: Index


@dataclass(frozen=True)
class _Rows:
    """The arms of all headers as rows: which system, and which take-offs in order."""

    system: Index
    orders: list[Index]
    line: _line.Line


def _arms(systems: Sequence[System], bank: Bank, viscosity: float) -> _Rows:
    """Lay the arms of all headers out as rows of equal length."""
    of: list[int] = []
    orders: list[Index] = []
    for number, system in enumerate(systems):
        n, feed = system.header.count, system.header.feed
        for arm in (np.arange(feed, n), np.arange(feed - 1, -1, -1)):
            if arm.size:
                of.append(number)
                orders.append(arm)
    width = max(order.size for order in orders)
    shape = (len(orders), width)
    length, diameter = np.full(shape, 1e-6), np.zeros(shape)
    climb, roughness = np.zeros(shape), np.full(shape, ROUGHNESS_SMOOTH)
    which: Index = np.full(shape, NO_LATERAL, dtype=np.int64)
    for row, (number, order) in enumerate(zip(of, orders, strict=True)):
        system, k = systems[number], order.size
        header = system.header
        length[row, :k] = np.asarray(header.length)[order]
        diameter[row, :k] = np.asarray(header.diameter)[order]
        diameter[row, k:] = diameter[row, k - 1]
        climb[row, :k] = np.asarray(header.rise)[order]
        roughness[row, :k] = np.asarray(header.roughness)[order]
        which[row, :k] = system.index[order]
    line = _line.Line(
        Outlets(bank, which),
        climb.cumsum(axis=1),
        length,
        diameter,
        roughness,
        viscosity,
        friction_law(systems[0].header.friction),
    )
    return _Rows(np.array(of), orders, line)


class _Supplies:
    """Source, assemblies and mains of all systems as falling functions of their flows."""

    def __init__(self, source: SourceCurve, systems: Sequence[System], viscosity: float) -> None:
        self.source = source
        groups: dict[tuple[Component, ...], list[int]] = {}
        for number, system in enumerate(systems):
            groups.setdefault(system.assembly, []).append(number)
        self.assemblies = [(parts, np.array(mine)) for parts, mine in groups.items()]
        self.pipes = PipeRun([pipe for system in systems for pipe in system.main], viscosity)
        self.of = np.repeat(np.arange(len(systems)), [len(system.main) for system in systems])

    def offered(self, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the heads offered at the headers [m] and their slopes by flow [s/m2]."""
        start, rate = self.source.head(flow)
        head, slope = np.array(start), np.array(rate)
        for parts, mine in self.assemblies:
            head[mine], slope[mine], _ = _through(parts, head[mine], slope[mine], flow[mine])
        losses, rises = self.pipes.losses(flow[self.of])
        head -= _sums(self.of, losses, flow.size)
        slope -= _sums(self.of, rises, flow.size)
        return head, slope

    def regulators(self, flow: FloatArray) -> list[str]:
        """Return the state of the regulator of each system at its flow."""
        start, rate = self.source.head(flow)
        states = [NONE] * flow.size
        for parts, mine in self.assemblies:
            regulator = next((p for p in reversed(parts) if isinstance(p, Regulator)), None)
            if regulator is not None:
                _, _, regulates = _through(parts, start[mine], rate[mine], flow[mine])
                for number, yes in zip(mine.tolist(), regulates.tolist(), strict=True):
                    states[number] = regulator.state(float(flow[number]), yes)
        return states


def _through(
    parts: Sequence[Component], head: FloatArray, slope: FloatArray, flow: FloatArray
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Return heads and slopes behind one assembly, and where its last regulator regulates."""
    regulates = np.zeros(flow.shape, dtype=bool)
    for part in parts:
        if isinstance(part, Regulator):
            scale = part.loss_nominal / part.nominal_flow**2
            left = head - scale * flow * flow
            regulates = left > part.set_head
            head = np.where(regulates, part.set_head, left)
            slope = np.where(regulates, 0.0, slope - 2.0 * scale * flow)
        else:
            share = flow / part.nominal_flow
            head = head - part.nominal_loss * share**part.exponent
            steep = part.exponent * part.nominal_loss / part.nominal_flow
            slope = slope - steep * share ** (part.exponent - 1.0)
    return head, slope, regulates


def _sums(of: Index, values: FloatArray, count: int) -> FloatArray:
    """Return the sum of the values of each system."""
    return np.bincount(of, values, count).astype(np.float64)


def _iterate(
    rows: _Rows, supplies: _Supplies, inlet: FloatArray
) -> tuple[_line.State, FloatArray, NDArray[np.bool_]]:
    """Return the last state, the heads at the headers, and which systems have met."""
    count, of = inlet.size, rows.system

    def norm_of(state: _line.State, gap: FloatArray) -> FloatArray:
        norm: FloatArray = np.zeros(count)
        np.maximum.at(norm, of, state.norm)
        np.maximum(norm, np.abs(gap), out=norm)
        return norm

    def look(inlet: FloatArray, heads: FloatArray) -> tuple[_line.State, FloatArray, FloatArray]:
        state = _line.evaluate(rows.line, inlet[of, None], heads)
        flow = _sums(of, state.segment_flow[:, 0], count)
        offered, slope = supplies.offered(flow)
        return state, offered - inlet, slope

    state, gap, slope = look(inlet, _line.guess(rows.line, inlet[of, None]))
    norm = norm_of(state, gap)
    for _ in range(_STEPS):
        if bool((norm <= _TOLERANCE).all()):
            break
        step, response = _both_steps(state)
        taken = _sums(of, (state.flow_slope * step).sum(axis=1), count)
        grown = _sums(of, (state.flow_slope * response).sum(axis=1), count)
        down = np.minimum(slope, 0.0)
        rise = (gap + down * taken) / (1.0 - down * grown)
        step += response * rise[of, None]
        share: FloatArray = np.ones(count)
        for _ in range(5):
            tried = look(inlet + share * rise, state.head + share[of, None] * step)
            worse = (norm_of(*tried[:2]) > norm) & (norm > _TOLERANCE)
            if not worse.any():
                break
            share = np.where(worse, 0.4 * share, share)
        inlet = inlet + share * rise
        state, gap, slope = tried
        norm = norm_of(state, gap)
    return state, inlet, np.asarray(norm <= _TOLERANCE)


def _both_steps(state: _line.State) -> tuple[FloatArray, FloatArray]:
    """Return the Newton steps of the heads for fixed inlets, and the response to the inlets."""
    diagonal, coupling = _line.matrix(state)
    part = state.missing.copy()
    part[:, 1:] -= state.missing[:, :-1]
    part *= state.conductance
    part[:, :-1] -= part[:, 1:]
    inlet = np.zeros_like(part)
    inlet[:, 0] = state.conductance[:, 0]
    both = solve_symmetric(
        np.concatenate((diagonal, diagonal)),
        np.concatenate((coupling, coupling)),
        np.concatenate((part, inlet)),
    )
    return both[: len(part)], both[len(part) :]


class ManySolution:
    """Many systems as solved, kept as arrays; what one of them is like is made when asked for.

    Attributes
    ----------
    flow : numpy.ndarray
        Flow of each system [m3/s], shape (systems,).
    header_head : numpy.ndarray
        Head where its main meets its header [m].
    regulators : list of str
        State of its regulator, as in `SystemSolution`.
    """

    def __init__(
        self,
        supplies: _Supplies,
        systems: Sequence[System],
        curves: Sequence[LateralCurve],
        rows: _Rows,
        state: _line.State,
    ) -> None:
        self._source = supplies.source
        self._systems, self._curves = systems, curves
        self._rows = rows
        self.head, self.out = state.head, state.flow
        self.segment, self.norm = state.segment_flow, state.norm
        self._viscosity = rows.line.viscosity
        self.flow = _sums(rows.system, state.segment_flow[:, 0], len(systems))
        self.header_head, _ = supplies.offered(self.flow)
        self.regulators = supplies.regulators(self.flow)

    def speeds(self) -> FloatArray:
        """Return the highest velocity in each header [m/s], shape (systems,)."""
        line = self._rows.line
        area = 0.25 * math.pi * np.asarray(line.diameter) ** 2
        speed = np.where(line.length > SHORTEST, self.segment / area, 0.0)
        found = np.zeros(self.flow.size)
        np.maximum.at(found, self._rows.system, speed.max(axis=1))
        return found

    def ranges(self) -> tuple[Index, Index, FloatArray, FloatArray]:
        """Return lowest and highest head over each kind of lateral in each system.

        Returns
        -------
        system, curve : numpy.ndarray of int
            Each pair that occurs, by system, shape (k,).
        low, high : numpy.ndarray
            Heads in the header [m], shape (k,).
        """
        law = self._rows.line.law
        assert isinstance(law, Outlets)
        here = ~law.none
        key = (self._rows.system[:, None] * len(self._curves) + law.known)[here]
        head = self.head[here]
        order = np.argsort(key, kind="stable")
        key, head = key[order], head[order]
        first = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1])))
        pairs = key[first]
        return (
            pairs // len(self._curves),
            pairs % len(self._curves),
            np.minimum.reduceat(head, first),
            np.maximum.reduceat(head, first),
        )

    def takeoff_heads(self) -> list[FloatArray]:
        """Return the heads in the header at the take-offs of each system [m], shape (n,) each."""
        found: list[FloatArray] = [np.zeros(s.header.count) for s in self._systems]
        for row, (number, order) in enumerate(
            zip(self._rows.system.tolist(), self._rows.orders, strict=True)
        ):
            found[number][order] = self.head[row, : order.size]
        return found

    def one(self, number: int) -> SystemSolution:
        """Return the solution of one system, as `solve_system` gives it."""
        system = self._systems[number]
        count = system.header.count
        state = HeaderState(
            total=float(self.flow[number]),
            slope=0.0,
            heads=np.zeros(count),
            inlet_heads=np.zeros(count),
            flows=np.zeros(count),
            segment_flows=np.zeros(count),
            residual=0.0,
            inlet=float(self.header_head[number]),
            response=np.zeros(count),
        )
        for row in np.flatnonzero(self._rows.system == number):
            order = self._rows.orders[row]
            k = order.size
            state.heads[order] = state.inlet_heads[order] = self.head[row, :k]
            state.flows[order] = self.out[row, :k]
            state.segment_flows[order] = self.segment[row, :k]
            state.residual = max(state.residual, float(self.norm[row]))
        laterals = CurveLaterals(self._curves, system.index)
        supply = Supply(self._source, system.assembly, system.main, self._viscosity)
        return report(supply, Meeting(state.inlet, state, 0.0), laterals.outside(state))


def solve_systems(
    source: SourceCurve,
    systems: Sequence[System],
    curves: Sequence[LateralCurve],
    viscosity: float,
    near: FloatArray | None = None,
) -> ManySolution:
    """Find for each system the flow at which it and the source agree, one at a time running.

    Parameters
    ----------
    source : SourceCurve
        The source; it feeds one system at a time.
    systems : sequence of System
        What is fed, at least one; all headers with one friction law.
    curves : sequence of LateralCurve
        One curve for each distinct lateral of all systems.
    viscosity : float
        Kinematic viscosity [m2/s].
    near : numpy.ndarray, optional
        Heads at the headers to begin with [m], more than 0, shape (systems,).

    Returns
    -------
    ManySolution
        Each to the same tolerance as by `solve_system`; `outlet_heads` are the heads in the
        header, because the loss of a take-off belongs to its lateral here.

    Raises
    ------
    ConvergenceError
        If a system meets its source neither here nor by itself.

    Notes
    -----
    Newton's method on all heads in the headers and the heads at their inlets together; a step
    that makes a system worse is shortened for that system. What has not met after 25 steps is
    solved by itself, within brackets.
    """
    bank = Bank(curves)
    rows = _arms(systems, bank, viscosity)
    supplies = _Supplies(source, systems, viscosity)
    still, _ = supplies.offered(np.zeros(len(systems)))
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        start = still if near is None else np.minimum(near, still)
        state, inlet, met = _iterate(rows, supplies, np.maximum(start, 1e-3))
    met &= np.isfinite(inlet) & (still > 0.0)
    alone = {
        int(number): _alone(source, systems[number], curves, viscosity)
        for number in np.flatnonzero(~met)
    }
    for number, one in alone.items():
        for row in np.flatnonzero(rows.system == number):
            order, k = rows.orders[row], rows.orders[row].size
            state.head[row], state.flow[row], state.segment_flow[row] = 0.0, 0.0, 0.0
            state.head[row, :k], state.flow[row, :k] = one.heads[order], one.flows[order]
            state.segment_flow[row, :k] = one.segment_flows[order]
            state.norm[row] = one.residual
    return ManySolution(supplies, systems, curves, rows, state)


def _alone(
    source: SourceCurve, system: System, curves: Sequence[LateralCurve], viscosity: float
) -> HeaderState:
    """Solve one system by itself, within brackets."""
    supply = Supply(source, system.assembly, system.main, viscosity)
    model = HeaderModel(system.header, CurveLaterals(curves, system.index), viscosity)
    return meet(supply, model).state
