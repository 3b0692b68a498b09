"""Checks of series in which days may be missing (NaN), and of shapes that go together."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import InputError
from evenrow.hydraulics._check import array

FloatArray = NDArray[np.float64]


def series(
    name: str, value: ArrayLike, low: float = -math.inf, high: float = math.inf, unit: str = ""
) -> FloatArray:
    """Return `value` as a float array whose numbers lie in range; NaN marks a gap.

    Parameters
    ----------
    name : str
        Name of the argument, for the error.
    value : array_like
        Numbers of any shape, not empty; NaN where nothing was measured.
    low, high : float
        Least and largest number accepted.
    unit : str
        Unit for the error.

    Returns
    -------
    numpy.ndarray
        The numbers, same shape.

    Raises
    ------
    InputError
        If something is not a number, infinite or out of range; it tells the first position.
    """
    tail = f" {unit}" if unit else ""
    if low == -math.inf and high == math.inf:
        accepted = f"finite numbers{tail}, or NaN for a gap"
    elif high == math.inf:
        accepted = f"at least {low:g}{tail}, or NaN for a gap"
    else:
        accepted = f"{low:g} to {high:g}{tail}, or NaN for a gap"
    try:
        got: FloatArray = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(
            "must be numbers", code="not_a_number", field=name, given=value, accepted=accepted
        ) from None
    if got.size == 0:
        raise InputError(
            "must not be empty", code="empty", field=name, accepted="at least one number"
        )
    # fmin and fmax pass over NaN without the warning of nanmin on a series of gaps alone.
    least, largest = float(np.fmin.reduce(got, axis=None)), float(np.fmax.reduce(got, axis=None))
    if least < low or largest > high or math.isinf(least) or math.isinf(largest):
        wrong = (got < low) | (got > high) | np.isinf(got)
        place = int(np.argmax(wrong))
        raise InputError(
            f"is out of range at position {place}",
            code="out_of_range",
            field=name,
            given=float(got.flat[place]),
            accepted=accepted,
        )
    return got


def together(**named: FloatArray) -> tuple[int, ...]:
    """Return the shape that the named arrays broadcast to.

    Raises
    ------
    InputError
        Code ``length`` if they do not fit together; it names the first that does not.
    """
    shape: tuple[int, ...] = ()
    for name, values in named.items():
        try:
            shape = np.broadcast_shapes(shape, values.shape)
        except ValueError:
            raise InputError(
                "does not fit the series before it",
                code="length",
                field=name,
                given=values.shape,
                accepted=f"one number, or shape {shape}",
            ) from None
    return shape


def spread(name: str, value: ArrayLike, like: FloatArray, high: float) -> FloatArray:
    """Return finite numbers from 0 to `high` in the shape of `like`, or raise `InputError`."""
    got = array(name, value, 0.0, high)
    try:
        return np.broadcast_to(got, like.shape)
    except ValueError:
        raise InputError(
            "does not fit the days",
            code="length",
            field=name,
            given=got.shape,
            accepted=f"one number, or shape {like.shape}",
        ) from None
