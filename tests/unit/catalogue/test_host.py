"""Whose site it is: `site.toml` beside a catalogue, and what a command says in its place."""

import tomllib

import pytest

from evenrow.catalogue.host import HOST, MAX_CAUTIONS, Host, host, own_folder, read_host
from evenrow.catalogue.schema import schemas
from evenrow.errors import InputErrors

FULL = """
name = "Hill Co-op"
contact = "the yard office"
cautions = ["Ask first.", "Wear a hat."]
units = "us"
language = "es"
"""


def read(tmp_path, text=None, **words):
    if text is not None:
        tmp_path.joinpath("site.toml").write_text(text, "utf-8")
    return read_host(tmp_path, called="The catalogue", words=words)


def complaints(tmp_path, text, **words):
    with pytest.raises(InputErrors) as caught:
        read(tmp_path, text, **words)
    return [(each.field, each.code) for each in caught.value.errors]


def test_a_whole_file_is_read(tmp_path):
    assert read(tmp_path, FULL) == Host(
        name="Hill Co-op",
        contact="the yard office",
        cautions=("Ask first.", "Wear a hat."),
        units="us",
        language="es",
    )


def test_without_a_file_the_catalogue_names_the_site(tmp_path):
    assert read(tmp_path) == Host(name="The catalogue")


def test_words_come_before_the_file(tmp_path):
    found = read(tmp_path, FULL, name="By hand", cautions=["Mind the dog."], units=None)
    assert (found.name, found.cautions, found.units) == ("By hand", ("Mind the dog.",), "us")


@pytest.mark.parametrize(
    ("old", "new", "field", "code"),
    [
        ('"us"', '"miles"', "site.toml, line 5, units", "not_a_choice"),
        ('"es"', '"xx"', "site.toml, line 6, language", "not_a_choice"),
        ('"the yard office"', '"a\\nb"', "site.toml, line 3, contact", "wrong_type"),
        ('"the yard office"', f'"{"x" * 161}"', "site.toml, line 3, contact", "wrong_type"),
        ('"Hill Co-op"', '""', "site.toml, line 2, name", "wrong_type"),
        ('"Wear a hat."', '"b", "c", "d"', "site.toml, line 4, cautions", "wrong_type"),
        ("contact", "contakt", "site.toml, line 3, contakt", "unknown_key"),
    ],
)
def test_a_mistake_is_told_at_its_line(tmp_path, old, new, field, code):
    assert old in FULL
    assert complaints(tmp_path, FULL.replace(old, new)) == [(field, code)]


def test_a_mistake_in_the_words_names_the_option(tmp_path):
    assert complaints(tmp_path, FULL, name="x" * 61) == [("--name", "wrong_type")]
    too_many = ["a"] * (MAX_CAUTIONS + 1)
    assert complaints(tmp_path, FULL, cautions=too_many) == [("--caution", "wrong_type")]


@pytest.mark.parametrize("text", ["name = ", "[name]\nx = 1\n", "\xff"])
def test_what_is_no_such_file_is_told(tmp_path, text):
    tmp_path.joinpath("site.toml").write_bytes(text.encode("latin-1"))
    with pytest.raises(InputErrors) as caught:
        read_host(tmp_path, called="x")
    assert caught.value.errors[0].field.startswith("site.toml")


def test_what_is_written_is_read_back(tmp_path):
    said = Host(name='The "wet" \\ end — ñ', contact="a", cautions=("b", "c"), units="metric")
    assert read(tmp_path, said.to_toml()) == said
    assert set(tomllib.loads(said.to_toml())) <= {key.name for key in HOST.keys}


def test_the_published_package_is_nobodys():
    assert own_folder() is None
    assert host() is None


def test_the_schema_knows_the_keys():
    schema = schemas()["site.toml"]
    assert set(schema["properties"]) == {key.name for key in HOST.keys}
    assert schema["properties"]["cautions"]["maxItems"] == MAX_CAUTIONS
