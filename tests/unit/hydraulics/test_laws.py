import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.friction import (
    blasius,
    handbook_gradient,
    hazen_williams_gradient,
    head_gradient,
    swamee_jain,
)
from evenrow.hydraulics.laws import (
    FRICTION_LAWS,
    equivalent_length,
    friction_gradient,
    friction_law,
    hazen_williams,
    local_loss_factor,
)

D, NU, ROUGH = 0.0161, 1.004e-6, 1.5e-6
NAMES = list(FRICTION_LAWS)


def flow_at(re):
    return 0.25 * np.pi * D * NU * np.asarray(re)


def darcy_gradient(f, flow):
    return f * (flow / (0.25 * np.pi * D**2)) ** 2 / (2 * 9.80665 * D)


@pytest.mark.parametrize("name", NAMES)
def test_slope_equals_finite_differences(name):
    re = np.geomspace(3.0, 3e5, 160)
    # away from the corners: laminar to Blasius, to the cubic and from it; 1 of power laws
    for corner in (1187.0, 2000.0, 4000.0):
        re = re[np.abs(re / corner - 1.0) > 0.01]
    q = flow_at(re)
    step = 1e-6 * q
    up, down = (friction_gradient(name, x, D, ROUGH, NU)[0] for x in (q + step, q - step))
    slope = friction_gradient(name, q, D, ROUGH, NU)[1]
    np.testing.assert_allclose((up - down) / (2 * step), slope, rtol=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_loss_rises_with_flow_and_is_odd_and_finite(name):
    q = flow_at(np.geomspace(1e-8, 1e6, 2000))
    j, slope = friction_gradient(name, q, D, ROUGH, NU)
    assert np.all(np.diff(j) > 0.0)
    assert np.all(slope > 0.0)
    np.testing.assert_array_equal(friction_gradient(name, -q, D, ROUGH, NU)[0], -j)
    zero, at_zero = friction_gradient(name, 0.0, D, ROUGH, NU)
    assert float(zero) == 0.0
    assert float(at_zero) > 0.0


@pytest.mark.parametrize("name", NAMES)
def test_continuous_at_its_corners(name):
    for corner in (1.0, 1186.8, 2000.0, 4000.0):
        below, above = friction_gradient(name, flow_at([corner * 0.99999, corner * 1.00001]),
                                         D, ROUGH, NU)[0]  # fmt: skip
        assert above == pytest.approx(below, rel=1e-4)


def test_each_law_is_the_formula_of_its_name():
    q = flow_at([5e3, 2e4, 8e4])
    re = np.array([5e3, 2e4, 8e4])

    def by(law):
        return friction_gradient(law, q, D, ROUGH, NU)[0]

    np.testing.assert_allclose(by("churchill"), head_gradient(q, D, ROUGH, NU)[0], rtol=1e-13)
    np.testing.assert_allclose(by("blasius"), darcy_gradient(blasius(re), q), rtol=1e-12)
    np.testing.assert_allclose(
        by("swamee-jain"), darcy_gradient(swamee_jain(re, ROUGH / D), q), rtol=1e-12
    )
    np.testing.assert_allclose(by("handbook"), handbook_gradient(q, D), rtol=1e-12)
    np.testing.assert_allclose(
        by("hazen-williams"), hazen_williams_gradient(q, D, 150.0), rtol=1e-12
    )
    np.testing.assert_allclose(
        by(hazen_williams(120.0)), hazen_williams_gradient(q, D, 120.0), rtol=1e-12
    )


@pytest.mark.parametrize("name", ["churchill", "blasius", "swamee-jain"])
def test_laminar_flow_is_64_over_re(name):
    re = np.array([10.0, 500.0, 1100.0])
    got = friction_gradient(name, flow_at(re), D, ROUGH, NU)[0]
    np.testing.assert_allclose(got, darcy_gradient(64.0 / re, flow_at(re)), rtol=1e-3)


def test_the_cubic_meets_both_sides_with_equal_slope():
    for corner in (2000.0, 4000.0):
        low, high = friction_gradient(
            "swamee-jain", flow_at([corner * (1 - 1e-6), corner * (1 + 1e-6)]), D, ROUGH, NU
        )[1]
        assert high == pytest.approx(low, rel=1e-3)


def test_table_names_range_and_source():
    for name, law in FRICTION_LAWS.items():
        assert law.name == name
        assert 0.0 <= law.reynolds[0] < law.reynolds[1]
        assert any(c.isdigit() for c in law.source)
    assert friction_law("blasius") is FRICTION_LAWS["blasius"]
    assert friction_law(FRICTION_LAWS["blasius"]) is FRICTION_LAWS["blasius"]


def test_equivalent_length_loses_what_k_loses():
    q, k = 2e-4, 0.7
    f, area = 0.025, 0.25 * np.pi * D**2
    loss = float(local_loss_factor(k, D)) * q * q
    assert loss == pytest.approx(k * (q / area) ** 2 / (2 * 9.80665))
    length = float(equivalent_length(k, D, f))
    assert length * float(darcy_gradient(f, q)) == pytest.approx(loss)


def test_wrong_arguments_name_the_field():
    for call, field in (
        (lambda: friction_law("best"), "friction"),
        (lambda: friction_law(3), "friction"),
        (lambda: hazen_williams(5.0), "c"),
        (lambda: friction_gradient("blasius", np.nan, D, 0.0, NU), "flow"),
        (lambda: friction_gradient("blasius", 1e9, D, 0.0, NU), "flow"),
        (lambda: friction_gradient("blasius", 1e-5, 0.0, 0.0, NU), "diameter"),
        (lambda: friction_gradient("blasius", 1e-5, D, 0.01, NU), "roughness"),
        (lambda: friction_gradient("blasius", 1e-5, D, 0.0, -1.0), "viscosity"),
        (lambda: local_loss_factor(-1.0, D), "k"),
        (lambda: equivalent_length(1.0, D, 0.0), "friction_factor"),
    ):
        with pytest.raises(InputError) as error:
            call()
        assert error.value.field == field
