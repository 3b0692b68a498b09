"""Evaporation by itself: bounds, closure and directions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from evenrow.agronomy.dual import (
    WETTING_RAIN,
    evaporable_water,
    evaporation,
    ground_cover,
    largest_coefficient,
)
from evenrow.errors import InputError

SOIL = {"tew": 0.018, "rew": 0.008}


def test_numbers_of_the_equations():
    # sandy loam, FAO-56 chapter 7: TEW 18 mm; mark: from memory, recomputed by eq. 73
    assert float(evaporable_water(0.23, 0.10)) == pytest.approx(0.018)
    # mark: computed from eq. 72 and 76
    assert float(largest_coefficient(0.3, 2.0, 0.45, 0.3)) == pytest.approx(1.2)
    assert float(largest_coefficient(1.3, 2.0, 0.45, 0.3)) == pytest.approx(1.35)
    assert float(ground_cover(0.15, 1.2, 0.3)) == 0.0
    assert float(ground_cover(0.675, 1.2, 2.0)) == pytest.approx(0.25)


def test_wet_ground_evaporates_all_it_can_then_less_and_less():
    got = evaporation(
        0.15, 1.2, 0.0, np.full(30, 0.005), 0.0, 0.0, **SOIL, wetted_share=1.0, start=0
    )
    # energy allows (1.2 - 0.15) 5 mm until REW is gone
    assert got.evaporation[:2] == pytest.approx([0.00525, 0.00525])
    assert np.all(np.diff(got.evaporation[2:]) < 0.0)
    assert got.depletion[-1] <= 0.018
    assert got.ke == pytest.approx(got.evaporation / 0.005)


def test_drip_in_the_shade_evaporates_less_than_rain_everywhere():
    eto = np.full(40, 0.006)
    all_over = evaporation(0.8, 1.2, 0.6, eto, 0.020, 0.0, **SOIL, wetted_share=0.3)
    drip = evaporation(0.8, 1.2, 0.6, eto, 0.0, 0.005, **SOIL, wetted_share=0.3)
    open_sky = evaporation(0.8, 1.2, 0.6, eto, 0.0, 0.005, **SOIL, wetted_share=0.3, shaded=False)
    assert drip.bare[-1] == pytest.approx(0.3 * (1.0 - 0.4))
    assert all_over.bare[-1] == pytest.approx(0.4)
    assert open_sky.bare[-1] == pytest.approx(0.3)
    sums = [got.evaporation.sum() for got in (drip, open_sky, all_over)]
    assert sums[0] < sums[1] <= sums[2]


DAYS = arrays(np.float64, (25, 2), elements=st.floats(0.0, 0.01))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(DAYS, DAYS, DAYS, st.floats(0.0, 0.99), st.floats(0.05, 1.0), st.booleans())
def test_it_closes_within_bounds(eto, rain, water, cover, share, shaded):
    got = evaporation(
        0.4, 1.2, cover, eto, rain, water, **SOIL, wetted_share=share, shaded=shaded, start=0.004
    )
    assert np.all((got.depletion >= 0.0) & (got.depletion <= 0.018))
    assert np.all((got.evaporation >= 0.0) & (got.evaporation <= 0.8 * eto + 1e-15))
    assert np.all(got.evaporation <= got.bare * 1.2 * eto + 1e-15)
    morning = np.maximum(got.depletion[:-1] - rain - water / share, 0.0)
    assert got.depletion[1:] == pytest.approx(morning + got.evaporation / got.bare, abs=1e-12)
    assert np.all(got.bare[rain >= WETTING_RAIN] == pytest.approx(max(1.0 - cover, 0.01)))
    wetter = evaporation(
        0.4, 1.2, cover, eto, 0.0, water + 0.001, **SOIL, wetted_share=share, shaded=shaded
    )
    drier = evaporation(0.4, 1.2, cover, eto, 0.0, 0.0, **SOIL, wetted_share=share, shaded=shaded)
    assert np.all(wetter.evaporation.sum(axis=0) >= drier.evaporation.sum(axis=0))


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("eto", {"eto": 0.005}),
        ("rew", {"rew": 0.02}),
        ("cover", {"cover": 40.0}),
        ("wetted_share", {"wetted_share": 0.0}),
        ("rain", {"rain": [0.0, 0.0, 0.0]}),
    ],
)
def test_bad_values_are_named(field, change):
    whole = {
        **{"kcb": 0.5, "kc_max": 1.2, "cover": 0.4, "eto": [0.005, 0.005]},
        **{"rain": 0.0, "irrigation": 0.0, **SOIL, "wetted_share": 0.4},
        **change,
    }
    with pytest.raises(InputError) as caught:
        evaporation(**whole)
    assert caught.value.field == field
