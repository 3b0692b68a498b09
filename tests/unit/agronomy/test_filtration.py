"""Filters: fineness, area, and the layer that stops the flow."""

import math

import pytest

from evenrow.agronomy import filtration as f
from evenrow.errors import InputError


@pytest.mark.parametrize(("mesh", "opening"), f.SIEVES)
def test_a_passage_of_just_seven_openings_takes_that_sieve(mesh, opening):
    assert f.fineness(7 * opening) == (mesh, opening, True)
    assert f.fineness(10 * opening, f.STRICT_SHARE) == (mesh, opening, True)


def test_a_finer_passage_takes_a_finer_sieve_and_too_fine_a_one_says_so():
    passages = [k * 1e-4 for k in range(1, 30)]
    openings = [f.fineness(p)[1] for p in passages]
    assert openings == sorted(openings)
    assert f.fineness(0.4e-3) == (200, 75e-6, False)
    strict = [f.fineness(p, f.STRICT_SHARE)[1] for p in passages]
    assert all(s <= o for s, o in zip(strict, openings, strict=True))


def test_area_is_flow_over_rate():
    assert f.filter_area(0.01, 0.02) == pytest.approx(0.5)


def test_the_layer_loses_by_kozeny_and_carman_what_it_may():
    # dp/L = 180 mu (1-e)^2 v / (e^3 d^2) at e = 0.4, worked out here: 6.1e6 Pa/m.
    v, d = 0.1, 103e-6
    gradient = 180 * 1e-3 * 0.6**2 * v / (0.4**3 * d**2)
    assert f.cake_thickness(2.0, v, d) == pytest.approx(2.0 * 9806.65 / gradient)


def test_the_interval_is_what_the_layer_holds_over_what_arrives():
    v, d = 0.1, 100e-6
    time = f.flushing_interval(2.0, v, d, 0.05, 0.3)
    arrived = 0.3 * 0.05 * v * time
    assert arrived == pytest.approx(f.cake_thickness(2.0, v, d) * 2650 * 0.6)


def test_dirtier_faster_and_finer_want_flushing_sooner():
    base = f.flushing_interval(2.0, 0.1, 100e-6, 0.05, 0.3)
    assert f.flushing_interval(2.0, 0.1, 100e-6, 0.10, 0.3) == pytest.approx(base / 2)
    assert f.flushing_interval(2.0, 0.2, 100e-6, 0.05, 0.3) == pytest.approx(base / 4)
    assert f.flushing_interval(2.0, 0.1, 50e-6, 0.05, 0.3) == pytest.approx(base / 4)
    assert f.flushing_interval(4.0, 0.1, 100e-6, 0.05, 0.3) == pytest.approx(base * 2)


@pytest.mark.parametrize(("suspended", "held"), [(0.0, 0.5), (0.05, 0.0)])
def test_nothing_held_never_wants_flushing(suspended, held):
    assert f.flushing_interval(2.0, 0.1, 100e-6, suspended, held) == math.inf


def test_open_water_never_gets_a_screen_and_dirtier_water_never_a_simpler_filter():
    order = ("screen", "disc", "media")
    for water in ("well", "municipal", "tank", "open"):
        kinds = [order.index(f.filter_kind(water, hazard)[0]) for hazard in (0, 1, 2)]
        assert kinds == sorted(kinds)
    assert f.filter_kind("open", 0)[0] != "screen"
    assert f.filter_kind("well", 0)[0] == "screen"
    with pytest.raises(InputError, match="no such water"):
        f.filter_kind("moon", 0)


@pytest.mark.parametrize("arguments", [(0.0, 0.1), (-1.0, 0.1), (0.001, 0.0), (math.nan, 0.1)])
def test_bad_passages_are_refused(arguments):
    with pytest.raises(InputError):
        f.fineness(*arguments)
