"""The JSON Schema of the design file, from the declarations that the reader reads it through.

One schema for all calculators: which holds follows from ``calculator``.  It says what a file
should hold; the reader is kinder in small things (capitals in a choice, spaces around a number)
and stricter in one: whether ``"62 ft"`` is a length, and in range, only it can tell, so the range
stands beside it as a note (``x-quantity``, in SI).

Source of the vocabulary: JSON Schema, draft 2020-12.
"""

from __future__ import annotations

from typing import Any

from evenrow import documents, units
from evenrow.calculators.reading import DEFAULT_CALCULATOR, FREE_TEXTS, SYSTEMS
from evenrow.calculators.reading_value import MAX_TEXT
from evenrow.calculators.registry import CALCULATORS
from evenrow.calculators.spec import Calculator, Field
from evenrow.errors import InputError

DIALECT = "https://json-schema.org/draft/2020-12/schema"
#: A value that is there, in digits or as a fraction.
_DIGIT = "[0-9½¼¾⅛⅜⅝⅞⅓⅔]"
_COUNT = r"^\s*[+-]?[0-9]{1,9}\s*$"
_EMPTY: dict[str, Any] = {"type": "string", "pattern": r"^\s*$"}


def document_schema() -> dict[str, Any]:
    """Return the JSON Schema of the design file, its choices those of the catalogue in use."""
    return {
        "$schema": DIALECT,
        "title": "Design file of Evenrow",
        "type": "object",
        "properties": {"calculator": {"enum": list(CALCULATORS)}},
        "required": ["evenrow"],
        "oneOf": [{"$ref": f"#/$defs/{name}"} for name in CALCULATORS],
        "$defs": {name: _document(each) for name, each in CALCULATORS.items()},
    }


def _document(calculator: Calculator) -> dict[str, Any]:
    """Return what a document of one calculator must keep."""
    made = _table(calculator.fields)
    named = [] if calculator.id == DEFAULT_CALCULATOR else ["calculator"]
    return {
        **made,
        "title": calculator.title,
        "description": calculator.question,
        "properties": {
            "evenrow": {"description": "Version of the file.", "const": documents.VERSION},
            "calculator": {"const": calculator.id},
            "units": {"description": "Units of the answer.", "enum": list(SYSTEMS)},
            **{
                name: {"type": "string", "maxLength": longest}
                for name, longest in FREE_TEXTS.items()
            },
            **made["properties"],
        },
        "required": ["evenrow", *named, *made["required"]],
    }


def _table(fields: tuple[Field, ...]) -> dict[str, Any]:
    """Return what a table with these fields must keep, dotted names as tables in it."""
    groups: dict[str, list[tuple[str, Field]]] = {}
    for field in fields:
        first, _, rest = field.name.partition(".")
        groups.setdefault(first, []).append((rest, field))
    properties: dict[str, Any] = {}
    required = []
    for name, members in groups.items():
        if members[0][0]:
            properties[name] = _inner(members)
            needed = bool(properties[name]["required"])
        else:
            field = members[0][1]
            properties[name] = _field(field)
            needed = _is_needed(field)
        if needed:
            required.append(name)
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


def _inner(members: list[tuple[str, Field]]) -> dict[str, Any]:
    """Return the schema of a table inside, its members under the rest of their names."""
    properties = {rest: _field(field) for rest, field in members}
    return {
        "type": "object",
        "properties": properties,
        "required": [rest for rest, field in members if _is_needed(field)],
        "additionalProperties": False,
    }


def _is_needed(field: Field) -> bool:
    """Whether a file cannot leave the field out, whatever was chosen in others."""
    rows_needed = field.kind != "table" or field.row_limits[0] > 0
    return field.required and not field.assumed and field.only_for is None and rows_needed


def _field(field: Field) -> dict[str, Any]:
    """Return the schema of the value of a field."""
    said = {"title": field.label, "description": field.help}
    if field.kind == "table":
        columns = _table(field.columns)
        rows = {"type": "array", "items": columns, "maxItems": field.row_limits[1]}
        return {**said, **rows}
    kinds = _values(field)
    if not _is_needed(field):
        kinds = [*kinds, _EMPTY]
    return {**said, **(kinds[0] if len(kinds) == 1 else {"anyOf": kinds})}


def _values(field: Field) -> list[dict[str, Any]]:
    """Return the schemas of which a value keeps one."""
    bounds = {
        word: bound
        for word, bound in (
            ("minimum", field.lo),
            ("exclusiveMinimum", field.above),
            ("maximum", field.hi),
        )
        if bound is not None
    }
    if field.kind == "text":
        return [{"type": "string", "maxLength": int(field.hi or MAX_TEXT)}]
    if field.kind == "choice":
        return [{"enum": [choice.value for choice in field.choices]}]
    if field.kind == "flag":
        return [{"type": "boolean"}, {"enum": ["yes", "no"]}]
    if field.kind == "count":
        return [{"type": "integer", **bounds}, {"type": "string", "pattern": _COUNT}]
    quantity = units.QUANTITIES[field.kind]
    text = {
        "type": "string",
        "pattern": _DIGIT,
        "maxLength": units.MAX_TEXT,
        "examples": list(dict.fromkeys((quantity.example_us, quantity.example_metric))),
        "x-quantity": {"name": field.kind, "unit": quantity.si, **bounds},
    }
    return [text, {"type": "number"}] if _takes_numbers(field.kind) else [text]


def _takes_numbers(kind: str) -> bool:
    """Whether a quantity may stand as a bare number: one that has no unit."""
    try:
        units.parse(0.5, kind)
    except InputError as error:
        return error.code == "out_of_range"
    return True
