"""Tables of soils and crops against FAO-56 and other published lists."""

import pytest

from evenrow.catalogue.growing import crop, crops, soil

# FAO Irrigation and Drainage Paper 56, Tables 12 and 22, read in an open-source transcription:
# Kc initial, mid, end; root depth m; p.
FAO_56 = {
    "lettuce": (0.70, 1.00, 0.95, 0.3, 0.5, 0.30),
    "tomato": (0.60, 1.15, 0.80, 0.7, 1.5, 0.40),
    "pepper": (0.60, 1.05, 0.90, 0.5, 1.0, 0.30),
    "strawberry": (0.40, 0.85, 0.75, 0.2, 0.3, 0.20),
    "raspberry": (0.30, 1.05, 0.50, 0.6, 1.2, 0.50),
    "apples": (0.45, 0.95, 0.70, 1.0, 2.0, 0.50),
    "wine-grapes": (0.30, 0.70, 0.45, 1.0, 2.0, 0.45),
}


@pytest.mark.parametrize("code", FAO_56)
def test_crop_coefficients_roots_and_depletion(code):
    found = crop(code)
    got = (found.kc_initial, found.kc_mid, found.kc_end, *found.root_depth, found.depletion)
    assert got == pytest.approx(FAO_56[code])


@pytest.mark.parametrize(
    ("code", "stages"),
    # FAO-56 Table 11, the same transcription.
    [
        ("lettuce", (20, 30, 15, 10)),
        ("tomato", (30, 40, 45, 30)),
        ("winter-squash", (25, 35, 35, 25)),
        ("wine-grapes", (30, 60, 40, 80)),
    ],
)
def test_stage_lengths(code, stages):
    assert crop(code).stages == stages


@pytest.mark.parametrize(
    ("ground", "plant", "depth", "available", "easily"),
    # TAW = 1000 (FC - WP) Zr and RAW = p TAW, FAO-56 with midpoints of Table 19, by hand [mm].
    [("loam", "tomato", 0.7, 91.0, 36.4), ("sandy-loam", "lettuce", 0.3, 36.0, 10.8)],
)
def test_available_water(ground, plant, depth, available, easily):
    total = 1000 * soil(ground).available_water * depth
    assert total == pytest.approx(available)
    assert total * crop(plant).depletion == pytest.approx(easily)


# Saturated conductivity by texture, cm/h, from the soil water characteristic equations of Saxton
# as tabled in a soil-science course (seen): another model than the class means used here.
SAXTON = {
    "sand": 5.029,
    "loamy-sand": 3.150,
    "sandy-loam": 1.524,
    "loam": 0.813,
    "silt-loam": 1.422,
    "sandy-clay-loam": 0.279,
    "clay-loam": 0.254,
    "silty-clay-loam": 0.381,
    "sandy-clay": 0.102,
    "silty-clay": 0.229,
    "clay": 0.152,
}


@pytest.mark.parametrize("code", SAXTON)
def test_conductivity_is_of_the_order_of_another_model(code):
    # Published values of one texture differ by several times; the width goes with the cube root.
    ratio = soil(code).conductivity * 3.6e5 / SAXTON[code]
    assert 1 / 4.5 < ratio < 4.5


# Available water, inch per foot: University of California list, seen.
AVAILABLE = {
    "loamy-sand": (0.75, 1.25),
    "sandy-loam": (1.25, 1.75),
    "loam": (1.5, 2.3),
    "silt-loam": (1.5, 2.3),
    "clay-loam": (1.75, 2.5),
    "clay": (1.6, 2.5),
}


@pytest.mark.parametrize("code", AVAILABLE)
def test_available_water_lies_in_the_californian_range(code):
    low, high = (value / 12 for value in AVAILABLE[code])
    # FAO's midpoints may stand a little outside: 5 % of the range's ends.
    assert low * 0.95 <= soil(code).available_water <= high * 1.05


# FAO Irrigation and Drainage Paper 56, Table 17 (basal coefficients) and Table 12 (height m), read
# in an open-source transcription.
BASAL = {
    "lettuce": (0.15, 0.90, 0.90, 0.3),
    "tomato": (0.15, 1.10, 0.70, 0.6),
    "strawberry": (0.30, 0.80, 0.70, 0.2),
    "raspberry": (0.20, 1.00, 0.40, 1.5),
    "wine-grapes": (0.15, 0.65, 0.40, 1.75),
    "apples": (0.35, 0.90, 0.65, 4.0),
}


@pytest.mark.parametrize("code", BASAL)
def test_basal_coefficients_and_height(code):
    found = crop(code)
    assert (*found.kcb, found.height) == pytest.approx(BASAL[code])


def test_basal_coefficients_are_at_most_the_others():
    # The difference is the evaporation of the ground, which is never negative (FAO-56, eq. 69).
    for found in crops().values():
        if found.kcb is not None and found.kc_initial is not None:
            both = zip(found.kcb, (found.kc_initial, found.kc_mid, found.kc_end), strict=True)
            assert all(basal <= whole for basal, whole in both), found.code
