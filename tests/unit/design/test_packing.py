"""The search behind cutting plans: what it finds is cut, what it denies is impossible."""

from collections import Counter
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.design.coil_mix import best_mix
from evenrow.design.cutting_bounds import inequalities
from evenrow.design.packing import Budget, fits
from evenrow.design.repacking import make_room

MANY = 100_000


def possible(pieces, coils):
    """Return whether the coils hold the pieces, by trying each piece in each coil."""

    @cache
    def rest(place, rooms):
        if place == len(pieces):
            return True
        return any(
            rest(place + 1, tuple(sorted((*rooms[:i], room - pieces[place], *rooms[i + 1 :]))))
            for i, room in enumerate(rooms)
            if room >= pieces[place]
        )

    return rest(0, tuple(sorted(coils)))


def kinds_of(pieces):
    counted = sorted(Counter(pieces).items(), reverse=True)
    return [length for length, _ in counted], [count for _, count in counted]


FIELDS = st.tuples(
    st.lists(st.integers(3, 30), min_size=1, max_size=9),
    st.lists(st.sampled_from([20, 33, 47]), min_size=1, max_size=5),
)


@settings(max_examples=150, deadline=None)
@given(FIELDS)
def test_it_finds_a_way_exactly_where_there_is_one(field):
    pieces, coils = field
    lengths, counts = kinds_of(pieces)
    budget = Budget(nodes=MANY)
    found = fits(lengths, counts, sorted(Counter(coils).items()), budget)
    assert not budget.spent_out
    assert (found is not None) == possible(tuple(pieces), coils)
    if found is not None:
        assert [sum(column) for column in zip(*(p for _, p in found), strict=True)] == counts
        assert all(sum(n * x for n, x in zip(p, lengths, strict=True)) <= c for c, p in found)
        assert not Counter(coil for coil, _ in found) - Counter(coils)


@settings(max_examples=150, deadline=None)
@given(FIELDS)
def test_no_choice_that_holds_all_breaks_an_inequality(field):
    pieces, coils = field
    lengths, counts = kinds_of(pieces)
    stock = [20, 33, 47]
    choice = [[coils.count(coil) for coil in stock]]
    rules = inequalities(lengths, counts, stock)
    mix = best_mix(lengths, counts, stock, [7, 9, 13])
    rules = rules.and_one(mix.hold, mix.need)
    if possible(tuple(pieces), coils):
        assert rules.kept_by(choice)[0]


def test_a_budget_that_ends_is_no_proof():
    # Three to a coil, no two alike: far more ways than nodes.
    lengths = [3001 + 17 * k * k % 997 for k in range(45)]
    lengths, counts = kinds_of(lengths)
    coil = -(-sum(length * n for length, n in zip(lengths, counts, strict=True)) // 15)
    budget = Budget(nodes=50)
    assert fits(lengths, counts, [(coil, 15)], budget) is None
    assert budget.spent_out


def test_many_different_pieces_go_no_deeper_than_python_can():
    # Even lengths, ten to a coil of odd length: each coil loses something, and little is spare.
    lengths = [22_398 - 2 * k for k in range(1200)]
    coil = sum(lengths) // 120 + 1
    budget = Budget(nodes=8000)
    assert fits(lengths, [1] * 1200, [(coil, 120)], budget) is None
    assert budget.spent_out


def test_room_is_made_by_dealing_two_coils_anew():
    dealt, deals = make_room([100, 100], [[60, 30], [50, 20]], [40], most=50)
    assert sorted(piece for coil in dealt for piece in coil) == [20, 30, 40, 50, 60]
    assert all(sum(coil) <= 100 for coil in dealt)
    assert 0 < deals <= 50


def test_no_room_is_said_and_not_made_up():
    dealt, _ = make_room([100, 100], [[70], [70]], [40], most=50)
    assert dealt is None


@settings(max_examples=80, deadline=None)
@given(FIELDS)
def test_whole_patterns_of_the_mix_cut_no_piece_twice(field):
    pieces, _ = field
    lengths, counts = kinds_of(pieces)
    mix = best_mix(lengths, counts, [20, 33, 47], [7, 9, 13])
    taken = [sum(column) for column in zip(*(p for _, p in mix.whole), strict=True)]
    assert all(a <= b for a, b in zip(taken, counts, strict=False))
    for coil, pattern in mix.whole:
        assert sum(n * x for n, x in zip(pattern, lengths, strict=True)) <= coil
