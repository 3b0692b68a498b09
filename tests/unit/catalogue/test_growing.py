"""Soils and crops: complete, in range, in order; complaints name file, entry and key."""

import pytest

from evenrow.catalogue import growing
from evenrow.catalogue.growing import crop, crops, soil, soils
from evenrow.errors import InputError


@pytest.mark.parametrize("found", soils().values(), ids=lambda s: s.code)
def test_a_soil_makes_sense(found):
    assert 1e-7 < found.conductivity < 1e-4
    assert 0.05 < found.available_water < 0.25
    assert found.intake[0] < found.intake[1]
    assert (found.field_capacity is None) == (found.wilting_point is None)
    if found.field_capacity and found.wilting_point:
        assert found.field_capacity[0] > found.wilting_point[0]
        assert found.field_capacity[1] > found.wilting_point[1]


def test_soils_stand_lightest_first():
    conductivities = [each.conductivity for each in soils().values()]
    assert conductivities == sorted(conductivities, reverse=True)
    order = ["coarse", "medium", "fine"]
    places = [order.index(each.texture) for each in soils().values()]
    assert places == sorted(places)


@pytest.mark.parametrize("found", crops().values(), ids=lambda c: c.code)
def test_a_crop_makes_sense(found):
    assert 0.1 < found.root_depth[0] <= found.root_depth[1] <= 3.0
    assert 0.1 <= found.depletion <= 0.8
    assert 0.2 < found.kc_end <= 1.3
    assert 0.4 <= found.kc_mid <= 1.5
    assert found.kc_initial is None or found.kc_initial <= 1.0
    assert 0.02 <= found.plant_spacing <= 10.0
    assert 0.1 <= found.root_width <= 3.0
    assert bool(found.stages) == bool(found.stages_for)
    if found.stages:
        assert 30 <= sum(found.stages) <= 366


def test_trees_and_vines_stay_and_are_not_bedded():
    for found in crops().values():
        if found.group in ("vine", "fruit tree"):
            assert found.perennial, found.code
            assert not found.bedded, found.code


def test_labels_are_distinct():
    for table in (soils(), crops()):
        labels = [each.label for each in table.values()]
        assert len(set(labels)) == len(labels)


@pytest.mark.parametrize("look", [soil, crop])
def test_an_unknown_code_is_told_with_what_there_is(look):
    with pytest.raises(InputError, match="not in the catalogue") as caught:
        look("gold-99")
    assert caught.value.accepted


LETTUCE = {
    "label": "x",
    "group": "vegetable",
    "root_depth": ["0.3 m", "0.5 m"],
    "depletion": 0.3,
    "kc": [0.7, 1.0, 0.95],
    "plant_spacing": "25 cm",
    "root_width": "0.3 m",
    "bedded": True,
    "perennial": False,
}
LOAM = {
    "label": "x",
    "texture": "medium",
    "conductivity": "1.32 cm/h",
    "field_capacity": [0.2, 0.3],
    "wilting_point": [0.07, 0.17],
    "intake": ["10 mm/h", "20 mm/h"],
}


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("group", "weed", "group is wrong"),
        ("root_depth", ["0.3 m"], "root_depth is wrong"),
        ("root_depth", ["0.5 m", "0.3 m"], "rising"),
        ("kc", [0.7, 1.0], "kc is wrong"),
        ("kc", [0.7, 1.0, "much"], "kc is wrong"),
        ("stages", [20, 30, 15, 10], "stages_for is missing"),
        ("bedded", "yes", "bedded is wrong"),
        ("plant_spacing", "25 psi", "plant_spacing"),
    ],
)
def test_a_faulty_crop_is_told(key, value, words):
    growing._crop("x", LETTUCE)
    with pytest.raises(InputError) as caught:
        growing._crop("x", {**LETTUCE, key: value})
    assert words in str(caught.value)
    assert "crops.toml: x" in str(caught.value)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("texture", "stony", "texture is wrong"),
        ("field_capacity", [0.3, 0.2], "field_capacity is wrong"),
        ("field_capacity", [0.3, 7.0], "field_capacity is wrong"),
        ("intake", ["10 mm/h"], "intake is wrong"),
        ("conductivity", "1 psi", "conductivity"),
    ],
)
def test_a_faulty_soil_is_told(key, value, words):
    growing._soil("x", LOAM)
    with pytest.raises(InputError) as caught:
        growing._soil("x", {**LOAM, key: value})
    assert words in str(caught.value)


def test_a_soil_without_limits_needs_its_available_water():
    bare = {k: v for k, v in LOAM.items() if k not in ("field_capacity", "wilting_point")}
    with pytest.raises(InputError, match="available_water is missing"):
        growing._soil("x", bare)
    assert growing._soil("x", {**bare, "available_water": "17 %"}).available_water == 0.17
