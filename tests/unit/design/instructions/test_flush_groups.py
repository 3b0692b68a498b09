"""Ends in groups: every end once, whole rows where they fit, the fewest and most even."""

from hypothesis import given
from hypothesis import strategies as st

from evenrow.design.expected import End
from evenrow.design.instructions.flush_groups import GROUPS_MAX, divisions, in_groups


@given(
    st.lists(st.tuples(st.integers(1, 6), st.integers(1, 3)), min_size=1, unique=True),
    st.integers(1, 5),
    st.data(),
)
def test_groups_hold_every_end_once(places, most, data):
    ends = tuple(
        End(row=row, line=line, away=1, length=9.0, way=row - 3.5) for row, line in sorted(places)
    )
    without = frozenset(data.draw(st.sets(st.integers(0, len(ends) - 1))))
    groups = in_groups(ends, most, without)
    assert sorted(k for group in groups for k in group) == sorted(set(range(len(ends))) - without)
    assert all(0 < len(group) <= most for group in groups)
    nearest = [min(abs(ends[k].way) for k in group) for group in groups]
    assert nearest == sorted(nearest)


@given(rows=st.lists(st.integers(1, 4), min_size=1, max_size=9))
def test_divisions_are_the_most_even_in_so_many_groups(rows):
    ends = tuple(
        End(row=row, line=line, away=1, length=9.0, way=float(row))
        for row, lines in enumerate(rows, start=1)
        for line in range(1, lines + 1)
    )
    count = len(ends)
    possible = [in_groups(ends, most, frozenset()) for most in range(1, count)]
    wanted = []
    for number in range(2, GROUPS_MAX + 1):
        few = [groups for groups in possible if len(groups) <= number]
        if few:
            wanted.append(few[0])  # made with the smallest groups
    assert divisions(ends, frozenset()) == list(dict.fromkeys(wanted))


def test_no_end_is_left_to_divide():
    ends = (End(row=1, line=1, away=1, length=9.0, way=1.0),)
    assert divisions(ends, frozenset({0})) == divisions(ends, frozenset()) == []
