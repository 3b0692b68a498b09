"""Many systems on one source solved together: the zones of a design, or of many designs.

Each is the same system that `solve_system` solves; the header heads of all of them and the
heads where their mains end are iterated at once, so that the cost of a step is shared.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics import _line
from evenrow.hydraulics._bank import NO_LATERAL, Bank, Outlets
from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._supplies import Supplies, sums
from evenrow.hydraulics._tridiagonal import solve_symmetric
from evenrow.hydraulics.assembly import Component
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.header import CurveLaterals, Header, HeaderModel, HeaderState
from evenrow.hydraulics.laws import friction_law
from evenrow.hydraulics.network import FLOWING, NO_FLOW, Supply, SystemSolution, meet
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve

Index = NDArray[np.int64]

#: Steps after which a system that has not met its source is left to be solved by itself.
_STEPS = 25
#: Largest head that header and source may be apart [m].
TOLERANCE = 1e-8
#: Head at a take-off to begin with at least, as a share of that at the inlet of its header.
_LEAST = 0.05
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
    """The arms of all headers as rows, and the take-offs along them, each row as long as any.

    `system` says of which system each row is, `here` where it has take-offs, `place` which those
    are among the take-offs of all systems, one system after the other; `first` is the first of
    each system there, and their number at the end.
    """

    system: Index
    here: NDArray[np.bool_]
    place: Index
    first: Index
    line: _line.Line

    def by_takeoff(self, values: FloatArray) -> FloatArray:
        """Return values of shape (rows, n) by take-off, one system after the other."""
        found = np.zeros(int(self.first[-1]))
        found[self.place[self.here]] = values[self.here]
        return found


def _arms(systems: Sequence[System], bank: Bank, viscosity: float) -> _Rows:
    """Lay the arms of all headers out as rows of equal length."""
    # A header with many states is laid out once.
    headers = list({id(system.header): system.header for system in systems}.values())
    counts = np.array([header.count for header in headers])
    before = np.concatenate(([0], np.cumsum(counts)[:-1]))
    arms: dict[int, list[int]] = {}
    starts: list[tuple[int, int, int]] = []  # first take-off, way along the array, take-offs
    for header, base in zip(headers, before.tolist(), strict=True):
        feed, n = header.feed, header.count
        both = ((base + feed, 1, n - feed), (base + feed - 1, -1, feed))
        mine = [arm for arm in both if arm[2]]
        arms[id(header)] = list(range(len(starts), len(starts) + len(mine)))
        starts += mine
    begin, way, size = np.array(starts).T[:, :, None]
    step = np.arange(int(size.max()))
    at = begin + way * np.minimum(step, size - 1)
    rows = [(i, arm) for i, system in enumerate(systems) for arm in arms[id(system.header)]]
    of, arm = np.array(rows).T
    here = step < size
    each = {
        name: np.concatenate([getattr(header, name) for header in headers])[at]
        for name in ("length", "diameter", "rise", "roughness")
    }
    number = {id(header): i for i, header in enumerate(headers)}
    first = np.concatenate(([0], np.cumsum([system.index.size for system in systems])))
    shift = first[:-1] - before[[number[id(system.header)] for system in systems]]
    place, here = at[arm] + shift[of][:, None], here[arm]
    which = np.concatenate([system.index for system in systems])[place]
    line = _line.Line(
        Outlets(bank, np.where(here, which, NO_LATERAL)),
        np.where(here, each["rise"][arm], 0.0).cumsum(axis=1),
        np.where(here, each["length"][arm], 1e-6),
        each["diameter"][arm],
        each["roughness"][arm],
        viscosity,
        friction_law(systems[0].header.friction),
    )
    return _Rows(of, here, place, first, line)


def _iterate(
    rows: _Rows, supplies: Supplies, inlet: FloatArray, tolerance: float
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
        flow = sums(of, state.segment_flow[:, 0], count)
        offered, slope = supplies.offered(flow)
        return state, offered - inlet, slope

    # A take-off that is guessed dry shows the method no slope: it begins with a little head.
    first = _line.guess(rows.line, inlet[of, None])
    state, gap, slope = look(inlet, np.maximum(first, _LEAST * inlet[of, None]))
    norm = norm_of(state, gap)
    for _ in range(_STEPS):
        if bool((norm <= tolerance).all()):
            break
        step, response = _both_steps(state)
        taken = sums(of, (state.flow_slope * step).sum(axis=1), count)
        grown = sums(of, (state.flow_slope * response).sum(axis=1), count)
        down = np.minimum(slope, 0.0)
        rise = (gap + down * taken) / (1.0 - down * grown)
        step += response * rise[of, None]
        share: FloatArray = np.ones(count)
        for _ in range(5):
            tried = look(inlet + share * rise, state.head + share[of, None] * step)
            left = norm_of(*tried[:2])
            worse = (left > norm) & (norm > tolerance)
            if not worse.any():
                break
            share = np.where(worse, 0.4 * share, share)
        inlet = inlet + share * rise
        state, gap, slope = tried
        norm = left
    return state, inlet, np.asarray(norm <= tolerance)


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
    """

    def __init__(
        self,
        supplies: Supplies,
        systems: Sequence[System],
        curves: Sequence[LateralCurve],
        rows: _Rows,
        state: _line.State,
    ) -> None:
        self._systems, self._curves = systems, curves
        self._rows = rows
        self.head, self.out = state.head, state.flow
        self.segment, self.norm = state.segment_flow, state.norm
        self.flow = sums(rows.system, state.segment_flow[:, 0], len(systems))
        self.header_head, _ = supplies.offered(self.flow)
        self._supplies = supplies

    @cached_property
    def regulators(self) -> list[str]:
        """State of the regulator of each system, as in `SystemSolution`."""
        return self._supplies.regulators(self.flow)

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
        return np.split(self._rows.by_takeoff(self.head), self._rows.first[1:-1])

    @cached_property
    def _details(self) -> _Details:
        """What `one` tells, of all systems."""
        rows, law = self._rows, self._rows.line.law
        assert isinstance(law, Outlets)
        low, high = law.bank.low[law.known], law.bank.high[law.known]
        outside = (((self.head < low) | (self.head > high)) & (self.out > 0.0)).any(axis=1)
        residual = np.zeros(self.flow.size)
        np.maximum.at(residual, rows.system, self.norm)
        source, parts, pipes = self._supplies.heads(self.flow)
        return _Details(
            source,
            parts,
            pipes,
            rows.by_takeoff(self.head),
            rows.by_takeoff(self.out),
            rows.by_takeoff(self.segment),
            sums(rows.system, outside.astype(np.float64), self.flow.size) > 0.0,
            residual,
        )

    def one(self, number: int) -> SystemSolution:
        """Return the solution of one system, as `solve_system` gives it."""
        all_ = self._details
        flow, source = float(self.flow[number]), self._supplies.source
        mine = slice(*self._rows.first[number : number + 2].tolist())
        heads = all_.takeoffs[mine]
        return SystemSolution(
            state=FLOWING if flow > 0.0 else NO_FLOW,
            source_flow=flow,
            source_head=float(all_.source[number]),
            names=tuple(part.name for part in self._systems[number].assembly),
            component_heads=np.array(all_.parts[number]),
            regulator=self.regulators[number],
            main_heads=all_.pipes[number],
            header_head=float(self.header_head[number]),
            outlet_heads=heads,
            outlet_flows=all_.flows[mine],
            takeoff_heads=heads,
            segment_flows=all_.segments[mine],
            residual=float(all_.residual[number]),
            beyond_source=flow > source.max_flow * (1.0 + 1e-12),
            outside_curves=bool(all_.outside[number]),
        )


class _Details(NamedTuple):
    """What is known of all systems: by system, or by take-off one system after the other."""

    source: FloatArray
    parts: list[list[float]]
    pipes: list[FloatArray]
    takeoffs: FloatArray
    flows: FloatArray
    segments: FloatArray
    outside: NDArray[np.bool_]
    residual: FloatArray


def solve_systems(
    source: SourceCurve,
    systems: Sequence[System],
    curves: Sequence[LateralCurve],
    viscosity: float,
    tolerance: float = TOLERANCE,
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
    tolerance : float
        What an equation of head may be off by [m], 1e-12 or more.

    Returns
    -------
    ManySolution
        Each equation of head kept to `tolerance`; `outlet_heads` are the
        heads in the header, because the loss of a take-off belongs to its lateral here.

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
    supplies = Supplies(source, [s.assembly for s in systems], [s.main for s in systems], viscosity)
    still, _ = supplies.offered(np.zeros(len(systems)))
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        state, inlet, met = _iterate(rows, supplies, np.maximum(still, 1e-3), tolerance)
    met &= np.isfinite(inlet) & (still > 0.0)
    alone = {
        int(number): _alone(source, systems[number], curves, viscosity)
        for number in np.flatnonzero(~met)
    }
    for number, one in alone.items():
        for row in np.flatnonzero(rows.system == number):
            here = rows.here[row]
            order = rows.place[row, here] - rows.first[number]
            for mine, values in (
                (state.head, one.heads), (state.flow, one.flows),
                (state.segment_flow, one.segment_flows),
            ):  # fmt: skip
                mine[row], mine[row, here] = 0.0, values[order]
            state.norm[row] = one.residual
    return ManySolution(supplies, systems, curves, rows, state)


def _alone(
    source: SourceCurve, system: System, curves: Sequence[LateralCurve], viscosity: float
) -> HeaderState:
    """Solve one system by itself, within brackets."""
    supply = Supply(source, system.assembly, system.main, viscosity)
    model = HeaderModel(system.header, CurveLaterals(curves, system.index), viscosity)
    return meet(supply, model).state
