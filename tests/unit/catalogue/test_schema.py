"""The schemas say what the loader says: both read the same declarations."""

import tomllib
from importlib.resources import files

import pytest

from evenrow import units
from evenrow.catalogue.build import build_devices, build_fittings, build_parts, build_pipes
from evenrow.catalogue.data_file import read_data_file
from evenrow.catalogue.forms import FORMS
from evenrow.catalogue.own_growing import CROPS, SOILS, own_crops, own_soils
from evenrow.catalogue.schema import schemas
from json_schema import fits

BUILDERS = {
    "devices.toml": build_devices,
    "pipes.toml": build_pipes,
    "assembly.toml": build_parts,
    "fittings.toml": build_fittings,
    "soils.toml": lambda data, complaints, _: own_soils(data, {}, complaints),
    "crops.toml": lambda data, complaints, _: own_crops(data, {}, complaints),
}


def builtin_text(name):
    return files("evenrow.catalogue").joinpath(name).read_text("utf-8")


@pytest.mark.parametrize("name", [name for name in schemas() if name != "site.toml"])
def test_the_files_of_the_package_keep_their_schema(name):
    assert fits(schemas()[name], tomllib.loads(builtin_text(name)))


FIRST = {
    "devices.toml": "tape-16-thin",
    "pipes.toml": "tube-15",
    "assembly.toml": "regulator-20-8",
    "fittings.toml": "controller-4",
    "soils.toml": "loam",
    "crops.toml": "lettuce",
}


def broken_entries():
    """Yield file, key and value of entries that are wrong in one place."""
    for form in (*FORMS, SOILS, CROPS):
        yield form.file, "gold", 1
        for key in form.keys:
            yield form.file, key.name, {}
            yield form.file, key.name, []
            yield form.file, key.name, ""
            if key.required:
                yield form.file, key.name, None
            if key.kind == "text":
                yield form.file, key.name, "x" * 201 if not key.choices else "gold"
            if key.kind in ("number", "count", "price"):
                for value in (-1, 1e9, "1", True):
                    yield form.file, key.name, [value] if key.many else value
            if key.many:
                entry = tomllib.loads(builtin_text(form.file))[FIRST[form.file]]
                yield form.file, key.name, entry[key.name] * 100
            if key.kind in units.QUANTITIES and not key.many:
                yield form.file, key.name, 12
                yield form.file, key.name, "much"
    yield "devices.toml", "compensates_from", "1 bar"
    yield "devices.toml", "pressure_min", None
    yield "assembly.toml", "set", None
    yield "assembly.toml", "kind", "adapter"
    yield "fittings.toml", "stations", None
    yield "fittings.toml", "kind", "tee"


@pytest.mark.parametrize(("file", "key", "value"), list(broken_entries()))
def test_schema_and_loader_refuse_the_same(file, key, value):
    code = FIRST[file]
    entry = dict(tomllib.loads(builtin_text(file))[code])
    assert fits(schemas()[file], {code: entry})
    entry.pop(key, None)
    if value is not None:
        entry[key] = value
    complaints = []
    data = read_data_file(file, f"[{code}]\n".encode())
    data.entries[code].values.update(entry)
    BUILDERS[file](data, complaints, "measured")
    assert complaints
    assert not fits(schemas()[file], {code: entry})


@pytest.mark.parametrize("name", FIRST)
@pytest.mark.parametrize(
    ("document", "right"),
    [
        ({}, True),
        ({"our-tee": {"hide": True}}, True),
        ({"our-tee": {"hide": False}}, False),
        ({"our-tee": {"hide": True, "label": "tee"}}, False),
        ({"our-tee": 3}, False),
        ({"source": 3}, False),
        ({"currency": "USD"}, False),
        ({"3-4": {"hide": True}}, False),
        ({"Tee": {"hide": True}}, False),
        ({"a" * 61: {"hide": True}}, False),
        ({"source": {"hide": True}}, False),
    ],
)
def test_the_head_and_the_codes_of_a_file(name, document, right):
    assert fits(schemas()[name], document) == right


def test_a_source_stands_at_the_head_of_what_is_sold():
    for name, schema in schemas().items():
        sold = name in {form.file for form in FORMS} | {"catalogue.toml"}
        assert ("source" in schema["properties"]) == sold


def test_ranges_stand_beside_quantities():
    keys = schemas()["devices.toml"]["patternProperties"].popitem()[1]["oneOf"][1]["properties"]
    assert keys["exponent"]["minimum"] == 0.0
    assert keys["exponent"]["maximum"] == 1.0
    assert keys["cv"]["x-quantity"] == {
        "name": "share",
        "unit": "ratio",
        "minimum": 0.0,
        "maximum": 0.4,
    }
    for form in (*FORMS, SOILS, CROPS):
        for key in form.keys:
            if key.kind not in ("text", "flag"):
                assert key.hi is not None, key.name
                assert key.lo is not None or key.above is not None, key.name
