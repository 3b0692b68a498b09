"""What one calculator hands on to another: every field is there and takes what comes."""

import pytest

from evenrow.calculators.html_carry import added_rows, carried_numbers, carried_values, carry_html
from evenrow.calculators.reading import SYSTEMS, default_document, read
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.result import Table
from evenrow.errors import ImpossibleError, InputError, InputErrors

CARRIES = [
    pytest.param(calculator, carry, id=f"{calculator.id} to {carry.to}")
    for calculator in CALCULATORS.values()
    for carry in calculator.carries
]
ALL = pytest.mark.parametrize(("calculator", "carry"), CARRIES)
BOTH = pytest.mark.parametrize("system", SYSTEMS)


def fields_of(name):
    return {field.name: field for field in CALCULATORS[name].fields}


def at(document, name):
    for part in name.split("."):
        document = document.get(part) if isinstance(document, dict) else None
    return document


def put(document, name, value):
    *way, last = name.split(".")
    for part in way:
        document = document.setdefault(part, {})
    document[last] = value


def as_carried(document, calculator, carry, result, system):
    """Fill the default form of the other calculator, as the page does."""
    filled = default_document(CALCULATORS[carry.to], system)
    theirs = fields_of(carry.to)
    values = carried_values(carry, result, system)
    tables = (field for field, _ in carry.tables.values())
    assert set(values) == {*carry.numbers.values(), *tables, *carry.fixed, *carry.facts.values()}
    for field, value in values.items():
        put(filled, field, value)
    for name, field in carry.inputs.items():
        value = at(document, name)
        if isinstance(value, list):
            known = {column.name for column in theirs[field].columns}
            value = [{k: v for k, v in row.items() if k in known} for row in value]
        if value is not None:
            put(filled, field, value)
    for field, added in added_rows(carry, result, system).items():
        row = {
            **added["row"],
            **{column: at(document, name) for name, column in added["inputs"].items()},
        }
        row = {column: text for column, text in row.items() if text}
        if added["dated"]:
            row.setdefault(added["dated"], "2026-05-31")
        put(filled, field, [row])
    return filled


def test_every_calculator_leads_on():
    assert {calculator.id for calculator in CALCULATORS.values() if calculator.carries} >= {
        "source-flow",
        "line-choice",
        "run-length",
        "zones",
        "parts-list",
        "whole-field",
    }


@ALL
def test_the_other_is_registered_and_named_by_its_title(calculator, carry):
    assert carry.to != calculator.id
    assert CALCULATORS[carry.to].title == carry.label
    assert carry.numbers or carry.inputs or carry.tables or carry.adds or carry.facts
    tables = [field for field, _ in carry.tables.values()]
    targets = [*carry.numbers.values(), *carry.inputs.values(), *tables, *carry.fixed, *carry.adds]
    targets += carry.facts.values()
    assert len(set(targets)) == len(targets), "two values for one field"


@ALL
def test_inputs_go_to_fields_of_their_kind(calculator, carry):
    ours, theirs = fields_of(calculator.id), fields_of(carry.to)
    for name, field in carry.inputs.items():
        assert ours[name].kind == theirs[field].kind, name
        if ours[name].kind == "choice":
            # What the other does not offer is left out by the page; something must remain.
            shared = {c.value for c in ours[name].choices} & {
                c.value for c in theirs[field].choices
            }
            assert shared, name
        if ours[name].kind == "table":
            have = {column.name for column in ours[name].columns}
            needed = {c.name for c in theirs[field].columns if c.required and not c.assumed}
            assert needed <= have, name


@ALL
@BOTH
def test_numbers_go_to_fields_of_their_kind(calculator, carry, system):
    _, result, _ = answer(default_document(calculator, system))
    numbers = carried_numbers(result)
    theirs = fields_of(carry.to)
    for name, field in carry.numbers.items():
        assert numbers[name].kind == theirs[field].kind, name


@ALL
@BOTH
def test_tables_go_to_columns_of_their_kind(calculator, carry, system):
    _, result, _ = answer(default_document(calculator, system))
    found = [item for section in result.sections for item in section.items]
    tables = {item.name: item for item in found if isinstance(item, Table)}
    theirs = fields_of(carry.to)
    for name, (field, columns) in carry.tables.items():
        ours = {column.name: column for column in tables[name].columns}
        target = {column.name: column for column in theirs[field].columns}
        for a, b in columns.items():
            if target[b].kind == "choice":
                place = [column.name for column in tables[name].columns].index(a)
                values = {row[place].value for row in tables[name].rows}
                assert values <= {choice.value for choice in target[b].choices}
                continue
            assert ours[a].kind == target[b].kind, a
        assert {c.name for c in target.values() if c.required} <= set(columns.values())


@ALL
@BOTH
def test_rows_that_are_added_have_what_their_table_asks_for(calculator, carry, system):
    document = default_document(calculator, system)
    _, result, _ = answer(document)
    ours, theirs = fields_of(calculator.id), fields_of(carry.to)
    rows = added_rows(carry, result, system)
    assert set(rows) == set(carry.adds)
    for field, added in carry.adds.items():
        columns = {column.name: column for column in theirs[field].columns}
        numbers = carried_numbers(result)
        for name, column in added.numbers.items():
            assert numbers[name].kind == columns[column].kind
        for name, column in added.inputs.items():
            assert ours[name].kind == columns[column].kind
        filled = {*added.numbers.values(), added.dated}
        assert {c.name for c in columns.values() if c.required} <= filled


@ALL
@BOTH
def test_facts_make_choices_of_the_other(calculator, carry, system):
    _, result, _ = answer(default_document(calculator, system))
    found = [result.headline, *(item for section in result.sections for item in section.items)]
    facts = {item.name: item for item in found}
    theirs = fields_of(carry.to)
    for name, field in carry.facts.items():
        assert facts[name].text.value in {choice.value for choice in theirs[field].choices}


@ALL
def test_what_is_always_told_is_a_choice_there(calculator, carry):
    theirs = fields_of(carry.to)
    for field, value in carry.fixed.items():
        assert value in {choice.value for choice in theirs[field].choices}


@ALL
@BOTH
def test_the_other_accepts_what_comes(calculator, carry, system):
    document = default_document(calculator, system)
    _, result, _ = answer(document)
    filled = as_carried(document, calculator, carry, result, system)
    inputs, _ = read(CALCULATORS[carry.to], filled)
    for name, field in carry.numbers.items():
        found = at(inputs, field)
        number = carried_numbers(result)[name]
        # Times are written in whole seconds.
        away = 0.5 if number.kind == "duration" else 0.0
        assert found == pytest.approx(number.value, rel=1e-4, abs=away), name
    # It is answered, or the answer is that it is not possible: no value is refused.
    try:
        answer(filled)
    except ImpossibleError:
        pass
    except (InputError, InputErrors) as error:
        pytest.fail(str(error))


@ALL
def test_every_link_is_written(calculator, carry):
    _, result, system = answer(default_document(calculator, "metric"))
    html = carry_html(calculator, result, system)
    assert html.count('class="er-button er-carry"') == len(calculator.carries)
    assert f'href="../{carry.to}/"' in html
