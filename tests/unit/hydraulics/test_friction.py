import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.friction import (
    blasius,
    christiansen_factor,
    churchill,
    hazen_williams_gradient,
    head_gradient,
    multiple_outlet_factor_exact,
)


@pytest.mark.parametrize("diameter", [0.004, 0.0161, 0.1])
@pytest.mark.parametrize("roughness", [0.0, 1.5e-6, 1e-4])
def test_slope_equals_finite_differences(diameter, roughness):
    q = np.geomspace(1e-10, 2e-3, 200)
    step = 1e-5 * q
    up, down = (head_gradient(x, diameter, roughness)[0] for x in (q + step, q - step))
    slope = head_gradient(q, diameter, roughness)[1]
    np.testing.assert_allclose((up - down) / (2.0 * step), slope, rtol=2e-6)


def test_zero_flow_has_the_laminar_slope():
    d, nu = 0.0142, 1.004e-6
    j, slope = head_gradient(0.0, d)
    assert float(j) == 0.0
    assert float(slope) == pytest.approx(128.0 * nu / (np.pi * 9.80665 * d**4), rel=1e-12)


def test_odd_in_the_flow():
    q = np.array([1e-7, 1e-5, 1e-3])
    j, slope = head_gradient(q, 0.02)
    back, back_slope = head_gradient(-q, 0.02)
    np.testing.assert_array_equal(j, -back)
    np.testing.assert_array_equal(slope, back_slope)


def test_rising_in_flow_through_the_transition():
    j, slope = head_gradient(np.geomspace(1e-9, 1e-3, 3000), 0.0142)
    assert np.all(np.diff(j) > 0)
    assert np.all(slope > 0)


def test_broadcasts():
    j, slope = head_gradient(np.ones((3, 1)) * 1e-5, np.array([0.01, 0.02]), 1e-6, 1e-6)
    assert j.shape == slope.shape == (3, 2)


def test_extreme_flows_stay_finite():
    for q in (1e-300, 1e-20, 1e3):
        assert all(np.isfinite(x) for x in head_gradient(q, 0.01))


def test_wrong_arguments_name_the_field():
    cases = [
        (lambda: head_gradient(np.nan, 0.01), "flow"),
        (lambda: head_gradient(1e12, 0.01), "flow"),
        (lambda: head_gradient(1e-5, 0.0), "diameter"),
        (lambda: head_gradient(1e-5, 0.01, 0.01), "roughness"),
        (lambda: head_gradient(1e-5, 0.01, 0.0, 0.0), "viscosity"),
        (lambda: churchill(0.0), "reynolds"),
        (lambda: blasius(-1.0), "reynolds"),
        (lambda: hazen_williams_gradient(1e-5, 0.01, 5.0), "c"),
        (lambda: christiansen_factor(0, 1.75), "outlets"),
        (lambda: christiansen_factor(2.5, 1.75), "outlets"),
        (lambda: christiansen_factor(5, 0.5), "exponent"),
        (lambda: multiple_outlet_factor_exact(5, 1.75, "third"), "first"),
    ]
    for call, field in cases:
        with pytest.raises(InputError) as error:
            call()
        assert error.value.field == field


def test_factor_approaches_its_limit():
    assert multiple_outlet_factor_exact(100_000, 1.75) == pytest.approx(1 / 2.75, rel=1e-4)
    assert christiansen_factor(100_000, 1.75) == pytest.approx(1 / 2.75, rel=1e-4)
