import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
    statistical_uniformity,
)

RNG = np.random.default_rng(7)
FLOWS = RNG.uniform(0.5, 1.5, (3, 11))
COUNTS = RNG.integers(0, 5, (3, 11)) + (np.arange(11) == 4)
MEASURES = [
    lambda q, **k: emission_uniformity(q, 0.05, 2, **k),
    distribution_uniformity_lq,
    lambda q, **k: statistical_uniformity(q, 0.05, **k),
    flow_variation,
]


@pytest.mark.parametrize("measure", MEASURES)
def test_counts_equal_repeated_flows(measure):
    for q, c in zip(FLOWS, COUNTS, strict=True):
        repeated = measure(np.repeat(q, c))
        assert float(measure(q, counts=c)) == pytest.approx(float(repeated), rel=1e-12)


@pytest.mark.parametrize("measure", MEASURES)
def test_last_axis_and_scale(measure):
    together = measure(FLOWS)
    assert together.shape == (3,)
    for row, value in zip(FLOWS, together, strict=True):
        assert float(measure(row * 1e-7)) == pytest.approx(float(value), rel=1e-12)


def test_equal_flows_are_perfect():
    q = np.full(9, 3.0)
    assert float(emission_uniformity(q, 0.0)) == 1.0
    assert float(distribution_uniformity_lq(q)) == pytest.approx(1.0)
    assert float(statistical_uniformity(q)) == 1.0
    assert float(flow_variation(q)) == 0.0


def test_known_values():
    q = [1.0, 2.0, 3.0, 4.0]
    assert float(emission_uniformity(q, 0.1)) == pytest.approx((1 - 0.127) * 1 / 2.5)
    assert float(distribution_uniformity_lq(q)) == pytest.approx(1 / 2.5)
    assert float(flow_variation(q)) == pytest.approx(0.75)
    assert float(statistical_uniformity(q)) == pytest.approx(1 - np.std(q) / 2.5)
    v2 = (np.std(q) / 2.5) ** 2
    both = np.sqrt(v2 + 0.01 + v2 * 0.01)
    assert float(statistical_uniformity(q, 0.1)) == pytest.approx(1 - both)


def test_single_flow_and_few_flows():
    assert float(distribution_uniformity_lq(5.0)) == 1.0
    assert float(distribution_uniformity_lq([1.0, 3.0])) == pytest.approx(0.5)


def test_never_below_zero():
    assert float(emission_uniformity([1.0, 1.0], 1.0)) == 0.0
    assert float(statistical_uniformity([0.0, 0.0, 0.0, 9.0])) == 0.0


@pytest.mark.parametrize("measure", MEASURES)
def test_no_flow_is_an_error_and_not_nan(measure):
    for q, k in (([0.0, 0.0], {}), ([0.0, 1.0], {"counts": [3, 0]}), ([], {}), ([-1.0, 2.0], {})):
        with pytest.raises(InputError) as error:
            measure(q, **k)
        assert error.value.field == "flows"
    with pytest.raises(InputError) as error:
        measure([1.0, 2.0], counts=[0, 0])
    assert error.value.field == "counts"
    with pytest.raises(InputError):
        measure([1.0, 2.0], counts=[1, 2, 3])
