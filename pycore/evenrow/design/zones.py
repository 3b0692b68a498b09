"""Zones: the exact partition of rows, in their order, by flow.

Fewest zones first, then the most even flow.  Rows of one zone lie beside each
other, and rows of different crop groups never share a zone.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from evenrow.errors import ImpossibleError, InputError
from evenrow.words import tr

#: Most steps of the dynamic program, one for each row and zone.
STEPS_MAX = 300_000
#: Zone flows may exceed the capacity by this share: rounding, not water.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Partition:
    """Zones as half-open row ranges with the flow of each [m3/s]."""

    ranges: tuple[tuple[int, int], ...]
    flows: tuple[float, ...]

    @property
    def evenness(self) -> float:
        """Smallest zone flow over the largest, 0 to 1."""
        return min(self.flows) / max(self.flows)


def _window_starts(
    flows: NDArray[np.float64], capacity: float, groups: Sequence[object]
) -> NDArray[np.intp]:
    """Return for each row the first row with which it may share a zone."""
    total = np.concatenate(([0.0], np.cumsum(flows)))
    limit = capacity * (1.0 + _ROUNDING)
    by_flow = np.searchsorted(total, total[1:] - limit, side="left")
    new_group = [0] + [int(a != b) for a, b in itertools.pairwise(groups)]
    group_start = np.maximum.accumulate(np.where(new_group, np.arange(len(flows)), 0))
    return np.asarray(np.maximum(by_flow, group_start))


def group_runs(groups: Sequence[object]) -> int:
    """Return how many runs of equal names lie one after another: the least zones of all."""
    return 1 + sum(a != b for a, b in pairwise(groups))


def fewest_zones(flows: Sequence[float], capacity: float, groups: Sequence[object]) -> int:
    """Return the smallest number of zones, by filling each zone as far as it goes.

    Filling greedily is exact here: no partition into contiguous zones can ever be ahead of it.
    """
    starts = _window_starts(np.asarray(flows, float), capacity, groups)
    zones, row = 0, len(starts)
    while row > 0:
        row = int(starts[row - 1])
        zones += 1
    return zones


def least_capacity(flows: Sequence[float], zones: int, groups: Sequence[object]) -> float:
    """Return the least flow of the largest zone, over all partitions into that many zones.

    Parameters
    ----------
    flows, groups
        As in `partition`.
    zones : int
        At least `group_runs` of the groups.

    Returns
    -------
    float
        [m3/s]; with that capacity `fewest_zones` needs no more zones.
    """
    low, high = max(flows), sum(flows)
    if fewest_zones(flows, low, groups) <= zones:
        return low
    for _ in range(60):
        middle = 0.5 * (low + high)
        if fewest_zones(flows, middle, groups) <= zones:
            high = middle
        else:
            low = middle
    return high


def _check(flows: NDArray[np.float64], capacity: float, groups: Sequence[object]) -> None:
    if flows.ndim != 1 or flows.size == 0:
        raise InputError(tr("there are no rows to water"), code="missing", field="rows")
    if not np.all(np.isfinite(flows)) or np.any(flows <= 0.0):
        raise InputError(tr("every row needs a flow above zero"), code="out_of_range", field="rows")
    if len(groups) != flows.size:
        raise InputError(tr("one group name for each row is needed"), field="rows")
    if not np.isfinite(capacity) or capacity <= 0.0:
        raise InputError(
            tr("the flow to share must be above zero"), code="out_of_range", field="flow"
        )
    largest = int(np.argmax(flows))
    if flows[largest] > capacity * (1.0 + _ROUNDING):
        raise ImpossibleError(
            tr(
                "row {largest} alone takes {flows:.3g} times the flow that there is",
                largest=largest + 1,
                flows=flows[largest] / capacity,
            ),
            limit="flow of the largest row",
            field="rows",
            changes=(
                tr("feed the rows from the middle and water each half by itself"),
                tr("a line with a lower flow, or wider emitter spacing"),
                tr("fewer lines on a row"),
            ),
        )


def partition(
    flows: Sequence[float],
    capacity: float,
    groups: Sequence[object] | None = None,
    *,
    zones: int | None = None,
) -> Partition:
    """Split rows into zones: fewest zones, then the most even flow.

    Parameters
    ----------
    flows : sequence of float
        Flow of each row in its order along the header, each > 0. [m3/s]
    capacity : float
        Largest flow of a zone, > 0. [m3/s]
    groups : sequence, optional
        Crop group of each row; a zone never holds two groups.
    zones : int, optional
        Split into exactly this many instead of the fewest.

    Returns
    -------
    Partition
        Of all partitions into that many zones, the one with the least sum of squared zone
        flows (for a given total: the least variance), found by dynamic programming; the
        first in row order among equals.

    Raises
    ------
    InputError
        Flows or capacity that are not finite and positive; a number of zones that the rows
        and groups do not allow.
    ImpossibleError
        A single row takes more than the capacity.

    References
    ----------
    R. Bellman (1957), *Dynamic Programming*: the linear partition recursion.
    """
    values = np.asarray(flows, float)
    names: Sequence[object] = [0] * values.size if groups is None else groups
    _check(values, capacity, names)
    starts = _window_starts(values, capacity, names)
    least = fewest_zones(flows, capacity, names)
    count = least if zones is None else zones
    if not least <= count <= values.size:
        raise InputError(
            tr("{count} zones are not possible", count=count),
            code="out_of_range",
            field="zones",
            given=count,
            accepted=tr("{least} to {most}", least=least, most=values.size),
        )
    return Partitions(values, starts, only=count).into(count)


def partitions(flows: Sequence[float], groups: Sequence[object]) -> Partitions:
    """Return the most even partitions of rows into any number of zones, without a capacity."""
    values = np.asarray(flows, float)
    total = float(values.sum())
    _check(values, total, groups)
    return Partitions(values, _window_starts(values, total, groups))


class Partitions:
    """Most even partitions of the same rows into any number of zones.

    The table of the dynamic program for k zones holds those for fewer, so that asking for one
    zone more costs one further layer.

    Parameters
    ----------
    flows : ndarray, shape (n,)
        Flow of each row. [m3/s]
    starts : ndarray of int, shape (n,)
        First row with which each row may share a zone.
    only : int, optional
        The one number of zones that will be asked for: what cannot lead there is left out.
    """

    def __init__(
        self, flows: NDArray[np.float64], starts: NDArray[np.intp], only: int | None = None
    ) -> None:
        self.total = np.concatenate(([0.0], np.cumsum(flows)))
        self.starts = starts
        self.size = int(flows.size)
        self.only = only
        self._steps = 0
        # Rows from cut[k] on fit into k zones, and no earlier ones do.
        self._cut = [self.size]
        while only is not None and len(self._cut) <= only:
            last = self._cut[-1]
            self._cut.append(int(starts[last - 1]) if last else 0)
        self._cost = [np.concatenate(([0.0], np.full(self.size, np.inf)))]
        self._choice: list[NDArray[np.intp]] = []

    @property
    def layers(self) -> int:
        """Numbers of zones that are worked out."""
        return len(self._choice)

    def _add_layer(self) -> None:
        """Work out the best way to fill each run of first rows with one zone more."""
        left = 0 if self.only is None else self.only - len(self._choice) - 1
        first_end = 0 if self.only is None else self._cut[left]
        cost, total = self._cost[-1], self.total
        better = np.full(self.size + 1, np.inf)
        choice = np.zeros(self.size + 1, dtype=np.intp)
        reached = np.flatnonzero(np.isfinite(cost))
        low, high = int(reached[0]), int(reached[-1])
        for end in range(max(low + 1, first_end), self.size + 1):
            first = max(int(self.starts[end - 1]), low)
            if first > high:
                break
            self._steps += 1
            if self._steps > STEPS_MAX:
                raise InputError(
                    tr("there are too many rows and zones to share out evenly"),
                    code="out_of_range",
                    field="zones",
                    accepted=tr("fewer zones, or fewer rows"),
                    hint=tr("split the field into several designs"),
                )
            candidates = cost[first:end] + (total[end] - total[first:end]) ** 2
            best = int(np.argmin(candidates))
            better[end] = candidates[best]
            choice[end] = first + best
        self._cost.append(better)
        self._choice.append(choice)

    def into(self, zones: int) -> Partition:
        """Return the most even partition into that many zones, which the rows must allow.

        Raises
        ------
        InputError
            The table would take more than `STEPS_MAX` steps.
        """
        while len(self._choice) < zones:
            self._add_layer()
        edges = [self.size]
        for layer in reversed(range(zones)):
            edges.append(int(self._choice[layer][edges[-1]]))
        edges.reverse()
        ranges = tuple(pairwise(edges))
        return Partition(ranges, tuple(float(self.total[b] - self.total[a]) for a, b in ranges))
