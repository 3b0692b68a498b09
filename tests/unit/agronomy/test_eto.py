"""Missing data, gaps, shapes and directions of the reference evapotranspiration."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy import radiation
from evenrow.agronomy.eto import (
    hargreaves_samani,
    penman_monteith,
    reference_et,
    reference_et_monthly,
)
from evenrow.errors import InputError

PLACE = {"latitude": 40.0, "elevation": 150.0}
DAYS = np.arange(150.0, 156.0)
NAN = np.nan


def test_each_gap_takes_the_next_rule():
    got = reference_et(
        DAYS,
        np.full(6, 28.0),
        np.full(6, 14.0),
        **PLACE,
        vapour_pressure=[1.5, NAN, NAN, NAN, NAN, NAN],
        dew_point=[NAN, 12.0, NAN, NAN, NAN, NAN],
        rh_max=[NAN, NAN, 0.9, 0.9, NAN, NAN],
        rh_min=[NAN, NAN, 0.4, NAN, NAN, NAN],
        rh_mean=[NAN, NAN, NAN, NAN, 0.6, NAN],
        solar=[20.0, NAN, NAN, NAN, NAN, NAN],
        sunshine=[NAN, 9.0, NAN, NAN, NAN, NAN],
        wind=[1.0, 1.0, 1.0, NAN, NAN, NAN],
    )
    counts = [(rule.quantity, rule.count, rule.assumed) for rule in got.rules]
    assert counts == [
        ("vapour_pressure", 1, False),
        ("vapour_pressure", 1, False),
        ("vapour_pressure", 1, False),
        ("vapour_pressure", 1, False),
        ("vapour_pressure", 1, False),
        ("vapour_pressure", 1, True),
        ("solar", 1, False),
        ("solar", 1, False),
        ("solar", 4, True),
        ("wind", 3, False),
        ("wind", 3, True),
    ]
    assert got.vapour_pressure[0] == 1.5
    assert got.vapour_pressure[5] == pytest.approx(0.6108 * np.exp(17.27 * 14.0 / 251.3))
    assert np.all(np.isfinite(got.eto))
    assert got.wind.tolist() == [1.0, 1.0, 1.0, 2.0, 2.0, 2.0]
    # a value filled is the value of the same day filled alone
    alone = reference_et(DAYS[3], 28.0, 14.0, **PLACE, rh_max=0.9)
    assert got.eto[3] == pytest.approx(float(alone.eto), rel=1e-12)


def test_a_missing_temperature_stays_missing():
    got = reference_et(DAYS, [28.0, NAN, 28, 28, 28, 28], np.full(6, 14.0), **PLACE)
    assert np.isnan(got.eto).tolist() == [False, True, False, False, False, False]
    assert [rule.count for rule in got.rules] == [6, 5, 6]


def test_stations_beside_each_other_are_the_stations_alone():
    day = np.arange(1.0, 366.0)
    high = np.linspace(5.0, 35.0, 365 * 3).reshape(365, 3)
    latitude, elevation = np.array([-50.0, 0.0, 66.0]), np.array([0.0, 900.0, 2500.0])
    both = reference_et(day[:, None], high, high - 9.0, latitude=latitude, elevation=elevation)
    for i in range(3):
        one = reference_et(
            day, high[:, i], high[:, i] - 9.0, latitude=latitude[i], elevation=elevation[i]
        )
        assert both.eto[:, i] == pytest.approx(one.eto, rel=1e-12)


def test_many_years_repeat_the_first():
    day = np.tile(np.arange(1.0, 366.0), 3)
    ra = radiation.extraterrestrial_radiation(50.0, day)
    one = np.array([float(radiation.extraterrestrial_radiation(50.0, d)) for d in (1, 100, 365)])
    assert ra[[365, 464, 729]] == pytest.approx(one, rel=1e-14)
    half = radiation.extraterrestrial_radiation(50.0, day - 0.5 + (day == 1))
    assert half[100] != ra[100]


def test_polar_day_and_night():
    assert float(radiation.daylight_hours(80.0, 172)) == 24.0
    assert float(radiation.daylight_hours(80.0, 355)) == 0.0
    assert float(radiation.extraterrestrial_radiation(80.0, 355)) == 0.0
    assert float(radiation.daylight_hours(90.0, 172)) == 24.0
    dark = reference_et(355, -20.0, -30.0, latitude=80.0, elevation=0.0, sunshine=0.0)
    assert 0.0 <= float(dark.eto) < 1e-3


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.floats(-10.0, 30.0),
    st.floats(1.0, 20.0),
    st.floats(0.1, 0.85),
    st.floats(0.3, 8.0),
    st.floats(2.0, 30.0),
)
def test_hotter_sunnier_windier_drier_is_never_less(mean, span, rh, wind, solar):
    def eto(solar=solar):
        return float(
            reference_et(
                180,
                mean + 0.5 * span,
                mean - 0.5 * span,
                **PLACE,
                rh_mean=rh,
                wind=wind,
                solar=solar,
            ).eto
        )

    assert eto(solar=solar + 1.0) >= eto() - 1e-12
    assert 0.0 <= eto() < 0.04
    # with equal radiation and relative humidity, warmer air dries more
    net = 0.5 * solar
    cool, warm = (
        penman_monteith(t + 5.0, t - 5.0, net, rh * 0.61 * np.exp(17.27 * t / (t + 237.3)), 2, 101)
        for t in (mean, mean + 2.0)
    )
    assert float(warm) >= float(cool)
    # with equal radiation (moist air also keeps heat in), wetter air dries less
    ea = np.array([rh, rh + 0.1]) * 0.61 * np.exp(17.27 * mean / (mean + 237.3))
    dry, wet = penman_monteith(mean + span / 2, mean - span / 2, net, ea, wind, 101.0)
    assert wet <= dry


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(-5.0, 30.0), st.floats(0.1, 20.0), st.integers(1, 366))
def test_hargreaves_rises_with_heat_and_range(mean, span, day):
    ra = radiation.extraterrestrial_radiation(35.0, day)
    here = float(hargreaves_samani(mean + span / 2, mean - span / 2, ra))
    assert float(hargreaves_samani(mean + 1 + span / 2, mean + 1 - span / 2, ra)) >= here * (
        1 - 1e-12
    )
    assert float(hargreaves_samani(mean + 1 + span / 2, mean - 1 - span / 2, ra)) >= here


def test_months_have_the_heat_of_their_neighbours():
    high = 15.0 + 10.0 * np.sin((np.arange(12) - 3) * np.pi / 6)
    got = reference_et_monthly(high, high - 10.0, **PLACE, rh_mean=np.full(12, 0.6))
    april = reference_et(
        105,
        high[3],
        high[3] - 10.0,
        **PLACE,
        rh_mean=0.6,
        soil_heat=radiation.soil_heat_monthly(high[2] - 5.0, high[4] - 5.0),
    )
    assert got.eto[3] == pytest.approx(float(april.eto), rel=1e-12)
    assert got.eto.argmax() in (5, 6)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("tmax", {"tmax": [28.0, 99.0]}),
        ("tmax", {"tmax": [28.0, np.inf]}),
        ("tmin", {"tmin": ["cold", 1.0]}),
        ("tmin", {"tmin": [1.0, 2.0, 3.0]}),
        ("day_of_year", {"day": [0, 1]}),
        ("day_of_year", {"day": [NAN, 1]}),
        ("latitude", {"latitude": 91.0}),
        ("elevation", {"elevation": 9000.0}),
        ("rh_mean", {"rh_mean": 60.0}),
        ("wind", {"wind": -1.0}),
        ("wind", {"wind": [1.0, 2.0, 3.0]}),
        ("wind_height", {"wind": 1.0, "wind_height": 0.0}),
        ("solar", {"solar": 200.0}),
        ("sunshine", {"sunshine": 25.0}),
        ("krs", {"krs": 1.0}),
        ("angstrom", {"sunshine": 5.0, "angstrom": (0.6, 0.6)}),
    ],
)
def test_bad_values_are_named(field, change):
    whole = {"day": [150, 151], "tmax": [28.0, 28.0], "tmin": [14.0, 14.0], **PLACE, **change}
    day, high, low = (whole.pop(key) for key in ("day", "tmax", "tmin"))
    with pytest.raises(InputError) as caught:
        reference_et(day, high, low, **whole)
    assert caught.value.field == field
    assert caught.value.accepted


def test_eleven_months_are_no_year():
    with pytest.raises(InputError, match="twelve"):
        reference_et_monthly(np.full(11, 20.0), np.full(11, 10.0), **PLACE)


def test_air_more_than_saturated_does_not_take_from_what_the_sun_gives():
    soaked = penman_monteith(15.0, 13.0, 5.0, 2.5, 4.0, 101.0)
    full = penman_monteith(15.0, 13.0, 5.0, 0.5 * (1.7053 + 1.4979), 4.0, 101.0)
    assert float(soaked) == pytest.approx(float(full), rel=1e-4)


def test_one_number_for_all_days_counts_for_all():
    got = reference_et(DAYS, np.full(6, 28.0), np.full(6, 14.0), **PLACE, wind=NAN, rh_mean=0.5)
    told = {rule.quantity: (rule.count, rule.assumed) for rule in got.rules}
    assert told == {"vapour_pressure": (6, False), "solar": (6, True), "wind": (6, True)}
