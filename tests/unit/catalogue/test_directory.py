"""A catalogue of one's own over the generic one."""

import pytest

from evenrow.catalogue import builtin, controller, current, fitting, using
from evenrow.catalogue.directory import MAX_FILES, load_directory
from evenrow.catalogue.growing import crops, generic_crops, generic_soils, soil, soils
from evenrow.errors import InputErrors

ABOUT = 'name = "Hill shop"\nversion = "2026-03"\ncurrency = "USD"\nsource = "measured here"\n'
TEE = '[our-tee]\nkind = "tee"\nlabel = "our tee"\nfits = "pipe-27"\nprice = 1.5\n'


def folder(tmp_path, **files):
    path = tmp_path / "own"
    path.mkdir(exist_ok=True)
    for name, text in {"catalogue": ABOUT, **files}.items():
        if text is not None:
            path.joinpath(f"{name}.toml").write_text(text, "utf-8")
    return path


def complaints(path):
    with pytest.raises(InputErrors) as caught:
        load_directory(path)
    return {each.field: each.code for each in caught.value.errors}


def test_nothing_of_ones_own_is_the_generic_catalogue(tmp_path):
    found = load_directory(folder(tmp_path))
    assert (found.name, found.version, found.currency) == ("Hill shop", "2026-03", "USD")
    assert found.mark == "Hill shop, version 2026-03, prices in USD"
    for kind in ("devices", "pipes", "parts", "fittings"):
        assert dict(getattr(found, kind)) == dict(getattr(builtin(), kind))
        assert list(getattr(found, kind)) == list(getattr(builtin(), kind))


def test_entries_are_added_replaced_and_hidden(tmp_path):
    pipe = '[pipe-27]\nlabel = "our pipe"\nbore = "40 mm"\npressure_max = "6 bar"\n'
    pipe += 'coil = ["50 m"]\nclamped = false\n\n[tube-15]\nhide = true\n'
    found = load_directory(folder(tmp_path, fittings=TEE, pipes=pipe))
    assert found.pipes["pipe-27"].label == "our pipe"
    assert found.pipes["pipe-27"].source == "measured here"
    assert found.pipes["pipe-27"].prices == ()
    assert "tube-15" not in found.pipes
    bores = [size.bore for size in found.pipes.values()]
    assert bores == sorted(bores)
    with using(found):
        # One's own comes before the generic one for the same use.
        assert fitting("tee", "pipe-27").code == "our-tee"
        assert controller(3).code == "controller-4"
    assert fitting("tee", "pipe-27").code == "tee-pipe-27"
    assert current() is builtin()


def test_another_currency_takes_no_generic_price(tmp_path):
    about = ABOUT.replace("USD", "EUR")
    found = load_directory(folder(tmp_path, catalogue=about, fittings=TEE))
    assert found.fittings["our-tee"].price == 1.5
    assert found.fittings["tee-pipe-27"].price is None
    assert {size.prices for size in found.pipes.values()} == {()}
    assert "prices in USD" in found.notes[0]


def test_parts_of_a_kind_stay_smallest_first(tmp_path):
    valve = '[our-valve]\nkind = "zone valve"\nlabel = "our valve"\nsize = "3/4 in"\n'
    valve += 'flow = "1 m³/h"\nloss = "0.1 bar"\nflow_max = "2 m³/h"\n'
    found = load_directory(folder(tmp_path, assembly=valve))
    valves = [part.code for part in found.parts.values() if part.kind == "zone valve"]
    assert valves == ["our-valve", "valve-25", "valve-50", "valve-80"]


SOIL = """
[our-silt]
label = "silt by the river"
texture = "fine"
conductivity = "0.7 cm/h"
field_capacity = [0.28, 0.36]
wilting_point = [0.12, 0.22]
intake = ["8 mm/h", "14 mm/h"]

[sand]
hide = true
"""
CROP = """
[our-kale]
label = "kale"
group = "vegetable"
root_depth = ["0.4 m", "0.6 m"]
depletion = 0.45
kc = [0.7, 1.05, 0.95]
plant_spacing = "40 cm"
root_width = "0.4 m"
bedded = true
perennial = false
"""


def test_soils_and_crops_of_ones_own(tmp_path):
    found = load_directory(folder(tmp_path, soils=SOIL, crops=CROP))
    with using(found):
        assert set(soils()) == {*generic_soils(), "our-silt"} - {"sand"}
        conductivities = [each.conductivity for each in soils().values()]
        assert conductivities == sorted(conductivities, reverse=True)
        assert soil("our-silt").available_water == pytest.approx(0.15)
        assert list(crops()) == [*generic_crops(), "our-kale"]
    assert soils() == generic_soils()
    path = folder(tmp_path)
    path.joinpath("prices.csv").write_text("code,unit,price\ntee-pipe-27,each,1\n")
    assert load_directory(path).soils == found.soils


@pytest.mark.parametrize(
    ("file", "old", "new", "field"),
    [
        ("soils", '"fine"', '"stony"', "soils.toml, line 4, our-silt.texture"),
        ("soils", '"0.7 cm/h"', '"0.7 cm"', "soils.toml, line 5, our-silt.conductivity"),
        ("soils", "0.28, 0.36", "0.36, 0.28", "soils.toml, line 6, our-silt.field_capacity"),
        ("soils", "[0.12, 0.22]", "[0.12]", "soils.toml, line 7, our-silt.wilting_point"),
        ("soils", "wilting_point", "wilting", "soils.toml, line 7, our-silt.wilting"),
        ("soils", '"8 mm/h", ', "", "soils.toml, line 8, our-silt.intake"),
        ("soils", "[sand]", "[snad]", "soils.toml, line 10, snad"),
        ("crops", "0.45", '"much"', "crops.toml, line 6, our-kale.depletion"),
        ("crops", "depletion = 0.45\n", "", "crops.toml, line 2, our-kale.depletion"),
        ("crops", "[0.7, 1.05, 0.95]", "[1]", "crops.toml, line 7, our-kale.kc"),
        ("crops", "kc = [0.7, 1.05, 0.95]", "kc_mid = 1.0", "crops.toml, line 7, our-kale.kc_mid"),
        ("crops", "bedded = true", "stages = [1, 2, 3, 4]", "crops.toml, line 10, our-kale.stages"),
        ("crops", "false", '"no"', "crops.toml, line 11, our-kale.perennial"),
        ("crops", "\n[our", "x = 1\n[our", "crops.toml, line 1"),
    ],
)
def test_mistakes_of_soils_and_crops(tmp_path, file, old, new, field):
    text = {"soils": SOIL, "crops": CROP}[file]
    assert text.count(old) == 1
    assert field in complaints(folder(tmp_path, **{file: text.replace(old, new)}))


@pytest.mark.parametrize(
    ("files", "expected"),
    [
        ({"catalogue": None}, {"catalogue.toml": "missing"}),
        ({"catalogue": "name = 1"}, {"catalogue.toml, line 1, catalogue.name": "wrong_type"}),
        (
            {"catalogue": ABOUT.replace("USD", "$")},
            {"catalogue.toml, line 3, catalogue.currency": "wrong_type"},
        ),
        ({"catalogue": ABOUT + "[x]\n"}, {"catalogue.toml, line 5, x": "unknown_key"}),
        ({"piping": ""}, {"piping.toml": "unknown_file"}),
        ({"pipes": "[a\n"}, {"pipes.toml, line 1": "not_toml"}),
        ({"pipes": "[gone]\nhide = true"}, {"pipes.toml, line 1, gone": "unknown_choice"}),
        (
            {"pipes": "[tube-15]\nhide = false"},
            {"pipes.toml, line 2, tube-15.hide": "unknown_key"},
        ),
        (
            {"fittings": TEE.replace("our-tee", "tube-15")},
            {"fittings.toml, line 1, tube-15": "duplicate_key"},
        ),
        (
            {"fittings": TEE.replace("pipe-27", "pipe-72")},
            {"fittings.toml, line 4, our-tee.fits": "unknown_choice"},
        ),
        (
            {"devices": "".join(f"[{code}]\nhide = true\n" for code in builtin().devices)},
            {"catalogue": "missing"},
        ),
        (
            {"soils": "".join(f"[{code}]\nhide = true\n" for code in generic_soils())},
            {"soils.toml": "missing"},
        ),
        (
            {"assembly": "[filter-tank]\nhide = true\n"},
            {"catalogue": "missing"},
        ),
    ],
)
def test_mistakes_are_told_with_file_and_line(tmp_path, files, expected):
    found = complaints(folder(tmp_path, **files))
    assert expected.items() <= found.items()


def test_mistakes_of_all_files_are_told_at_once(tmp_path):
    path = folder(tmp_path, catalogue="name = 1", pipes="[a]\n", fittings="x = 1", devices="[b")
    path.joinpath("prices.csv").write_text("code,unit,price\ngone,each,1\n")
    files = {field.split(",")[0] for field in complaints(path)}
    assert files == {"catalogue.toml", "pipes.toml", "fittings.toml", "devices.toml", "prices.csv"}


def test_an_entry_with_a_mistake_makes_no_further_complaints(tmp_path):
    path = folder(tmp_path, fittings=TEE.replace("1.5", "-1"))
    path.joinpath("prices.csv").write_text("code,unit,price\nour-tee,each,1\n")
    assert list(complaints(path)) == ["fittings.toml, line 5, our-tee.price"]


def test_what_is_no_folder_is_told(tmp_path):
    assert complaints(tmp_path / "gone") == {"catalogue": "no_file"}
    file = tmp_path / "file"
    file.write_text("")
    assert complaints(file) == {"catalogue": "no_file"}
    for number in range(MAX_FILES + 1):
        tmp_path.joinpath(f"{number}").write_text("")
    assert complaints(tmp_path) == {"catalogue": "too_many"}
    path = folder(tmp_path)
    path.joinpath("pipes.toml").mkdir()
    assert complaints(path) == {"pipes.toml": "no_file"}


def test_other_files_do_no_harm_and_are_noted(tmp_path):
    path = folder(tmp_path)
    path.joinpath("README.md").write_text("ours")
    path.joinpath("prices 2025\x1b.xlsx").write_bytes(b"PK\x03\x04")
    assert load_directory(path).notes == (
        "prices 2025 .xlsx is not read; the price list is prices.csv",
    )
