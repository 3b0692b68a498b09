"""Sun and sky: extraterrestrial, solar and net radiation by FAO-56, chapter 3.

"eq." below is an equation of FAO-56 (Allen et al. 1998). Radiation is energy per area and
day [MJ/m2/day]; the day of the year counts from 1 to 366.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series
from evenrow.errors import InputError
from evenrow.hydraulics._check import array

#: Reflected share of the reference grass, eq. 38.
ALBEDO = 0.23
#: Stefan-Boltzmann constant [MJ/K4/m2/day], eq. 39.
STEFAN_BOLTZMANN = 4.903e-9
#: Angström coefficients where none were fitted for the place, eq. 35.
ANGSTROM_A, ANGSTROM_B = 0.25, 0.50
#: Of the temperature range, eq. 50: inland, and near a coast [1/sqrt(C)].
KRS_INLAND, KRS_COAST = 0.16, 0.19
_DAYS: FloatArray = np.arange(1.0, 367.0, dtype=np.float64)


def _sun(latitude: ArrayLike, days: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return inverse distance (eq. 23), sin·sin and cos·cos of latitude and declination."""
    phi = np.deg2rad(series("latitude", latitude, -90.0, 90.0, "degrees"))
    angle = days * (2.0 * math.pi / 365.0)
    declination = 0.409 * np.sin(angle - 1.39)  # eq. 24
    distance = 1.0 + 0.033 * np.cos(angle)
    return (
        np.asarray(distance),
        np.asarray(np.sin(phi) * np.sin(declination)),
        np.asarray(np.cos(phi) * np.cos(declination)),
    )


def _sunset(both_sin: FloatArray, both_cos: FloatArray) -> FloatArray:
    """Return the sunset hour angle [rad], eq. 25; pi in the polar day, 0 in the polar night."""
    # At a pole the cosine is a rounding error above 0, and the quotient far beyond 1.
    return np.asarray(np.arccos(np.clip(-both_sin / np.maximum(both_cos, 1e-12), -1.0, 1.0)))


def _days(day_of_year: ArrayLike) -> FloatArray:
    """Return the days of the year, checked."""
    return array("day_of_year", day_of_year, 1.0, 366.0)


def sunset_hour_angle(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return the sunset hour angle [rad], 0 to pi, eq. 25; arguments as `daylight_hours`."""
    _, both_sin, both_cos = _sun(latitude, _days(day_of_year))
    return _sunset(both_sin, both_cos)


def daylight_hours(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return the longest possible sunshine of a day, eq. 34.

    Parameters
    ----------
    latitude : array_like
        Degrees, north positive, -90 to 90.
    day_of_year : array_like
        1 to 366; may be a fraction. Broadcast with the latitude.

    Returns
    -------
    numpy.ndarray
        Hours, 0 to 24.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    return np.asarray(24.0 / math.pi * sunset_hour_angle(latitude, day_of_year))


def extraterrestrial_radiation(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return the radiation above the air, eq. 21.

    Parameters
    ----------
    latitude : array_like
        Degrees, north positive, -90 to 90.
    day_of_year : array_like
        1 to 366; may be a fraction. Broadcast with the latitude.

    Returns
    -------
    numpy.ndarray
        Ra [MJ/m2/day], at least 0.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    days = _days(day_of_year)
    phi = np.asarray(latitude, dtype=np.float64)
    if phi.ndim == 0 and days.size > _DAYS.size:
        rows = days.astype(np.intp)
        if bool((rows == days).all()):
            # A year of one place has 366 values, however many years follow.
            return np.asarray(_above_air(phi, _DAYS)[rows - 1])
    return _above_air(phi, days)


def _above_air(latitude: ArrayLike, days: FloatArray) -> FloatArray:
    """Return eq. 21 for checked days."""
    distance, both_sin, both_cos = _sun(latitude, days)
    angle = _sunset(both_sin, both_cos)
    energy = (24.0 * 60.0 / math.pi * 0.0820) * distance
    return np.asarray(np.maximum(energy * (angle * both_sin + both_cos * np.sin(angle)), 0.0))


def clear_sky_radiation(
    extraterrestrial: ArrayLike,
    elevation: ArrayLike = 0.0,
    *,
    angstrom: tuple[float, float] | None = None,
) -> FloatArray:
    """Return the solar radiation without a cloud.

    Parameters
    ----------
    extraterrestrial : array_like
        Ra [MJ/m2/day].
    elevation : array_like
        Height above the sea [m]; used by eq. 37.
    angstrom : (float, float), optional
        Angström coefficients fitted for the place: their sum times Ra, eq. 36.

    Returns
    -------
    numpy.ndarray
        Rso [MJ/m2/day].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    ra = series("extraterrestrial", extraterrestrial, 0.0, 60.0, "MJ/m2/day")
    if angstrom is not None:
        a, b = _coefficients(angstrom)
        return np.asarray((a + b) * ra)
    z = series("elevation", elevation, -430.0, 6000.0, "m")
    return np.asarray((0.75 + 2e-5 * z) * ra)


def _coefficients(angstrom: tuple[float, float]) -> tuple[float, float]:
    """Return Angström's coefficients if they can be a share of radiation."""
    a, b = (float(series("angstrom", value, 0.0, 1.0)) for value in angstrom)
    if not 0.0 < a + b <= 1.0:
        raise InputError(
            "cannot let more through than comes",
            code="out_of_range",
            field="angstrom",
            given=(a, b),
            accepted="two numbers from 0 whose sum is more than 0 and at most 1",
            hint="0.25 and 0.50, FAO-56's own where none were fitted",
        )
    return a, b


def solar_from_sunshine(
    sunshine: ArrayLike,
    daylight: ArrayLike,
    extraterrestrial: ArrayLike,
    *,
    angstrom: tuple[float, float] = (ANGSTROM_A, ANGSTROM_B),
) -> FloatArray:
    """Return the solar radiation from hours of sunshine, eq. 35 (Angström).

    Parameters
    ----------
    sunshine, daylight : array_like
        Hours of bright sun, and the longest possible [h], 0 to 24. More sunshine than
        daylight (a horizon below the observer's, rounding) counts as all of it.
    extraterrestrial : array_like
        Ra [MJ/m2/day].
    angstrom : (float, float)
        Share of Ra that comes through an overcast sky, and what a clear one adds.

    Returns
    -------
    numpy.ndarray
        Rs [MJ/m2/day].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    n = series("sunshine", sunshine, 0.0, 24.0, "h")
    longest = series("daylight", daylight, 0.0, 24.0, "h")
    ra = series("extraterrestrial", extraterrestrial, 0.0, 60.0, "MJ/m2/day")
    a, b = _coefficients(angstrom)
    share = np.minimum(n / np.maximum(longest, 1e-9), 1.0)
    return np.asarray((a + b * share) * ra)


def solar_from_temperature(
    tmax: ArrayLike, tmin: ArrayLike, extraterrestrial: ArrayLike, krs: float = KRS_INLAND
) -> FloatArray:
    """Return the solar radiation from the range of temperature, eq. 50 (Hargreaves).

    Parameters
    ----------
    tmax, tmin : array_like
        Highest and lowest air temperature [C]; a range below 0 counts as 0.
    extraterrestrial : array_like
        Ra [MJ/m2/day].
    krs : float
        0.16 inland, 0.19 on or near a coast [1/sqrt(C)]; 0.05 to 0.30 accepted.

    Returns
    -------
    numpy.ndarray
        Rs [MJ/m2/day].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    span = series("tmax", tmax, -90.0, 60.0, "C") - series("tmin", tmin, -90.0, 60.0, "C")
    ra = series("extraterrestrial", extraterrestrial, 0.0, 60.0, "MJ/m2/day")
    k = float(series("krs", krs, 0.05, 0.30))
    return np.asarray(k * np.sqrt(np.maximum(span, 0.0)) * ra)


def solar_on_island(extraterrestrial: ArrayLike, reduction: float = 4.0) -> FloatArray:
    """Return the solar radiation of a month on a small low island, eq. 51.

    Parameters
    ----------
    extraterrestrial : array_like
        Ra [MJ/m2/day].
    reduction : float
        What is taken from 0.7 Ra [MJ/m2/day]; 4 in eq. 51, which is for monthly values at
        0 to 100 m above the sea.

    Returns
    -------
    numpy.ndarray
        Rs [MJ/m2/day], at least 0.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    ra = series("extraterrestrial", extraterrestrial, 0.0, 60.0, "MJ/m2/day")
    return np.asarray(np.maximum(0.7 * ra - float(series("reduction", reduction, 0.0, 20.0)), 0.0))


def net_shortwave(solar: ArrayLike, albedo: float = ALBEDO) -> FloatArray:
    """Return the net solar radiation [MJ/m2/day] of Rs [MJ/m2/day] at an albedo [-], eq. 38."""
    share = 1.0 - float(series("albedo", albedo, 0.0, 1.0))
    return np.asarray(share * series("solar", solar, 0.0, 60.0, "MJ/m2/day"))


def net_longwave(
    tmax: ArrayLike,
    tmin: ArrayLike,
    vapour_pressure: ArrayLike,
    solar: ArrayLike,
    clear_sky: ArrayLike,
) -> FloatArray:
    """Return the net outgoing longwave radiation, eq. 39.

    Parameters
    ----------
    tmax, tmin : array_like
        Highest and lowest air temperature [C].
    vapour_pressure : array_like
        Actual vapour pressure [kPa], 0 to 20.
    solar, clear_sky : array_like
        Rs and Rso [MJ/m2/day]. Their ratio is kept between 0.3 and 1; FAO-56 limits it above
        only, the limit below is that of ASCE-EWRI (2005), eq. 18.

    Returns
    -------
    numpy.ndarray
        Rnl [MJ/m2/day].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    high = series("tmax", tmax, -90.0, 60.0, "C")
    low = series("tmin", tmin, -90.0, 60.0, "C")
    ea = series("vapour_pressure", vapour_pressure, 0.0, 20.0, "kPa")
    rs = series("solar", solar, 0.0, 60.0, "MJ/m2/day")
    rso = series("clear_sky", clear_sky, 0.0, 60.0, "MJ/m2/day")
    return longwave(high, low, ea, rs, rso)


def longwave(
    tmax: FloatArray, tmin: FloatArray, ea: FloatArray, rs: FloatArray, rso: FloatArray
) -> FloatArray:
    """Return `net_longwave` of arrays that have been checked."""
    out = np.asarray(tmax + 273.16)
    np.multiply(out, out, out=out)
    np.multiply(out, out, out=out)
    cold = np.asarray(tmin + 273.16)
    np.multiply(cold, cold, out=cold)
    np.multiply(cold, cold, out=cold)
    out = np.asarray(out + cold)
    out *= 0.5 * STEFAN_BOLTZMANN
    air = np.asarray(np.sqrt(ea))
    air *= -0.14
    air += 0.34
    sky = np.asarray(rs / np.maximum(rso, 1e-3))
    np.clip(sky, 0.3, 1.0, out=sky)
    sky *= 1.35
    sky -= 0.35
    return np.asarray(out * air * sky)


def soil_heat_monthly(
    previous: ArrayLike, following: ArrayLike, *, months_apart: int = 2
) -> FloatArray:
    """Return the mean heat flux into the soil over a month.

    Parameters
    ----------
    previous : array_like
        Mean air temperature of the month before [C].
    following : array_like
        Of the month after [C], eq. 43; of the month itself with `months_apart` 1, eq. 44.
    months_apart : {1, 2}
        How many months lie between the two.

    Returns
    -------
    numpy.ndarray
        G [MJ/m2/day], positive while the soil warms.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    if months_apart not in (1, 2):
        raise InputError(
            "is not accepted",
            code="out_of_range",
            field="months_apart",
            given=months_apart,
            accepted="1 or 2",
        )
    before = series("previous", previous, -90.0, 60.0, "C")
    after = series("following", following, -90.0, 60.0, "C")
    return np.asarray((0.07 if months_apart == 2 else 0.14) * (after - before))
