import math

import numpy as np
import pytest
from scipy import interpolate, stats

from evenrow.errors import InputError
from evenrow.hydraulics.source import SourceCurve, bucket_statistics, usable_flow

PUMP = SourceCurve.from_pump_points([0.0, 1e-3, 2e-3, 3e-3], [32.0, 30.0, 24.0, 12.0])
TAP = SourceCurve.from_flow_test(40.0, 1.2e-3)


def test_tap_from_two_readings():
    assert float(TAP.head(0.0)[0]) == 40.0
    assert float(TAP.head(1.2e-3)[0]) == pytest.approx(0.0, abs=1e-12)
    assert float(TAP.head(0.6e-3)[0]) == pytest.approx(30.0)
    assert TAP.max_flow == pytest.approx(1.2e-3)


@pytest.mark.parametrize("m", [1.55, 1.8, 2.0])
def test_fit_returns_the_law_it_was_given(m):
    k = 40.0 / 1.2e-3**m
    q = np.array([3e-4, 6e-4, 9e-4])
    points = list(zip(40.0 - k * q**m, q, strict=True))
    for open_flow in (1.2e-3, None):
        curve = SourceCurve.from_flow_test(40.0, open_flow, points)
        assert curve.exponent == pytest.approx(m, abs=1e-4)
        assert curve.max_flow == pytest.approx(1.2e-3, rel=1e-4)


def test_fitted_exponent_stays_in_its_range():
    low = SourceCurve.from_flow_test(40.0, 1e-3, [(20.0, 0.5e-3)])  # a straight line
    high = SourceCurve.from_flow_test(40.0, 1e-3, [(35.0, 0.5e-3), (39.9, 0.4e-3)])
    assert low.exponent == pytest.approx(1.5, abs=1e-4)
    assert high.exponent == pytest.approx(2.1, abs=1e-4)


def test_pump_curve_goes_through_its_points_and_falls():
    q = np.linspace(0.0, 3e-3, 200)
    head, slope = PUMP.head(q)
    assert np.all(np.diff(head) < 0)
    assert np.all(slope < 0)
    np.testing.assert_allclose(PUMP.head(PUMP.flows)[0], PUMP.heads, rtol=1e-12)
    # the monotone cubic of a reference library; mark: computed by scipy. Its end slope may be
    # 0, which ours never is, so a little apart in the first piece.
    theirs = interpolate.PchipInterpolator(PUMP.flows, PUMP.heads)(q)
    np.testing.assert_allclose(head, theirs, atol=0.01)
    np.testing.assert_allclose(head[q >= 1e-3], theirs[q >= 1e-3], rtol=1e-12)
    assert PUMP.shutoff_head == pytest.approx(32.0)


@pytest.mark.parametrize("curve", [TAP, PUMP, SourceCurve.from_tank(1.3, 0.025)])
def test_slope_and_inverse(curve):
    q = np.array([0.2, 0.5, 0.8]) * curve.max_flow
    step = 1e-6 * curve.max_flow
    up, down = (curve.head(q + d)[0] for d in (step, -step))
    np.testing.assert_allclose((up - down) / (2 * step), curve.head(q)[1], rtol=1e-5)
    np.testing.assert_allclose(curve.flow_at(curve.head(q)[0]), q, rtol=1e-9)
    np.testing.assert_array_equal(curve.flow_at([curve.shutoff_head, 1e3]), 0.0)
    assert float(curve.flow_at(-5.0)) == pytest.approx(curve.max_flow)


def test_tank():
    q = 5e-4
    v = q / (math.pi / 4 * 0.025**2)
    tank = SourceCurve.from_tank(1.3, 0.025)
    assert float(tank.head(q)[0]) == pytest.approx(1.3 - 1.5 * v * v / (2 * 9.80665))
    measured = SourceCurve.from_tank(1.3, open_flow=1e-3)
    assert measured.max_flow == pytest.approx(1e-3)
    bare = SourceCurve.from_tank(1.3)
    assert float(bare.head(1.0)[0]) == 1.3
    assert math.isinf(bare.max_flow)
    assert math.isinf(usable_flow(bare, 1.0))
    assert usable_flow(bare, 1.3) == 0.0


def test_usable_flow():
    assert usable_flow(TAP, 30.0) == pytest.approx(0.6e-3)
    assert usable_flow(TAP, 41.0) == 0.0


def test_bucket_statistics_against_a_reference_library():
    volumes, times = np.array([0.01, 0.01, 0.0101, 0.0099]), np.array([20.0, 21.0, 20.5, 20.0])
    flows = volumes / times
    got = bucket_statistics(volumes, times)
    assert got.mean == pytest.approx(flows.mean())
    assert got.standard_deviation == pytest.approx(flows.std(ddof=1))
    assert got.spread == pytest.approx((flows.max() - flows.min()) / flows.mean())
    half = stats.t.ppf(0.975, 3) * flows.std(ddof=1) / 2.0  # mark: computed by scipy
    assert got.half_width == pytest.approx(half, rel=1e-3)
    one = bucket_statistics(0.01, [20.0])
    assert (one.standard_deviation, one.spread, one.count) == (0.0, 0.0, 1)
    assert math.isinf(one.half_width)
    assert bucket_statistics(0.01, [20.0, 25.0]).count == 2


@pytest.mark.parametrize("n", [*range(2, 33), 60, 500])
def test_student_points_against_a_reference_library(n):  # mark: computed by scipy
    times = np.linspace(20.0, 22.0, n)
    got = bucket_statistics(0.01, times)
    t = got.half_width / got.standard_deviation * math.sqrt(n)
    assert t == pytest.approx(stats.t.ppf(0.975, n - 1), rel=3e-4)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: SourceCurve.from_flow_test(0.0, 1e-3), "static_head"),
        (lambda: SourceCurve.from_flow_test(40.0, 0.0), "open_flow"),
        (lambda: SourceCurve.from_flow_test(40.0, None), "open_flow"),
        (lambda: SourceCurve.from_flow_test(40.0, 1e-3, exponent=3.0), "exponent"),
        (lambda: SourceCurve.from_flow_test(40.0, 1e-3, [(40.0, 5e-4)]), "points.0.head"),
        (lambda: SourceCurve.from_flow_test(40.0, 1e-3, [(9.0, 1e-4), (9, 0)]), "points.1.flow"),
        (lambda: SourceCurve.from_pump_points([0.0], [3.0]), "flows"),
        (lambda: SourceCurve.from_pump_points([0.0, 1.0], [3.0]), "heads"),
        (lambda: SourceCurve.from_pump_points([0.0, 0.0], [3.0, 2.0]), "flows"),
        (lambda: SourceCurve.from_pump_points([0.0, 1.0, 2.0], [3.0, 3.5, 2.0]), "heads.1"),
        (lambda: SourceCurve.from_tank(0.0), "water_height"),
        (lambda: SourceCurve.from_tank(1.0, -0.1), "outlet"),
        (lambda: SourceCurve.from_tank(1.0, open_flow=0.0), "open_flow"),
        (lambda: TAP.head(-1.0), "flow"),
        (lambda: TAP.flow_at(math.nan), "head"),
        (lambda: usable_flow(TAP, math.nan), "required_head"),
        (lambda: bucket_statistics([1.0, 2.0], [1.0, 2.0, 3.0]), "volumes"),
        (lambda: bucket_statistics(1.0, [0.0]), "times"),
    ],
)
def test_wrong_arguments_name_the_field(call, field):
    with pytest.raises(InputError) as error:
        call()
    assert error.value.field == field
