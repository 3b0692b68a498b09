"""Checks of arguments shared by the hydraulics; every failure names its argument."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import InputError

FloatArray = NDArray[np.float64]


def number(
    name: str,
    value: Any,
    low: float = -math.inf,
    high: float = math.inf,
    *,
    open_low: bool = False,
    unit: str = "",
) -> float:
    """Return `value` as a finite float between `low` and `high`, or raise `InputError`."""
    try:
        got = float(value)
    except (TypeError, ValueError):
        got = math.nan
    accepted = _accepted(low, high, open_low, unit)
    if not math.isfinite(got):
        raise InputError(
            "must be a finite number",
            code="not_a_number",
            field=name,
            given=value,
            accepted=accepted,
        )
    if got < low or got > high or (open_low and got <= low):
        raise InputError(
            "is out of range", code="out_of_range", field=name, given=value, accepted=accepted
        )
    return got


def whole(name: str, value: Any, low: int, high: int) -> int:
    """Return `value` as an int between `low` and `high`, or raise `InputError`."""
    got = number(name, value, low, high)
    if got != int(got):
        raise InputError(
            "must be a whole number",
            code="not_whole",
            field=name,
            given=value,
            accepted=_accepted(low, high, False, ""),
        )
    return int(got)


def array(
    name: str,
    value: ArrayLike,
    low: float = -math.inf,
    high: float = math.inf,
    *,
    open_low: bool = False,
    unit: str = "",
) -> FloatArray:
    """Return `value` as a float array of finite numbers in range, or raise `InputError`."""
    try:
        got: FloatArray = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(
            "must be numbers",
            code="not_a_number",
            field=name,
            given=value,
            accepted=_accepted(low, high, open_low, unit),
        ) from None
    if got.size == 0:
        raise InputError(
            "must not be empty", code="empty", field=name, accepted="at least one number"
        )
    smallest, largest = float(got.min()), float(got.max())  # NaN spreads through both
    if not (math.isfinite(smallest) and math.isfinite(largest)):
        raise InputError(
            "must be finite numbers",
            code="not_a_number",
            field=name,
            accepted=_accepted(low, high, open_low, unit),
        )
    if smallest < low or largest > high or (open_low and smallest <= low):
        worst = smallest if smallest < low or (open_low and smallest <= low) else largest
        raise InputError(
            "is out of range",
            code="out_of_range",
            field=name,
            given=worst,
            accepted=_accepted(low, high, open_low, unit),
        )
    return got


def _accepted(low: float, high: float, open_low: bool, unit: str) -> str:
    """Say in words what range is accepted."""
    tail = f" {unit}" if unit else ""
    if low == -math.inf and high == math.inf:
        return f"a finite number{tail}"
    if high == math.inf:
        return f"{'more than' if open_low else 'at least'} {low:g}{tail}"
    if low == -math.inf:
        return f"at most {high:g}{tail}"
    return f"{'more than ' if open_low else ''}{low:g} to {high:g}{tail}"
