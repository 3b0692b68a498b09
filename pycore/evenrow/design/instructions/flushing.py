"""Which open ends run, and in which order they are flushed and closed: solved by zone."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenrow import hydraulics
from evenrow.design.expected import End, Expected, ZoneNetwork
from evenrow.errors import ConvergenceError

#: Ends of a design up to which an order of closing is worked out: one solve for each.
ORDER_MAX = 60
#: Groups of ends that are tried, each a solve of its own; beyond, ends are opened one by one.
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

    Zones with the same header and lines are solved once, for the one with the least pressure.

    Notes
    -----
    Closing an end raises the pressure at all the others, and more pressure from the main
    raises the velocity at each: what runs goes on running, and what runs in the weaker of two
    equal zones runs in the other.
    """
    found: dict[int, ZoneFlush | None] = {}
    left = ORDER_MAX
    for alike in _alike(expected):
        waiting = sorted(alike, key=lambda i: expected.clean[i].header_head)
        while waiting:
            weakest = waiting[0]
            count = len(expected.zones[weakest].ends)
            ordered = count <= left
            plan = _plan(expected, expected.zones[weakest], ordered=ordered)
            if ordered and plan is not None and plan.running < count:
                left -= count
            covered = [i for i in waiting if i == weakest or _bears(expected, plan, weakest, i)]
            for i in covered:
                found[i] = _of_zone(expected, plan, weakest, i)
            waiting = [i for i in waiting if i not in covered]
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


def _bears(expected: Expected, plan: _Plan | None, weakest: int, other: int) -> bool:
    """Return whether the plan of the weakest holds for another zone with the same lines.

    The mains of the two differ by a length and a rise, so that the difference of the heads
    that they bring goes one way with the flow: it is enough to look at the flow of watering
    and at that of flushing with every end open.
    """
    if plan is None:
        return False
    weak, good = expected.supply(weakest), expected.supply(other)
    flows = (expected.clean[weakest].source_flow, plan.flow)
    return all(good.offered(flow)[0] >= weak.offered(flow)[0] - _SAME for flow in flows)


def _plan(expected: Expected, network: ZoneNetwork, *, ordered: bool) -> _Plan | None:
    found = expected.found
    viscosity = found.field.line.viscosity
    args = (
        found.field.source,
        found.candidate.assembly.components(dirty=False),
        network.main,
        network.header,
        network.laterals,
        network.kinds,
    )
    # By the name of the package: the site loads this part when it is first asked for.
    try:
        first = hydraulics.flush_state(*args, viscosity=viscosity)
        seen = _Plan(
            running=int(first.runs.sum()),
            slowest=float(first.end_velocities.min()),
            flow=first.system.source_flow,
            beyond_source=first.system.beyond_source,
        )
        if first.runs.all() or not ordered:
            return seen
        plan = hydraulics.recap_plan(*args, viscosity=viscosity)
        closed = plan.caps_until_all_run
        together = 0 if closed is None else len(network.ends) - closed
        if not plan.reopen:
            return replace(
                seen, order=plan.order, together=together, nearest_first=plan.nearest_first
            )
        groups = _groups(network.ends, together, frozenset(plan.stuck))
        if len(groups) > GROUPS_MAX or not all(
            _run_together(
                hydraulics.flush_state(*args, _open(group, network), viscosity=viscosity), group
            )
            for group in groups
        ):
            groups = _groups(network.ends, 1, frozenset(plan.stuck))
    except ConvergenceError:
        return None
    return replace(seen, together=together, groups=groups, stuck=plan.stuck)


def _open(group: tuple[int, ...], network: ZoneNetwork) -> NDArray[np.bool_]:
    return np.isin(np.arange(len(network.ends)), group)


def _run_together(state: hydraulics.FlushState, group: tuple[int, ...]) -> bool:
    return bool(state.runs[list(group)].all())


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
