"""Whole laterals against a general network engine (EPANET 2.3); mark: computed by it.

Compensated in every comparison: the engine's rounded g (32.2 ft/s2) by the lengths, its
0.4333 psi/ft by the emitter coefficients. The engine has another friction law, so:

* with that law put in the place of ours every emitter must agree within 0.1 %;
* with our own law every emitter must agree within 1 %.
"""

import importlib.util
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral

pytest.importorskip("epanet")
BENCHMARK = Path(__file__).parents[2] / "scripts" / "benchmarks" / "lateral.py"
SPEC = importlib.util.spec_from_file_location("benchmark_lateral", BENCHMARK)
benchmark = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(benchmark)

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
DRIPLINE = Emitter(2.0e-3 / 3600.0, 10.0, 0.46, 0.04, 5.0, 30.0)
SMALL = Emitter(4.0e-3 / 3600.0, 10.0, 0.7, 0.05, 3.0, 30.0)

CASES = {
    "tape flat": (Lateral(TAPE, 400, 0.3, 0.0161, roughness=1.5e-6), 7.0),
    "tape downhill": (Lateral(TAPE, 600, 0.3, 0.0161, slope=-0.01), 7.0),
    "tape uphill": (Lateral(TAPE, 300, 0.3, 0.0161, slope=0.008), 7.0),
    "tape low head": (Lateral(TAPE, 150, 0.2, 0.0161), 0.8),
    "dripline flat": (Lateral(DRIPLINE, 300, 0.3, 0.0138, barb_length=0.1), 15.0),
    "dripline uphill": (Lateral(DRIPLINE, 120, 0.5, 0.0138, slope=0.05), 20.0),
    "dripline steep downhill": (Lateral(DRIPLINE, 250, 0.5, 0.0138, slope=-0.06), 8.0),
    "on-line, first at one spacing": (Lateral(SMALL, 60, 1.0, 0.0161, first_spacing=1.0), 10.0),
    "wavy ground": (
        Lateral(TAPE, 200, 0.3, 0.0161, rises=0.6 * np.sin(np.arange(200) / 25.0)),
        6.0,
    ),
    "warm water": (Lateral(TAPE, 400, 0.3, 0.0161, viscosity=6.58e-7), 7.0),
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


@pytest.mark.parametrize("name", CASES)
def test_every_emitter_within_a_thousandth_with_the_engines_law(name):
    lateral, head = CASES[name]
    heads, flows = engine_results(lateral, head)
    ours = solve_lateral(replace(lateral, friction="swamee-jain"), head)
    np.testing.assert_allclose(ours.flow, flows, rtol=1e-3)
    np.testing.assert_allclose(ours.head, heads, rtol=1e-3)


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
