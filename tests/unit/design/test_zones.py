"""Zones: exact, in order, crops apart."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.design.zones import fewest_zones, group_runs, least_capacity, partition
from evenrow.errors import ImpossibleError, InputError


def brute_force(flows, capacity, groups):
    """Return (zones, least sum of squares) over every contiguous partition."""
    size = len(flows)
    for cuts in range(size):
        best = None
        for inner in combinations(range(1, size), cuts):
            edges = (0, *inner, size)
            parts = [range(a, b) for a, b in pairwise(edges)]
            sums = [sum(flows[i] for i in part) for part in parts]
            if max(sums) > capacity * (1 + 1e-9):
                continue
            if any(len({groups[i] for i in part}) > 1 for part in parts):
                continue
            squares = sum(s * s for s in sums)
            best = squares if best is None else min(best, squares)
        if best is not None:
            return cuts + 1, best
    return None


@settings(max_examples=150, deadline=None)
@given(
    flows=st.lists(st.floats(0.2, 3.0), min_size=1, max_size=9),
    slack=st.floats(1.0, 3.0),
    names=st.lists(st.sampled_from("ab"), min_size=9, max_size=9),
)
def test_equals_brute_force(flows, slack, names):
    capacity = max(flows) * slack
    groups = names[: len(flows)]
    zones, squares = brute_force(flows, capacity, groups)
    found = partition(flows, capacity, groups)
    assert len(found.ranges) == zones
    assert sum(q * q for q in found.flows) == pytest.approx(squares, rel=1e-12)


@settings(max_examples=100, deadline=None)
@given(
    flows=st.lists(st.floats(0.2, 3.0), min_size=1, max_size=8),
    names=st.lists(st.sampled_from("ab"), min_size=8, max_size=8),
    more=st.integers(0, 7),
)
def test_least_capacity_is_the_smallest_largest_zone(flows, names, more):
    groups = names[: len(flows)]
    zones = min(group_runs(groups) + more, len(flows))
    largest = []
    for inner in combinations(range(1, len(flows)), zones - 1):
        parts = [range(a, b) for a, b in pairwise((0, *inner, len(flows)))]
        if all(len({groups[i] for i in part}) == 1 for part in parts):
            largest.append(max(sum(flows[i] for i in part) for part in parts))
    assert least_capacity(flows, zones, groups) == pytest.approx(min(largest), rel=1e-8)


def test_rows_stay_in_order_and_whole():
    found = partition([1, 2, 3, 4, 5, 6], 8)
    assert [r for a, b in found.ranges for r in range(a, b)] == list(range(6))
    assert found.flows == tuple(sum(range(a + 1, b + 1)) for a, b in found.ranges)


def test_crops_never_share_a_zone():
    found = partition([1.0] * 6, 10, ["lettuce"] * 2 + ["tomato"] * 4)
    assert found.ranges == ((0, 2), (2, 6))


def test_a_capacity_met_exactly_is_enough():
    assert len(partition([0.1] * 10, 1.0).ranges) == 1


def test_asked_number_of_zones_is_kept():
    found = partition([1.0] * 7, 100, zones=3)
    assert sorted(b - a for a, b in found.ranges) == [2, 2, 3]


def test_a_row_above_the_capacity_is_impossible_and_says_which():
    with pytest.raises(ImpossibleError, match="row 2 alone takes 2 times") as caught:
        partition([0.5, 2.0, 0.5], 1.0)
    assert caught.value.changes


@pytest.mark.parametrize("flows", [[], [1.0, 0.0], [1.0, -1.0], [np.nan], [np.inf]])
def test_flows_that_are_none(flows):
    with pytest.raises(InputError):
        partition(flows, 1.0)


@pytest.mark.parametrize("zones", [0, 1, 4])
def test_zones_that_cannot_be(zones):
    with pytest.raises(InputError, match="not possible"):
        partition([1.0, 1.0, 1.0], 2.0, zones=zones)


def test_fewest_is_greedy_from_either_side():
    flows = [3, 1, 2, 2, 1, 3, 2]
    assert fewest_zones(flows, 4, [0] * 7) == fewest_zones(flows[::-1], 4, [0] * 7)
