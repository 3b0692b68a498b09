"""Salt: what it costs in yield and water use, and what water must pass to wash it down.

Electrical conductivity is in dS/m at 25 C: of the irrigation water (ECw), and of the
saturated extract of the soil (ECe).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series, together
from evenrow.errors import InputError
from evenrow.words import tr

#: Largest share of the water that is ever meant to pass the roots.
MAX_LEACHING = 0.9


def relative_yield(ece: ArrayLike, threshold: ArrayLike, slope: ArrayLike) -> FloatArray:
    """Return the share of the full yield that a salty soil leaves.

    Parameters
    ----------
    ece : array_like
        Mean salinity of the root zone [dS/m], 0 to 100.
    threshold : array_like
        Salinity up to which nothing is lost [dS/m], 0 to 50.
    slope : array_like
        Share of the yield lost for each dS/m above [-], 0 to 1: 0.099 for 9.9 %.

    Returns
    -------
    numpy.ndarray
        Relative yield [-], 0 to 1.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.

    Notes
    -----
    Maas, E. V., Hoffman, G. J. (1977), J. Irrig. Drain. Div. ASCE 103(2), 115-134; FAO-56,
    eq. 89.
    """
    salt = series("ece", ece, 0.0, 100.0, "dS/m")
    start = series("threshold", threshold, 0.0, 50.0, "dS/m")
    loss = series("slope", slope, 0.0, 1.0)
    together(ece=salt, threshold=start, slope=loss)
    return np.asarray(np.clip(1.0 - loss * (salt - start), 0.0, 1.0))


def salt_stress(
    ece: ArrayLike, threshold: ArrayLike, slope: ArrayLike, yield_response: ArrayLike = 1.0
) -> FloatArray:
    """Return by how much salt reduces the evapotranspiration, Ks, FAO-56, eq. 90.

    Parameters
    ----------
    ece, threshold, slope : array_like
        As in `relative_yield`.
    yield_response : array_like
        Ky, table 24 of FAO-56 [-], 0.1 to 3; 1 where it is not known.

    Returns
    -------
    numpy.ndarray
        Ks [-], 0 to 1. With want of water both factors are multiplied (eq. 92).

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    ky = series("yield_response", yield_response, 0.1, 3.0)
    lost = 1.0 - relative_yield(ece, threshold, slope)
    return np.asarray(np.clip(1.0 - lost / ky, 0.0, 1.0))


def zero_yield_salinity(threshold: ArrayLike, slope: ArrayLike) -> FloatArray:
    """Return the salinity that leaves no yield, "max ECe" [dS/m]: threshold + 1 / slope."""
    start = series("threshold", threshold, 0.0, 50.0, "dS/m")
    return np.asarray(start + 1.0 / series("slope", slope, 1e-3, 1.0))


def leaching_for_drip(ecw: ArrayLike, max_ece: ArrayLike) -> FloatArray:
    """Return the leaching requirement under frequent watering.

    Parameters
    ----------
    ecw : array_like
        Salinity of the irrigation water [dS/m], 0 to 50.
    max_ece : array_like
        Salinity of the soil that leaves no yield [dS/m], see `zero_yield_salinity`.

    Returns
    -------
    numpy.ndarray
        Share of the water applied that must pass the roots [-]: ECw / (2 max ECe).

    Raises
    ------
    InputError
        If a value is out of range, or the water is too salty for the crop (a share above
        0.9).

    Notes
    -----
    Keller, J., Bliesner, R. D. (1990), Sprinkle and Trickle Irrigation, ch. 19 (from memory).
    """
    water = series("ecw", ecw, 0.0, 50.0, "dS/m")
    soil = series("max_ece", max_ece, 0.1, 200.0, "dS/m")
    return _possible(np.asarray(water / (2.0 * soil)), water)


def leaching_for_surface(ecw: ArrayLike, ece: ArrayLike) -> FloatArray:
    """Return the leaching requirement under seldom, deep watering.

    Parameters
    ----------
    ecw : array_like
        Salinity of the irrigation water [dS/m].
    ece : array_like
        Salinity of the soil that the crop bears [dS/m]: its threshold, or that of a loss
        one accepts.

    Returns
    -------
    numpy.ndarray
        Share of the water applied that must pass the roots [-]: ECw / (5 ECe - ECw).

    Raises
    ------
    InputError
        If a value is out of range, or the water is too salty for the crop.

    Notes
    -----
    Rhoades (1974), in Ayers and Westcot (1985), FAO Irrigation and Drainage Paper 29 rev. 1,
    eq. 9 (from memory).
    """
    water = series("ecw", ecw, 0.0, 50.0, "dS/m")
    soil = series("ece", ece, 0.1, 50.0, "dS/m")
    rest = np.maximum(5.0 * soil - water, 1e-9)
    return _possible(np.asarray(water / rest), water)


def _possible(share: FloatArray, water: FloatArray) -> FloatArray:
    """Return the shares, or raise if more would have to pass than can be applied."""
    if bool((share > MAX_LEACHING).any()):
        raise InputError(
            tr("is too salty for this crop: almost all of it would have to pass the roots"),
            code="out_of_range",
            field="ecw",
            given=float(np.nanmax(water)),
            accepted=tr("water whose leaching requirement is at most 0.9"),
            hint=tr("a crop that bears more salt, or other water mixed in"),
        )
    return share
