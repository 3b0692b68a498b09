"""Flushing many zones on one source: all states that a plan asks for solved together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.end_curves import OpenCurve, closed_curve, open_curve
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY
from evenrow.hydraulics.flushing import EQUAL, EXIT_K, against_nearest_first, distances, far_bore
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.many import TOLERANCE, ManySolution, System, solve_systems
from evenrow.hydraulics.network import SystemSolution
from evenrow.hydraulics.source import SourceCurve

Open = NDArray[np.bool_]

#: Part of the highest inlet head at which the curves of the laterals begin: centimetres. A line on
#: a fall stops within them, and a steeper stop would keep Newton's method from its end.
_LOWEST = 5e-3
#: What an equation of head may be off by: far less than any velocity is told to. [m]
_LEFT = 1e-6
#: Turns of an order that are solved ahead after a guess of it was wrong, at least.
_AHEAD = 4


@dataclass(frozen=True)
class EndsState:
    """A zone with some ends open.

    Attributes
    ----------
    flow : float
        What the source gives [m3/s].
    beyond_source : bool
        True if that lies beyond the last known point of the source's curve.
    velocities : numpy.ndarray
        Velocity out of each end [m/s], 0 where it is closed, shape (n,).
    header_head : float
        Head where the main meets the header [m].
    """

    flow: float
    beyond_source: bool
    velocities: FloatArray
    header_head: float


@dataclass(frozen=True)
class Closing:
    """The order in which the ends of a zone are closed again.

    Attributes
    ----------
    order, velocities, caps_until_all_run, reopen, stuck, nearest_first
        As of `flushing.RecapPlan`.
    """

    order: tuple[int, ...]
    velocities: tuple[float, ...]
    caps_until_all_run: int | None
    reopen: tuple[int, ...]
    stuck: tuple[int, ...]
    nearest_first: bool


class ManyFlush:
    """Zones on one source with ends that can be open or closed.

    Parameters
    ----------
    source : SourceCurve
        The source; it feeds one zone at a time.
    laterals : sequence of Lateral
        The distinct laterals, the loss of their take-off in them (`inlet_k`).
    curves : sequence of LateralCurve
        The curve of each of them while it waters.
    head : float
        Highest head that a lateral can see [m].
    viscosity : float
        Kinematic viscosity [m2/s].
    velocity_min : float
        Velocity that counts as running [m/s].
    exit_k : float
        Velocity heads lost at an open end [-].

    Notes
    -----
    The states of `flushing.flush_state`, to the tolerance of the curves (see `end_curves`): the
    tests hold the velocities against lines solved one by one.
    """

    def __init__(
        self, source: SourceCurve, laterals: Sequence[Lateral], curves: Sequence[LateralCurve],
        head: float, viscosity: float, *, velocity_min: float = FLUSH_VELOCITY,
        exit_k: float = EXIT_K,
    ) -> None:  # fmt: skip
        self.source, self.laterals, self.viscosity = source, laterals, viscosity
        self.velocity_min = velocity_min
        self._watering, self._head, self._exit_k = curves, head, exit_k
        self._open: dict[int, OpenCurve] = {}
        self._closed: dict[int, LateralCurve] = {}

    def _open_curve(self, kind: int) -> OpenCurve:
        if kind not in self._open:
            self._open[kind] = open_curve(
                self.laterals[kind], _LOWEST * self._head, self._head, exit_k=self._exit_k
            )
        return self._open[kind]

    def _closed_curve(self, kind: int) -> LateralCurve:
        if kind not in self._closed:
            self._closed[kind] = closed_curve(
                self.laterals[kind], _LOWEST * self._head, self._watering[kind]
            )
        return self._closed[kind]

    def states(self, systems: Sequence[System], opened: Sequence[Open]) -> list[EndsState]:
        """Return each zone as it runs with some ends open.

        Parameters
        ----------
        systems : sequence of System
            The zones, one of them as often as it has states; `index` says which lateral each
            take-off has.
        opened : sequence of numpy.ndarray of bool
            For each the ends that are open, shape (n,).

        Raises
        ------
        ConvergenceError
            If a system or a curve is not solved.
        """
        return self._states(systems, opened, ())[0]

    def all_open_and_watering(
        self, systems: Sequence[System]
    ) -> tuple[list[EndsState], list[SystemSolution]]:
        """Return each zone with every end open, and each as it waters, all solved together.

        Parameters
        ----------
        systems : sequence of System
            The zones; `index` says which lateral each take-off has.

        Raises
        ------
        ConvergenceError
            If a system or a curve is not solved.
        """
        opened = [np.ones(system.index.size, dtype=bool) for system in systems]
        states, solved = self._states(systems, opened, systems)
        return states, [solved.one(len(states) + i) for i in range(len(systems))]

    def _states(
        self, systems: Sequence[System], opened: Sequence[Open], watering: Sequence[System]
    ) -> tuple[list[EndsState], ManySolution]:
        """Return zones with some ends open, and the solution of these and of those that water."""
        curves: list[LateralCurve] = []
        place: dict[tuple[int, bool], int] = {}
        put = np.full((len(self.laterals), 2), -1)
        for kind, is_open in sorted(
            {pair for s, o in zip(systems, opened, strict=True)
             for pair in zip(s.index.tolist(), o.tolist(), strict=True)}
        ):  # fmt: skip
            put[kind, int(is_open)] = place[kind, is_open] = len(curves)
            curves.append(self._open_curve(kind).inlet if is_open else self._closed_curve(kind))
        asked = [
            System(s.assembly, s.main, s.header, put[s.index, is_open.astype(np.int64)])
            for s, is_open in zip(systems, opened, strict=True)
        ]
        if watering:
            asked += [replace(s, index=s.index + len(curves)) for s in watering]
            curves += self._watering
        solved = solve_systems(
            self.source,
            asked,
            curves,
            self.viscosity,
            tolerance=TOLERANCE if watering else _LEFT,
        )
        heads = solved.takeoff_heads()[: len(systems)]
        everyone = np.concatenate([s.index for s in systems])
        all_open, all_heads = np.concatenate(list(opened)), np.concatenate(heads)
        found = np.zeros(everyone.size)
        for kind in np.unique(everyone[all_open]).tolist():
            mine = np.flatnonzero((everyone == kind) & all_open)
            area = 0.25 * math.pi * far_bore(self.laterals[kind]) ** 2
            found[mine] = self._open_curve(kind).end_flows(all_heads[mine]) / area
        velocities = np.split(found, np.cumsum([s.index.size for s in systems])[:-1])
        limit = self.source.max_flow * (1.0 + 1e-12)
        states = [
            EndsState(flow, flow > limit, velocity, head)
            for flow, velocity, head in zip(
                solved.flow.tolist(), velocities, solved.header_head.tolist(), strict=False
            )
        ]
        return states, solved

    def closings(self, systems: Sequence[System], first: Sequence[EndsState]) -> list[Closing]:
        """Return in which order the ends of each zone are closed again.

        Parameters
        ----------
        systems : sequence of System
            The zones.
        first : sequence of EndsState
            Each with all ends open.

        Returns
        -------
        list of Closing
            The rule of `flushing.recap_plan`: the strongest of the open ends first, the nearest
            to the feed of those equally strong.

        Raises
        ------
        ConvergenceError
            If a system is not solved.

        Notes
        -----
        The order is guessed from the velocities with the ends open so far, the states of many
        turns are solved together, and the guess is kept up to the first turn at which another
        end is the strongest; from there it is made anew.
        """
        runs = [
            _Order(system, state, self.velocity_min)
            for system, state in zip(systems, first, strict=True)
        ]
        # Closing others raises the head: an end that runs with all open runs alone too.
        weak = [
            (run, end)
            for run, state in zip(runs, first, strict=True)
            for end in np.flatnonzero(state.velocities < self.velocity_min).tolist()
        ]
        stuck: dict[int, list[int]] = {}
        while asked := [(run, turn) for run in runs for turn in run.turns()]:
            opened = [run.opened(turn) for run, turn in asked]
            opened += [np.arange(run.count) == end for run, end in weak]
            states = self.states([run.system for run, _ in (*asked, *weak)], opened)
            for (run, end), state in zip(weak, states[len(asked) :], strict=True):
                if state.velocities[end] < self.velocity_min:
                    stuck.setdefault(id(run), []).append(end)
            weak = []
            told: dict[int, dict[int, FloatArray]] = {}
            for (run, turn), state in zip(asked, states, strict=False):
                told.setdefault(id(run), {})[turn] = state.velocities
            for run in runs:
                run.learn(told.get(id(run), {}))
        return [run.closing(stuck.get(id(run), [])) for run in runs]


class _Order:
    """The order of closing of one zone while it is found."""

    def __init__(self, system: System, first: EndsState, velocity_min: float) -> None:
        self.system, self.velocity_min = system, velocity_min
        self.count = system.index.size
        self.distance = distances(system.header)
        self.order: list[int] = []  # what is certain
        self.guess: list[int] = []  # the rest
        self.velocities: list[float] = []
        self.reopen: list[int] = []
        self.enough: int | None = None
        self.ahead = self.count
        self._take(first.velocities, range(self.count))
        self._guess(first.velocities)

    def opened(self, turn: int) -> Open:
        """Return the ends open at a turn, by the order known and guessed."""
        is_open: Open = np.ones(self.count, dtype=bool)
        is_open[[*self.order, *self.guess][:turn]] = False
        return is_open

    def turns(self) -> range:
        """Return the turns to be solved next."""
        done = len(self.order)
        return range(done, min(done + self.ahead, self.count))

    def learn(self, told: dict[int, FloatArray]) -> None:
        """Go on with the velocities at the turns asked for, as far as the guess was right."""
        for done, turn in enumerate(sorted(told), start=1):
            wanted = self.guess[0]
            self._take(told[turn], self.guess)
            if self.order[-1] != wanted:
                self.ahead = max(_AHEAD, 2 * done)
                self._guess(told[turn])
                return
            self.guess.pop(0)

    def _take(self, velocity: FloatArray, among: Sequence[int]) -> None:
        """Close the strongest of some of the ends that are open."""
        turn = len(self.order)
        is_open = self.opened(turn)
        if self.enough is None and bool((velocity[is_open] >= self.velocity_min).all()):
            self.enough = turn
        ends = np.sort(among)
        ties = ends[velocity[ends] >= velocity[ends].max() * (1.0 - EQUAL)]
        chosen = int(ties[np.argmin(self.distance[ties])])
        self.velocities.append(float(velocity[chosen]))
        if self.velocities[-1] < self.velocity_min:
            self.reopen.append(chosen)
        self.order.append(chosen)

    def _guess(self, velocity: FloatArray) -> None:
        """Guess that the ends still open go on in the order of their velocities."""
        left = np.flatnonzero(self.opened(len(self.order)))
        order = np.lexsort((self.distance[left], -np.round(velocity[left], 9)))
        self.guess = left[order].tolist()

    def closing(self, weak: Sequence[int]) -> Closing:
        """Return what was found; `weak` are the ends that do not run alone."""
        nearest, _ = against_nearest_first(self.order, self.distance, self.system.header.feed)
        return Closing(
            tuple(self.order), tuple(self.velocities), self.enough, tuple(self.reopen),
            tuple(end for end in self.reopen if end in weak), nearest,
        )  # fmt: skip
