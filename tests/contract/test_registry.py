"""What holds for every calculator, whatever it works out."""

import copy
import json

import pytest

from evenrow import units
from evenrow.calculators.data import numbers, to_data
from evenrow.calculators.reading import SYSTEMS, default_document, read
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.result import Number
from evenrow.calculators.spec import PLAIN_KINDS
from evenrow.calculators.text import to_text
from evenrow.calculators.web import call
from evenrow.cli import option_name
from evenrow.errors import ImpossibleError, InputError, InputErrors

ALL = pytest.mark.parametrize("calculator", CALCULATORS.values(), ids=list(CALCULATORS))
BOTH = pytest.mark.parametrize("system", SYSTEMS)

BAD_TEXTS = {
    "empty": "",
    "spaces": "   ",
    "text": "plenty",
    "nan": "nan",
    "inf": "inf",
    "negative inf": "-inf m",
    "markup": "<script>alert(1)</script>",
    "emoji": "🌱",
    "megabyte": "9" * 1_000_000,
    "code": "__import__('os').system('ls')",
    "tower": "9**9**9 m",
    "no unit": "7",
    "unknown unit": "7 cubits",
}


def si_text(value, quantity):
    """Return a value in the metric unit as text that can be typed."""
    unit = units.system_unit(quantity, "metric")
    return f"{units.to_unit(value, quantity, unit)!r} {unit}".strip()


def all_fields(calculator):
    for field in calculator.fields:
        yield field
        yield from field.columns


def quantity_places(calculator, document):
    """Yield (field, path, setter) of every quantity of a document, cells included."""
    for field in calculator.fields:
        if field.kind in units.QUANTITIES:
            yield field, field.name, None
        for index, _ in enumerate(field.rows["us"] if field.rows else ()):
            for column in field.columns:
                if column.kind in units.QUANTITIES:
                    yield column, f"{field.name}.{index}.{column.name}", index


def get(document, path):
    value = document
    for part in path.split("."):
        value = value[int(part)] if isinstance(value, list) else value.get(part)
        if value is None:
            return None
    return value


def put(document, path, value):
    *way, last = path.split(".")
    for part in way:
        document = (
            document[int(part)] if isinstance(document, list) else document.setdefault(part, {})
        )
    document[last] = value


PLACES = [
    pytest.param(calculator, field, path, id=f"{calculator.id}:{path}")
    for calculator in CALCULATORS.values()
    for field, path, index in quantity_places(calculator, default_document(calculator, "us"))
    if not index
]


def problems_at(document):
    """Return the codes by field; {} when the document is answered or shown impossible."""
    try:
        calculator, result, system = answer(document)
    except ImpossibleError:
        return {}
    except InputErrors as errors:
        return {error.field: error.code for error in errors.errors}
    except InputError as error:
        return {error.field: error.code}
    json.dumps(to_data(result, system), allow_nan=False)
    assert calculator.id == document["calculator"]
    return {}


def test_the_menu_is_complete_and_in_order():
    assert list(CALCULATORS) == [
        "source-flow",
        "line-choice",
        "run-length",
        "zones",
        "parts-list",
        "whole-field",
        "options",
        "watering-time",
        "water-filter",
        "field-check",
        "upkeep",
    ]


@ALL
def test_every_field_explains_itself(calculator):
    assert calculator.title
    assert calculator.question.endswith("?")
    names = [field.name for field in calculator.fields]
    assert len(set(names)) == len(names)
    for field in all_fields(calculator):
        assert field.label, field.name
        assert field.help.endswith("."), field.name
        assert field.kind in PLAIN_KINDS or field.kind in units.QUANTITIES, field.name
        assert bool(field.choices) == (field.kind == "choice"), field.name
        assert bool(field.columns) == (field.kind == "table"), field.name
        if field.kind in units.QUANTITIES:
            assert field.hi is not None, f"{field.name} has no upper bound"
            assert field.lo is not None or field.above is not None, f"{field.name}: no lower bound"


@ALL
def test_options_of_the_command_are_distinct(calculator):
    own = {"--file", "--units", "--json", "--explain", "--link", "--help"}
    options = [option_name(field) for field in calculator.fields]
    assert len({*options, *own}) == len(options) + len(own)


@ALL
@BOTH
def test_the_default_document_is_answered(calculator, system):
    document = default_document(calculator, system)
    read(calculator, document)
    found, result, shown_in = answer(document)
    assert (found, shown_in) == (calculator, system)
    data = json.dumps(to_data(result, system), allow_nan=False)
    assert len(data) > 200
    assert to_text(result, system, explain=True)
    reply = json.loads(call(json.dumps({"v": 1, "op": "calc", "document": document})))
    assert reply["ok"], reply
    assert "<script" not in reply["html"]


@ALL
def test_defaults_do_not_depend_on_the_system_of_units(calculator):
    """Both defaults describe about the same thing, each in its own units."""
    for field in all_fields(calculator):
        if field.kind not in units.QUANTITIES or not field.default_for("us"):
            continue
        us, metric = (units.parse(field.default_for(s), field.kind) for s in SYSTEMS)
        assert us == pytest.approx(metric, rel=0.35), field.name


@pytest.mark.parametrize("calculator", CALCULATORS.values(), ids=lambda c: c.id)
def test_what_a_file_leaves_out_means_the_same_in_both_systems(calculator):
    """A design file that names other units must not become another design."""
    for field in calculator.fields:
        if field.assumed and field.kind in units.QUANTITIES:
            us, metric = (units.parse(field.default_for(s), field.kind) for s in SYSTEMS)
            assert us == pytest.approx(metric, rel=1e-12, abs=1e-12), field.name


@ALL
@BOTH
def test_the_same_values_in_other_units_give_the_same_answer(calculator, system):
    document = default_document(calculator, system)
    retyped = copy.deepcopy(document)
    other = "metric" if system == "us" else "us"
    changed = 0
    for field, path, _ in quantity_places(calculator, document):
        text = get(document, path)
        unit = units.system_unit(field.kind, other)
        if text and unit:
            value = units.to_unit(units.parse(text, field.kind), field.kind, unit)
            put(retyped, path, f"{value!r} {unit}")
            changed += 1
    assert changed > 0
    _, expected, _ = answer(document)
    _, found, _ = answer(retyped)
    expected_numbers, found_numbers = (numbers(each, system) for each in (expected, found))
    assert found_numbers.keys() == expected_numbers.keys()
    for name, number in expected_numbers.items():
        got = found_numbers[name]["value"]
        assert got == pytest.approx(number["value"], rel=1e-6, abs=1e-9), name


@ALL
@BOTH
def test_the_unit_system_changes_the_words_and_not_the_values(calculator, system):
    document = default_document(calculator, system)
    other = {**document, "units": "metric" if system == "us" else "us"}
    _, expected, _ = answer(document)
    _, found, _ = answer(other)
    for name, number in numbers(expected, system).items():
        got = numbers(found, other["units"])[name]["value"]
        assert got == pytest.approx(number["value"], rel=1e-12), name


@ALL
def test_numbers_have_distinct_names_and_known_kinds(calculator):
    _, result, _ = answer(default_document(calculator, "us"))
    found = [item for section in result.sections for item in section.items]
    found = [each for each in [result.headline, *found] if isinstance(each, Number)]
    assert len({each.name for each in found}) == len(found)
    for each in found:
        assert each.kind in units.QUANTITIES or each.kind == "count", each.name
    assert result.verdict


@ALL
def test_the_headline_has_its_rule_and_source(calculator):
    headline = answer(default_document(calculator, "us"))[1].headline
    assert headline.rule, f"{headline.name} has no rule"
    assert headline.source, f"{headline.name} has no source"


@pytest.mark.parametrize(("calculator", "field", "path"), PLACES)
def test_bad_texts_are_refused_at_their_field(calculator, field, path):
    for name, text in BAD_TEXTS.items():
        document = default_document(calculator, "us")
        put(document, path, text)
        found = problems_at(document)
        optional = not field.required and not text.strip()
        if optional or (field.kind == "number" and name == "no unit"):
            assert set(found) <= {path}, name
        else:
            assert list(found) == [path], (name, found)


@pytest.mark.parametrize(("calculator", "field", "path"), PLACES)
def test_impossible_sizes_are_refused_at_their_field(calculator, field, path):
    wrong = "7 kg" if field.kind != "mass" else "7 m"
    sizes = {"wrong dimension": wrong, "huge": si_text(1e9, field.kind)}
    lowest = field.lo if field.lo is not None else field.above
    if lowest >= 0:
        sizes["negative"] = si_text(-1.0, field.kind)
    if field.above is not None:
        sizes["at the open bound"] = si_text(field.above, field.kind)
    if field.lo is not None:
        sizes["below the bound"] = si_text(field.lo - 1e-3 * (1 + abs(field.lo)), field.kind)
    sizes["above the bound"] = si_text(field.hi + 1e-3 * (1 + abs(field.hi)), field.kind)
    for name, text in sizes.items():
        document = default_document(calculator, "metric")
        put(document, path, text)
        assert list(problems_at(document)) == [path], name


@pytest.mark.parametrize(("calculator", "field", "path"), PLACES)
def test_sizes_at_the_bounds_give_a_sane_answer_or_a_reason(calculator, field, path):
    low = field.lo if field.lo is not None else field.above + 1e-6 * (field.hi - field.above)
    for value in (low + 1e-12 * abs(low), field.hi - 1e-12 * abs(field.hi), 0.0):
        if (field.lo is not None and value < field.lo) or (
            field.above is not None and value <= field.above
        ):
            continue
        document = default_document(calculator, "metric")
        put(document, path, si_text(value, field.kind))
        problems_at(document)


@ALL
def test_every_example_is_answered(calculator):
    for name, make in calculator.examples.items():
        document = make()
        assert document["evenrow"] == 1, name
        found, _, _ = answer(document)
        assert found is calculator, name
        assert len(json.dumps(document)) < 8000, name


@ALL
def test_names_that_are_unknown_or_missing_are_told(calculator):
    document = default_document(calculator, "us")
    document["surprise"] = "1 m"
    assert problems_at(document) == {"surprise": "unknown_key"}
    needed = [f for f in calculator.fields if f.required and not f.assumed]
    needed = [f for f in needed if f.kind != "table" or f.row_limits[0] > 0]
    assert needed
    for field in needed:
        document = default_document(calculator, "us")
        put(document, field.name, "")
        assert list(problems_at(document).values()) == ["missing"], field.name


def test_no_two_demos_have_one_name():
    """The command and the menus find a demo by its name alone."""
    names = [name.lower() for c in CALCULATORS.values() for name in c.examples]
    assert len(names) == len(set(names))
