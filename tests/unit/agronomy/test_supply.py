"""Who gets what of too little."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from evenrow.agronomy.supply import share_supply
from evenrow.errors import InputError


def test_ranks_are_served_in_order_and_equals_alike():
    got = share_supply([4.0, 2.0, 6.0, 1.0], 8.0, [2, 1, 2, 3])
    assert got.tolist() == pytest.approx([2.4, 2.0, 3.6, 0.0])
    assert share_supply([4.0, 2.0, 6.0, 1.0], 8.0).tolist() == pytest.approx(
        [x * 8 / 13 for x in (4, 2, 6, 1)]
    )


def test_enough_is_exactly_the_need():
    need = np.array([[0.1, 0.2, 0.3], [1.0, 2.0, 3.0]])
    assert share_supply(need, [np.inf, 0.5]).tolist()[0] == need[0].tolist()
    assert share_supply(need, np.inf).tolist() == need.tolist()


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    arrays(np.float64, (3, 5), elements=st.floats(0.0, 100.0)),
    arrays(np.float64, 3, elements=st.floats(0.0, 300.0)),
    arrays(np.int64, 5, elements=st.integers(1, 3)),
)
def test_all_is_given_and_never_more(need, available, rank):
    got = share_supply(need, available, rank)
    assert np.all((got >= 0.0) & (got <= need * (1 + 1e-12)))
    assert got.sum(axis=1) == pytest.approx(np.minimum(available, need.sum(axis=1)), abs=1e-9)
    for row, wanted in zip(got, need, strict=True):
        lacks = rank[(row < wanted * (1 - 1e-9) - 1e-9)]
        if lacks.size:  # nobody of a later rank gets water while an earlier one lacks some
            assert np.all(row[rank > lacks.min()] <= 1e-9)


@pytest.mark.parametrize(
    ("field", "arguments"),
    [
        ("need", (3.0, 1.0)),
        ("need", ([1.0, -1.0], 1.0)),
        ("available", ([1.0, 1.0], -1.0)),
        ("available", ([1.0, 1.0], np.nan)),
        ("available", ([1.0, 1.0], [1.0, 2.0])),
        ("priority", ([1.0, 1.0], 1.0, [1.0])),
    ],
)
def test_bad_values_are_named(field, arguments):
    with pytest.raises(InputError) as caught:
        share_supply(*arguments)
    assert caught.value.field == field
