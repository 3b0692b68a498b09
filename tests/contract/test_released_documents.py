"""Design files and links of every version there ever was are still read.

``tests/golden/documents/N`` holds, as written when N was the version, one design file of each
calculator and the link that carries it.  They are never made anew: a change that cannot read them
needs a step in `evenrow.documents.MIGRATIONS`, and a new version a folder of its own.
"""

import json
from pathlib import Path

import pytest

from evenrow import documents, share
from evenrow.calculators.reading import read
from evenrow.calculators.registry import CALCULATORS, calculator_of

FOLDER = Path(__file__).resolve().parents[1] / "golden" / "documents"
VERSIONS = range(1, documents.VERSION + 1)
FILES = [
    (version, path.stem)
    for version in VERSIONS
    for path in sorted(FOLDER.joinpath(str(version)).glob("*.toml"))
]


def text_of(version, name):
    return FOLDER.joinpath(str(version), f"{name}.toml").read_text(encoding="utf-8")


def link_of(version, name):
    links = FOLDER.joinpath(str(version), "links.json").read_text(encoding="utf-8")
    return json.loads(links)[name]


@pytest.mark.parametrize("version", VERSIONS)
def test_every_version_has_its_folder(version):
    assert FOLDER.joinpath(str(version)).is_dir()


def test_the_version_of_now_has_a_file_of_every_calculator():
    assert {name for version, name in FILES if version == documents.VERSION} == set(CALCULATORS)


@pytest.mark.parametrize(("version", "name"), FILES)
def test_a_file_is_read_to_its_last_value(version, name):
    document = documents.from_text(text_of(version, name))
    assert document["evenrow"] == version
    current = documents.upgrade(document)
    assert current["evenrow"] == documents.VERSION
    calculator = calculator_of(current)
    # Every value is known and in range: nothing is left out on the way.
    read(calculator, current)
    again = documents.from_text(documents.to_toml(current))
    assert again == current


@pytest.mark.parametrize(("version", "name"), FILES)
def test_a_link_carries_the_same_document(version, name):
    assert share.decode(link_of(version, name)) == documents.from_text(text_of(version, name))
