"""The table of factors is what Pint gives, and Pint's names are only those we meant."""

import importlib.util
import json
import os
import subprocess
import sys
from importlib import resources
from pathlib import Path

import pytest

from evenrow import units
from evenrow.unit_text import unit_key

SCRIPT = Path(__file__).parents[2] / "scripts" / "make_unit_factors.py"


@pytest.fixture(scope="module")
def script():
    spec = importlib.util.spec_from_file_location("make_unit_factors", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def table():
    return json.loads((resources.files("evenrow") / "unit_factors.json").read_text("utf-8"))


def test_the_table_is_what_pint_gives(table):
    for dimension, scales in table.items():
        for key, (scale, zero) in scales.items():
            expected = units.pint_scale(key, dimension)
            assert (scale, zero) == pytest.approx(expected, rel=1e-15, abs=0), key


def test_the_table_holds_all_common_texts_and_nothing_else(script, table):
    assert {d: list(t) for d, t in table.items()} == {
        d: keys.split() for d, keys in script.COMMON.items()
    }


def test_the_file_is_as_the_script_writes_it(script):
    assert script.FILE.read_text(encoding="utf-8") == script.text()


def test_every_key_is_its_own_spelling(table):
    for scales in table.values():
        for key in scales:
            assert unit_key(key) == key


def test_one_key_means_one_thing_in_each_dimension(table):
    # Heads of water share their names with lengths, on purpose; nothing else may.
    for dimension, scales in table.items():
        others = {d: t for d, t in table.items() if d != dimension}
        for key in scales:
            shared = [d for d, t in others.items() if key in t]
            assert shared == [] or {dimension, *shared} == {"length", "pressure"}


def test_every_unit_of_the_registry_is_in_lower_case():
    text = (resources.files("evenrow") / "unit_registry.txt").read_text("utf-8")
    for line in text.splitlines():
        if line and not line.startswith("#"):
            assert line.partition("; offset")[0].replace("[", "").islower(), line


def test_no_form_and_no_example_needs_pint():
    # In the browser Pint takes longer to load than an answer to work out.
    code = (
        "import sys\n"
        "from evenrow.calculators.reading import SYSTEMS, default_document\n"
        "from evenrow.calculators.registry import CALCULATORS, answer\n"
        "for name, calculator in CALCULATORS.items():\n"
        "    documents = [default_document(calculator, system) for system in SYSTEMS]\n"
        "    for document in [*documents, *(make() for make in calculator.examples.values())]:\n"
        "        answer(document)\n"
        "    assert 'pint' not in sys.modules, name\n"
    )
    way = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    subprocess.run([sys.executable, "-c", code], check=True, env=way)
