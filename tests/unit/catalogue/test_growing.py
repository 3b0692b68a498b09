"""Soils and crops: complete, in range, in order; complaints name file, entry and key."""

import pytest

from evenrow.catalogue import growing
from evenrow.catalogue.data_file import read_data_file
from evenrow.catalogue.growing import crop, crops, make_crop, make_soil, soil, soils
from evenrow.catalogue.growing_forms import CROPS, SOILS, read_grown
from evenrow.catalogue.keys import Entry
from evenrow.errors import InputError, InputErrors


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


def read(form, values):
    """Return what is read of an entry, and every complaint in words."""
    complaints = []
    found = read_grown(form, Entry(file=form.file, code="x", values=values), complaints)
    assert (found is None) == bool(complaints)
    return found, [str(each) for each in complaints]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("group", "weed", "group cannot be read"),
        ("root_depth", ["0.3 m"], "root_depth is a list of 2 values"),
        ("root_depth", ["0.5 m", "0.3 m"], "root_depth is the wrong way round"),
        ("kc", [0.7, 1.0], "kc is a list of 3 values"),
        ("kc", [0.7, 1.0, "much"], "kc cannot be read"),
        ("stages", [20, 30, 15, 10], "stages stands without stages_for"),
        ("bedded", "yes", "bedded cannot be read"),
        ("plant_spacing", "25 psi", "pressure"),
    ],
)
def test_a_faulty_crop_is_told(key, value, words):
    assert read(CROPS, LETTUCE)[1] == []
    _, (told,) = read(CROPS, {**LETTUCE, key: value})
    assert words in told
    assert f"crops.toml, x.{key}" in told or key == "stages"


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("texture", "stony", "texture cannot be read"),
        ("field_capacity", [0.3, 0.2], "field_capacity is the wrong way round"),
        ("field_capacity", [0.3, 7.0], "field_capacity is out of range"),
        ("intake", ["10 mm/h"], "intake is a list of 2 values"),
        ("conductivity", "1 psi", "pressure"),
    ],
)
def test_a_faulty_soil_is_told(key, value, words):
    assert read(SOILS, LOAM)[1] == []
    _, (told,) = read(SOILS, {**LOAM, key: value})
    assert words in told
    assert f"soils.toml, x.{key}" in told


def test_a_soil_without_limits_needs_its_available_water():
    bare = {k: v for k, v in LOAM.items() if k not in ("field_capacity", "wilting_point")}
    assert "available_water" in read(SOILS, bare)[1][0]
    values, _ = read(SOILS, {**bare, "available_water": "17 %"})
    assert make_soil("x", values).available_water == 0.17


def test_a_crop_without_an_initial_coefficient():
    bare = {k: v for k, v in LETTUCE.items() if k != "kc"}
    values, _ = read(CROPS, {**bare, "kc_mid": 1.1, "kc_end": 0.9})
    made = make_crop("x", values)
    assert (made.kc_initial, made.kc_mid, made.kc_end) == (None, 1.1, 0.9)


def test_a_damaged_file_of_the_package_tells_all_that_is_wrong(monkeypatch):
    text = '[x]\nlabel = "x"\ntexture = "stony"\n'
    monkeypatch.setattr(growing, "builtin_file", lambda name: read_data_file(name, text.encode()))
    growing.generic_soils.cache_clear()
    try:
        with pytest.raises(InputErrors) as caught:
            growing.generic_soils()
    finally:
        growing.generic_soils.cache_clear()
    assert len(caught.value.errors) >= 3
