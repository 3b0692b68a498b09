import math
from dataclasses import replace

import numpy as np
import pytest

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics import _line, _line_solve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.friction import head_gradient
from evenrow.hydraulics.lateral import Lateral, solve_lateral

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)
LAMINAR = Emitter(4.0e-3 / 3600.0, 10.0, 0.9, 0.05, 3.0, 30.0)
WEAK = Emitter(2.0e-3 / 3600.0, 10.0, 0.1, 0.05, 3.0, 30.0)


def equations(lateral, solution):
    """What each head equation misses [m], written anew from the public friction law."""
    head = np.atleast_2d(solution.head)
    flow = np.atleast_2d(solution.flow)
    inlet = np.atleast_1d(solution.inlet_head)[:, None]
    carried = np.cumsum(flow[:, ::-1], axis=1)[:, ::-1]
    length = np.full(lateral.count, lateral.spacing)
    length[0] = lateral.inlet_spacing
    gradient, _ = head_gradient(carried, lateral.diameter, lateral.roughness, lateral.viscosity)
    loss = (length + lateral.barb_length) * gradient
    if lateral.rises is None:
        climb = lateral.slope * length
    else:
        climb = np.diff(np.asarray(lateral.rises), prepend=0.0)
    before = np.concatenate([inlet, head[:, :-1]], axis=1)
    return before - climb - loss - head


CASES = [
    Lateral(TAPE, 1, 0.3, 0.0161),
    Lateral(TAPE, 2, 0.3, 0.0161, slope=-0.5),
    Lateral(TAPE, 300, 0.3, 0.0161),
    Lateral(TAPE, 300, 0.3, 0.0161, slope=0.05, barb_length=0.1),
    Lateral(TAPE, 1500, 0.3, 0.0161, slope=-0.02),
    Lateral(TAPE, 5000, 0.3, 0.0161),
    Lateral(TAPE, 200, 0.3, 0.008, slope=-0.3),
    Lateral(FLAT, 500, 0.4, 0.0138, slope=0.01),
    Lateral(FLAT, 2000, 0.4, 0.0138),
    Lateral(LAMINAR, 400, 0.3, 0.0161, slope=-0.1),
    Lateral(WEAK, 400, 0.3, 0.0105),
    Lateral(TAPE, 250, 0.3, 0.0161, rises=np.sin(np.arange(250) / 20.0)),
]


@pytest.mark.parametrize("lateral", CASES, ids=range(len(CASES)))
def test_every_equation_holds_from_low_to_high_heads(lateral):
    heads = np.array([0.3, 1.0, 5.0, 20.0, 60.0])
    solution = solve_lateral(lateral, heads)
    assert np.abs(equations(lateral, solution)).max() < 1e-9
    np.testing.assert_allclose(solution.inlet_flow, solution.flow.sum(axis=1), rtol=1e-12)
    law = lateral.emitter.flow(solution.head)
    np.testing.assert_allclose(solution.flow, law, rtol=1e-12, atol=1e-25)


@pytest.mark.parametrize("lateral", CASES[:5], ids=range(5))
def test_side_by_side_equals_one_by_one(lateral):
    heads = [1.0, 10.0]
    both = solve_lateral(lateral, heads)
    for k, h in enumerate(heads):
        one = solve_lateral(lateral, h)
        np.testing.assert_allclose(both.flow[k], one.flow, rtol=1e-7, atol=1e-15)
        assert one.head.shape == (lateral.count,)
        for name in ("eu", "dulq", "flow_variation", "head_variation", "end_head", "min_head"):
            assert float(getattr(both, name)[k]) == pytest.approx(float(getattr(one, name)))


@pytest.mark.parametrize("lateral", [CASES[2], CASES[3], CASES[7]], ids=["flat", "up", "pc"])
def test_slope_of_inlet_flow_equals_finite_differences(lateral):
    up, down = (float(solve_lateral(lateral, 8.0 + d).inlet_flow) for d in (1e-4, -1e-4))
    slope = float(solve_lateral(lateral, 8.0).inlet_flow_slope)
    assert slope == pytest.approx((up - down) / 2e-4, rel=1e-5, abs=1e-12)


def test_the_march_finds_the_same_as_newton():
    lateral = CASES[4]
    inlet = np.array([6.0])
    newton, done = _line.newton(lateral.line, inlet, _line.guess(lateral.line, inlet))
    assert done.all()
    reached, heads = _line_solve.march(lateral.line, newton.head[-1:])
    assert float(reached[0]) == pytest.approx(6.0, abs=1e-6)
    np.testing.assert_allclose(heads[:, 0], newton.head, atol=1e-6)


def test_fallback_by_bracketing(monkeypatch):
    lateral = Lateral(TAPE, 120, 0.3, 0.0161, slope=0.02)
    direct = solve_lateral(lateral, 5.0)
    monkeypatch.setattr(_line_solve, "_softly", lambda *a: None)
    state = _line_solve._safe(lateral.line, np.array([5.0]))
    np.testing.assert_allclose(state.head, direct.head, atol=1e-7)


def test_a_solve_that_cannot_converge_says_so(monkeypatch):
    monkeypatch.setattr(_line, "EACH_EQUATION", -1.0)
    monkeypatch.setattr(_line, "TOLERANCE", -1.0)
    monkeypatch.setattr(_line, "_ROUND_OFF", -1.0)
    monkeypatch.setattr(_line_solve, "_MARCH_ROUNDS", 3)
    with pytest.raises(ConvergenceError, match="left over"):
        solve_lateral(Lateral(TAPE, 5, 0.3, 0.0161), 5.0)


def test_one_emitter_by_hand():
    lateral = Lateral(TAPE, 1, 0.4, 0.0161)
    solution = solve_lateral(lateral, 7.0)
    q = float(solution.flow[0])
    loss = 0.2 * float(head_gradient(q, 0.0161)[0])
    assert float(solution.head[0]) == pytest.approx(7.0 - loss, abs=1e-12)
    area = math.pi / 4 * 0.0161**2
    assert float(solution.velocity[0]) == pytest.approx(q / area)
    assert float(solution.travel_time) == pytest.approx(0.2 * area / q)
    assert lateral.length == pytest.approx(0.2)
    assert Lateral(TAPE, 4, 0.4, 0.0161, first_spacing=0.4).length == pytest.approx(1.6)


def test_nothing_flows_without_pressure():
    solution = solve_lateral(Lateral(TAPE, 50, 0.3, 0.0161, slope=0.02), [-1.0, 0.0, 5.0])
    np.testing.assert_array_equal(solution.inlet_flow[:2], 0.0)
    np.testing.assert_array_equal(solution.eu[:2], 0.0)
    np.testing.assert_array_equal(solution.dulq[:2], 0.0)
    np.testing.assert_array_equal(solution.flow_variation[:2], 1.0)
    np.testing.assert_array_equal(solution.head_variation[:2], 0.0)
    assert np.all(np.isinf(solution.travel_time[:2]))
    assert float(solution.eu[2]) > 0.5
    assert np.isfinite(solution.travel_time[2])


def test_rises_override_slope():
    spaced = Lateral(TAPE, 50, 0.3, 0.0161, slope=0.02)
    rises = 0.02 * (0.15 + 0.3 * np.arange(50))
    surveyed = Lateral(TAPE, 50, 0.3, 0.0161, slope=-0.5, rises=rises)
    np.testing.assert_allclose(
        solve_lateral(surveyed, 7.0).head, solve_lateral(spaced, 7.0).head, atol=1e-10
    )


def test_barbs_cost_head():
    smooth = solve_lateral(Lateral(TAPE, 200, 0.3, 0.0161), 7.0)
    barbed = solve_lateral(Lateral(TAPE, 200, 0.3, 0.0161, barb_length=0.2), 7.0)
    assert float(barbed.end_head) < float(smooth.end_head)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"count": 0}, "count"),
        ({"count": 2.5}, "count"),
        ({"count": 20_001}, "count"),
        ({"spacing": 0.0}, "spacing"),
        ({"diameter": -0.01}, "diameter"),
        ({"first_spacing": 0.0}, "first_spacing"),
        ({"slope": 2.0}, "slope"),
        ({"slope": math.nan}, "slope"),
        ({"rises": [1.0, 2.0]}, "rises"),
        ({"roughness": 0.01}, "roughness"),
        ({"viscosity": 0.0}, "viscosity"),
        ({"barb_length": -0.1}, "barb_length"),
    ],
)
def test_wrong_laterals_name_the_field(change, field):
    values = {"emitter": TAPE, "count": 10, "spacing": 0.3, "diameter": 0.0161}
    with pytest.raises(InputError) as error:
        Lateral(**{**values, **change})
    assert error.value.field == field


@pytest.mark.parametrize("bad", [math.nan, math.inf, "high", [[1.0]], []])
def test_wrong_inlet_head(bad):
    with pytest.raises(InputError) as error:
        solve_lateral(CASES[0], bad)
    assert error.value.field == "inlet_head"


def test_a_take_off_takes_its_loss_before_the_first_emitter():
    bare = Lateral(TAPE, 50, 0.3, 0.016)
    behind = solve_lateral(replace(bare, inlet_k=2.0), 8.0)
    velocity = float(behind.velocity[0])
    same = solve_lateral(bare, 8.0 - 2.0 * velocity**2 / (2 * 9.80665))
    assert behind.flow == pytest.approx(same.flow, rel=1e-9)
