"""Water in the root zone: how much it holds, how much is easily had, and want of it.

"eq." and "table" below are those of FAO-56 (Allen et al. 1998), chapter 8. Water is a depth
over the ground [m].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series, together
from evenrow.errors import InputError

#: Bounds of the depletion fraction, note under table 22.
LEAST_P, LARGEST_P = 0.1, 0.8


def total_available(
    field_capacity: ArrayLike,
    wilting_point: ArrayLike,
    root_depth: ArrayLike,
    wetted_share: ArrayLike = 1.0,
) -> FloatArray:
    """Return the water that the root zone holds for plants, TAW, eq. 82.

    Parameters
    ----------
    field_capacity, wilting_point : array_like
        Water content of the soil [m3/m3], 0 to 0.8, the first not below the second.
    root_depth : array_like
        Depth of the roots [m], 0 to 10.
    wetted_share : array_like
        Share of the root zone that the emitters wet [-], 0 to 1. The rest is not counted.

    Returns
    -------
    numpy.ndarray
        TAW [m] over the whole ground.

    Raises
    ------
    InputError
        If a value is out of range, or wilting point is above field capacity.
    """
    high = series("field_capacity", field_capacity, 0.0, 0.8, "m3/m3")
    low = series("wilting_point", wilting_point, 0.0, 0.8, "m3/m3")
    depth = series("root_depth", root_depth, 0.0, 10.0, "m")
    share = series("wetted_share", wetted_share, 0.0, 1.0)
    together(field_capacity=high, wilting_point=low, root_depth=depth, wetted_share=share)
    between = np.asarray(high - low)
    if bool((between < 0.0).any()):
        raise InputError(
            "lies above field capacity",
            code="out_of_range",
            field="wilting_point",
            given=float(low.max()),
            accepted="at most the field capacity",
        )
    return np.asarray(between * depth * share)


def root_depth(
    day: ArrayLike, first: float, full: float, day_full: float, day_first: float = 1.0
) -> FloatArray:
    """Return the depth of roots that grow evenly until they are full grown.

    Parameters
    ----------
    day : array_like
        Day of the season.
    first, full : float
        Depth on `day_first` and from `day_full` on [m], above 0, at most 10.
    day_full, day_first : float
        Day of the season on which they are full grown (the begin of the middle stage), and
        begin to grow.

    Returns
    -------
    numpy.ndarray
        Depth [m]. Straight between the two, as FAO-56, eq. 8-1 of annex 8, does with the
        coefficient in place of the day.

    Raises
    ------
    InputError
        If a value is out of range or `day_full` is not after `day_first`.
    """
    start, end = (
        float(series(name, value, 1e-3, 10.0, "m"))
        for name, value in (("first", first), ("full", full))
    )
    if not day_full > day_first:
        raise InputError(
            "must be after the first day",
            code="out_of_range",
            field="day_full",
            given=day_full,
            accepted=f"more than {day_first:g}",
        )
    return np.asarray(np.interp(series("day", day), [day_first, day_full], [start, end]))


def depletion_fraction(p: ArrayLike, etc: ArrayLike) -> FloatArray:
    """Return the share of TAW that may be used without stress, note under table 22.

    Parameters
    ----------
    p : array_like
        Of table 22, for 5 mm/day [-], 0 to 1.
    etc : array_like
        Evapotranspiration of the crop [m/day], 0 to 0.05.

    Returns
    -------
    numpy.ndarray
        p + 0.04 (5 - ETc in mm/day), kept between 0.1 and 0.8.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    table = series("p", p, 0.0, 1.0)
    use = series("etc", etc, 0.0, 0.05, "m/day")
    return np.asarray(np.clip(table + 0.04 * (5.0 - 1000.0 * use), LEAST_P, LARGEST_P))


def readily_available(taw: ArrayLike, p: ArrayLike) -> FloatArray:
    """Return the water had without stress, RAW [m], of TAW [m] and a fraction p [-], eq. 83."""
    return np.asarray(series("taw", taw, 0.0, 10.0, "m") * series("p", p, 0.0, 1.0))


def stress_coefficient(depletion: ArrayLike, taw: ArrayLike, p: ArrayLike) -> FloatArray:
    """Return by how much want of water reduces the evapotranspiration, Ks, eq. 84.

    Parameters
    ----------
    depletion : array_like
        Water gone from the root zone [m]; below 0 counts as 0, above TAW as TAW.
    taw : array_like
        Water that the root zone holds [m], at least 0.
    p : array_like
        Share of it that may be used without stress [-], 0 to 1.

    Returns
    -------
    numpy.ndarray
        Ks [-]: 1 down to p TAW, then falling evenly to 0 at TAW; 0 where a root zone holds
        nothing.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    gone = series("depletion", depletion, unit="m")
    held = series("taw", taw, 0.0, 10.0, "m")
    share = series("p", p, 0.0, 1.0)
    together(depletion=gone, taw=held, p=share)
    return stress(gone, held, share)


def stress(gone: FloatArray, held: FloatArray, share: FloatArray) -> FloatArray:
    """Return `stress_coefficient` of arrays that have been checked."""
    room = np.maximum((1.0 - share) * held, 1e-12)
    return np.asarray(np.clip((held - gone) / room, 0.0, 1.0))
