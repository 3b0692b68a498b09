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
from evenrow.errors import ConvergenceError
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY

if TYPE_CHECKING:
    from evenrow.hydraulics.flush_many import Closing, EndsState

Open = NDArray[np.bool_]
Groups = tuple[tuple[int, ...], ...]

#: Ends of a design up to which an order of closing is worked out: a state for each.
ORDER_MAX = 60
#: Groups of ends that are tried; beyond, ends are opened one by one.
GROUPS_MAX = 4
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
            covered[weakest] = [
                i for i in waiting if i == weakest or _bears(expected, seen, weakest, i)
            ]
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


def _bears(expected: Expected, seen: EndsState | None, weakest: int, other: int) -> bool:
    """Return whether the plan of the weakest holds for another zone with the same lines.

    All before the mains is the same. The mains of the two differ by a length and a rise, so that
    the difference of the heads that they lose goes one way with the flow: it is enough to look at
    the flow of watering and at that of flushing with every end open.
    """
    if seen is None:
        return False
    weak, good = expected.main_run(weakest), expected.main_run(other)
    flows = (expected.clean[weakest].source_flow, seen.flow)
    return all(good.losses(flow)[0].sum() <= weak.losses(flow)[0].sum() + _SAME for flow in flows)


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
            # Where some would be closed before they run, groups are shown, which are solved.
            return list(self.many.closings(systems, first, only_working=True))
        except ConvergenceError:
            if len(zones) == 1:
                return [None]
        return [closing for zone in zones for closing in self._closings([zone])]

    def plans(self, zones: Sequence[int], ordered: Sequence[int]) -> dict[int, _Plan | None]:
        """Return the plans of some zones, with an order for some of those."""
        closings = dict(zip(ordered, self._closings(ordered), strict=True))
        plans: dict[int, _Plan | None] = {}
        grouped: dict[int, int] = {}
        for zone in zones:
            seen = self.all_open[zone]
            closing = closings.get(zone)
            if seen is None or (zone in closings and closing is None):
                plans[zone] = None
                continue
            plan = _seen(seen)
            plans[zone] = plan
            if closing is None:
                continue
            closed = closing.caps_until_all_run
            together = 0 if closed is None else len(self.expected.zones[zone].ends) - closed
            plans[zone] = replace(plan, together=together)
            if closing.reopen:
                grouped[zone] = together
            else:
                plans[zone] = replace(
                    plan, order=closing.order, together=together,
                    nearest_first=closing.nearest_first,
                )  # fmt: skip
        for zone, (groups, stuck) in self._in_groups(grouped).items():
            tight = plans[zone]
            assert tight is not None
            plans[zone] = replace(tight, groups=groups, stuck=stuck)
        return plans

    def _in_groups(self, together: Mapping[int, int]) -> dict[int, tuple[Groups, tuple[int, ...]]]:
        """Return for zones the groups in which ends are opened, and the ends that never run.

        Parameters
        ----------
        together : mapping of int to int
            Zone to how many of its ends run together; 0 where not even one by one is sure.
        """
        ends = {zone: self.expected.zones[zone].ends for zone in together}
        # What runs in company runs alone too: where every group runs, no end is stuck.
        found = self._that_run({
            zone: _groups(ends[zone], most, frozenset()) for zone, most in together.items()
        })  # fmt: skip
        rest = [zone for zone in together if zone not in found]
        stuck = self._stuck(rest)
        again = {zone: _groups(ends[zone], together[zone], frozenset(stuck[zone])) for zone in rest}
        found |= self._that_run({zone: again[zone] for zone in rest if stuck[zone]})
        return {
            zone: (
                found.get(zone) or _groups(ends[zone], 1, frozenset(stuck.get(zone, ()))),
                stuck.get(zone, ()),
            )
            for zone in together
        }

    def _that_run(self, groups: Mapping[int, Groups]) -> dict[int, Groups]:
        """Return the groups of those zones that have few, and of which each one runs."""
        few = {zone: of for zone, of in groups.items() if 0 < len(of) <= GROUPS_MAX}
        run = self._run_together([(zone, group) for zone, of in few.items() for group in of])
        return {zone: of for zone, of in few.items() if all(run[zone, group] for group in of)}

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


def _groups(
    ends: tuple[End, ...], most: int, without: frozenset[int]
) -> tuple[tuple[int, ...], ...]:
    """Return ends in groups of at most `most`, whole rows where they fit, nearest the feed first.

    Ends that do not run even alone are left out.
    """
    rows: dict[int, list[int]] = {}
    for k, end in enumerate(ends):
        if k not in without:
            rows.setdefault(end.row, []).append(k)
    whole = all(len(row) <= most for row in rows.values())
    units = list(rows.values()) if whole else [[k] for row in rows.values() for k in row]
    groups: list[list[int]] = []
    for unit in units:
        if groups and len(groups[-1]) + len(unit) <= most:
            groups[-1] += unit
        else:
            groups.append(list(unit))
    groups.sort(key=lambda group: min(abs(ends[k].way) for k in group))
    return tuple(tuple(group) for group in groups)


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
