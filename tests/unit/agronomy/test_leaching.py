"""Salt: directions, bounds and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy.leaching import (
    leaching_for_drip,
    leaching_for_surface,
    relative_yield,
    salt_stress,
    zero_yield_salinity,
)
from evenrow.errors import InputError


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(0, 20), st.floats(0.5, 8), st.floats(0.02, 0.4))
def test_more_salt_never_yields_more(ece, threshold, slope):
    here, saltier = relative_yield([ece, ece + 1.0], threshold, slope)
    assert 0.0 <= saltier <= here <= 1.0
    assert (here == 1.0) == (ece <= threshold or slope * (ece - threshold) < 1e-16)
    end = float(zero_yield_salinity(threshold, slope))
    assert float(relative_yield(end, threshold, slope)) == pytest.approx(0.0, abs=1e-9)
    assert float(salt_stress(ece, threshold, slope)) == pytest.approx(float(here))


def test_drip_needs_less_leaching_than_seldom_watering():
    # tomato in water of 1.5 dS/m; mark: computed
    drip = float(leaching_for_drip(1.5, zero_yield_salinity(2.5, 0.099)))
    assert drip == pytest.approx(1.5 / (2.0 * 12.601), abs=1e-4)
    assert drip < float(leaching_for_surface(1.5, 2.5))


def test_water_too_salty_is_refused():
    with pytest.raises(InputError) as caught:
        leaching_for_surface(9.0, 1.0)
    assert caught.value.field == "ecw"
    with pytest.raises(InputError):
        leaching_for_drip(10.0, 4.0)
    assert np.isnan(leaching_for_drip([np.nan, 1.0], 5.0)[0])
