"""Cutting plans: every piece cut once, no coil overdrawn, and nothing cheaper exists."""

import random
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from evenrow.design.cutting import MORE_BOUGHT, cutting_plan
from evenrow.errors import InputError

FT = 0.3048
STOCK = (30.48, 76.2, 152.4, 304.8)
PRICES = (22.0, 48.0, 85.0, 150.0)


def cheapest_by_force(pieces, stock, prices):
    """Return the least price by trying every partition of the pieces into coils."""

    @cache
    def rest(left):
        if not left:
            return 0.0
        first, others = left[0], left[1:]
        best = float("inf")
        for size in range(len(others) + 1):
            for some in combinations(others, size):
                held = sum(pieces[i] for i in (first, *some))
                fitting = [p for c, p in zip(stock, prices, strict=True) if c >= held - 1e-9]
                if fitting:
                    after = tuple(i for i in others if i not in some)
                    best = min(best, min(fitting) + rest(after))
        return best

    return rest(tuple(range(len(pieces))))


def patterns(lengths, counts, coil):
    """Return every filling of a coil."""
    if not lengths:
        return [()]
    return [
        (n, *more)
        for n in range(min(counts[0], int((coil + 1e-9) // lengths[0])) + 1)
        for more in patterns(lengths[1:], counts[1:], coil - n * lengths[0])
    ]


def cheapest_by_solver(lengths, counts, stock, prices):
    """Return the least price by the integer program over all patterns (HiGHS)."""
    columns, costs = [], []
    for coil, price in zip(stock, prices, strict=True):
        found = patterns(lengths, counts, coil)
        columns += found
        costs += [price] * len(found)
    solved = milp(
        costs,
        constraints=LinearConstraint(np.array(columns).T, counts, np.inf),
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, np.inf),
    )
    assert solved.success
    return solved.fun


def whole(pieces, plan):
    """Check that each piece is cut once, in full, and that no coil is overdrawn."""
    cut = {}
    for coil in plan.coils:
        assert sum(length for _, length in coil.pieces) <= coil.length + 1e-4
        for number, length in coil.pieces:
            cut[number] = cut.get(number, 0.0) + length
    assert {n: pytest.approx(length) for n, length in cut.items()} == dict(
        enumerate(pieces, start=1)
    )
    assert plan.bought == pytest.approx(plan.cut + sum(plan.left), abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 100), min_size=1, max_size=6))
def test_fewest_coils_by_brute_force(lengths):
    pieces = [float(length) for length in lengths]
    plan = cutting_plan(pieces, [100.0], couplings=False)
    assert len(plan.coils) == cheapest_by_force(tuple(pieces), (100.0,), (1.0,))
    assert plan.proven
    whole(pieces, plan)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(1, 60), min_size=1, max_size=7),
    st.lists(st.integers(1, 50), min_size=3, max_size=3),
)
def test_least_price_of_mixed_coils_by_brute_force(lengths, prices):
    pieces = [float(length) for length in lengths]
    stock = (25.0, 40.0, 60.0)
    plan = cutting_plan(pieces, stock, prices=prices)
    assert plan.price == pytest.approx(cheapest_by_force(tuple(pieces), stock, tuple(prices)))
    assert plan.proven
    whole(pieces, plan)


@pytest.mark.parametrize("seed", range(4))
def test_sixty_rows_of_a_garden_against_an_integer_program(seed):
    draw = random.Random(seed)
    kinds = sorted((round(draw.uniform(25.0, 60.0), 1) for _ in range(3)), reverse=True)
    pieces = [draw.choice(kinds) for _ in range(60)]
    counts = [pieces.count(length) for length in kinds]
    plan = cutting_plan(pieces, [100.0])
    fewest = cheapest_by_solver(kinds, counts, (100.0,), (1.0,))
    assert plan.bound <= fewest + 1e-6
    assert len(plan.coils) == pytest.approx(fewest)
    mixed = cutting_plan(pieces, STOCK[1:3], prices=PRICES[1:3])
    least = cheapest_by_solver(kinds, counts, STOCK[1:3], PRICES[1:3])
    assert mixed.bound <= least + 1e-6
    assert least - 1e-6 <= mixed.price <= 1.025 * least
    assert not mixed.proven or mixed.price == pytest.approx(least)
    whole(pieces, mixed)


@pytest.mark.parametrize(("low", "high"), [(5.0, 20.0), (10.0, 30.0), (30.0, 60.0)])
def test_sixty_different_pieces_are_proven(low, high):
    draw = random.Random(1)
    pieces = [draw.uniform(low, high) for _ in range(60)]
    plan = cutting_plan(pieces, [100.0])
    assert plan.proven
    whole(pieces, plan)


def test_sixty_different_pieces_of_the_hardest_sizes_stay_within_a_coil_of_the_bound():
    for seed in range(4):
        draw = random.Random(seed)
        plan = cutting_plan([draw.uniform(20.0, 50.0) for _ in range(60)], [100.0])
        assert plan.bound <= len(plan.coils) <= plan.bound + 1


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.5, 350.0), min_size=1, max_size=40),
    st.sampled_from([(), PRICES]),
    st.one_of(st.none(), st.floats(0.0, 5.0)),
)
def test_every_piece_is_cut_and_no_coil_is_overdrawn(pieces, prices, joint_price):
    plan = cutting_plan(pieces, STOCK, prices=prices, joint_price=joint_price)
    whole(pieces, plan)
    assert sum(len(coil.pieces) for coil in plan.coils) == len(pieces) + plan.couplings
    reached = plan.price if prices else len(plan.coils)
    assert plan.bound <= reached + 1e-6
    if prices:
        paid = sum(PRICES[STOCK.index(coil.length)] for coil in plan.coils)
        assert plan.price == pytest.approx(paid + plan.couplings * (joint_price or 0.0))


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(0.5, 90.0), min_size=1, max_size=25), st.randoms(use_true_random=False))
def test_the_order_of_the_pieces_changes_nothing(pieces, order):
    other = list(pieces)
    order.shuffle(other)

    def coils(plan):
        return [(coil.length, [length for _, length in coil.pieces]) for coil in plan.coils]

    first, second = (cutting_plan(p, STOCK, prices=PRICES) for p in (pieces, other))
    assert coils(first) == coils(second)
    assert first.bound == second.bound


def test_a_coil_that_cannot_hold_the_longest_piece_still_counts():
    plan = cutting_plan([1.0, 1.0, 24.0, 35.0], [25.0, 40.0, 60.0], prices=[2.0, 3.0, 3.0])
    assert (plan.price, plan.proven) == (5.0, True)


def test_search_betters_the_greedy_plan():
    # Best-fit decreasing opens a third coil here; 45+30+25 twice needs two.
    plan = cutting_plan([45.0, 45.0, 30.0, 30.0, 25.0, 25.0], [100.0])
    assert len(plan.coils) == 2
    assert plan.proven


def test_a_third_of_a_coil_is_cut_three_times():
    assert len(cutting_plan([100.0 / 3] * 3, [100.0]).coils) == 1
    assert len(cutting_plan([100 * FT / 7] * 14, [100 * FT]).coils) == 2


def test_a_long_run_is_joined_and_counted():
    plan = cutting_plan([250.0], [100.0])
    assert plan.couplings == 2
    assert len(plan.coils) == 3


def test_without_couplings_a_long_run_is_refused():
    with pytest.raises(InputError, match="longer than the coil"):
        cutting_plan([250.0], [50.0, 100.0], couplings=False)


def test_a_joint_is_made_where_it_is_cheaper_than_a_longer_coil():
    stock, prices = [50 * FT, 100 * FT, 250 * FT], [11.0, 18.0, 39.0]
    joined = cutting_plan([110 * FT], stock, prices=prices, joint_price=0.40)
    assert (joined.price, joined.couplings) == (pytest.approx(29.40), 1)
    whole_one = cutting_plan([110 * FT], stock, prices=prices, joint_price=10.0)
    assert (whole_one.price, whole_one.couplings) == (39.0, 0)
    # What a joint costs is not known: none is made that need not be.
    assert cutting_plan([110 * FT], stock, prices=prices).couplings == 0


def test_pieces_that_cannot_share_are_counted_whole():
    assert cutting_plan([60.0, 60.0, 60.0], [100.0]).bound == 3


def test_without_prices_few_coils_and_little_more_length():
    plan = cutting_plan([30.3] * 42, [30.48, 152.4, 304.8])
    assert plan.by_length == ((304.8, 4), (152.4, 1))
    assert plan.bought <= (1.0 + MORE_BOUGHT) * 42 * 30.48
    assert cutting_plan([30.0] * 3, [50.0, 100.0]).by_length == ((100.0, 1),)


def test_no_huge_coil_for_its_first_end():
    assert cutting_plan([305.0], [152.4, 304.8, 2286.0]).by_length == ((304.8, 1), (152.4, 1))


def test_many_pieces_stay_near_their_bound():
    plan = cutting_plan([17.3, 24.0, 31.2, 45.0] * 200, [100.0])
    assert plan.bound <= len(plan.coils) <= 1.02 * plan.bound + 1


def test_a_thousand_different_pieces_stay_near_their_bound():
    draw = random.Random(2)
    for prices in ((), PRICES):
        pieces = [draw.uniform(3.0, 28.0) for _ in range(1000)]
        plan = cutting_plan(pieces, STOCK, prices=prices)
        whole(pieces, plan)
        reached = plan.price if prices else len(plan.coils)
        assert plan.bound <= reached <= 1.05 * plan.bound


def test_nothing_to_cut_is_nothing_to_buy():
    plan = cutting_plan([], [100.0], prices=[5.0])
    assert (plan.coils, plan.price, plan.bought) == ((), 0.0, 0.0)


def test_too_many_pieces_are_refused():
    with pytest.raises(InputError, match="too many pieces"):
        cutting_plan([1.0] * 50_001, [100.0])


@pytest.mark.parametrize(
    ("pieces", "coils", "prices"),
    [
        ([0.0], [10.0], []),
        ([-1.0], [10.0], []),
        ([1.0], [0.0], []),
        ([1.0], [], []),
        ([1.0], [5.0, 10.0], [3.0]),
        ([1.0], [5.0], [-3.0]),
    ],
)
def test_figures_that_are_none(pieces, coils, prices):
    with pytest.raises(InputError):
        cutting_plan(pieces, coils, prices=prices)
