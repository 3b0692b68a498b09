"""Air: pressure, vapour pressure and wind by FAO-56, chapter 3.

Allen, R. G., Pereira, L. S., Raes, D., Smith, M. (1998), Crop evapotranspiration, FAO
Irrigation and Drainage Paper 56; "eq." below is an equation of it. Gaps (NaN) in a series
stay gaps in what is made of it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series

#: Air temperatures beyond these were never measured on Earth [C].
COLDEST, HOTTEST = -90.0, 60.0
#: Elevations of fields, with room on both sides [m].
LOWEST, HIGHEST = -430.0, 6000.0
#: Height at which FAO-56 wants the wind [m].
WIND_HEIGHT = 2.0


def atmospheric_pressure(elevation: ArrayLike) -> FloatArray:
    """Return the mean air pressure at an elevation, eq. 7.

    Parameters
    ----------
    elevation : array_like
        Height above the sea [m], -430 to 6,000, any shape.

    Returns
    -------
    numpy.ndarray
        Pressure [kPa], same shape.

    Raises
    ------
    InputError
        If an elevation is out of range.
    """
    z = series("elevation", elevation, LOWEST, HIGHEST, "m")
    return np.asarray(101.3 * ((293.0 - 0.0065 * z) / 293.0) ** 5.26)


def psychrometric_constant(pressure: ArrayLike) -> FloatArray:
    """Return the psychrometric constant [kPa/C] at an air pressure [kPa], 30 to 120, eq. 8."""
    return np.asarray(0.665e-3 * series("pressure", pressure, 30.0, 120.0, "kPa"))


def saturation_vapour_pressure(temperature: ArrayLike) -> FloatArray:
    """Return the saturation vapour pressure [kPa] at a temperature [C], -90 to 60, eq. 11."""
    return saturation(series("temperature", temperature, COLDEST, HOTTEST, "C"))


def saturation(t: FloatArray) -> FloatArray:
    """Return eq. 11 of checked temperatures [kPa]; only one array is made."""
    out = np.asarray(t + 237.3)  # of one number NumPy makes a scalar, which cannot be written to
    np.divide(t, out, out=out)
    out *= 17.27
    np.exp(out, out=out)
    out *= 0.6108
    return out


def mean_saturation_vapour_pressure(tmax: ArrayLike, tmin: ArrayLike) -> FloatArray:
    """Return the mean of the saturation vapour pressures [kPa] at Tmax and Tmin [C], eq. 12."""
    high = saturation_vapour_pressure(tmax)
    return np.asarray(0.5 * (high + saturation_vapour_pressure(tmin)))


def saturation_slope(temperature: ArrayLike) -> FloatArray:
    """Return the slope of saturation vapour pressure [kPa/C] at a temperature [C], eq. 13."""
    t = series("temperature", temperature, COLDEST, HOTTEST, "C")
    return np.asarray(4098.0 * saturation(t) / (t + 237.3) ** 2)


def vapour_pressure_from_dew_point(dew_point: ArrayLike) -> FloatArray:
    """Return the actual vapour pressure [kPa] at a dew point [C], -90 to 60, eq. 14."""
    return saturation(series("dew_point", dew_point, COLDEST, HOTTEST, "C"))


def vapour_pressure_from_bulbs(
    wet: ArrayLike, dry: ArrayLike, pressure: ArrayLike, coefficient: float = 0.000662
) -> FloatArray:
    """Return the actual vapour pressure from a psychrometer, eq. 15 and 16.

    Parameters
    ----------
    wet, dry : array_like
        Temperatures of the wet and the dry bulb [C].
    pressure : array_like
        Air pressure [kPa].
    coefficient : float
        Of the instrument [1/C]: 0.000662 aspirated at about 5 m/s, 0.000800 naturally
        ventilated at about 1 m/s, 0.001200 indoors without ventilation.

    Returns
    -------
    numpy.ndarray
        Vapour pressure [kPa].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    t = series("dry", dry, COLDEST, HOTTEST, "C")
    w = series("wet", wet, COLDEST, HOTTEST, "C")
    gamma = coefficient * series("pressure", pressure, 30.0, 120.0, "kPa")
    return np.asarray(saturation(w) - gamma * (t - w))


def vapour_pressure_from_humidity(
    tmax: ArrayLike,
    tmin: ArrayLike,
    *,
    rh_max: ArrayLike | None = None,
    rh_min: ArrayLike | None = None,
    rh_mean: ArrayLike | None = None,
) -> FloatArray:
    """Return the actual vapour pressure from relative humidity, the best rule that it allows.

    Parameters
    ----------
    tmax, tmin : array_like
        Highest and lowest air temperature of the day [C].
    rh_max, rh_min, rh_mean : array_like, optional
        Highest, lowest and mean relative humidity of the day [-], 0 to 1. Highest and lowest
        together go by eq. 17, the highest alone by eq. 18, the mean by eq. 19.

    Returns
    -------
    numpy.ndarray
        Vapour pressure [kPa].

    Raises
    ------
    InputError
        If a value is out of range, or neither `rh_max` nor `rh_mean` is given.
    """
    cold = saturation_vapour_pressure(tmin)
    if rh_max is not None:
        high = series("rh_max", rh_max, 0.0, 1.0)
        if rh_min is None:
            return np.asarray(cold * high)
        low = series("rh_min", rh_min, 0.0, 1.0)
        return np.asarray(0.5 * (cold * high + saturation_vapour_pressure(tmax) * low))
    mean = series("rh_mean", np.nan if rh_mean is None else rh_mean, 0.0, 1.0)
    return np.asarray(0.5 * (cold + saturation_vapour_pressure(tmax)) * mean)


def vapour_pressure_from_tmin(tmin: ArrayLike, depression: float = 0.0) -> FloatArray:
    """Return the actual vapour pressure where no humidity was measured, eq. 48.

    Parameters
    ----------
    tmin : array_like
        Lowest air temperature of the day [C].
    depression : float
        How far the dew point lies below it [C]: 0 where the ground is well watered, 2 to 3 in
        arid places (FAO-56, chapter 3, missing humidity data).

    Returns
    -------
    numpy.ndarray
        Vapour pressure [kPa].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    t = series("tmin", tmin, COLDEST, HOTTEST, "C")
    drop = series("depression", depression, 0.0, 20.0, "C")
    return saturation(np.asarray(t - drop))


def wind_at_two_metres(speed: ArrayLike, height: ArrayLike) -> FloatArray:
    """Return the wind speed at 2 m above grass, eq. 47.

    Parameters
    ----------
    speed : array_like
        Measured speed [m/s], at least 0.
    height : array_like
        Height of the instrument above the ground [m], 0.5 to 200.

    Returns
    -------
    numpy.ndarray
        Speed at 2 m [m/s]; exactly the measured one if it was measured at 2 m.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    u = series("wind", speed, 0.0, 120.0, "m/s")
    z = series("wind_height", height, 0.5, 200.0, "m")
    factor = np.where(z == WIND_HEIGHT, 1.0, 4.87 / np.log(67.8 * z - 5.42))
    return np.asarray(u * factor)
