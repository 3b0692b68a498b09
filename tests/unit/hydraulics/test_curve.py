import numpy as np
import pytest

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics import curve as module
from evenrow.hydraulics.curve import lateral_curve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)
FLAT_GROUND = Lateral(TAPE, 200, 0.3, 0.0161)


@pytest.mark.parametrize("tolerance", [1e-5, 1e-7])
@pytest.mark.parametrize(
    "lateral",
    [FLAT_GROUND, Lateral(TAPE, 200, 0.3, 0.0161, slope=-0.03), Lateral(FLAT, 100, 0.4, 0.0161)],
    ids=["flat", "down", "compensating"],
)
def test_error_is_within_the_tolerance(lateral, tolerance):
    curve = lateral_curve(lateral, 1.0, 20.0, tolerance)
    heads = np.random.default_rng(1).uniform(1.0, 20.0, 150)
    exact = solve_lateral(lateral, heads)
    flow, slope = curve.flow(heads)
    np.testing.assert_allclose(flow, exact.inlet_flow, rtol=tolerance)
    assert curve.error <= tolerance
    if lateral.emitter is TAPE:
        np.testing.assert_allclose(slope, exact.inlet_flow_slope, rtol=1e3 * tolerance)


def test_where_part_of_the_line_is_dry():
    lateral = Lateral(TAPE, 60, 0.3, 0.0161, slope=0.1)
    curve = lateral_curve(lateral, 0.3, 8.0)
    heads = np.linspace(0.3, 8.0, 90)
    flow, _ = curve.flow(heads)
    exact = solve_lateral(lateral, heads).inlet_flow
    np.testing.assert_allclose(flow, exact, rtol=2e-3, atol=2e-6 * exact.max())


def test_nodes_are_exact_and_rise():
    curve = lateral_curve(FLAT_GROUND, 2.0, 12.0)
    assert np.all(np.diff(curve.heads) > 0)
    assert (curve.head_low, curve.head_high) == (2.0, 12.0)
    np.testing.assert_allclose(curve.flow(curve.heads)[0], curve.flows, rtol=1e-12)


def test_outside_the_curve():
    curve = lateral_curve(FLAT_GROUND, 2.0, 12.0)
    flow, slope = curve.flow([-5.0, 0.0, 2.0 - 1e-9, 2.0, 12.0, 12.0 + 1e-9, 20.0])
    assert flow[0] == flow[1] == 0.0
    np.testing.assert_allclose(flow[2], flow[3], rtol=1e-8)
    np.testing.assert_allclose(flow[4], flow[5], rtol=1e-8)
    assert flow[6] == pytest.approx(flow[4] + 8.0 * slope[4])
    assert curve.flow(1.0)[0].shape == ()


def test_wrong_ranges():
    for low, high, tolerance, field in (
        (0.0, 5.0, 1e-7, "head_low"), (5.0, 5.0, 1e-7, "head_high"), (1.0, 5.0, 0.0, "tolerance"),
    ):  # fmt: skip
        with pytest.raises(InputError) as error:
            lateral_curve(FLAT_GROUND, low, high, tolerance)
        assert error.value.field == field


def test_too_many_nodes_is_said(monkeypatch):
    monkeypatch.setattr(module, "_MAX_NODES", 10)
    with pytest.raises(ConvergenceError, match="nodes"):
        lateral_curve(FLAT_GROUND, 1.0, 20.0)
