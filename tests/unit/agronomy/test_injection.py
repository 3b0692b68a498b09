"""Injection: balances of mass, and the chemistry of chlorine."""

import math

import pytest

from evenrow.agronomy import injection as j
from evenrow.errors import InputError

LITRE, ML = 1e-3, 1e-6


def test_what_goes_in_is_what_is_in_the_water():
    flow, dose, strength = 2e-3, 0.01, 52.5
    assert j.injection_rate(flow, dose, strength) * strength == pytest.approx(flow * dose)


def test_a_stock_of_granules():
    assert j.stock_strength(1.0, 0.65, 40 * LITRE) == pytest.approx(16.25)


def test_five_and_a_quarter_per_cent_is_fifty_two_and_a_half_grams_a_litre():
    assert j.liquid_strength(0.0525) == pytest.approx(52.5)


def test_titration_in_proportion():
    # 10 mL in 20 L; 30 L/min takes 15 mL/min.
    rate = j.titrated_rate(30 * LITRE / 60, 10 * ML, 20 * LITRE)
    assert rate * 60 / ML == pytest.approx(15.0)
    assert j.titrated_rate(1.0, 0.0, 1.0) == 0.0


def test_solid_for_a_volume():
    assert j.solid_needed(1.0, 0.05, 0.65) == pytest.approx(0.05 / 0.65)


def test_half_of_the_chlorine_kills_at_the_constant_and_less_above():
    assert j.hypochlorous_share(j.HYPOCHLOROUS_PKA) == pytest.approx(0.5)
    shares = [j.hypochlorous_share(ph / 10) for ph in range(0, 141)]
    assert shares == sorted(shares, reverse=True)


def test_demand_by_stoichiometry():
    # Atomic masses Cl 35.453, Fe 55.845, Mn 54.938; H2S 34.081: two Fe, one Mn, 1/4 H2S each Cl2.
    assert j.chlorine_demand(iron=1.0) == pytest.approx(0.635, abs=0.001)
    assert j.chlorine_demand(manganese=1.0) == pytest.approx(1.291, abs=0.001)
    assert j.chlorine_demand(sulphide=1.0) == pytest.approx(8.32, abs=0.01)
    assert j.chlorine_demand(1.0, 1.0, 1.0) == pytest.approx(10.25, abs=0.02)
    assert j.chlorine_demand() == 0.0


def test_a_full_pipe_takes_its_volume_over_the_flow():
    volume = math.pi * 0.01**2 * 50.0
    assert j.pipe_travel_time(50.0, 0.02, 1e-3) == pytest.approx(volume / 1e-3)
    assert j.pipe_travel_time(0.0, 0.02, 1e-3) == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: j.injection_rate(1.0, 0.01, 0.0),
        lambda: j.injection_rate(-1.0, 0.01, 1.0),
        lambda: j.liquid_strength(0.0),
        lambda: j.liquid_strength(1.5),
        lambda: j.stock_strength(1.0, 0.5, 0.0),
        lambda: j.titrated_rate(1.0, 1.0, 0.0),
        lambda: j.hypochlorous_share(15.0),
        lambda: j.chlorine_demand(iron=-1.0),
        lambda: j.pipe_travel_time(1.0, 0.02, 0.0),
        lambda: j.solid_needed(1.0, math.nan, 1.0),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(InputError):
        call()
