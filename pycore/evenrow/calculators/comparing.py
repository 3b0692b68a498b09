"""Two designs of one calculator side by side: what differs in them, and what comes of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from evenrow import units
from evenrow.calculators.data import shown
from evenrow.calculators.reading import matters
from evenrow.calculators.reading_value import read_value
from evenrow.calculators.registry import answer, calculator_of
from evenrow.calculators.result import Fact, Number, Result
from evenrow.calculators.spec import Calculator, Field
from evenrow.errors import EvenrowError, InputError, InputErrors
from evenrow.units import UnitSystem
from evenrow.words import tr

#: Reasons why a design has no answer that are told; the page of the calculator tells all.
MOST_REASONS = 3
#: Stands where one of the two has nothing.
NOTHING = units.DASH


def compare(
    left: Mapping[str, Any], right: Mapping[str, Any], system: UnitSystem
) -> dict[str, Any]:
    """Compare two documents of the same calculator.

    Parameters
    ----------
    left, right : mapping
        Documents, as forms or design files hold them.
    system : {"us", "metric"}
        Unit system of the results; what was typed stays as it was typed.

    Returns
    -------
    dict
        Plain data: ``title`` of the calculator; ``inputs``, those that differ, each with
        ``label``, ``left`` and ``right`` as texts; ``results``, each with ``name``, ``label``,
        ``kind`` ("text" for a fact), ``left``, ``right`` and ``difference`` (right less left, ""
        where there is none) as texts; ``problems`` with ``left`` and ``right``, why that side has
        no answer, or "".

    Raises
    ------
    InputError
        When the two are for different calculators.
    """
    calculator, other = calculator_of(left), calculator_of(right)
    if calculator is not other:
        raise InputError(
            tr("the two designs are for different calculators"),
            code="wrong_calculator",
            field="calculator",
            given=other.id,
            accepted=calculator.id,
        )
    answers = [_answered({**document, "units": system}) for document in (left, right)]
    return {
        "title": tr(calculator.title),
        "inputs": list(_inputs(calculator, left, right, system)),
        "results": _results(answers[0][0], answers[1][0], system),
        "problems": {"left": answers[0][1], "right": answers[1][1]},
    }


# --- inputs ------------------------------------------------------------------------------


def _at(document: Mapping[str, Any], name: str) -> Any:
    value: Any = document
    for part in name.split("."):
        value = value.get(part) if isinstance(value, Mapping) else None
    return value


def _inputs(
    calculator: Calculator, left: Mapping[str, Any], right: Mapping[str, Any], system: UnitSystem
) -> Iterator[dict[str, str]]:
    for field in calculator.fields:
        if not any(matters(field, document, calculator) for document in (left, right)):
            continue
        here, there = _at(left, field.name), _at(right, field.name)
        if field.kind == "table":
            yield from _rows(field, _table(here), _table(there), system)
        elif not _same(field, here, there, system):
            yield {
                "label": tr(field.label),
                "left": _words(field, here, system),
                "right": _words(field, there, system),
            }


def _table(value: object) -> list[Mapping[str, Any]]:
    rows = value if isinstance(value, list) else []
    return [row for row in rows if isinstance(row, Mapping)]


def _rows(
    field: Field,
    left: list[Mapping[str, Any]],
    right: list[Mapping[str, Any]],
    system: UnitSystem,
) -> Iterator[dict[str, str]]:
    # The label may go on after a comma to explain itself.
    title = tr(field.label).partition(",")[0]
    for index in range(max(len(left), len(right))):
        here, there = (rows[index] if index < len(rows) else {} for rows in (left, right))
        for column in field.columns:
            a, b = here.get(column.name), there.get(column.name)
            if not _same(column, a, b, system):
                yield {
                    "label": f"{title} {index + 1}: {tr(column.label)}",
                    "left": _words(column, a, system) if here else NOTHING,
                    "right": _words(column, b, system) if there else NOTHING,
                }


def _same(field: Field, left: object, right: object, system: UnitSystem) -> bool:
    """Return whether two texts mean the same: 62 ft and 18.8976 m do."""
    if left == right:
        return True
    try:
        values = [read_value(field, each, system, field.name) for each in (left, right)]
    except InputError:
        return False
    if all(isinstance(value, float) for value in values):
        return bool(abs(values[0] - values[1]) <= 1e-9 * max(abs(values[0]), abs(values[1])))
    return bool(values[0] == values[1])


def _words(field: Field, value: object, system: UnitSystem) -> str:
    """Return what was typed as people read it; the default where leaving it out means that."""
    if value is None and field.assumed:
        value = field.default_for(system)
    if value is None or value == "":
        return NOTHING
    if isinstance(value, bool):
        return tr("yes") if value else tr("no")
    labels = {choice.value: choice.label for choice in field.choices}
    text = str(value)
    return tr(labels[text]) if text in labels else text


# --- results -----------------------------------------------------------------------------


def _answered(document: Mapping[str, Any]) -> tuple[Result | None, str]:
    """Return the answer to a document, or why there is none."""
    try:
        return answer(document)[1], ""
    except InputErrors as problems:
        told = [_reason(error) for error in problems.errors[:MOST_REASONS]]
        more = len(problems.errors) - len(told)
        return None, "; ".join([*told, *([tr("and {more} more", more=more)] if more else [])])
    except EvenrowError as error:
        return None, _reason(error)


def _reason(error: EvenrowError) -> str:
    return error.message


def _items(result: Result | None) -> dict[str, Number | Fact]:
    if result is None:
        return {}
    found = [item for section in result.sections for item in section.items]
    items = [item for item in (result.headline, *found) if isinstance(item, Number | Fact)]
    return {item.name: item for item in items}


def _results(left: Result | None, right: Result | None, system: UnitSystem) -> list[dict[str, str]]:
    """Return every number and fact that either has, in the order of the answer."""
    pair = _items(left), _items(right)
    return [
        _result(name, pair[0].get(name), pair[1].get(name), system)
        for name in dict.fromkeys([*pair[0], *pair[1]])
    ]


def _result(
    name: str, left: Number | Fact | None, right: Number | Fact | None, system: UnitSystem
) -> dict[str, str]:
    known = left or right
    assert known is not None  # the name came from one of them
    return {
        "name": name,
        "label": known.label,
        "kind": known.kind if isinstance(known, Number) else "text",
        "left": _shown(left, system),
        "right": _shown(right, system),
        "difference": _difference(left, right, system),
    }


def _shown(item: Number | Fact | None, system: UnitSystem) -> str:
    if item is None:
        return NOTHING
    if isinstance(item, Fact):
        return item.text
    return shown(item.value, item.kind, system, item.digits)


def _difference(left: Number | Fact | None, right: Number | Fact | None, system: UnitSystem) -> str:
    if not (isinstance(left, Number) and isinstance(right, Number)):
        return ""
    if left.value is None or right.value is None or left.kind != right.kind:
        return ""
    change = right.value - left.value
    if abs(change) <= 1e-9 * max(abs(left.value), abs(right.value)):
        return tr("the same")
    text = shown(abs(change), left.kind, system, min(left.digits, right.digits))
    if left.kind == "share":
        # A difference of shares must not be read as a share of one of them.
        text = text.replace("%", tr("percentage points"))
    return f"{'+' if change > 0 else '−'}{text}"
