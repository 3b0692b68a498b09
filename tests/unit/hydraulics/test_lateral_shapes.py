"""Laterals with changing spacing and diameter, lead-in, several emitters, given flow."""

import math

import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.emitter import Emitter, fit_emitter
from evenrow.hydraulics.ground import diameters_in_series
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.lateral_flow import solve_lateral_for_flow
from evenrow.hydraulics.laws import friction_gradient, hazen_williams

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)
RNG = np.random.default_rng(3)
SPACES = RNG.uniform(0.1, 0.6, 119)
SIZES = np.repeat([0.0222, 0.0161, 0.0138], 40)


@pytest.mark.parametrize(
    "law", ["churchill", "blasius", "swamee-jain", "handbook", hazen_williams(140.0)], ids=str
)
def test_every_equation_holds_whatever_the_shape(law):
    lateral = Lateral(
        TAPE, 120, SPACES, SIZES, first_spacing=12.0, slope=-0.01, barb_length=0.05, barb_k=0.3,
        friction=law,
    )  # fmt: skip
    solved = solve_lateral(lateral, [0.4, 7.0, 40.0])
    carried = np.cumsum(solved.flow[:, ::-1], axis=1)[:, ::-1]
    segments = np.append(12.0, SPACES)
    gradient, _ = friction_gradient(law, carried, SIZES, lateral.roughness, lateral.viscosity)
    speed = carried / (np.pi / 4 * SIZES**2)
    loss = (segments + 0.05) * gradient + 0.3 * speed**2 / (2 * 9.80665)
    before = np.concatenate([solved.inlet_head[:, None], solved.head[:, :-1]], axis=1)
    np.testing.assert_allclose(before - loss + 0.01 * segments, solved.head, atol=1e-9)
    np.testing.assert_allclose(solved.velocity, speed, rtol=1e-9)


def test_arrays_of_equal_numbers_change_nothing():
    plain = solve_lateral(Lateral(TAPE, 50, 0.3, 0.0161), 7.0)
    arrays = solve_lateral(Lateral(TAPE, 50, np.full(49, 0.3), np.full(50, 0.0161)), 7.0)
    np.testing.assert_allclose(arrays.head, plain.head, atol=1e-11)
    one = Lateral(TAPE, 1, [0.3], [0.0161])
    assert one.length == pytest.approx(0.15)
    np.testing.assert_allclose(Lateral(TAPE, 3, [0.2, 0.4], 0.01).positions, [0.1, 0.3, 0.7])


def test_a_wider_near_half_feeds_the_end_better():
    lateral = Lateral(TAPE, 600, 0.3, 0.0161)
    sizes = diameters_in_series(lateral.positions, 0.0222, 0.0161, 90.0)
    wide = Lateral(TAPE, 600, 0.3, sizes)
    assert float(solve_lateral(wide, 7.0).eu) > float(solve_lateral(lateral, 7.0).eu) + 0.02


def test_several_at_a_place_are_one_larger():
    pair = TAPE.several(2)
    assert pair.cv == pytest.approx(0.03 / math.sqrt(2.0))
    np.testing.assert_allclose(pair.flow([0.5, 7.0]), 2.0 * TAPE.flow([0.5, 7.0]))
    solved = solve_lateral(Lateral(pair, 100, 0.6, 0.0161), 7.0)
    one = solve_lateral(Lateral(TAPE, 100, 0.6, 0.0161), 7.0)
    assert float(solved.inlet_flow) > 1.8 * float(one.inlet_flow)
    ratio = float(solved.flow.min() / solved.flow.mean())
    assert float(solved.eu) == pytest.approx((1 - 1.27 * 0.03 / math.sqrt(2)) * ratio)


def test_arrival_times_and_regimes():
    solved = solve_lateral(Lateral(TAPE, 300, 0.3, 0.0161), 7.0)
    times = solved.arrival_times
    assert np.all(np.diff(times) > 0.0)
    assert float(times[-1]) == float(solved.travel_time)
    by_hand = 0.15 / solved.velocity[0] + 0.3 / solved.velocity[1]
    assert float(times[1]) == pytest.approx(by_hand)
    re = solved.velocity * 0.0161 / 1.004e-6
    np.testing.assert_allclose(solved.reynolds, re)
    shares = solved.regime_shares
    assert float(shares.sum()) == pytest.approx(1.0)
    assert float(shares[0]) == pytest.approx((re < 2000.0).mean(), abs=0.01)
    assert 0.0 < shares[1] < shares[0]
    both = solve_lateral(solved.lateral, [2.0, 7.0])
    np.testing.assert_allclose(both.regime_shares[1], shares)
    assert 0.0 < float(solved.statistical_uniformity) < 1.0
    np.testing.assert_array_equal(
        solve_lateral(Lateral(TAPE, 9, 0.3, 0.0161), [-1.0]).statistical_uniformity, 0.0
    )


@pytest.mark.parametrize(
    "lateral",
    [Lateral(TAPE, 1, 0.3, 0.0161), Lateral(TAPE, 300, 0.3, 0.0161, slope=0.02),
     Lateral(TAPE, 400, 0.3, 0.0222, slope=-0.03), Lateral(FLAT, 200, 0.4, 0.0138),
     Lateral(TAPE, 120, SPACES, SIZES)],
    ids=range(5),
)  # fmt: skip
@pytest.mark.parametrize("head", [0.2, 2.0, 5.2])
def test_flow_given_instead_of_head(lateral, head):
    flow = float(solve_lateral(lateral, head).inlet_flow)
    assert 0.0 < flow < lateral.count * lateral.emitter.flow_nominal * 1.5
    found = solve_lateral_for_flow(lateral, flow)
    assert float(found.inlet_flow) == pytest.approx(flow, rel=1e-9)
    assert float(found.inlet_head) == pytest.approx(head, rel=1e-6)


def test_wrong_flows_name_the_field():
    for lateral, flow in (
        (Lateral(TAPE, 10, 0.3, 0.0161), 0.0), (Lateral(TAPE, 10, 0.3, 0.0161), math.nan),
        (Lateral(TAPE, 10, 0.3, 0.0161), 1.0), (Lateral(FLAT, 10, 0.3, 0.0161), 5e-6),
    ):  # fmt: skip
        with pytest.raises(InputError) as error:
            solve_lateral_for_flow(lateral, flow)
        assert error.value.field == "inlet_flow"


def test_fit_with_errors():
    # synthetic: a law with known scatter in ln q
    heads = np.array([3.0, 5.0, 8.0, 12.0, 16.0, 20.0])
    off = np.array([0.01, -0.01, 0.0, 0.01, -0.01, 0.0])
    fit = fit_emitter(heads, 3e-7 * heads**0.55 * np.exp(off))
    design = np.column_stack([np.ones(6), np.log(heads)])
    beta, rss, *_ = np.linalg.lstsq(design, np.log(3e-7) + 0.55 * np.log(heads) + off, rcond=None)
    covariance = float(rss[0]) / 4.0 * np.linalg.inv(design.T @ design)
    assert fit.exponent == pytest.approx(beta[1], rel=1e-10)
    assert fit.coefficient == pytest.approx(math.exp(beta[0]), rel=1e-10)
    assert fit.coefficient_error == pytest.approx(math.sqrt(covariance[0, 0]), rel=1e-8)
    assert fit.exponent_error == pytest.approx(math.sqrt(covariance[1, 1]), rel=1e-8)
    np.testing.assert_allclose(fit.flow(heads) * (1 + fit.residuals),
                               3e-7 * heads**0.55 * np.exp(off))  # fmt: skip
    two = fit_emitter([5.0, 10.0], [1e-6, 1.5e-6])
    assert (two.coefficient_error, two.exponent_error) == (None, None)
    np.testing.assert_allclose(two.residuals, 0.0, atol=1e-12)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"spacing": [0.3] * 8}, "spacing"),
        ({"spacing": [0.3] * 8 + [0.0]}, "spacing"),
        ({"spacing": [[0.3]]}, "spacing"),
        ({"diameter": [0.01] * 9}, "diameter"),
        ({"diameter": [0.01] * 9 + [math.nan]}, "diameter"),
        ({"diameter": [0.01] * 9 + [1e-6]}, "roughness"),
        ({"barb_k": -1.0}, "barb_k"),
        ({"friction": "best"}, "friction"),
    ],
)
def test_wrong_shapes_name_the_field(change, field):
    values = {"emitter": TAPE, "count": 10, "spacing": 0.3, "diameter": 0.0161}
    with pytest.raises(InputError) as error:
        Lateral(**{**values, **change})
    assert error.value.field == field
    with pytest.raises(InputError) as error:
        TAPE.several(0)
    assert error.value.field == "number_at_place"
