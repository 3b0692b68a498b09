"""Measurements and the rules that stand in for them, and a count of which gave what."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy import atmosphere
from evenrow.agronomy._series import FloatArray, series
from evenrow.agronomy.atmosphere import COLDEST, HOTTEST
from evenrow.errors import InputError
from evenrow.words import tr


class Way(NamedTuple):
    """A way to a quantity: in words, how to work it out, whether it stands in for measurements."""

    how: str
    make: Callable[[], FloatArray]
    assumed: bool = False


#: Ways to one quantity, the best first.
Ways = list[Way]


@dataclass(frozen=True)
class Rule:
    """How a quantity was had.

    Parameters
    ----------
    quantity : str
        ``"vapour_pressure"``, ``"solar"`` or ``"wind"``.
    how : str
        The rule in words, with its equation, in the language in use.
    count : int
        Values that it gave.
    assumed : bool
        Whether the values stand in for measurements.
    """

    quantity: str
    how: str
    count: int
    assumed: bool


def humidity_ways(
    vapour_pressure: ArrayLike | None,
    dew_point: ArrayLike | None,
    rh_max: ArrayLike | None,
    rh_min: ArrayLike | None,
    rh_mean: ArrayLike | None,
    warm: FloatArray,
    cold: FloatArray,
) -> Ways:
    """Return the ways to a vapour pressure that the measurements open, the best first."""
    ways: Ways = []
    if vapour_pressure is not None:
        given = series("vapour_pressure", vapour_pressure, 0.0, 20.0, "kPa")
        ways.append(Way(tr("measured"), lambda: given))
    if dew_point is not None:
        dew = series("dew_point", dew_point, COLDEST, HOTTEST, "C")
        ways.append(
            Way(tr("measured dew point (FAO-56 eq. 14)"), lambda: atmosphere.saturation(dew))
        )
    if rh_max is not None:
        wet = series("rh_max", rh_max, 0.0, 1.0)
        if rh_min is not None:
            dry = series("rh_min", rh_min, 0.0, 1.0)
            ways.append(
                Way(
                    tr("measured highest and lowest humidity (FAO-56 eq. 17)"),
                    lambda: np.asarray(0.5 * (cold * wet + warm * dry)),
                )
            )
        ways.append(
            Way(tr("measured highest humidity (FAO-56 eq. 18)"), lambda: np.asarray(cold * wet)),
        )
    if rh_mean is not None:
        middle = series("rh_mean", rh_mean, 0.0, 1.0)
        ways.append(
            Way(
                tr("measured mean humidity (FAO-56 eq. 19)"),
                lambda: np.asarray(0.5 * (warm + cold) * middle),
            )
        )
    return ways


def fits(quantity: str, found: FloatArray, shape: tuple[int, ...]) -> None:
    """Raise `InputError` unless the values broadcast to the shape of the temperatures."""
    try:
        fits = np.broadcast_shapes(shape, found.shape) == shape
    except ValueError:
        fits = False
    if not fits:
        raise InputError(
            "does not fit the days and temperatures",
            code="length",
            field=quantity,
            given=found.shape,
            accepted=f"one number, or shape {shape}",
        )


def first_known(
    quantity: str, shape: tuple[int, ...], ways: Ways
) -> tuple[FloatArray, tuple[Rule, ...]]:
    """Return for each value what the first way that has it gives, and how often which did."""
    total = math.prod(shape)
    values = np.array(np.nan)
    left = total
    rules: list[Rule] = []
    for way in ways:
        found = way.make()
        fits(quantity, found, shape)
        if rules:
            found = np.where(np.isnan(values), found, values)
        gaps = int(np.count_nonzero(np.isnan(found))) * (total // found.size)
        if gaps < left:
            rules.append(Rule(quantity, way.how, left - gaps, way.assumed))
            left = gaps
        values = found
        if left == 0:
            break
    return values, tuple(rules)
