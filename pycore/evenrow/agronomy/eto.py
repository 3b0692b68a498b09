"""Reference evapotranspiration by FAO-56: Penman-Monteith with whatever was measured.

Allen, R. G., Pereira, L. S., Raes, D., Smith, M. (1998), Crop evapotranspiration, FAO
Irrigation and Drainage Paper 56; "eq." below is an equation of it. Series may hold days,
months, stations or all of these: every argument broadcasts, and NaN is a gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy import atmosphere, radiation
from evenrow.agronomy._series import FloatArray, series, together
from evenrow.agronomy.atmosphere import COLDEST, HOTTEST
from evenrow.agronomy.filling import Rule, Way, first_known, humidity_ways
from evenrow.errors import InputError
from evenrow.words import tr

#: Wind where none was measured: the mean of over 2,000 stations, chapter 3 of FAO-56 [m/s].
DEFAULT_WIND = 2.0
#: Water that a unit of energy evaporates, 1 / 2.45 MJ/kg as rounded in FAO-56 [m per MJ/m2].
EVAPORATED = 0.408e-3
#: The day of the year on the 15th of each month, FAO-56, table 2.5.
MID_MONTH_DAYS = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)


@dataclass(frozen=True)
class ReferenceET:
    """Reference evapotranspiration and what it was made of, all of one shape or one number.

    Parameters
    ----------
    eto : numpy.ndarray
        Reference evapotranspiration [m/day], at least 0; NaN where a temperature is missing.
    vapour_pressure, wind, solar, net_radiation : numpy.ndarray
        Actual vapour pressure [kPa], wind at 2 m [m/s], solar and net radiation
        [MJ/m2/day] that were used.
    rules : tuple of Rule
        How each was had.
    """

    eto: FloatArray
    vapour_pressure: FloatArray
    wind: FloatArray
    solar: FloatArray
    net_radiation: FloatArray
    rules: tuple[Rule, ...]


def penman_monteith(
    tmax: ArrayLike,
    tmin: ArrayLike,
    net_radiation: ArrayLike,
    vapour_pressure: ArrayLike,
    wind: ArrayLike,
    pressure: ArrayLike,
    *,
    soil_heat: ArrayLike = 0.0,
    tmean: ArrayLike | None = None,
) -> FloatArray:
    """Return the reference evapotranspiration, eq. 6.

    Parameters
    ----------
    tmax, tmin : array_like
        Highest and lowest air temperature of the day, or their means over a month [C].
    net_radiation : array_like
        Rn [MJ/m2/day].
    vapour_pressure : array_like
        Actual vapour pressure [kPa].
    wind : array_like
        Speed at 2 m [m/s]; see `atmosphere.wind_at_two_metres`.
    pressure : array_like
        Air pressure [kPa].
    soil_heat : array_like
        G [MJ/m2/day]; 0 for a day (eq. 42), `radiation.soil_heat_monthly` for a month.
    tmean : array_like, optional
        Mean temperature [C]; half of highest plus lowest if not given (eq. 9).

    Returns
    -------
    numpy.ndarray
        ETo [m/day]. Dew (a negative result) counts as 0, and so does a deficit of the air
        below 0.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    high = series("tmax", tmax, COLDEST, HOTTEST, "C")
    low = series("tmin", tmin, COLDEST, HOTTEST, "C")
    mean = 0.5 * (high + low) if tmean is None else series("tmean", tmean, COLDEST, HOTTEST, "C")
    rn = series("net_radiation", net_radiation, -60.0, 60.0, "MJ/m2/day")
    ea = series("vapour_pressure", vapour_pressure, 0.0, 20.0, "kPa")
    u2 = series("wind", wind, 0.0, 120.0, "m/s")
    gamma = atmosphere.psychrometric_constant(pressure)
    ground = series("soil_heat", soil_heat, -20.0, 20.0, "MJ/m2/day")
    together(
        tmax=high, tmin=low, net_radiation=rn, vapour_pressure=ea, wind=u2, pressure=gamma, g=ground
    )
    es = np.asarray(0.5 * (atmosphere.saturation(high) + atmosphere.saturation(low)))
    return _combine(np.asarray(mean), es, np.asarray(rn - ground), ea, u2, gamma)


def _combine(
    mean: FloatArray,
    es: FloatArray,
    energy: FloatArray,
    ea: FloatArray,
    u2: FloatArray,
    gamma: FloatArray,
) -> FloatArray:
    """Return eq. 6 of checked arrays [m/day]."""
    slope = atmosphere.saturation(mean)  # eq. 13, in place
    slope *= 4098.0
    slope /= np.square(mean + 237.3)
    drying = np.asarray(np.maximum(es - ea, 0.0) / (mean + 273.0))
    drying = drying * (0.9 * gamma * u2)  # 900 mm is 0.9 m
    heating = np.asarray(slope * energy)
    heating *= EVAPORATED
    slope = np.asarray(slope + gamma * (1.0 + 0.34 * u2))
    return np.asarray(np.maximum((heating + drying) / slope, 0.0))


def hargreaves_samani(
    tmax: ArrayLike,
    tmin: ArrayLike,
    extraterrestrial: ArrayLike,
    *,
    tmean: ArrayLike | None = None,
) -> FloatArray:
    """Return the reference evapotranspiration from temperatures alone, eq. 52.

    Parameters
    ----------
    tmax, tmin : array_like
        Highest and lowest air temperature [C]; a range below 0 counts as 0.
    extraterrestrial : array_like
        Ra [MJ/m2/day], see `radiation.extraterrestrial_radiation`.
    tmean : array_like, optional
        Mean temperature [C]; half of highest plus lowest if not given.

    Returns
    -------
    numpy.ndarray
        ETo [m/day], at least 0. Good for means over five days or more (FAO-56, chapter 3);
        it tells too little where it is windy and too much where it is humid.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    high = series("tmax", tmax, COLDEST, HOTTEST, "C")
    low = series("tmin", tmin, COLDEST, HOTTEST, "C")
    mean = 0.5 * (high + low) if tmean is None else series("tmean", tmean, COLDEST, HOTTEST, "C")
    ra = series("extraterrestrial", extraterrestrial, 0.0, 60.0, "MJ/m2/day")
    together(tmax=high, tmin=low, extraterrestrial=ra)
    root = np.sqrt(np.maximum(high - low, 0.0))
    return np.asarray(np.maximum(0.0023 * EVAPORATED * (mean + 17.8) * root * ra, 0.0))


def reference_et(
    day_of_year: ArrayLike,
    tmax: ArrayLike,
    tmin: ArrayLike,
    *,
    latitude: ArrayLike,
    elevation: ArrayLike,
    vapour_pressure: ArrayLike | None = None,
    dew_point: ArrayLike | None = None,
    rh_max: ArrayLike | None = None,
    rh_min: ArrayLike | None = None,
    rh_mean: ArrayLike | None = None,
    wind: ArrayLike | None = None,
    wind_height: ArrayLike = 2.0,
    solar: ArrayLike | None = None,
    sunshine: ArrayLike | None = None,
    soil_heat: ArrayLike = 0.0,
    krs: float = radiation.KRS_INLAND,
    angstrom: tuple[float, float] = (radiation.ANGSTROM_A, radiation.ANGSTROM_B),
    depression: float = 0.0,
) -> ReferenceET:
    """Return Penman-Monteith's reference evapotranspiration; FAO-56's rules fill what is missing.

    Each value that is missing (an argument not given, or NaN in it) comes from the next
    rule: humidity from vapour pressure, dew point (eq. 14), highest and lowest humidity
    (eq. 17), the highest alone (eq. 18), the mean (eq. 19), the night's lowest temperature
    (eq. 48); solar radiation from a measurement, sunshine (eq. 35), the temperature range
    (eq. 50); wind from a measurement, brought to 2 m (eq. 47), or 2 m/s.

    Parameters
    ----------
    day_of_year : array_like
        1 to 366, no gaps.
    tmax, tmin : array_like
        Highest and lowest air temperature [C].
    latitude : array_like
        Degrees, north positive.
    elevation : array_like
        Height above the sea [m].
    vapour_pressure, dew_point, rh_max, rh_min, rh_mean : array_like, optional
        Actual vapour pressure [kPa]; dew point [C]; relative humidity [-], 0 to 1.
    wind, wind_height : array_like
        Speed [m/s], and the height it was measured at [m].
    solar, sunshine : array_like, optional
        Solar radiation Rs [MJ/m2/day]; hours of bright sunshine [h].
    soil_heat : array_like
        G [MJ/m2/day], 0 for days.
    krs, angstrom, depression : float
        See `radiation.solar_from_temperature`, `radiation.solar_from_sunshine` and
        `atmosphere.vapour_pressure_from_tmin`.

    Returns
    -------
    ReferenceET
        ETo [m/day], what it was made of, and which rule gave how many values.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    days = np.asarray(day_of_year, dtype=np.float64)
    high = series("tmax", tmax, COLDEST, HOTTEST, "C")
    low = series("tmin", tmin, COLDEST, HOTTEST, "C")
    ra = radiation.extraterrestrial_radiation(latitude, days)
    gamma = atmosphere.psychrometric_constant(atmosphere.atmospheric_pressure(elevation))
    ground = series("soil_heat", soil_heat, -20.0, 20.0, "MJ/m2/day")
    shape = together(day_of_year=ra, tmax=high, tmin=low, elevation=gamma, soil_heat=ground)
    warm, cold = atmosphere.saturation(high), atmosphere.saturation(low)

    dry = (
        tr(
            "dew point taken as the lowest temperature less {degrees:g} °C (FAO-56 eq. 48)",
            degrees=depression,
        )
        if depression
        else tr("dew point taken as the lowest temperature (FAO-56 eq. 48)")
    )
    ways = humidity_ways(vapour_pressure, dew_point, rh_max, rh_min, rh_mean, warm, cold)
    ways.append(
        Way(dry, lambda: atmosphere.vapour_pressure_from_tmin(low, depression), assumed=True)
    )
    ea, of_ea = first_known("vapour_pressure", shape, ways)
    ways = []
    if solar is not None:
        rs_given = series("solar", solar, 0.0, 60.0, "MJ/m2/day")
        ways.append(Way(tr("measured"), lambda: rs_given))
    if sunshine is not None:
        hours = series("sunshine", sunshine, 0.0, 24.0, "h")
        ways.append(
            Way(
                tr("measured sunshine (FAO-56 eq. 35)"),
                lambda: radiation.solar_from_sunshine(
                    hours, radiation.daylight_hours(latitude, days), ra, angstrom=angstrom
                ),
            )
        )
    ways.append(
        Way(
            tr(
                "from the range of temperature, coefficient {coefficient:g} (FAO-56 eq. 50)",
                coefficient=krs,
            ),
            lambda: radiation.solar_from_temperature(high, low, ra, krs),
            assumed=True,
        )
    )
    rs, of_rs = first_known("solar", shape, ways)
    ways = [
        Way(
            tr("taken as {speed:g} m/s (FAO-56, chapter 3)", speed=DEFAULT_WIND),
            lambda: np.array(DEFAULT_WIND),
            assumed=True,
        )
    ]
    if wind is not None:
        u2_given = atmosphere.wind_at_two_metres(wind, wind_height)
        ways.insert(0, Way(tr("measured, at 2 m (FAO-56 eq. 47)"), lambda: u2_given))
    u2, of_u2 = first_known("wind", shape, ways)

    rso = radiation.clear_sky_radiation(ra, elevation)
    rn = np.asarray((1.0 - radiation.ALBEDO) * rs)
    rn = np.asarray(rn - radiation.longwave(high, low, ea, rs, rso))
    es = np.asarray(warm + cold)
    es *= 0.5
    mean = np.asarray(high + low)
    mean *= 0.5
    eto = _combine(mean, es, np.asarray(rn - ground), ea, u2, gamma)
    return ReferenceET(eto, ea, u2, rs, rn, of_ea + of_rs + of_u2)


def reference_et_monthly(
    tmax: ArrayLike,
    tmin: ArrayLike,
    *,
    latitude: ArrayLike,
    elevation: ArrayLike,
    **measured: ArrayLike | None,
) -> ReferenceET:
    """Return the reference evapotranspiration of the twelve months of a mean year.

    Parameters
    ----------
    tmax, tmin : array_like
        Monthly means of the daily highest and lowest temperature [C], January first, shape
        (12,) or (12, stations).
    latitude, elevation : array_like
        As in `reference_et`.
    **measured : array_like
        The monthly means that `reference_et` takes, by their names, such as ``rh_mean``.

    Returns
    -------
    ReferenceET
        Of each month, by the day in its middle, with the soil's heat by eq. 43 from the
        months before and after (December and January are neighbours).

    Raises
    ------
    InputError
        If a value is out of range, or there are not twelve months.
    """
    high = series("tmax", tmax, COLDEST, HOTTEST, "C")
    low = series("tmin", tmin, COLDEST, HOTTEST, "C")
    for name, values in (("tmax", high), ("tmin", low)):
        if values.ndim == 0 or values.shape[0] != 12:
            raise InputError(
                "needs twelve months",
                code="length",
                field=name,
                given=values.shape,
                accepted="12 values, January first",
            )
    mean = 0.5 * (high + low)
    heat = radiation.soil_heat_monthly(np.roll(mean, 1, axis=0), np.roll(mean, -1, axis=0))
    days = np.array(MID_MONTH_DAYS, dtype=np.float64).reshape(12, *([1] * (mean.ndim - 1)))
    return reference_et(
        days,
        high,
        low,
        latitude=latitude,
        elevation=elevation,
        soil_heat=heat,
        **measured,  # type: ignore[arg-type]
    )
