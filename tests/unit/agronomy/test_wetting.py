"""The wetted soil: inverse, geometry, edges, bad input."""

import numpy as np
import pytest

from evenrow.agronomy import wetting
from evenrow.errors import InputError

LITRE_PER_HOUR = 1e-3 / 3600


def test_volume_to_depth_undoes_depth():
    volume = np.array([1e-3, 5e-3, 20e-3])
    depth = wetting.wetted_depth(volume, 1e-5, 2 * LITRE_PER_HOUR)
    back = wetting.volume_to_depth(depth, 1e-5, 2 * LITRE_PER_HOUR)
    assert back == pytest.approx(volume, rel=1e-12)


def test_everything_broadcasts():
    conductivity = np.array([[1e-6], [1e-5]])
    flow = np.array([1.0, 2.0, 4.0]) * LITRE_PER_HOUR
    assert wetting.width_at_depth(0.4, conductivity, flow).shape == (2, 3)
    assert wetting.strip_width(np.full((2, 1), 0.5), np.full(3, 0.3)).shape == (2, 3)


def test_a_strip_of_separate_circles_holds_their_area():
    assert wetting.strip_width(0.4, 1.0) == pytest.approx(np.pi * 0.04)
    assert wetting.narrowest_strip(0.4, 1.0) == 0.0


def test_a_strip_of_close_circles_is_as_wide_as_they_are():
    assert wetting.strip_width(0.4, 1e-4) == pytest.approx(0.4, rel=1e-6)


def test_the_strip_is_the_area_of_the_union():
    # A fine grid over one spacing, each point wet if the nearest emitter's circle holds it.
    width, spacing = 0.5, 0.35
    x = (np.arange(2000) + 0.5) / 2000 * spacing - spacing / 2
    chord = 2 * np.sqrt(np.maximum((width / 2) ** 2 - x**2, 0.0))
    assert wetting.strip_width(width, spacing) == pytest.approx(chord.mean(), rel=1e-5)


def test_at_the_widest_spacing_the_waist_is_three_fifths():
    spacing = wetting.widest_spacing(0.5)
    assert spacing == pytest.approx(0.4)
    assert wetting.narrowest_strip(0.5, spacing) == pytest.approx(0.3)


def test_a_tabled_width_lies_between_its_rows_and_stops_at_them():
    feet = np.array([1.0, 2.5, 3.75, 5.0, 9.0])
    found = wetting.tabled_width("medium", feet * 0.3048) / 0.3048
    assert found == pytest.approx([3.0, 3.0, 3.5, 4.0, 4.0])


def test_an_unknown_texture_is_told():
    with pytest.raises(InputError, match="texture") as caught:
        wetting.tabled_width("stony", 0.5)
    assert "coarse" in caught.value.accepted


def test_shares_stop_at_the_whole_ground():
    assert wetting.wetted_share(0.3, 2, 0.9) == pytest.approx(2 / 3)
    assert wetting.wetted_share(0.3, 4, 0.9) == 1.0
    assert wetting.wetted_share_of_plants(100, 1.0, 1.0, 2.0, 4.0) == 1.0


def test_a_strip_takes_the_flow_over_its_own_ground():
    # 2 L/h on 0.5 m of a strip 0.4 m wide: 10 L/h on a square metre, 10 mm/h.
    rate = wetting.strip_rate(2 * LITRE_PER_HOUR, 0.5, 0.4)
    assert rate * 3.6e6 == pytest.approx(10.0)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf"), "wet"])
@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda v: wetting.wetted_depth(v, 1e-5, 1e-6), "volume"),
        (lambda v: wetting.wetted_width(1e-3, v, 1e-6), "conductivity"),
        (lambda v: wetting.width_at_depth(0.4, 1e-5, v), "flow"),
        (lambda v: wetting.tabled_width("fine", v), "depth"),
        (lambda v: wetting.strip_width(v, 0.3), "width"),
        (lambda v: wetting.narrowest_strip(0.3, v), "spacing"),
        (lambda v: wetting.wetted_share(0.3, v, 0.9), "lines"),
        (lambda v: wetting.wetted_share_of_plants(1, 1.0, 1.0, v, 4.0), "plant_spacing"),
        (lambda v: wetting.strip_rate(1e-6, 0.3, v), "strip"),
    ],
)
def test_what_is_not_positive_is_refused_by_name(call, name, bad):
    with pytest.raises(InputError) as caught:
        call(bad)
    assert caught.value.field == name
