"""Where an answer goes on: links to other calculators that take values of it along."""

from __future__ import annotations

import json

from evenrow.calculators.html_form import escaped
from evenrow.calculators.result import Number, Result
from evenrow.calculators.spec import Calculator
from evenrow.units import UnitSystem, format_value

#: Significant digits that are taken along: more than people need, and still fit to be read.
DIGITS = 5


def carried_numbers(result: Result) -> dict[str, Number]:
    """Return the numbers of an answer by name; those without a value are left out."""
    found = [item for section in result.sections for item in section.items]
    numbers = [item for item in (result.headline, *found) if isinstance(item, Number)]
    return {number.name: number for number in numbers if number.value is not None}


def carry_html(calculator: Calculator, result: Result, system: UnitSystem) -> str:
    """Return the links that take an answer to other calculators.

    Parameters
    ----------
    calculator : Calculator
        Whose answer it is.
    result : Result
        The answer.
    system : {"us", "metric"}
        Units in which numbers are written.

    Returns
    -------
    str
        A ``<nav>``; "" when nothing goes on from here. Without scripts the links only lead to
        the other pages. With them ``data-numbers`` (texts by field of the other) and
        ``data-inputs`` (fields of the other by field of this one), both JSON, go along.
    """
    numbers = carried_numbers(result)
    links = []
    for carry in calculator.carries:
        taken = {
            field: format_value(number.value, number.kind, system, DIGITS)
            for name, field in carry.numbers.items()
            if (number := numbers.get(name)) is not None
        }
        links.append(
            f'<a class="er-button er-carry" href="../{escaped(carry.to)}/" '
            f'data-to="{escaped(carry.to)}" data-numbers="{escaped(json.dumps(taken))}" '
            f'data-inputs="{escaped(json.dumps(dict(carry.inputs)))}">'
            f"{escaped(carry.label)}</a>"
        )
    if not links:
        return ""
    return (
        '<nav class="er-carries" aria-label="Use this in">'
        f'<p class="er-carries-title">Use this in</p>{"".join(links)}</nav>'
    )
