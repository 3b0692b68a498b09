"""Whole laterals against a general network engine (EPANET 2.3); mark: computed by it.

Compensated in every comparison: the engine's rounded g (32.2 ft/s2) by the lengths, its
0.4333 psi/ft by the emitter coefficients. The engine has another friction law, so:

* with that law put in the place of ours every emitter must agree within 0.1 %;
* with our own law every emitter must agree within 1 %.
"""

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest

from evenrow.hydraulics import _line
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


def engine_f_re(re, eps):
    """f Re of the engine: 64, Dunlop's cubic from 2,000 to 4,000, Swamee-Jain above."""
    relative = np.asarray(eps) / 0.27
    re = np.maximum(re, 1e-9)
    high = np.maximum(re, 4000.0)
    swamee = 0.25 / np.log10(relative / 3.7 + 5.74 / high**0.9) ** 2
    y2 = relative / 3.7 + 5.74 / 4000.0**0.9
    y3 = -2.0 / math.log(10.0) * np.log(y2)
    fa = y3**-2.0
    fb = fa * (2.0 - 0.00514215 / (y2 * y3))
    r = re / 2000.0
    x3 = -0.128 + 13 * fa - 2 * fb
    x4 = 0.032 - 3 * fa + 0.5 * fb
    cubic = 7 * fa - fb + r * (0.128 - 17 * fa + 2.5 * fb + r * (x3 + r * x4))
    return np.where(re <= 2000.0, 64.0, re * np.where(re >= 4000.0, swamee, cubic))


def engine_f_re_slope(re, eps):
    step = 1e-4 * np.maximum(re, 1e-3)
    up, down = re + step, np.maximum(re - step, 0.0)
    slope = (engine_f_re(up, eps) * up - engine_f_re(down, eps) * down) / (up - down)
    return engine_f_re(re, eps), slope


@pytest.mark.parametrize("name", CASES)
def test_every_emitter_within_one_percent_with_our_law(name):
    lateral, head = CASES[name]
    heads, flows = engine_results(lateral, head)
    ours = solve_lateral(lateral, head)
    assert flows.min() > 0.0
    np.testing.assert_allclose(ours.flow, flows, rtol=0.01)
    np.testing.assert_allclose(ours.head, heads, rtol=0.02)


@pytest.mark.parametrize("name", CASES)
def test_every_emitter_within_a_thousandth_with_the_engines_law(name, monkeypatch):
    lateral, head = CASES[name]
    heads, flows = engine_results(lateral, head)
    monkeypatch.setattr(_line, "_f_re", engine_f_re)
    monkeypatch.setattr(_line, "_f_re_slope", engine_f_re_slope)
    ours = solve_lateral(lateral, head)
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
