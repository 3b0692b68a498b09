"""The line through checks of uniformity against general statistics."""

import numpy as np
import pytest
from scipy import stats

from evenrow.agronomy.upkeep_trend import CHECK_ERROR, student_t, trend
from evenrow.errors import InputError

YEARS = [0.0, 1.0, 2.0, 3.0, 4.2]
SHARES = [0.93, 0.88, 0.89, 0.80, 0.79]


def test_students_t_is_that_of_scipy():
    for freedom in range(1, 31):
        assert student_t(freedom) == pytest.approx(stats.t.ppf(0.9, freedom), abs=6e-4)
    assert student_t(31) >= stats.t.ppf(0.9, 40) - 1e-3
    with pytest.raises(InputError):
        student_t(0)


def test_the_line_is_that_of_least_squares():
    found = trend(YEARS, SHARES, 0.85)
    reference = stats.linregress(YEARS, SHARES)
    assert found.per_year == pytest.approx(reference.slope)
    assert found.at_first == pytest.approx(reference.intercept)
    assert found.at_last == pytest.approx(reference.intercept + 4.2 * reference.slope)
    half = stats.t.ppf(0.9, 3) * reference.stderr
    assert found.high - found.per_year == pytest.approx(half, rel=1e-3)
    assert found.per_year - found.low == pytest.approx(half, rel=1e-3)
    assert found.way == "falling"


def test_the_band_of_the_crossing_is_where_the_band_of_the_line_meets_the_level():
    """Fieller's ends, found here by looking along the band of the mean."""
    wanted = 0.75
    found = trend(YEARS, SHARES, wanted)
    x, y = np.array(YEARS), np.array(SHARES)
    fit = stats.linregress(x, y)
    error = np.sqrt(np.sum((y - fit.intercept - fit.slope * x) ** 2) / 3)
    at = np.linspace(0.0, 20.0, 200_001)
    half = student_t(3) * error * np.sqrt(0.2 + (at - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2))
    inside = at[np.abs(fit.intercept + fit.slope * at - wanted) <= half]
    earliest, likely, latest = found.crosses
    assert earliest == pytest.approx(inside[0], abs=2e-4)
    assert latest == pytest.approx(inside[-1], abs=2e-4)
    assert fit.intercept + fit.slope * likely == pytest.approx(wanted)


def test_fewer_than_three_checks_or_one_day_tell_nothing():
    assert trend([], [], 0.85) is None
    assert trend([0.0, 1.0], [0.9, 0.8], 0.85) is None
    assert trend([1.0, 1.0, 1.0], [0.9, 0.8, 0.85], 0.85) is None
    assert trend([0.0, 0.0, 8.5e-229], [0.9, 0.8, 0.85], 0.85) is None
    assert trend([0.0, 0.0, 1.0 / 365.25], [0.9, 0.8, 0.85], 0.85) is not None


def test_checks_on_a_line_by_chance_are_not_taken_for_exact():
    found = trend([0.0, 1.0, 2.0], [0.90, 0.89, 0.88], 0.85)
    assert found.way == "unclear"
    assert found.crosses is None
    assert found.high - found.per_year == pytest.approx(1.282 * CHECK_ERROR / np.sqrt(2.0))


def test_a_rising_line_never_falls_too_low():
    found = trend([0.0, 1.0, 2.0], [0.70, 0.80, 0.90], 0.85)
    assert found.way == "rising"
    assert found.crosses is None


@pytest.mark.parametrize(
    ("years", "shares", "wanted"),
    [
        ([0, 1, 2], [0.9, 0.8], 0.85),
        ([0, 1, 2], [0.9, 0.8, 1.1], 0.85),
        ([0, 1, 2], [0.9, 0.8, 0.8], 1.5),
        ([0, 1, float("nan")], [0.9, 0.8, 0.8], 0.85),
    ],
)
def test_impossible_checks_are_refused(years, shares, wanted):
    with pytest.raises(InputError):
        trend(years, shares, wanted)
