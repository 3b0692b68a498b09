"""The surface of the package: a document in, an answer out."""

import json
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from xml.etree import ElementTree

import pytest

import evenrow
from evenrow.calculators.data import to_data
from evenrow.calculators.registry import answer

STYLES = Path(evenrow.__file__).parent


@pytest.fixture(scope="module")
def raspberries():
    return evenrow.design_of(evenrow.demo("raspberries"))


def test_a_design_is_the_answer_of_its_calculator(raspberries):
    document = evenrow.demo("raspberries")
    _, result, system = answer(document)
    assert raspberries.to_dict() == to_data(result, system)
    assert evenrow.answer_of(document).to_dict() == raspberries.to_dict()
    assert raspberries.headline.value == len(raspberries.design.zones) == 1
    json.dumps(raspberries.to_dict(), allow_nan=False)


def test_numbers_have_their_rule_and_source(raspberries):
    eu = raspberries.numbers["eu"]
    assert eu.value == pytest.approx(raspberries.design.worst.eu)
    assert eu.rule
    assert eu.source


def test_what_is_printed_is_short_and_what_is_told_is_whole(raspberries):
    assert repr(raspberries) == "<DesignAnswer of whole-field: Zones 1>"
    assert str(raspberries).startswith("Raspberries by the shed\n")
    assert len(raspberries.to_text(explain=True)) > len(str(raspberries))


def test_a_notebook_shows_it_with_its_drawings_and_no_way_out(raspberries):
    shown = raspberries._repr_html_()
    assert raspberries.verdict in shown
    assert shown.count("<svg") == len(raspberries.figures) > 3
    assert not re.search(r"<script|<link|\son\w+=|https?://(?!www\.w3\.org)", shown)


def test_drawings_are_files_of_their_own(raspberries):
    for svg in raspberries.figures.values():
        root = ElementTree.fromstring(svg)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert root[0].tag.endswith("style")


def test_every_colour_of_a_drawing_has_a_value_in_a_notebook():
    sheets = [STYLES / "figures" / name for name in ("chart.css", "plan.css")]
    used = {n for s in sheets for n in re.findall(r"var\((--er-[a-z-]+)", s.read_text("utf-8"))}
    own = (STYLES / "notebook.css").read_text("utf-8")
    assert used
    assert used - set(re.findall(r"(--er-[a-z-]+):", own)) == set()


def test_documents_come_from_files_texts_links_and_mappings(tmp_path, raspberries):
    text = evenrow.write_document(evenrow.demo("raspberries"))
    path = tmp_path / "field.toml"
    path.write_text(text, "utf-8")
    expected = evenrow.read_document(text)
    for source in (path, str(path), expected):
        assert evenrow.read_document(source) == expected
    # A link also names the catalogue that the design was made with.
    linked = evenrow.read_document(raspberries.link())
    assert linked.pop("catalogue") == "generic catalogue 1"
    assert linked == expected
    assert evenrow.design_of(expected).to_dict() == raspberries.to_dict()


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: evenrow.read_document("nothing.toml"), "file"),
        (lambda: evenrow.read_document("design=1.x"), "link"),
        (lambda: evenrow.read_document({}), "evenrow"),
        (lambda: evenrow.demo("nothing"), "demo"),
    ],
)
def test_bad_input_is_an_error_at_its_field(call, field):
    with pytest.raises(evenrow.InputError) as caught:
        call()
    assert caught.value.field == field


def test_errors_of_a_design_are_the_family():
    document = evenrow.demo("raspberries")
    document["rows"][0]["length"] = "far"
    with pytest.raises(evenrow.InputErrors):
        evenrow.design_of(document)
    document["rows"][0]["length"] = "400 m"
    with pytest.raises(evenrow.ImpossibleError) as caught:
        evenrow.design_of(document)
    assert caught.value.changes


def test_a_design_of_another_calculator_is_refused_and_answered():
    document = {"evenrow": 1, "calculator": "source-flow", "units": "us"}
    document["required_pressure"] = "20 psi"
    readings = [{"volume": "5 gal", "time": "41 s"}]
    document["source"] = {"static_pressure": "52 psi", "readings": readings}
    with pytest.raises(evenrow.InputErrors):
        evenrow.design_of(document)
    assert evenrow.answer_of(document).calculator == "source-flow"


def test_the_answer_speaks_the_language_in_use():
    document = evenrow.demo("raspberries")
    with evenrow.use_language("es"):
        spoken = evenrow.answer_of(document)
    assert spoken.headline.label == "Zonas"


@pytest.mark.parametrize("name", evenrow.__all__)
def test_every_public_name_is_there_and_documented(name):
    found = getattr(evenrow, name)
    assert name == "__version__" or found.__doc__
    assert name in dir(evenrow)


def test_the_lazy_names_are_those_declared():
    declared = {name for names in evenrow._LATER.values() for name in names}
    assert declared == set(evenrow.__all__) - {"__version__"}
    for module, names in evenrow._LATER.items():
        assert all(hasattr(import_module(f"evenrow.{module}"), name) for name in names)
    with pytest.raises(AttributeError):
        evenrow.nothing  # noqa: B018


def test_importing_the_package_loads_nothing_heavy():
    code = "import sys, evenrow; print(sorted(m for m in sys.modules if m.startswith('numpy')))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout == "[]\n"
