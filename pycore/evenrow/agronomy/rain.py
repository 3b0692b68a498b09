"""Rain that helps: by the day and by the month."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series, together

#: Largest rain of a day and of a month that is no slip of the finger [m].
MOST_DAY, MOST_MONTH = 2.0, 10.0


def effective_rain_daily(rain: ArrayLike, eto: ArrayLike, *, runoff: ArrayLike = 0.0) -> FloatArray:
    """Return the rain of days that reaches the roots.

    Parameters
    ----------
    rain : array_like
        Rain of the day [m], 0 to 2.
    eto : array_like
        Reference evapotranspiration of the day [m/day].
    runoff : array_like
        Share that runs off [-], 0 to 1.

    Returns
    -------
    numpy.ndarray
        Rain less runoff [m]; 0 where the rain is at most a fifth of ETo, because that much
        dries where it fell (FAO-56, chapter 8). What percolates is told by the balance.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    fell = series("rain", rain, 0.0, MOST_DAY, "m")
    use = series("eto", eto, 0.0, 0.05, "m/day")
    lost = series("runoff", runoff, 0.0, 1.0)
    together(rain=fell, eto=use, runoff=lost)
    return np.asarray(np.where(fell <= 0.2 * use, 0.0 * fell, fell * (1.0 - lost)))


def effective_rain_monthly(rain: ArrayLike) -> FloatArray:
    """Return the part of a month's rain that a crop uses, by the USDA's simple rule.

    Parameters
    ----------
    rain : array_like
        Rain of the month [m], 0 to 10.

    Returns
    -------
    numpy.ndarray
        With the rain P in mm: P (125 - 0.2 P) / 125 up to 250 mm, 125 + 0.1 P above [m].

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    USDA Soil Conservation Service, as in FAO Irrigation and Drainage Paper 46 (from memory); read
    in the R package FAO56 1.0, whose function EffPrec is the same.
    """
    p = 1000.0 * series("rain", rain, 0.0, MOST_MONTH, "m")
    return np.asarray(np.where(p <= 250.0, p * (125.0 - 0.2 * p) / 125.0, 125.0 + 0.1 * p) / 1000.0)
