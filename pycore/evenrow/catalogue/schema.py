"""JSON Schemas of the data files, from the declarations that the loader reads them through.

An editor that knows JSON Schema shows with them what an entry holds while it is written.  A
schema sees the shape of a value; whether ``"2 L/h"`` is a flow, and in range, only the loader
can tell, so the range stands beside it as a note (``x-quantity``, in SI).

Source of the vocabulary: JSON Schema, draft 2020-12.
"""

from __future__ import annotations

from typing import Any

from evenrow import units
from evenrow.catalogue.forms import ABOUT, FORMS
from evenrow.catalogue.growing_forms import CROPS, SOILS
from evenrow.catalogue.host import HOST
from evenrow.catalogue.keys import CODE, MAX_CODE, MAX_TEXT, PLAIN, RESERVED, Form, Key

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_TYPES = {"number": "number", "count": "integer", "price": "number"}
_CODES = f"^(?!(?:{'|'.join(RESERVED)})$){CODE.pattern}$"


def schemas() -> dict[str, dict[str, Any]]:
    """Return the JSON Schema of every data file by its name."""
    forms = (*FORMS, SOILS, CROPS)
    heads = (ABOUT, HOST)
    return {
        **{form.file: _one_table(form) for form in heads},
        **{form.file: _entries(form) for form in forms},
    }


def _head(form: Form) -> dict[str, Any]:
    return {"$schema": DIALECT, "title": f"{form.file} of a catalogue", "type": "object"}


def _one_table(form: Form) -> dict[str, Any]:
    """Return the schema of a file without entries."""
    return {**_head(form), **_table(form)}


def _entries(form: Form) -> dict[str, Any]:
    """Return the schema of a file that holds a source and entries by code."""
    hidden = {
        "description": f"Leaves the {form.what} of this code out of the catalogue.",
        "type": "object",
        "properties": {"hide": {"const": True}},
        "required": ["hide"],
        "additionalProperties": False,
    }
    return {
        **_head(form),
        "properties": {key.name: _key(key) for key in form.keys if key.name == "source"},
        "propertyNames": {"maxLength": MAX_CODE},
        "patternProperties": {_CODES: {"oneOf": [hidden, {"type": "object", **_table(form)}]}},
        "additionalProperties": False,
    }


def _table(form: Form) -> dict[str, Any]:
    """Return what a table with the keys of a form must keep."""
    table: dict[str, Any] = {
        "properties": {key.name: _key(key) for key in form.keys},
        "required": [key.name for key in form.keys if key.required],
        "additionalProperties": False,
    }
    if form.one_of:
        table["oneOf"] = [{"required": [name]} for name in form.one_of]
    pairs = [
        {
            "if": {"properties": {"kind": {"const": key.only_for}}},
            "then": {"required": [key.name]},
            "else": {"not": {"required": [key.name]}},
        }
        for key in form.keys
        if key.only_for
    ]
    if pairs:
        table["allOf"] = pairs
    return table


def _key(key: Key) -> dict[str, Any]:
    """Return the schema of the value of a key."""
    single = _single(key)
    if not key.many:
        return {"description": key.help, **single}
    return {
        "description": key.help,
        "type": "array",
        "items": single,
        "minItems": key.exactly or 1,
        "maxItems": key.exactly or key.at_most,
        "uniqueItems": key.rising,
    }


def _single(key: Key) -> dict[str, Any]:
    if key.choices:
        return {"enum": list(key.choices)}
    if key.kind == "flag":
        return {"type": "boolean"}
    if key.kind == "text":
        pattern = {"pattern": f"^{key.pattern}$"} if key.pattern else {}
        return {"type": "string", "minLength": 1, "maxLength": MAX_TEXT, **pattern}
    bounds = {
        word: bound
        for word, bound in (
            ("minimum", key.lo),
            ("exclusiveMinimum", key.above),
            ("maximum", key.hi),
        )
        if bound is not None
    }
    if key.kind in PLAIN:
        return {"type": _TYPES[key.kind], **bounds}
    quantity = units.QUANTITIES[key.kind]
    return {
        "type": "string",
        "pattern": "[0-9½¼¾⅛⅜⅝⅞⅓⅔]",
        "maxLength": units.MAX_TEXT,
        "examples": list(dict.fromkeys((quantity.example_us, quantity.example_metric))),
        "x-quantity": {"name": key.kind, "unit": quantity.si, **bounds},
    }
