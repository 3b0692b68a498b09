"""Wetted soil against published formulas and tables."""

import numpy as np
import pytest

from evenrow.agronomy import wetting
from evenrow.catalogue.growing import crop, soil
from evenrow.design.line_choice import wetted_width
from evenrow.hydraulics.water import kinematic_viscosity

LITRE, LITRE_PER_HOUR = 1e-3, 1e-3 / 3600
INCH, FOOT = 0.0254, 0.3048

# Schwartzman and Zur (1986) in the form for litres and litres per hour (constants from memory):
# z = 29.2 V^0.63 (Ks/q)^0.45, w = 0.031 V^0.22 (Ks/q)^-0.17; (V L, q L/h, Ks m/s) -> (z m, w m),
# worked out by hand from that form.  The module uses the constants of the form in SI.
LITRE_FORM = [
    (12.0, 2.0, 1e-5, 0.575, 0.427),
    (20.0, 4.0, 2.5e-6, 0.311, 0.680),
    (8.0, 1.0, 7e-7, 0.184, 0.545),
]


@pytest.mark.parametrize(("volume", "flow", "conductivity", "depth", "width"), LITRE_FORM)
def test_the_form_in_si_agrees_with_that_in_litres(volume, flow, conductivity, depth, width):
    values = volume * LITRE, conductivity, flow * LITRE_PER_HOUR
    assert wetting.wetted_depth(*values) == pytest.approx(depth, rel=0.005)
    assert wetting.wetted_width(*values) == pytest.approx(width, rel=0.015)


def test_width_from_depth_is_the_third_formula_of_the_paper():
    # Schwartzman and Zur (1986), from memory: w = 1.32 z^0.35 q^0.33 Ks^-0.33 in SI.
    depth = np.array([0.2, 0.575, 1.0])[:, None]
    flow = np.array([0.6, 2.0, 4.0]) * LITRE_PER_HOUR
    expected = 1.32 * depth**0.35 * flow**0.33 * 1e-5**-0.33
    assert wetting.width_at_depth(depth, 1e-5, flow) == pytest.approx(expected, rel=0.03)


def test_the_exponents_keep_the_dimensions():
    # A length on both sides: 3 a - 2 b = 1, with the paper's two decimals.  Ten times as long in
    # every length (V by 1000, q by 1000, Ks by 10) must be ten times as wide and deep.
    small = 1e-3, 1e-5, 1e-6
    large = 1.0, 1e-4, 1e-3
    for formula in (wetting.wetted_depth, wetting.wetted_width):
        assert formula(*large) / formula(*small) == pytest.approx(10.0, rel=0.03)


# USDA-SCS National Engineering Handbook, section 15, chapter 7, area wetted by a 1 gal/h emitter,
# soil without layers (from memory): root depth ft, texture, Se ft, w ft.
HANDBOOK = [
    (2.5, "coarse", 1.2, 1.5),
    (2.5, "medium", 2.4, 3.0),
    (2.5, "fine", 2.8, 3.5),
    (5.0, "coarse", 2.0, 2.5),
    (5.0, "medium", 3.2, 4.0),
    (5.0, "fine", 4.0, 5.0),
]


@pytest.mark.parametrize(("depth", "texture", "spacing", "width"), HANDBOOK)
def test_the_handbook_table_and_its_spacing(depth, texture, spacing, width):
    found = wetting.tabled_width(texture, depth * FOOT)
    assert found == pytest.approx(width * FOOT)
    assert wetting.widest_spacing(found) == pytest.approx(spacing * FOOT)


def test_formula_and_handbook_agree_within_a_factor_of_two():
    # Two sources that know nothing of each other; a typical soil of each texture of the handbook.
    for code in ("loamy-sand", "loam", "clay-loam"):
        ground = soil(code)
        formula = wetting.width_at_depth(2.5 * FOOT, ground.conductivity, wetting.TABLE_FLOW)
        table = wetting.tabled_width(ground.texture, 2.5 * FOOT)
        assert 0.5 < float(formula / table) < 2.0, code


def test_percentage_wetted_of_a_tree():
    # Keller and Karmeli (1974), Pw = 100 e Se w / (Sp Sr): 4 emitters, w 1.0 m, Se 0.8 m, trees
    # 4 m x 4 m: 20 %, by hand from the formula.
    assert wetting.wetted_share_of_plants(4, 0.8, 1.0, 4.0, 4.0) == pytest.approx(0.20)
    # Emitters farther apart than 0.8 w wet no more ground.
    assert wetting.wetted_share_of_plants(4, 1.5, 1.0, 4.0, 4.0) == pytest.approx(0.20)


@pytest.mark.parametrize(
    ("code", "low", "high"),
    # Extension practice for vegetables (from memory): emitters 4 to 8 in apart on sand, 8 to 12 in
    # on loam, 12 in and more on clay.
    [("sand", 4.0, 8.0), ("loam", 8.0, 12.0), ("clay", 12.0, 48.0)],
)
def test_widest_spacing_of_common_tape_is_what_growers_use(code, low, high):
    flow = 0.24 * wetting.TABLE_FLOW  # 0.24 gal/h, a common tape
    width = wetted_width(soil(code), crop("lettuce").root_depth[0], flow)
    assert low * 0.97 <= float(wetting.widest_spacing(width)) / INCH <= high * 1.03


def test_lines_apart_on_raised_beds():
    # University course on micro-irrigation of raised beds: coarse soil 12 to 15 in between lines,
    # fine soil up to 24 in.  Strips of common tape over roots 1 ft deep must allow for it: on a
    # sandy loam they are near the first figure, on clay loam at or above the second.
    flow = 0.24 * wetting.TABLE_FLOW
    coarse, fine = (wetted_width(soil(c), FOOT, flow) / INCH for c in ("sandy-loam", "clay-loam"))
    assert 10.0 < coarse < 16.0
    assert fine > 24.0


def test_cold_water_does_not_enter_the_formula_but_moves_conductivity_little():
    # Conductivity goes with one over viscosity: 10 to 25 °C changes the width by about a tenth.
    ratio = float(kinematic_viscosity(10.0) / kinematic_viscosity(25.0))
    change = float(wetting.width_at_depth(0.4, 1e-5 / ratio, 1e-6)) / float(
        wetting.width_at_depth(0.4, 1e-5, 1e-6)
    )
    assert change == pytest.approx(ratio**0.327, rel=0.01)
    assert change < 1.15
