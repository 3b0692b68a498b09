import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.emitter import Emitter, fit_power_law

PLAIN = Emitter(1e-6, 10.0, 0.5, 0.03, 5.0, 20.0)
FLAT = Emitter(1e-6, 10.0, 0.0, 0.03, 5.0, 40.0, compensating=True)


def test_power_law_and_nothing_at_no_head():
    np.testing.assert_allclose(PLAIN.flow([10.0, 2.5, 40.0]), [1e-6, 5e-7, 2e-6], rtol=1e-12)
    np.testing.assert_array_equal(PLAIN.flow([0.0, -1.0, -1e6]), 0.0)
    flow, slope = PLAIN.flow_and_slope([0.0, -1.0])
    assert not flow.any()
    assert not slope.any()


def test_linear_below_a_millimetre_and_continuous_there():
    edge = PLAIN.linear_below
    assert float(PLAIN.flow(0.5 * edge)) == pytest.approx(0.5 * float(PLAIN.flow(edge)))
    assert float(PLAIN.flow(edge)) == pytest.approx(1e-6 * (edge / 10.0) ** 0.5, rel=1e-9)


def test_compensating_is_flat_above_and_a_root_below():
    np.testing.assert_allclose(FLAT.flow([5.0, 12.0, 100.0]), 1e-6, rtol=1e-12)
    assert float(FLAT.flow(1.25)) == pytest.approx(5e-7, rel=1e-12)
    assert float(FLAT.flow_and_slope(12.0)[1]) == 0.0
    other = Emitter(1e-6, 10.0, 0.0, 0.03, 5.0, 40.0, True, head_compensating_from=8.0)
    assert float(other.flow(2.0)) == pytest.approx(5e-7, rel=1e-12)


@pytest.mark.parametrize("device", [PLAIN, FLAT, Emitter(1e-6, 10.0, 0.8, 0.0, 1.0, 20.0)])
def test_slope_equals_finite_differences(device):
    h = np.array([2e-4, 0.01, 0.3, 2.0, 4.9, 7.0, 30.0])
    step = 1e-6 * h
    slope = device.flow_and_slope(h)[1]
    np.testing.assert_allclose(
        (device.flow(h + step) - device.flow(h - step)) / (2 * step), slope, rtol=1e-6, atol=1e-15
    )


def test_shapes_are_kept():
    assert PLAIN.flow(3.0).shape == ()
    assert PLAIN.flow(np.ones((2, 3))).shape == (2, 3)
    assert FLAT.flow_and_slope(3.0)[1].shape == ()


def test_fit_returns_the_law_it_was_given():
    h = np.array([5.0, 8.0, 12.0, 20.0])
    k, x = fit_power_law(h, 3e-7 * h**0.62)
    assert k == pytest.approx(3e-7, rel=1e-10)
    assert x == pytest.approx(0.62, rel=1e-10)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"flow_nominal": 0.0}, "flow_nominal"),
        ({"flow_nominal": float("nan")}, "flow_nominal"),
        ({"head_nominal": -1.0}, "head_nominal"),
        ({"exponent": 0.0}, "exponent"),
        ({"exponent": 1.1}, "exponent"),
        ({"cv": -0.1}, "cv"),
        ({"head_min": 30.0}, "head_max"),
        ({"compensating": True, "head_min": 0.0}, "head_compensating_from"),
    ],
)
def test_wrong_devices_name_the_field(change, field):
    values = {
        "flow_nominal": 1e-6, "head_nominal": 10.0, "exponent": 0.5, "cv": 0.03,
        "head_min": 5.0, "head_max": 20.0,
    }  # fmt: skip
    with pytest.raises(InputError) as error:
        Emitter(**{**values, **change})
    assert error.value.field == field


def test_wrong_fits_name_the_field():
    for heads, flows, field in (
        ([5, 5], [1, 1], "heads"), ([5, 6], [1], "flows"), ([0, 6], [1, 2], "heads"),
        ([], [], "heads"),
    ):  # fmt: skip
        with pytest.raises(InputError) as error:
            fit_power_law(heads, flows)
        assert error.value.field == field
