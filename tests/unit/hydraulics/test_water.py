import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.water import density, kinematic_viscosity


def test_density_at_recalled_points():  # mark: from memory (Kell 1975; IAPWS)
    expected = [999.840, 999.972, 998.204, 997.045, 983.196]
    np.testing.assert_allclose(density([0, 4, 20, 25, 60]), expected, atol=0.01)


def test_dynamic_viscosity_at_recalled_points():  # mark: from memory (IAPWS tables, mPa s)
    t = np.array([0.0, 10.0, 20.0, 40.0, 60.0])
    dynamic = kinematic_viscosity(t) * density(t) * 1e3
    np.testing.assert_allclose(dynamic, [1.7917, 1.3059, 1.0016, 0.6527, 0.4660], rtol=2e-3)


def test_default_is_20_degrees():
    assert float(kinematic_viscosity()) == pytest.approx(1.004e-6, rel=1e-3)
    assert float(density()) == float(density(20.0))


def test_viscosity_falls_with_temperature():
    assert np.all(np.diff(kinematic_viscosity(np.linspace(0, 60, 61))) < 0)


@pytest.mark.parametrize("bad", [-0.1, 60.1, np.nan, "warm"])
def test_out_of_range(bad):
    for law in (density, kinematic_viscosity):
        with pytest.raises(InputError) as error:
            law(bad)
        assert error.value.field == "temperature_c"
