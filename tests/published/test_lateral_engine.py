"""Whole laterals against a general network engine (EPANET 2.3); mark: computed by it.

Compensated in every comparison: the engine's rounded g (32.2 ft/s2) by the lengths, its
0.4333 psi/ft by the emitter coefficients, its 0.02517 of local losses by their coefficients.
It works in its own units (ft, inch, ft3/s), so that no rounded factor comes in. Then

* with its friction law (Swamee-Jain, 64/Re, the cubic between) every emitter must agree in
  head and flow to 1e-7 (0.1 % was wanted): what is left is its convergence (accuracy 1e-8);
* with our own law every flow must agree within 1 %, and where the whole line but its far end
  is turbulent (smooth pipe) every head too.

The engine has no compensating emitter; where all heads are above the one from which ours is
flat, the same line is a line of fixed demands.
"""

import importlib.util
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.ground import rises_from_survey
from evenrow.hydraulics.lateral import Lateral, solve_lateral

pytest.importorskip("epanet")
BENCHMARK = Path(__file__).parents[2] / "scripts" / "benchmarks" / "lateral.py"
SPEC = importlib.util.spec_from_file_location("benchmark_lateral", BENCHMARK)
benchmark = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(benchmark)

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
DRIPLINE = Emitter(2.0e-3 / 3600.0, 10.0, 0.46, 0.04, 5.0, 30.0)
SMALL = Emitter(4.0e-3 / 3600.0, 10.0, 0.7, 0.05, 3.0, 30.0)

FINE = Emitter(0.6e-3 / 3600.0, 7.0, 0.55, 0.04, 3.0, 12.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 4.0, 40.0, True)


def line(device, metres, spacing, diameter, percent=0.0, **more):
    """A lateral of a length [m] on a slope [%]."""
    count = round(metres / spacing)
    return Lateral(device, count, spacing, diameter, slope=percent / 100.0, **more)


def waves(count, height):
    return height * np.sin(np.arange(count) / 25.0)


SURVEY = ([0.0, 20.0, 45.0, 60.0, 110.0], [52.0, 52.9, 51.2, 51.6, 50.4])
PLACES = 0.15 + 0.3 * np.arange(360)
SAME_LAW = 1e-7
UNEVEN = 0.2 + 0.15 * np.sin(np.arange(249)) ** 2
CASES = {
    "tape 16 mm, 12 m": (line(TAPE, 12, 0.2, 0.0161), 7.0),
    "tape 16 mm, 60 m": (line(TAPE, 60, 0.3, 0.0161), 7.0),
    "tape 16 mm, 120 m": (line(TAPE, 120, 0.3, 0.0161, roughness=1.5e-6), 7.0),
    "tape 16 mm, 180 m, 1 % down": (line(TAPE, 180, 0.3, 0.0161, -1.0), 7.0),
    "tape 16 mm, 90 m, 0.8 % up": (line(TAPE, 90, 0.3, 0.0161, 0.8), 7.0),
    "tape 16 mm, 150 m, 3 % down": (line(TAPE, 150, 0.3, 0.0161, -3.0), 5.0),
    "tape 16 mm, 100 m, 3 % up": (line(TAPE, 100, 0.3, 0.0161, 3.0), 9.0),
    "tape 16 mm, low head 0.8 m": (line(TAPE, 30, 0.2, 0.0161), 0.8),
    "tape 16 mm, low head 0.5 m": (line(TAPE, 20, 0.3, 0.0161), 0.5),
    "tape 22 mm, low head 0.5 m, 1 % down": (line(TAPE, 40, 0.3, 0.0222, -1.0), 0.5),
    "tape 22 mm, 200 m": (line(TAPE, 200, 0.3, 0.0222), 8.0),
    "tape 22 mm, 400 m": (line(FINE, 400, 0.4, 0.0222), 8.0),
    "tape 22 mm, 400 m, 1.2 % down": (line(FINE, 400, 0.4, 0.0222, -1.2), 7.0),
    "tape 35 mm, 400 m, 0.5 % up": (line(TAPE, 400, 0.3, 0.035, 0.5), 10.0),
    "dripline 6 mm, 9 m": (line(DRIPLINE, 9, 0.15, 0.0062), 10.0),
    "dripline 10 mm, 40 m": (line(DRIPLINE, 40, 0.3, 0.0103), 12.0),
    "dripline 14 mm, 90 m, in-line body": (line(DRIPLINE, 90, 0.3, 0.0138, barb_length=0.1), 15.0),
    "dripline 14 mm, 60 m, 3 % up": (line(DRIPLINE, 60, 0.5, 0.0138, 3.0), 20.0),
    "dripline 14 mm, 125 m, 6 % down": (line(DRIPLINE, 125, 0.5, 0.0138, -6.0), 8.0),
    "dripline 16 mm, 150 m, 2 % down": (line(DRIPLINE, 150, 0.5, 0.0161, -2.0), 10.0),
    "dripline 20 mm, 300 m, 2 % up": (line(DRIPLINE, 300, 0.6, 0.0205, 2.0), 25.0),
    "on-line, first at one spacing": (line(SMALL, 60, 1.0, 0.0161, first_spacing=1.0), 10.0),
    "on-line, barbs by coefficient": (line(SMALL, 80, 0.8, 0.0161, barb_k=0.6), 12.0),
    "two to a place": (line(SMALL.several(2), 40, 1.0, 0.0161), 10.0),
    "wavy ground": (Lateral(TAPE, 200, 0.3, 0.0161, rises=waves(200, 0.6)), 6.0),
    "surveyed ground": (
        Lateral(TAPE, 360, 0.3, 0.0161, rises=rises_from_survey(PLACES, *SURVEY)),
        6.0,
    ),
    "warm water": (line(TAPE, 120, 0.3, 0.0161, viscosity=6.58e-7), 7.0),
    "rough pipe": (line(DRIPLINE, 80, 0.3, 0.0138, roughness=2e-5), 15.0),
    "blank lead-in of 30 m": (line(TAPE, 60, 0.3, 0.0161, first_spacing=30.0), 8.0),
    "changing spacing": (Lateral(TAPE, 250, UNEVEN, 0.0161, slope=-0.01), 7.0),
    "two diameters in series": (
        Lateral(TAPE, 400, 0.3, np.repeat([0.0222, 0.0161], [220, 180])),
        7.0,
    ),
    "compensating, 150 m": (line(FLAT, 150, 0.4, 0.0138), 20.0),
    "compensating, 200 m, 2 % down": (line(FLAT, 200, 0.5, 0.0161, -2.0), 12.0),
}  # fmt: skip
# Smooth pipe (the engine takes no roughness of 0), more than 9/10 of it above Re 4,000.
TURBULENT = {
    "two-inch line": (line(SMALL.several(50), 250, 1.0, 0.0525, roughness=1e-9), 25.0),
    "inch line": (line(SMALL.several(12), 120, 1.0, 0.0266, roughness=1e-9), 25.0),
    "inch line, warm water": (
        line(SMALL.several(12), 120, 1.0, 0.0266, -1.0, roughness=1e-9, viscosity=6.58e-7),
        20.0,
    ),
}


def engine_results(lateral, head):
    engine = benchmark.Engine(lateral, head)
    try:
        engine.solve()
        return engine.heads_and_flows()
    finally:
        engine.close()


@pytest.mark.parametrize("name", CASES)
def test_every_emitter_within_one_percent_with_our_law(name):
    lateral, head = CASES[name]
    heads, flows = engine_results(lateral, head)
    ours = solve_lateral(lateral, head)
    assert flows.min() > 0.0
    np.testing.assert_allclose(ours.flow, flows, rtol=0.01)
    np.testing.assert_allclose(ours.head, heads, rtol=0.02)


@pytest.mark.parametrize("name", TURBULENT)
def test_every_emitter_within_one_percent_in_smooth_turbulent_flow(name):
    lateral, head = TURBULENT[name]
    heads, flows = engine_results(lateral, head)
    ours = solve_lateral(lateral, head)
    assert float(ours.regime_shares[2]) > 0.9
    assert float(ours.head_variation) > 0.1  # friction matters
    np.testing.assert_allclose(ours.flow, flows, rtol=0.01)
    np.testing.assert_allclose(ours.head, heads, rtol=0.01)


@pytest.mark.parametrize("name", {**CASES, **TURBULENT})
def test_every_emitter_to_seven_digits_with_the_engines_law(name):
    lateral, head = {**CASES, **TURBULENT}[name]
    heads, flows = engine_results(lateral, head)
    ours = solve_lateral(replace(lateral, friction="swamee-jain"), head)
    np.testing.assert_allclose(ours.flow, flows, rtol=SAME_LAW)
    np.testing.assert_allclose(ours.head, heads, rtol=SAME_LAW)


def test_a_line_that_runs_dry_uphill():
    lateral = Lateral(DRIPLINE, 200, 0.5, 0.0138, slope=0.1)
    heads, flows = engine_results(lateral, 6.0)
    ours = solve_lateral(lateral, 6.0)
    assert 50 < (heads > 0.05).sum() < 150
    # next to the dry part a flow goes with the root of a small head: compare the heads
    np.testing.assert_allclose(ours.head, heads, rtol=0.0, atol=0.03)
    wet = heads > 0.5
    np.testing.assert_allclose(ours.flow[wet], flows[wet], rtol=0.02)
    assert float(ours.flow[heads < -0.05].max()) == 0.0
