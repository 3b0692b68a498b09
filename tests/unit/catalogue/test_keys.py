"""Entries are read through their declarations, and every complaint is told."""

import pytest

from evenrow.catalogue.build import build_devices, build_fittings, build_parts, build_pipes
from evenrow.catalogue.data_file import read_data_file

LINE = """
[our-line]
kind = "dripline"
label = "our line"
diameter = "13.8 mm"
wall = "1.0 mm"
flow = "2.0 L/h"
at = "1 bar"
exponent = 0.46
cv = "3 %"
pressure_min = "0.5 bar"
pressure_max = "3 bar"
spacings = ["20 cm", "30 cm"]
passage = "0.9 mm"
coil = ["100 m", "400 m"]
price = [40, 150.5]
mass_per_metre = "50 g"
source = "the maker's sheet"
"""
PART = """
[our-valve]
kind = "zone valve"
label = "our valve"
size = "1 in"
flow = "1 m³/h"
loss = "0.1 bar"
flow_max = "4 m³/h"
source = "measured"
"""
FITTING = """
[our-tee]
kind = "tee"
label = "our tee"
fits = "pipe-27"
source = "measured"
"""
PIPE = """
[our-pipe]
label = "our pipe"
bore = "30 mm"
pressure_max = "6 bar"
coil = ["50 m"]
clamped = true
source = "measured"
"""


def read(build, text):
    complaints = []
    found = build(read_data_file("x.toml", text.encode()), complaints)
    return found, complaints


def test_an_entry_becomes_si():
    found, complaints = read(build_devices, LINE)
    assert complaints == []
    line = found["our-line"]
    assert line.diameter == pytest.approx(0.0138)
    assert line.emitter.flow_nominal == pytest.approx(2e-3 / 3600)
    assert line.emitter.head_nominal == pytest.approx(10.197, abs=1e-3)
    assert (line.prices, line.mass) == ((40.0, 150.5), 0.05)
    assert line.source == "the maker's sheet"


@pytest.mark.parametrize(
    ("old", "new", "field", "code"),
    [
        ('kind = "dripline"', 'kind = "driplin"', "x.toml, line 3, our-line.kind", "not_a_choice"),
        ('label = "our line"', 'label = ""', "x.toml, line 4, our-line.label", "wrong_type"),
        ('"our line"', '"\\u001b[2J"', "x.toml, line 4, our-line.label", "wrong_type"),
        ('"13.8 mm"', '"13.8 psi"', "x.toml, line 5, our-line.diameter", "wrong_dimension"),
        ('"13.8 mm"', "13.8", "x.toml, line 5, our-line.diameter", "wrong_type"),
        ('"13.8 mm"', '"13.8 m"', "x.toml, line 5, our-line.diameter", "out_of_range"),
        ('"1.0 mm"', '"8 mm"', "x.toml, line 6, our-line.wall", "contradiction"),
        ('wall = "1.0 mm"', 'wall = "1 cm"', "x.toml, line 6, our-line.wall", "contradiction"),
        ('"2.0 L/h"', '"2.0"', "x.toml, line 7, our-line.flow", "no_unit"),
        ('"2.0 L/h"', '"1,234 L/h"', "x.toml, line 7, our-line.flow", "ambiguous"),
        ('at = "1 bar"', 'at = "4 bar"', "x.toml, line 8, our-line.at", "contradiction"),
        ("0.46", "1.2", "x.toml, line 9, our-line.exponent", "out_of_range"),
        ("0.46", "0", "x.toml, line 9, our-line.exponent", "contradiction"),
        ("0.46", '"0.46"', "x.toml, line 9, our-line.exponent", "wrong_type"),
        ("0.46", "nan", "x.toml, line 9, our-line.exponent", "wrong_type"),
        ("0.46", "inf", "x.toml, line 9, our-line.exponent", "wrong_type"),
        ('"3 %"', '"41 %"', "x.toml, line 10, our-line.cv", "out_of_range"),
        ('"0.5 bar"', '"5 bar"', "x.toml, line 11, our-line.pressure_min", "contradiction"),
        ('max = "3 bar"', 'max = "-3 bar"', "x.toml, line 12, our-line.pressure_max", None),
        ('["20 cm", "30 cm"]', "[]", "x.toml, line 13, our-line.spacings", "wrong_type"),
        ('["20 cm", "30 cm"]', '"20 cm"', "x.toml, line 13, our-line.spacings", "wrong_type"),
        ('"20 cm", "30', '"30 cm", "30', "x.toml, line 13, our-line.spacings", "not_rising"),
        ("[40, 150.5]", "[40]", "x.toml, line 16, our-line.price", "contradiction"),
        ("[40, 150.5]", "[40, -1]", "x.toml, line 16, our-line.price", "out_of_range"),
        ("[40, 150.5]", "[40, true]", "x.toml, line 16, our-line.price", "wrong_type"),
        ("mass_per_metre", "mass_per_meter", "x.toml, line 17, our-line.mass_per_meter", None),
        ("source =", "sauce =", "x.toml, line 18, our-line.sauce", "unknown_key"),
        ('cv = "3 %"\n', "", "x.toml, line 2, our-line.cv", "missing"),
        ('pressure_min = "0.5 bar"\n', "", "x.toml, line 2, our-line", "missing"),
        ("[our-line]", "[3-4]", "x.toml, line 2, 3-4", "bad_code"),
        ("[our-line]", "[Our-line]", "x.toml, line 2, Our-line", "bad_code"),
        ("[our-line]", "[constructor--x]", "x.toml, line 2, constructor--x", "bad_code"),
        ('source = "the maker\'s sheet"\n', "", "x.toml, line 2, our-line.source", "missing"),
        ("\n[our-line]", "x = 1\n[our-line]", "x.toml, line 1, x", "unknown_key"),
    ],
)
def test_a_mistake_is_told_at_its_line(old, new, field, code):
    assert LINE.count(old) == 1
    found, complaints = read(build_devices, LINE.replace(old, new))
    assert field in [each.field for each in complaints]
    first = next(each for each in complaints if each.field == field)
    assert code is None or first.code == code
    assert first.accepted
    assert "our-line" not in found or code == "unknown_key"


def test_a_near_miss_is_named():
    _, complaints = read(build_devices, LINE.replace("mass_per_metre", "mass_per_meter"))
    assert [each.hint for each in complaints] == ["mass_per_metre"]


def test_all_mistakes_of_a_file_are_told_at_once():
    text = LINE.replace('"3 %"', '"90 %"').replace("0.46", "7").replace('"our line"', "7")
    _, complaints = read(build_devices, text + LINE.replace("our-line", "two").replace("20 cm", ""))
    assert [each.field for each in complaints] == [
        "x.toml, line 4, our-line.label",
        "x.toml, line 9, our-line.exponent",
        "x.toml, line 10, our-line.cv",
        "x.toml, line 31, two.spacings",
    ]


@pytest.mark.parametrize(
    ("build", "text", "old", "new", "key"),
    [
        (build_parts, PART, 'kind = "zone valve"', 'kind = "regulator"', "set"),
        (build_parts, PART, "source", 'set = "1 bar"\nsource', "set"),
        (build_parts, PART, "source", 'flow_min = "5 m³/h"\nsource', "flow_min"),
        (build_parts, PART, '"1 m³/h"', '"9 m³/h"', "flow"),
        (build_fittings, FITTING, "source", "stations = 4\nsource", "stations"),
        (build_fittings, FITTING, 'kind = "tee"', 'kind = "controller"', "stations"),
        (build_fittings, FITTING, "source", "pack = 0\nsource", "pack"),
        (build_fittings, FITTING, "source", "pack = 2.5\nsource", "pack"),
        (build_fittings, FITTING, "source", 'unit = "yard"\nsource', "unit"),
        (build_pipes, PIPE, "true", '"yes"', "clamped"),
        (build_pipes, PIPE, "source", "price = [1, 2]\nsource", "price"),
        (build_pipes, PIPE, '"30 mm"', '"30 m"', "bore"),
    ],
)
def test_mistakes_of_the_other_files(build, text, old, new, key):
    assert read(build, text)[1] == []
    found, complaints = read(build, text.replace(old, new))
    assert not found
    assert [each.field.rpartition(".")[2] for each in complaints] == [key]


def test_a_thousand_mistakes_are_not_a_thousand_complaints():
    text = "".join(f"[x-{i}]\nbore = 1\n" for i in range(5000))
    _, complaints = read(build_pipes, text)
    assert 200 < len(complaints) < 220
    keys = "".join(f"x{i} = 1\n" for i in range(5000))
    assert 200 < len(read(build_pipes, "[x]\n" + keys)[1]) < 220
