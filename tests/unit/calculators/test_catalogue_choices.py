"""The forms offer what the catalogue in use has."""

from dataclasses import replace

import pytest

from evenrow.calculators.fields import DEVICE, PIPE_CHOICES
from evenrow.calculators.html_form import form_html
from evenrow.calculators.planting_fields import CROP, SOIL
from evenrow.calculators.reading import default_document
from evenrow.calculators.reading_value import accepted_text, read_value
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.catalogue import builtin, current, devices, pipes, use, using
from evenrow.catalogue.growing import generic_crops, generic_soils
from evenrow.errors import InputError


@pytest.fixture
def small():
    """A catalogue with one line under another code, and only the larger pipes."""
    whole = builtin()
    line = replace(whole.devices["dripline-16"], code="our-line", label="our own line")
    sizes = {code: size for code, size in whole.pipes.items() if size.bore > 0.03}
    return replace(whole, devices={"our-line": line}, pipes=sizes)


def test_choices_follow_the_catalogue(small):
    before = list(PIPE_CHOICES)
    assert [choice.value for choice in DEVICE.choices] == list(devices())
    with using(small):
        assert [choice.value for choice in DEVICE.choices] == ["our-line"]
        assert (len(DEVICE.choices), DEVICE.choices[0].label) == (1, "our own line")
        assert DEVICE.choices[:1] == (DEVICE.choices[0],)
        assert [choice.value for choice in PIPE_CHOICES] == list(small.pipes)
        assert accepted_text(DEVICE) == "our-line"
        with pytest.raises(InputError, match="none of the choices"):
            read_value(DEVICE, "dripline-16", "metric", "line.device")
    assert list(PIPE_CHOICES) == before


def test_soils_and_crops_follow_too():
    clay, leek = generic_soils()["clay"], generic_crops()["lettuce"]
    own = replace(builtin(), soils={"clay": clay}, crops={"leek": replace(leek, label="leek")})
    with using(own):
        assert [choice.label for choice in SOIL.choices] == [clay.label]
        assert [choice.label for choice in CROP.choices] == ["leek"]
        assert SOIL.default_for("us") == "clay"
    assert [choice.value for choice in SOIL.choices] == list(generic_soils())


def test_a_default_that_is_not_there_gives_way_to_the_first(small):
    assert DEVICE.default_for("us") == "dripline-16"
    with using(small):
        assert DEVICE.default_for("us") == "our-line"


@pytest.mark.parametrize("name", CALCULATORS)
def test_every_calculator_answers_from_the_catalogue_in_use(small, name):
    calculator = CALCULATORS[name]
    with using(small):
        document = default_document(calculator, "metric")
        answer(document)
        shown = form_html(calculator, document)
    if DEVICE in calculator.fields:
        assert "our own line" in shown
        assert '<option value="tape-16' not in shown


def test_a_design_is_a_function_of_document_and_catalogue():
    def line_of(found):
        return [fact for fact in str(found).split() if "L/h" in fact]

    document = default_document(CALCULATORS["run-length"], "metric")
    first = answer(document)[1]
    weak = {
        code: replace(line, emitter=replace(line.emitter, flow_nominal=2e-6))
        for code, line in devices().items()
    }
    with using(replace(builtin(), devices=weak)):
        changed = answer(document)[1]
    assert str(answer(document)[1]) == str(first)
    assert str(changed) != str(first)
    assert line_of(first) == line_of(answer(document)[1])


def test_using_gives_back_what_was_there_even_after_a_fault(small):
    with pytest.raises(RuntimeError), using(small):
        raise RuntimeError
    assert current() is builtin()
    try:
        use(small)
        assert (current(), pipes()) == (small, small.pipes)
    finally:
        use(builtin())
