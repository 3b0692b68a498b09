"""Coefficients over the season and their reductions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy.crop import (
    CANOPY_RULES,
    KcCurve,
    canopy_reduction,
    climate_adjusted,
    day_of_season,
    under_organic_mulch,
    under_plastic,
    wetted_initial,
)
from evenrow.errors import InputError

TOMATO = KcCurve((30.0, 40.0, 45.0, 30.0), 0.6, 1.15, 0.8)


def test_the_curve_is_flat_rises_is_flat_and_falls():
    days = np.array([0.0, 1, 30, 50, 70, 100, 115, 130, 145, 146])
    assert TOMATO.at(days, outside=0.2).tolist() == pytest.approx(
        [0.2, 0.6, 0.6, 0.875, 1.15, 1.15, 1.15, 0.975, 0.8, 0.2]
    )
    assert TOMATO.days == 145.0


def test_stages_may_be_missing():
    whole_year = KcCurve((0.0, 0.0, 365.0, 0.0), 0.3, 0.7, 0.7)
    assert whole_year.at([1, 200, 365]).tolist() == [0.7, 0.7, 0.7]


def test_seasons_of_every_year():
    dates = np.array(
        ["2019-04-19", "2019-04-20", "2019-12-31", "2020-01-01", "2020-04-20"], "datetime64[D]"
    )
    assert day_of_season(dates, 4, 20).tolist() == [365.0, 1.0, 256.0, 257.0, 1.0]
    assert day_of_season(dates, 4, 20, first_year=2020).tolist()[3:] == [-109.0, 1.0]
    leap = np.array(["2019-03-01", "2020-02-29"], "datetime64[D]")
    assert day_of_season(leap, 2, 29).tolist() == [1.0, 1.0]


def test_the_standard_climate_changes_nothing():
    assert float(climate_adjusted(1.15, 2.0, 0.45, 1.5)) == 1.15
    assert float(climate_adjusted(0.35, 5.0, 0.25, 1.5)) == 0.35
    # beyond the range of the equation the range's end counts
    assert float(climate_adjusted(1.15, 9.0, 0.05, 30.0)) == float(
        climate_adjusted(1.15, 6.0, 0.20, 10.0)
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(1, 6), st.floats(0.2, 0.79), st.floats(0.1, 9))
def test_windier_drier_taller_is_more(wind, rh, height):
    here = float(climate_adjusted(1.0, wind, rh, height))
    assert float(climate_adjusted(1.0, wind + 0.5, rh, height)) >= here
    assert float(climate_adjusted(1.0, wind, rh + 0.01, height)) < here


@pytest.mark.parametrize("rule", CANOPY_RULES)
def test_canopy_rules_rise_to_one(rule):
    cover = np.linspace(0.0, 1.0, 21)
    factor = canopy_reduction(cover, rule)
    assert np.all(np.diff(factor) >= 0.0)
    assert factor[-1] == 1.0
    assert np.all((factor >= 0.0) & (factor <= 1.0))
    assert np.all(factor[1:] >= cover[1:] - 1e-12)  # plants take more than their share of ground


def test_canopy_numbers():
    # mark: computed from the formulas
    assert float(canopy_reduction(0.36)) == pytest.approx(0.6)
    assert float(canopy_reduction(0.3, "fereres")) == pytest.approx(0.6)
    assert float(canopy_reduction(0.34, "keller_karmeli")) == pytest.approx(0.4)
    assert float(canopy_reduction(0.34, "decroix")) == pytest.approx(0.44)
    assert float(canopy_reduction(0.34, "freeman_garzoli")) == pytest.approx(0.67)


def test_mulch_and_wetted_ground():
    assert float(under_plastic(1.0, 0.5, 0.2)) == pytest.approx(0.9)
    assert float(under_organic_mulch(0.4, 0.5)) == pytest.approx(0.3)
    assert float(wetted_initial(0.9, 0.4)) == pytest.approx(0.36)


@pytest.mark.parametrize(
    ("field", "call"),
    [
        ("lengths", lambda: KcCurve((0.0, 0.0, 0.0, 0.0), 1, 1, 1)),
        ("lengths", lambda: KcCurve((1.0, 2.0, 3.0), 1, 1, 1)),
        ("middle", lambda: KcCurve((1.0, 1.0, 1.0, 1.0), 1, 3, 1)),
        ("day", lambda: TOMATO.at([1, np.nan])),
        ("month", lambda: day_of_season(["2020-01-01"], 13, 1)),
        ("rule", lambda: canopy_reduction(0.5, "guess")),
        ("cover", lambda: canopy_reduction(50.0)),
        ("rh_min", lambda: climate_adjusted(1.0, 2.0, 45.0, 1.0)),
        ("reduction", lambda: under_plastic(1.0, 0.5, 0.9)),
    ],
)
def test_bad_values_are_named(field, call):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
