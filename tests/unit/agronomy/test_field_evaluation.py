"""The field evaluation: measures, bands, classes, causes."""

import math

import numpy as np
import pytest

from evenrow.agronomy import field_evaluation as e
from evenrow.errors import InputError


def test_flows_by_one_time_or_by_each():
    assert e.cup_flows([1.0, 2.0], 4.0).tolist() == [0.25, 0.5]
    assert e.cup_flows([1.0, 2.0], [4.0, 8.0]).tolist() == [0.25, 0.25]
    with pytest.raises(InputError, match="one for all"):
        e.cup_flows([1.0, 2.0, 3.0], [1.0, 2.0])
    for volume, time in (([-1.0], 1.0), ([1.0], 0.0), ([math.nan], 1.0)):
        with pytest.raises(InputError):
            e.cup_flows(volume, time)


def test_variation_is_that_of_a_sample():
    assert e.variation([1.0, 3.0]) == pytest.approx(math.sqrt(2.0) / 2.0)
    assert e.variation([2.0, 2.0, 2.0]) == 0.0
    with pytest.raises(InputError, match="two"):
        e.variation([1.0])
    with pytest.raises(InputError, match="zero"):
        e.variation([0.0, 0.0])


def test_low_quarter_of_sixteen_is_the_lowest_four():
    flows = [*range(1, 17)]
    assert e.low_quarter(flows) == pytest.approx(2.5 / 8.5)
    assert e.low_quarter(flows[::-1]) == e.low_quarter(flows)


def test_pressures_alone():
    heads = [16.0, 9.0, 4.0, 1.0]
    assert e.pressure_low_quarter(heads, 0.5) == pytest.approx(1.0 / 2.5)
    assert e.pressure_low_quarter(heads, 0.0) == 1.0


@pytest.mark.parametrize(
    ("us", "name"),
    [
        (1.0, "excellent"),
        (0.95, "excellent"),
        (0.92, "good to excellent"),
        (0.9, "good"),
        (0.82, "fair to good"),
        (0.75, "fair"),
        (0.72, "poor to fair"),
        (0.62, "unacceptable to poor"),
        (0.6, "unacceptable"),
        (0.0, "unacceptable"),
    ],
)
def test_classes_of_statistical_uniformity(us, name):
    assert e.us_class(us) == name


def test_classes_of_field_eu_and_of_new_emitters():
    assert [e.eu_class(x) for x in (1.0, 0.9, 0.89, 0.8, 0.7, 0.69, 0.0)] == [
        "excellent", "excellent", "good", "good", "fair", "poor", "poor",
    ]  # fmt: skip
    assert (e.cv_class(0.05, "point"), e.cv_class(0.16, "point")) == ("excellent", "unacceptable")
    assert (e.cv_class(0.10, "line"), e.cv_class(0.15, "line")) == ("good", "average")


def test_the_variances_add_up():
    flows = np.array([1.0, 0.9, 0.8, 0.4, 1.0, 0.95, 0.9, 0.85])
    heads = np.array([10.0, 9.0, 8.0, 7.0])
    found = e.causes(flows, heads, 0.5, 0.04)
    assert found.pressure == pytest.approx(0.5 * e.variation(heads))
    assert found.total**2 == pytest.approx(found.pressure**2 + 0.04**2 + found.rest**2)
    assert sum(found.shares) == pytest.approx(1.0)


def test_pressure_alone_leaves_no_rest():
    heads = np.linspace(6.0, 12.0, 16)
    flows = heads**0.5
    found = e.causes(flows, heads, 0.5, 0.04)
    assert found.rest == 0.0
    assert not found.surely
    assert found.shares[0] > found.shares[1]


def test_clogging_among_even_pressures_is_sure():
    flows = [1.0] * 12 + [0.3] * 4
    found = e.causes(flows, [10.0, 10.1, 9.9, 10.0], 0.5, 0.04)
    assert found.surely
    assert found.shares[2] > 0.9


def test_few_pressures_count_as_none_and_nothing_that_varies_has_no_shares():
    assert e.causes([1.0, 2.0], [1.0, 2.0], 0.5, 0.0).pressure is None
    assert e.causes([1.0, 2.0], None, 0.5, 0.0).pressure is None
    assert e.causes([1.0] * 4, None, 0.5, 0.0).shares == (0.0, 0.0, 0.0)


def test_what_a_sound_emitter_gives():
    assert e.expected_flow(4.0, 10.0, 0.5, 2.5) == pytest.approx(2.0)
    assert e.expected_flow(4.0, 10.0, 0.0, 2.5) == 4.0
    assert e.expected_flow(4.0, 10.0, 0.5, 0.0) == 0.0
