"""Cutting plans: every piece cut once, no coil overdrawn, as few coils as can be."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.design.cutting import choose_coil, cutting_plan, lower_bound
from evenrow.errors import InputError


def fewest_by_force(pieces, coil):
    """Return the fewest coils by trying every assignment."""
    for count in range(1, len(pieces) + 1):
        for places in product(range(count), repeat=len(pieces)):
            loads = [0.0] * count
            for place, piece in zip(places, pieces, strict=True):
                loads[place] += piece
            if max(loads) <= coil + 1e-6:
                return count
    raise AssertionError("a piece is longer than the coil")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 100), min_size=1, max_size=6))
def test_equals_brute_force(lengths):
    pieces = [float(length) for length in lengths]
    plan = cutting_plan(pieces, 100.0, couplings=False)
    assert len(plan.coils) == fewest_by_force(pieces, 100.0)
    assert plan.bound <= len(plan.coils)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0.5, 350.0), min_size=1, max_size=40))
def test_every_piece_is_cut_and_no_coil_is_overdrawn(pieces):
    plan = cutting_plan(pieces, 100.0)
    cut = {}
    for coil in plan.coils:
        assert sum(length for _, length in coil.pieces) <= 100.0 + 1e-5
        for number, length in coil.pieces:
            cut[number] = cut.get(number, 0.0) + length
    assert {n: pytest.approx(length) for n, length in cut.items()} == dict(
        enumerate(pieces, start=1)
    )
    assert plan.bought == pytest.approx(sum(pieces) + sum(plan.left), abs=1e-3)


def test_search_betters_the_greedy_plan():
    # Best-fit decreasing opens a third coil here; 45+30+25 twice needs two.
    pieces = [45.0, 45.0, 30.0, 30.0, 25.0, 25.0]
    plan = cutting_plan(pieces, 100.0)
    assert len(plan.coils) == 2
    assert plan.proven


def test_a_long_run_is_joined_and_counted():
    plan = cutting_plan([250.0], 100.0)
    assert plan.couplings == 2
    assert len(plan.coils) == 3


def test_without_couplings_a_long_run_is_refused():
    with pytest.raises(InputError, match="longer than the coil"):
        cutting_plan([250.0], 100.0, couplings=False)


def test_the_bound_counts_pieces_that_cannot_share():
    assert lower_bound([60.0, 60.0, 60.0], 100.0) == 3


def test_the_coil_that_wastes_least_is_chosen():
    assert choose_coil([30.0] * 3, [50.0, 100.0]).coil_length == 100.0


def test_forty_short_coils_are_not_bought_to_save_a_few_metres():
    plan = choose_coil([30.3] * 42, [30.48, 152.4, 304.8])
    assert (plan.coil_length, len(plan.coils)) == (152.4, 9)
    assert plan.bought <= 1.1 * 42 * 30.48


def test_many_pieces_stay_quick_and_say_their_bound():
    plan = cutting_plan([17.3, 24.0, 31.2, 45.0] * 200, 100.0)
    assert plan.bound <= len(plan.coils) <= 1.1 * plan.bound + 1


@pytest.mark.parametrize(("pieces", "coil"), [([0.0], 10.0), ([-1.0], 10.0), ([1.0], 0.0)])
def test_lengths_that_are_none(pieces, coil):
    with pytest.raises(InputError):
        cutting_plan(pieces, coil)
