"""From a document to the inputs of a calculator, with every problem found at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, cast

from evenrow import documents
from evenrow.calculators.reading_value import nearest, read_text, read_value, wrong_type
from evenrow.calculators.spec import Calculator, Field
from evenrow.catalogue import current as current_catalogue
from evenrow.errors import InputError, InputErrors
from evenrow.units import UnitSystem
from evenrow.words import tr, tr_count

SYSTEMS: tuple[UnitSystem, ...] = ("us", "metric")
#: The calculator of a document that names none.
DEFAULT_CALCULATOR = "whole-field"
#: Free texts that every document may hold, with their longest length; `catalogue` is name and
#: version of the one that the design was made with.
FREE_TEXTS = {"name": 80, "about": 2000, "catalogue": 420}
#: Problems beyond this are not listed: nobody reads them.
MAX_PROBLEMS = 50


def read(calculator: Calculator, document: Mapping[str, Any]) -> tuple[dict[str, Any], UnitSystem]:
    """Read the inputs of a calculator from a document.

    Parameters
    ----------
    calculator : Calculator
        What is asked for.
    document : mapping
        What a form holds, or a design file.

    Returns
    -------
    (dict, {"us", "metric"})
        Inputs nested by dotted field name: quantities as SI floats (pressure in metres of
        water), counts int, flags bool, tables as lists of dicts, empty optional fields None;
        and the unit system of the document.

    Raises
    ------
    InputErrors
        With one `InputError` per problem, at dotted fields such as ``rows.2.length``.
    """
    try:
        documents.check_shape(document)
        current = documents.upgrade(document)
    except InputError as error:
        raise InputErrors([error]) from None
    problems: list[InputError] = []
    _attempt(problems, lambda: _check_calculator(calculator, current))
    system: UnitSystem = _attempt(problems, lambda: unit_system(current)) or "metric"
    _attempt(problems, lambda: _check_free_texts(current))
    _refuse_unknown(calculator, current, problems)
    inputs: dict[str, Any] = {}
    for field in calculator.fields:
        raw, relevant = _get(current, field.name), matters(field, current, calculator)
        put(inputs, field.name, _value(field, raw, system, relevant, problems))
    if problems:
        raise InputErrors(problems[:MAX_PROBLEMS])
    return inputs, system


def default_document(calculator: Calculator, system: UnitSystem) -> dict[str, Any]:
    """Return the document that a fresh form holds.

    Parameters
    ----------
    calculator : Calculator
        Whose form.
    system : {"us", "metric"}
        Unit system of the values.

    Returns
    -------
    dict
        Document with every default that is not empty; its free texts, such as the names of
        crops, in the language in use.
    """
    document: dict[str, Any] = {
        "evenrow": documents.VERSION,
        "calculator": calculator.id,
        "units": system,
    }
    for field in calculator.fields:
        if field.kind == "table":
            if rows := start_rows(field, system):
                put(document, field.name, rows)
        elif default := field.default_for(system):
            put(document, field.name, default)
    return document


def start_rows(field: Field, system: UnitSystem) -> list[dict[str, str]]:
    """Return the rows that stand in a table field at first, texts in the language in use."""
    rows = (field.rows or {}).get(system, ())
    return [_translated(field, row) for row in rows]


def _translated(field: Field, row: Mapping[str, str]) -> dict[str, str]:
    free = {column.name for column in field.columns if column.kind == "text"}
    return {name: tr(text) if name in free else text for name, text in row.items()}


def _offered(field: Field, value: str) -> str:
    """Return a choice, or what stands in a fresh form where it is not offered."""
    offered = any(choice.value == value for choice in field.choices)
    return value if offered else field.default_for("metric")


def example_document(calculator: Calculator, name: str) -> dict[str, Any]:
    """Return an example of a calculator, its free texts in the language in use.

    A line, soil or crop that the catalogue in use does not have gives way to the one that a
    fresh form holds.
    """
    document = calculator.examples[name]()
    for key in FREE_TEXTS:
        if isinstance(text := document.get(key), str):
            document[key] = tr(text)
    for field in calculator.fields:
        value = _get(document, field.name)
        if field.kind == "text" and isinstance(value, str):
            put(document, field.name, tr(value))
        elif field.choices and isinstance(value, str):
            put(document, field.name, _offered(field, value))
        elif field.kind == "table" and isinstance(value, list):
            put(document, field.name, [_translated(field, row) for row in value])
    return document


def in_order(calculator: Calculator, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a document with its values in the order of the form; nothing is left out."""
    ordered: dict[str, Any] = {}
    for name in ("evenrow", "calculator", "units", *FREE_TEXTS):
        if name in document:
            ordered[name] = document[name]
    for field in calculator.fields:
        value = _get(document, field.name)
        if value is not None and not isinstance(value, _Blocked):
            put(ordered, field.name, value)
    return _completed(ordered, document)


def carried(calculator: Calculator, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a document as it goes out in a link: in order, with the catalogue in use named."""
    return in_order(calculator, {**document, "catalogue": current_catalogue().label})


def _completed(ordered: dict[str, Any], document: Mapping[str, Any]) -> dict[str, Any]:
    """Add what the form does not know, so that nothing typed is lost."""
    for key, value in document.items():
        if key not in ordered:
            ordered[key] = value
        elif isinstance(value, Mapping) and isinstance(ordered[key], dict):
            _completed(ordered[key], value)
    return ordered


def unit_system(document: Mapping[str, Any]) -> UnitSystem:
    """Return the unit system of a document; metric when it names none."""
    value = document.get("units", "metric")
    if value not in SYSTEMS:
        raise InputError(
            tr("that is no system of units"),
            code="not_a_choice",
            field="units",
            given=value,
            accepted=tr("us or metric"),
        )
    return cast(UnitSystem, value)


# --- one value ---------------------------------------------------------------------------


def _attempt(problems: list[InputError], action: Callable[[], Any]) -> Any:
    """Return what `action` returns; a problem is noted and gives None."""
    try:
        return action()
    except InputError as error:
        problems.append(error)
        return None


def matters(field: Field, document: Mapping[str, Any], calculator: Calculator) -> bool:
    """Return whether the choices made in a document leave the field a meaning."""
    if field.only_for is None:
        return True
    name, values = field.only_for
    chosen = _get(document, name)
    if chosen is None:
        choice = next(f for f in calculator.fields if f.name == name)
        chosen = choice.default_for("metric") if choice.assumed else None
    return chosen in values


def _value(
    field: Field, raw: object, system: UnitSystem, relevant: bool, problems: list[InputError]
) -> Any:
    if field.kind == "table":
        return _table(field, raw, system, problems)
    if isinstance(raw, _Blocked):
        problems.append(raw.error())
        return None
    if raw is None and field.assumed:
        raw = field.default_for(system)
    if not relevant:
        # What does not matter for the choices made may stay empty, but not be wrong.
        field = replace(field, required=False)
    return _attempt(problems, lambda: read_value(field, raw, system, field.name))


# --- tables ------------------------------------------------------------------------------


def _table(
    field: Field, raw: object, system: UnitSystem, problems: list[InputError]
) -> list[dict[str, Any]]:
    """Return the rows of a table field; empty rows at the end are taken away."""
    if isinstance(raw, _Blocked):
        problems.append(raw.error())
        return []
    if not (raw is None or raw == "" or isinstance(raw, list)):
        problems.append(wrong_type(field, raw, field.name))
        return []
    if raw is None and field.assumed:
        raw = start_rows(field, system)
    rows = list(raw) if isinstance(raw, list) else []
    while rows and isinstance(rows[-1], dict) and _is_empty(rows[-1]):
        rows.pop()
    fewest, most = field.row_limits
    if not rows and not field.required:
        return []
    if not fewest <= len(rows) <= most:
        problems.append(
            InputError(
                tr_count(
                    len(rows),
                    "{table} has {count} row",
                    "{table} has {count} rows",
                    table=tr(field.label),
                ),
                code="out_of_range" if rows else "missing",
                field=field.name,
                accepted=tr("{fewest} to {most} rows", fewest=fewest, most=most),
            )
        )
        return []
    return [
        _row(field, row, f"{field.name}.{index}", system, problems)
        for index, row in enumerate(rows)
    ]


def _is_empty(row: Mapping[str, Any]) -> bool:
    return all(isinstance(cell, str) and not cell.strip() for cell in row.values())


def _row(
    field: Field, row: object, path: str, system: UnitSystem, problems: list[InputError]
) -> dict[str, Any]:
    if not isinstance(row, dict):
        problems.append(
            InputError(
                tr("a row must be a table of values"),
                code="wrong_type",
                field=path,
                accepted=", ".join(column.name for column in field.columns),
            )
        )
        return {}
    names = [column.name for column in field.columns]
    problems.extend(_unknown(f"{path}.{key}", key, names) for key in row if key not in names)
    values = {}
    for column in field.columns:
        raw, place = row.get(column.name), f"{path}.{column.name}"
        values[column.name] = _cell(column, raw, system, place, problems)
    return values


def _cell(
    column: Field, raw: object, system: UnitSystem, place: str, problems: list[InputError]
) -> Any:
    return _attempt(problems, lambda: read_value(column, raw, system, place))


# --- names and nesting -------------------------------------------------------------------


class _Blocked:
    """Stands where a dotted name leads through something that is no table."""

    def __init__(self, path: str) -> None:
        self.path = path

    def error(self) -> InputError:
        return InputError(
            tr("this must be a table of values"),
            code="wrong_type",
            field=self.path,
            accepted=tr("[{path}] and its values below", path=self.path),
        )


def _get(document: Mapping[str, Any], name: str) -> Any:
    """Return the value at a dotted name; None when there is none."""
    value: Any = document
    walked: list[str] = []
    for part in name.split("."):
        if not isinstance(value, Mapping):
            return _Blocked(".".join(walked))
        if part not in value:
            return None
        value = value[part]
        walked.append(part)
    return value


def put(target: dict[str, Any], name: str, value: Any) -> None:
    """Set the value at a dotted name, making the tables on the way."""
    *way, last = name.split(".")
    for part in way:
        target = target.setdefault(part, {})
    target[last] = value


def _check_free_texts(document: Mapping[str, Any]) -> None:
    for name, longest in FREE_TEXTS.items():
        read_text(document.get(name), name, longest)


def _check_calculator(calculator: Calculator, document: Mapping[str, Any]) -> None:
    name = document.get("calculator", calculator.id)
    if name != calculator.id:
        raise InputError(
            tr("the design is for another calculator"),
            code="wrong_calculator",
            field="calculator",
            given=name,
            accepted=calculator.id,
        )


def _refuse_unknown(
    calculator: Calculator, document: Mapping[str, Any], problems: list[InputError]
) -> None:
    """Note every name that the calculator does not ask for."""
    known = {"evenrow", "calculator", "units", *FREE_TEXTS}
    names = {field.name for field in calculator.fields}
    problems.extend(
        _unknown(path, path, names | known)
        for path in _paths(document, "", names)
        if path not in names and path not in known
    )


def _paths(document: Mapping[str, Any], start: str, fields: set[str]) -> Iterator[str]:
    """Yield the dotted names of a document, going into tables that are no field."""
    for key, value in document.items():
        path = f"{start}{key}"
        inner = f"{path}."
        if isinstance(value, Mapping) and path not in fields:
            if any(name.startswith(inner) for name in fields):
                yield from _paths(value, inner, fields)
                continue
        elif any(name.startswith(inner) for name in fields):
            continue  # reading the fields below it says that it should be a table
        yield path


def _unknown(path: str, key: str, known: Iterable[str]) -> InputError:
    near = nearest(key, known)
    return InputError(
        tr("this name is not known here"),
        code="unknown_key",
        field=path,
        given=key,
        hint=near,
    )
