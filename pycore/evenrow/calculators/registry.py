"""All calculators, in the order of the menu, and the way from a document to an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from evenrow import documents
from evenrow.calculators import (
    field_check,
    line_choice,
    options,
    parts_list,
    run_length,
    source_flow,
    upkeep,
    water_filter,
    watering_time,
    whole_field,
    zones,
)
from evenrow.calculators.reading import DEFAULT_CALCULATOR, read
from evenrow.calculators.reading_value import nearest
from evenrow.calculators.result import Notice, Result
from evenrow.calculators.spec import Calculator
from evenrow.catalogue import current as current_catalogue
from evenrow.errors import InputError, InputErrors
from evenrow.units import UnitSystem
from evenrow.words import tr

_MENU = (
    source_flow,
    line_choice,
    run_length,
    zones,
    parts_list,
    whole_field,
    options,
    watering_time,
    water_filter,
    field_check,
    upkeep,
)

#: Every calculator by its id, in the order of the menu.
CALCULATORS: Mapping[str, Calculator] = MappingProxyType(
    {module.CALCULATOR.id: module.CALCULATOR for module in _MENU}
)


def calculator_of(document: Mapping[str, Any]) -> Calculator:
    """Return the calculator that a document is for; the whole field when it names none.

    Raises
    ------
    InputErrors
        When there is no such calculator.
    """
    name = document.get("calculator", DEFAULT_CALCULATOR)
    if isinstance(name, str) and name in CALCULATORS:
        return CALCULATORS[name]
    raise InputErrors(
        [
            InputError(
                tr("there is no such calculator"),
                code="unknown_calculator",
                field="calculator",
                given=name,
                accepted=", ".join(CALCULATORS),
                hint=nearest(name, CALCULATORS) if isinstance(name, str) else "",
            )
        ]
    )


def answer(document: Mapping[str, Any]) -> tuple[Calculator, Result, UnitSystem]:
    """Work out what a document asks.

    Parameters
    ----------
    document : mapping
        What a form holds, or a design file.

    Returns
    -------
    (Calculator, Result, {"us", "metric"})
        The calculator it was for, its answer, and the unit system to show it in.

    Raises
    ------
    InputErrors
        With every value that cannot be read.
    InputError
        When values that are sound by themselves do not go together.
    ImpossibleError
        When the input is sound and nothing that works exists.
    """
    try:
        documents.check_shape(document)
        current = documents.upgrade(document)
    except InputError as error:
        raise InputErrors([error]) from None
    calculator = calculator_of(current)
    inputs, system = read(calculator, current)
    result = calculator.run(inputs, system)
    if other := _other_catalogue(current):
        result = replace(result, notices=(other, *result.notices))
    return calculator, result, system


def _other_catalogue(document: Mapping[str, Any]) -> Notice | None:
    """Return what to mind of a document that was made with another catalogue than is in use."""
    made, ours = str(document.get("catalogue") or "").strip(), current_catalogue().label
    if not made or made == ours:
        return None
    text = tr(
        "This was made with the catalogue “{made}”; here it is worked out with “{ours}”: lines, "
        "parts and prices may differ.",
        made=made,
        ours=ours,
    )
    return Notice(level="warning", text=text)
