"""The root zone's water: it closes, stays in bounds and answers in the right direction."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from evenrow.agronomy.balance import Refill, water_balance
from evenrow.agronomy.rain import effective_rain_daily
from evenrow.agronomy.soil import root_depth, stress_coefficient, total_available
from evenrow.errors import InputError

ETC = arrays(np.float64, (30, 3), elements=st.floats(0.0, 0.012))
RAIN = arrays(np.float64, (30, 3), elements=st.one_of(st.just(0.0), st.floats(0.0, 0.06)))
TAW = st.floats(0.005, 0.2)
P = st.floats(0.1, 0.8)
REFILL = st.one_of(
    st.none(),
    st.builds(Refill, st.floats(0.0, 1.5), st.floats(0.0, 1.0), st.floats(0.001, 0.05)),
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(ETC, RAIN, TAW, P, REFILL, st.floats(0.0, 1.0))
def test_it_closes_within_bounds(etc, rain, taw, p, refill, start):
    got = water_balance(etc, rain, taw, p, refill=refill, start=start * taw)
    assert np.max(np.abs(got.residual)) < 1e-13
    day = got.depletion[:-1] - rain - got.irrigation + got.used + got.percolation
    assert got.depletion[1:] == pytest.approx(day, abs=1e-15)
    assert np.all((got.depletion >= 0.0) & (got.depletion <= taw * (1 + 1e-12)))
    assert np.all((got.used >= 0.0) & (got.used <= etc * (1 + 1e-12)))
    assert np.all(got.percolation >= 0.0)
    assert np.all((got.percolation == 0.0) | (got.depletion[1:] == 0.0))
    assert np.all((got.stress >= 0.0) & (got.stress <= 1.0))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(ETC, RAIN, TAW, P)
def test_more_rain_never_leaves_the_soil_drier(etc, rain, taw, p):
    dry = water_balance(etc, rain, taw, p)
    wet = water_balance(etc, rain + 0.002, taw, p)
    hot = water_balance(etc * 1.2, rain, taw, p)
    assert np.all(wet.used.sum(axis=0) >= dry.used.sum(axis=0) - 1e-12)
    assert np.all(wet.percolation.sum(axis=0) >= dry.percolation.sum(axis=0) - 1e-12)
    # A day's use is at most (1 - p) TAW where more thirst cannot overshoot less.
    if etc.max() * 1.2 <= (1 - p) * taw:
        assert np.all(wet.depletion <= dry.depletion + 1e-12)
        assert np.all(hot.depletion >= dry.depletion - 1e-12)


def test_columns_are_alone():
    random = np.random.default_rng(1)
    etc, rain = random.uniform(0, 0.008, (40, 4)), random.uniform(0, 0.004, (40, 4))
    refill = Refill(0.8, 0.1, 0.02)
    whole = water_balance(etc, rain, 0.04, 0.4, refill=refill)
    for i in range(4):
        one = water_balance(etc[:, i], rain[:, i], 0.04, 0.4, refill=refill)
        assert whole.depletion[:, i].tolist() == one.depletion.tolist()
        assert one.residual.shape == ()


def test_a_rule_that_waters_before_stress_lets_none_come():
    etc = np.full(60, 0.006)
    got = water_balance(etc, 0.0, 0.05, 0.4, refill=Refill())
    assert got.stress.min() == 1.0
    assert got.used == pytest.approx(etc)
    assert got.percolation.sum() == 0.0
    # RAW 20 mm at 6 mm/day: three days are used, watered on the morning of the fourth
    assert np.flatnonzero(got.irrigation)[:3].tolist() == [3, 6, 9]
    assert got.irrigation[3] == pytest.approx(0.018)
    daily = water_balance(etc, 0.0, 0.05, 0.4, refill=Refill(trigger=0.0))
    assert daily.irrigation[1:] == pytest.approx(0.006)


def test_without_water_it_dries_out_as_the_stress_equation_says():
    # mark: computed; beyond RAW the water left falls by the same share every day
    got = water_balance(np.full(80, 0.005), 0.0, 0.1, 0.5, start=0.05)
    left = 0.1 - got.depletion
    assert left[1:] / left[:-1] == pytest.approx(np.full(80, 0.9))
    assert got.stress == pytest.approx(stress_coefficient(got.depletion[:-1], 0.1, 0.5))


def test_given_irrigation_beyond_need_drains():
    got = water_balance([0.005] * 3, 0.0, 0.1, 0.5, irrigation=[0.02, 0.0, 0.0], start=0.01)
    assert got.depletion == pytest.approx([0.01, 0.0, 0.005, 0.01])
    assert got.percolation == pytest.approx([0.005, 0.0, 0.0])


def test_roots_that_grow_find_more():
    depth = root_depth(np.arange(1.0, 31.0), 0.1, 0.6, 21.0)
    assert (depth[0], depth[10], depth[20], depth[29]) == pytest.approx((0.1, 0.35, 0.6, 0.6))
    got = water_balance(np.full(30, 0.004), 0.0, total_available(0.25, 0.12, depth), 0.4)
    assert abs(float(got.residual)) < 1e-15
    shallow = water_balance(np.full(30, 0.004), 0.0, 0.013, 0.4)
    assert got.used.sum() > shallow.used.sum()


def test_little_rain_dries_where_it_fell():
    got = effective_rain_daily([0.0009, 0.0011, 0.02], 0.005, runoff=0.1)
    assert got == pytest.approx([0.0, 0.00099, 0.018])


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("etc", {"etc": 0.005}),
        ("etc", {"etc": [0.005, np.nan]}),
        ("rain", {"rain": [-0.001, 0.0]}),
        ("rain", {"rain": [0.0, 0.0, 0.0]}),
        ("taw", {"taw": [0.05, 0.04]}),
        ("p", {"p": 1.2}),
        ("start", {"start": 0.2}),
        ("refill", {"refill": Refill(), "irrigation": 0.0}),
    ],
)
def test_bad_values_are_named(field, change):
    whole = {"etc": [0.005, 0.005], "rain": 0.0, "taw": 0.05, "p": 0.4, **change}
    with pytest.raises(InputError) as caught:
        water_balance(**whole)
    assert caught.value.field == field
    with pytest.raises(InputError):
        Refill(trigger=-1.0)


def test_wilting_above_capacity_is_refused():
    with pytest.raises(InputError) as caught:
        total_available([0.3, 0.1], 0.2, 0.5)
    assert caught.value.field == "wilting_point"


def test_a_root_zone_emptied_to_the_last_gives_nothing_back():
    # 7.8125 mm a day from 5 mm: rounding once left it emptier than empty by 1e-18
    got = water_balance(np.full(30, 0.0078125), 0.0, 0.005, 0.5, start=0.00046875)
    assert np.all(got.used >= 0.0)
    for taw in np.linspace(0.003, 0.009, 97):
        assert np.all(water_balance(np.full(9, 0.0101), 0.0, taw, 0.3, start=0.1 * taw).used >= 0)
