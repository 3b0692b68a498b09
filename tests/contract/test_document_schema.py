"""The published schema of the design file says what the reader says: both read the declarations."""

import copy
import json

import pytest

from evenrow import documents
from evenrow.calculators.reading import default_document, example_document, put, read
from evenrow.calculators.registry import CALCULATORS
from evenrow.calculators.schema import document_schema
from evenrow.cli import main
from evenrow.errors import InputErrors
from json_schema import fits


def resolved(value, known):
    """Return a schema with what it refers to in its place."""
    if isinstance(value, dict):
        if set(value) == {"$ref"}:
            return known[value["$ref"].removeprefix("#/$defs/")]
        return {key: resolved(each, known) for key, each in value.items()}
    return [resolved(each, known) for each in value] if isinstance(value, list) else value


SCHEMA = resolved(document_schema(), document_schema()["$defs"])


def reads(document):
    """Return whether the reader takes a document, as far as shapes and names go."""
    calculator = CALCULATORS[document.get("calculator", "whole-field")]
    try:
        read(calculator, document)
    except InputErrors:
        return False
    return True


def documents_of(name):
    calculator = CALCULATORS[name]
    for system in ("us", "metric"):
        yield default_document(calculator, system)
    for title in calculator.examples:
        yield example_document(calculator, title)


@pytest.mark.parametrize("name", CALCULATORS)
def test_every_default_and_example_keeps_the_schema(name):
    for document in documents_of(name):
        assert fits(SCHEMA, document)
        assert fits(SCHEMA, {**document, "name": "a", "about": "b", "catalogue": "c 1"})


def spoiled(document, calculator):
    """Yield a document for each of the ways in which its shape can be wrong."""
    for key, value in (
        ("evenrow", 99),
        ("evenrow", None),
        ("units", "miles"),
        ("name", 5),
        ("name", "x" * 81),
        ("catalogue", "x" * 421),
        ("nobody-knows-this", "1 m"),
    ):
        yield key, {**document, key: value}
    for field in calculator.fields:
        for value in _wrong(field):
            other = copy.deepcopy(document)
            put(other, field.name, value)
            yield field.name, other


def _wrong(field):
    yield {"a": 1}
    if field.kind == "table":
        yield "text"
        yield [{"nobody-knows-this": "1"}]
        # Empty rows at the end do not count.
        yield [{field.columns[0].name: "1"}] * (field.row_limits[1] + 1)
    elif field.kind == "choice":
        yield "none of these"
    elif field.kind in ("flag", "count"):
        yield "maybe"
    elif field.kind == "text":
        yield 5
    else:
        yield "no digit"
        yield True


@pytest.mark.parametrize("name", CALCULATORS)
def test_what_the_schema_refuses_the_reader_refuses(name):
    calculator = CALCULATORS[name]
    document = default_document(calculator, "metric")
    for field, other in spoiled(document, calculator):
        assert not fits(SCHEMA, other), (field, other)
        assert not reads(other), (field, other)


@pytest.mark.parametrize("name", CALCULATORS)
def test_what_a_file_cannot_leave_out_is_required_by_both(name):
    calculator = CALCULATORS[name]
    whole = default_document(calculator, "metric")
    for field in calculator.fields:
        other = copy.deepcopy(whole)
        *way, last = field.name.split(".")
        inner = other
        for part in way:
            inner = inner.get(part, {})
        if inner.pop(last, None) is not None and not fits(SCHEMA, other):
            assert not reads(other), field.name


def test_the_schema_is_printed_and_is_json(capsys):
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(document_schema()))
    assert set(document_schema()["$defs"]) == set(CALCULATORS)
    shown = document_schema()["$defs"]["whole-field"]["properties"]["evenrow"]
    assert shown["const"] == documents.VERSION
