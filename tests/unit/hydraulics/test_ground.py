import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.ground import diameters_in_series, rises_from_survey


def test_straight_between_points_and_from_any_datum():
    got = rises_from_survey([0.0, 5.0, 10.0, 15.0], [0.0, 10.0, 20.0], [101.0, 103.0, 102.0])
    np.testing.assert_allclose(got, [0.0, 1.0, 2.0, 1.5])


def test_points_before_the_start():
    got = rises_from_survey([0.0, 5.0], [-10.0, 10.0], [0.0, 2.0])
    np.testing.assert_allclose(got, [0.0, 0.5])


def test_level_distances_follow_the_ground():
    # 3 m level and 4 m up are 5 m along the line
    got = rises_from_survey([2.5, 5.0, 10.0], [0.0, 3.0, 20.0], [0.0, 4.0, 4.0], horizontal=True)
    np.testing.assert_allclose(got, [2.0, 4.0, 4.0])


def test_diameter_changes_at_the_first_emitter_at_or_beyond():
    at = [0.5, 1.5, 2.5, 3.5]
    np.testing.assert_array_equal(
        diameters_in_series(at, 0.02, 0.01, 1.5), [0.02, 0.02, 0.01, 0.01]
    )
    np.testing.assert_array_equal(diameters_in_series(at, 0.02, 0.01, 1.6)[1:3], [0.02, 0.02])
    assert np.all(diameters_in_series(at, 0.02, 0.01, 0.0) == 0.01)


@pytest.mark.parametrize(
    ("x", "z", "field"),
    [
        ([0.0, 10.0], [1.0], "z"),
        ([0.0, 4.0], [1.0, 1.0], "x"),
        ([1.0, 10.0], [1.0, 1.0], "x"),
        ([0.0, 0.0, 10.0], [1.0, 2.0, 3.0], "x"),
        ([0.0], [1.0], "x"),
        ([0.0, np.nan], [1.0, 1.0], "x"),
        ([0.0, 10.0], [1.0, np.inf], "z"),
    ],
)
def test_wrong_surveys_name_the_field(x, z, field):
    with pytest.raises(InputError) as error:
        rises_from_survey([1.0, 5.0], x, z)
    assert error.value.field == field
