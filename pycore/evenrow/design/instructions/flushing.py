"""Which open ends run, and in which order they are flushed and closed: solved by zone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evenrow.design.expected import End, Expected, ZoneNetwork
from evenrow.design.instructions.flush_groups import Groups, divisions, in_groups
from evenrow.errors import ConvergenceError
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY

if TYPE_CHECKING:
    from evenrow.hydraulics.flush_many import Closing, EndsState

Open = NDArray[np.bool_]

#: Ends of a design up to which an order of closing is worked out: a state for each.
ORDER_MAX = 60
#: Lengths and heads closer than this are the same. [m]
_SAME = 1e-6


@dataclass(frozen=True, kw_only=True)
class ZoneFlush:
    """How the lines of one zone are flushed, with a clean filter.

    Parameters
    ----------
    zone : int
        Its number.
    solved : int
        The zone that was solved for it: itself, or one with the same header and lines and
        less pressure, so that here every end runs at least as well.
    ends : tuple of End
        All its ends, in the order of the take-offs.
    running : int
        How many of them run at `FLUSH_VELOCITY` or more with every end open.
    slowest : float
        Lowest velocity out of an end with every end open [m/s].
    flow : float
        What the source then gives [m3/s].
    beyond_source : bool
        Whether that is more than the source's curve reaches to, and thus not certain.
    order : tuple of End
        In which they are closed where not all run at once but each runs before its turn: the
        strongest of those still open first.
    together : int
        How many of the last of that order run together.
    nearest_first : bool
        Whether that order never passes over an end nearer to the feed.
    groups : tuple of tuple of End
        Where some would be closed before they run: ends opened together, all others capped.
    stuck : tuple of End
        Ends that do not run even alone.
    header_velocity : float or None
        Out of the open end of the header, or the slower of its two ends, each open alone,
        before lines are joined [m/s]; None where that was not worked out.
    """

    zone: int
    solved: int
    ends: tuple[End, ...]
    running: int
    slowest: float
    flow: float
    beyond_source: bool = False
    order: tuple[End, ...] = ()
    together: int = 0
    nearest_first: bool = True
    groups: tuple[tuple[End, ...], ...] = ()
    stuck: tuple[End, ...] = ()
    header_velocity: float | None = None

    @property
    def all_run(self) -> bool:
        """Whether every end can be open at once."""
        return self.running == len(self.ends)


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """What was solved for one zone, ends by their place in the order of the take-offs."""

    running: int
    slowest: float
    flow: float
    beyond_source: bool
    order: tuple[int, ...] = ()
    together: int = 0
    nearest_first: bool = True
    groups: tuple[tuple[int, ...], ...] = ()
    stuck: tuple[int, ...] = ()


def header_velocity(expected: Expected, network: ZoneNetwork) -> float | None:
    """Return the velocity out of the header's open end, the slower of two [m/s], if known."""
    found = []
    for last in network.sides:
        flow = expected.open_header_flow(network, last=last)
        if flow is None:
            return None
        found.append(flow / (0.25 * math.pi * network.arm(last)[-1].diameter ** 2))
    return min(found)


def flush_plans(expected: Expected) -> tuple[ZoneFlush | None, ...]:
    """Return how the lines of each zone are flushed; None where no solution was found.

    Zones with the same header and lines share a plan, that of the one with the least pressure.

    Notes
    -----
    Closing an end raises the pressure at all the others, and more pressure from the main
    raises the velocity at each: what runs goes on running, and what runs in the weaker of two
    equal zones runs in the other.
    """
    flush = _Flush(expected)
    first = flush.all_open
    #: The zones that each plan holds for, by the one that it was solved for.
    covered: dict[int, list[int]] = {}
    ordered: list[int] = []
    left = ORDER_MAX
    for alike in _alike(expected):
        waiting = sorted(alike, key=lambda i: expected.clean[i].header_head)
        while waiting:
            weakest = waiting[0]
            seen = first[weakest]
            count = len(expected.zones[weakest].ends)
            if seen is not None and count <= left and not flush.all_run(weakest):
                ordered.append(weakest)
                left -= count
            covered[weakest] = _borne(expected, seen, weakest, waiting)
            waiting = [i for i in waiting if i not in covered[weakest]]
    plans = flush.plans(list(covered), ordered)
    found = {
        i: _of_zone(expected, plans[weakest], weakest, i)
        for weakest, mine in covered.items()
        for i in mine
    }
    return tuple(found[i] for i in range(len(expected.zones)))


def _alike(expected: Expected) -> list[list[int]]:
    """Return the zones in groups with the same header and lines."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for i, network in enumerate(expected.zones):
        header = network.header
        shape = (
            network.kinds.tobytes(),
            header.feed,
            # Adding nothing makes -0.0 the 0.0 that it equals.
            (np.round(np.asarray(header.length) / _SAME) + 0.0).tobytes(),
            (np.round(np.asarray(header.rise) / _SAME) + 0.0).tobytes(),
            np.asarray(header.diameter).tobytes(),
            tuple((end.row - network.ends[0].row, end.line) for end in network.ends),
        )
        groups.setdefault(shape, []).append(i)
    return list(groups.values())


def _borne(
    expected: Expected, seen: EndsState | None, weakest: int, zones: Sequence[int]
) -> list[int]:
    """Return those of some zones with the same lines for which the plan of the weakest holds.

    All before the mains is the same. The mains of two differ by a length and a rise, so that
    the difference of the heads that they lose goes one way with the flow: it is enough to look at
    the flow of watering and at that of flushing with every end open.
    """
    if seen is None:
        return [weakest]
    watering, flushing = (
        expected.main_losses(flow) for flow in (expected.clean[weakest].source_flow, seen.flow)
    )
    return [
        i
        for i in zones
        if watering[i] <= watering[weakest] + _SAME and flushing[i] <= flushing[weakest] + _SAME
    ]


class _Flush:
    """The zones of a design with ends open, in states solved together."""

    def __init__(self, expected: Expected) -> None:
        self.expected = expected
        self.systems = expected.systems
        self.many = expected.flush

    @cached_property
    def all_open(self) -> list[EndsState | None]:
        """Each zone with every end open; None where no solution was found."""
        if self.expected.all_open is not None:
            return list(self.expected.all_open)
        asked = [(i, np.ones(s.index.size, dtype=bool)) for i, s in enumerate(self.systems)]
        return self._states(asked)

    def all_run(self, zone: int) -> bool:
        """Return whether every end of a zone runs with all of them open."""
        seen = self.all_open[zone]
        return seen is not None and bool((seen.velocities >= FLUSH_VELOCITY).all())

    def _states(self, asked: Sequence[tuple[int, Open]]) -> list[EndsState | None]:
        """Return zones with some ends open, one by one where together they are not solved."""
        if not asked:
            return []
        try:
            systems = [self.systems[i] for i, _ in asked]
            return list(self.many.states(systems, [is_open for _, is_open in asked]))
        except ConvergenceError:
            if len(asked) == 1:
                return [None]
        return [state for one in asked for state in self._states([one])]

    def _closings(self, zones: Sequence[int]) -> list[Closing | None]:
        """Return the order of closing of zones whose first state is known, likewise."""
        known = [(self.systems[i], state) for i in zones if (state := self.all_open[i]) is not None]
        if not known:
            return []
        try:
            systems, first = zip(*known, strict=True)
            return list(self.many.closings(systems, first))
        except ConvergenceError:
            if len(zones) == 1:
                return [None]
        return [closing for zone in zones for closing in self._closings([zone])]

    def plans(self, zones: Sequence[int], ordered: Sequence[int]) -> dict[int, _Plan | None]:
        """Return the plans of some zones, with an order or groups for some of those."""
        plans: dict[int, _Plan | None] = {}
        for zone in zones:
            seen = self.all_open[zone]
            plans[zone] = None if seen is None else _seen(seen)
        # Where not even the strongest end runs with all open, no order of closing will do.
        strong = [
            zone
            for zone in ordered
            if (seen := self.all_open[zone]) is not None
            and bool((seen.velocities >= FLUSH_VELOCITY).any())
        ]
        closings = dict(zip(strong, self._closings(strong), strict=True))
        grouped = []
        for zone in ordered:
            plan, closing = plans[zone], closings.get(zone)
            if plan is None or (zone in closings and closing is None):
                plans[zone] = None
            elif closing is None or closing.reopen or closing.caps_until_all_run is None:
                grouped.append(zone)
            else:
                plans[zone] = replace(
                    plan,
                    order=closing.order,
                    together=len(closing.order) - closing.caps_until_all_run,
                    nearest_first=closing.nearest_first,
                )
        for zone, (groups, stuck) in self._in_groups(grouped).items():
            plan = plans[zone]
            assert plan is not None
            plans[zone] = replace(plan, groups=groups, stuck=stuck)
        return plans

    def _in_groups(self, zones: Sequence[int]) -> dict[int, tuple[Groups, tuple[int, ...]]]:
        """Return for zones the groups in which ends are opened, and the ends that never run.

        The fewest groups that run, each with all others capped; else one end at a time.
        """
        ends = {zone: self.expected.zones[zone].ends for zone in zones}
        # What runs in company runs alone too: where every group runs, no end is stuck.
        found = self._that_run({zone: divisions(ends[zone], frozenset()) for zone in zones})
        rest = [zone for zone in zones if zone not in found]
        stuck = self._stuck(rest)
        found |= self._that_run({
            zone: divisions(ends[zone], frozenset(stuck[zone])) for zone in rest if stuck[zone]
        })  # fmt: skip
        return {
            zone: (
                found.get(zone) or in_groups(ends[zone], 1, frozenset(stuck[zone])),
                stuck.get(zone, ()),
            )
            for zone in zones
        }

    def _that_run(self, divisions: Mapping[int, Sequence[Groups]]) -> dict[int, Groups]:
        """Return of each zone's divisions into groups the first of which every group runs."""
        tried = {
            (zone, group): None for zone, them in divisions.items() for of in them for group in of
        }
        run = self._run_together(list(tried))
        found = {}
        for zone, them in divisions.items():
            good = [of for of in them if all(run[zone, group] for group in of)]
            if good:
                found[zone] = good[0]
        return found

    def _stuck(self, zones: Sequence[int]) -> dict[int, tuple[int, ...]]:
        """Return the ends of zones that do not run even alone."""
        weak = [
            (zone, int(end))
            for zone in zones
            if (seen := self.all_open[zone]) is not None
            for end in np.flatnonzero(seen.velocities < FLUSH_VELOCITY)
        ]
        run = self._run_together([(zone, (end,)) for zone, end in weak])
        return {
            zone: tuple(end for of, end in weak if of == zone and not run[of, (end,)])
            for zone in zones
        }

    def _run_together(
        self, tried: Sequence[tuple[int, tuple[int, ...]]]
    ) -> dict[tuple[int, tuple[int, ...]], bool]:
        """Return of groups of ends of zones whether each runs while all others are closed."""
        ends = {zone: np.arange(self.systems[zone].index.size) for zone, _ in tried}
        asked = [(zone, np.isin(ends[zone], group)) for zone, group in tried]
        return {
            (zone, group): state is not None
            and bool((state.velocities[list(group)] >= FLUSH_VELOCITY).all())
            for (zone, group), state in zip(tried, self._states(asked), strict=True)
        }


def _seen(state: EndsState) -> _Plan:
    """Return the plan of a zone of which only the state with every end open is known."""
    return _Plan(
        running=int((state.velocities >= FLUSH_VELOCITY).sum()),
        slowest=float(state.velocities.min()),
        flow=state.flow,
        beyond_source=state.beyond_source,
    )


def _of_zone(expected: Expected, plan: _Plan | None, solved: int, zone: int) -> ZoneFlush | None:
    """Return a plan in the words of a zone: its own ends, its own header."""
    if plan is None:
        return None
    network = expected.zones[zone]
    ends = network.ends
    return ZoneFlush(
        zone=network.layout.number,
        solved=expected.zones[solved].layout.number,
        ends=ends,
        running=plan.running,
        slowest=plan.slowest,
        flow=plan.flow,
        beyond_source=plan.beyond_source,
        order=tuple(ends[k] for k in plan.order),
        together=plan.together,
        nearest_first=plan.nearest_first,
        groups=tuple(tuple(ends[k] for k in group) for group in plan.groups),
        stuck=tuple(ends[k] for k in plan.stuck),
        header_velocity=header_velocity(expected, network),
    )
