"""Cups as a sample: bands, numbers, places."""

import math

import pytest

from evenrow.agronomy import sampling as s


def test_the_band_holds_the_reading_and_narrows_with_cups():
    widths = []
    for count in (4, 8, 16, 32, 64, 500):
        low, high = s.variation_band(0.1, count)
        assert low < 0.1 < high
        widths.append(high - low)
    assert widths == sorted(widths, reverse=True)
    assert s.variation_band(0.1, 16, 0.8)[0] > s.variation_band(0.1, 16, 0.95)[0]
    assert s.uniformity_band(0.1, 16)[0] == 1.0 - s.variation_band(0.1, 16)[1]


def test_no_variation_has_no_band_and_a_wild_one_no_upper_end():
    assert s.variation_band(0.0, 16) == (0.0, 0.0)
    assert s.variation_band(3.0, 4)[1] == math.inf
    assert s.uniformity_band(3.0, 4)[0] == 0.0


@pytest.mark.parametrize("half_width", [0.2, 0.05, 0.02, 0.01])
@pytest.mark.parametrize("cv", [0.03, 0.12, 0.3])
def test_cups_needed_are_the_fewest(cv, half_width):
    count = s.cups_needed(cv, half_width)
    assert 4 <= count <= 2000

    def half(n):
        low, high = s.variation_band(cv, n)
        return (high - low) / 2

    if count < 2000:
        assert half(count) <= half_width
    if count > 4:
        assert half(count - 1) > half_width


@pytest.mark.parametrize(
    ("rows", "taken"),
    [(1, (1,)), (2, (1, 2)), (3, (1, 2, 3)), (4, (1, 2, 3, 4)), (24, (1, 9, 16, 24))],
)
def test_rows_to_take(rows, taken):
    assert s.sample_rows(rows) == taken
