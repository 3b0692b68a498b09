"""Two values in a sentence about a limit, told so that they differ."""

from __future__ import annotations

from evenrow.units import UnitSystem, format_value
from evenrow.words import tr

#: Digits that are added before words are used, at the most.
MORE_DIGITS = 2


def apart(
    value: float, bound: float, quantity: str, system: UnitSystem, digits: int = 3
) -> tuple[str, str]:
    """Return a value and its bound in words that differ where the values do.

    Parameters
    ----------
    value, bound : float
        SI values.
    quantity, system, digits
        As of `evenrow.units.format_value`.

    Returns
    -------
    tuple of str
        With as many digits as it takes to tell them apart, up to `MORE_DIGITS` more; with none of
        these, the value as just below or just above the bound.
    """
    for more in range(MORE_DIGITS + 1):
        one, other = (
            format_value(each, quantity, system, digits + more) for each in (value, bound)
        )
        if one != other:
            return one, other
    shown = format_value(bound, quantity, system, digits)
    if value == bound:
        return shown, shown
    words = (
        tr("just below {bound}", bound=shown)
        if value < bound
        else tr("just above {bound}", bound=shown)
    )
    return words, shown
