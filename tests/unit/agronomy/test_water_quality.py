"""Clogging classes: edges, order, what stands in for what."""

import math

import pytest

from evenrow.agronomy import water_quality as w
from evenrow.errors import InputError

MG = w.MG_PER_L


@pytest.mark.parametrize("name", w.BOUNDS)
def test_the_bounds_themselves_are_moderate_and_beyond_them_are_the_neighbours(name):
    low, high = w.BOUNDS[name].moderate, w.BOUNDS[name].severe
    found = [w.hazard(name, v) for v in (0.0, 0.999 * low, low, high, 1.001 * high, math.inf)]
    assert found == [0, 0, 1, 1, 2, 2]


@pytest.mark.parametrize("name", w.BOUNDS)
def test_less_than_the_lower_bound_is_slight(name):
    bounds = w.BOUNDS[name]
    assert w.hazard(name, bounds.moderate, below=True) == w.SLIGHT
    assert w.hazard(name, 1.01 * bounds.moderate, below=True) == w.MODERATE
    assert w.hazard(name, bounds.severe, below=True) == w.MODERATE


@pytest.mark.parametrize("name", w.BOUNDS)
def test_more_than_the_upper_bound_is_severe(name):
    bounds = w.BOUNDS[name]
    assert w.hazard(name, bounds.severe, above=True) == w.SEVERE
    assert w.hazard(name, 0.99 * bounds.severe, above=True) == w.MODERATE
    assert w.hazard(name, bounds.moderate, above=True) == w.MODERATE
    assert w.hazard(name, 0.99 * bounds.moderate, above=True) == w.SLIGHT


def test_the_last_bit_of_a_unit_does_not_move_a_reading_over_a_bound():
    assert w.hazard("iron", 100 * 1e-6) == w.hazard("iron", 0.1 * 1e-3) == w.MODERATE


@pytest.mark.parametrize("name", w.BOUNDS)
def test_the_stricter_table_is_nowhere_milder(name):
    bounds = w.BOUNDS[name]
    for value in (0.5 * bounds.moderate, bounds.moderate, 0.97 * bounds.severe, 2 * bounds.severe):
        assert w.hazard(name, value, stricter=True) >= w.hazard(name, value)


def test_the_stricter_table_differs():
    assert (w.hazard("ph", 7.6), w.hazard("ph", 7.6, stricter=True)) == (1, 2)
    assert (w.hazard("sulphide", 0.3 * MG), w.hazard("sulphide", 0.3 * MG, stricter=True)) == (0, 1)


@pytest.mark.parametrize("bad", [-1.0, math.nan, -math.inf])
def test_no_reading_is_refused(bad):
    with pytest.raises(InputError):
        w.hazard("iron", bad)


def test_an_unknown_constituent_is_refused():
    with pytest.raises(InputError, match="no class"):
        w.hazard("gold", 1.0)


def test_dissolved_solids_of_a_conductivity():
    assert w.dissolved_solids(0.1) == pytest.approx(640 * MG)  # 1 dS/m
    assert w.dissolved_solids(1.0) == pytest.approx(8000 * MG)  # 10 dS/m
    assert w.dissolved_solids(0.0) == 0.0


def test_lime_and_iron_settle_only_with_both():
    assert w.lime_may_settle(7.6, 130 * MG)
    assert not w.lime_may_settle(7.5, 130 * MG)
    assert not w.lime_may_settle(7.6, 120 * MG)
    assert w.iron_may_settle(4.1, 0.5 * MG)
    assert not w.iron_may_settle(4.0, 0.5 * MG)
    assert not w.iron_may_settle(7.0, 0.49 * MG)
