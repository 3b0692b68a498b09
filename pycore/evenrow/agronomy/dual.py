"""Transpiration and evaporation apart: the dual coefficient, FAO-56, chapter 7.

Drip wets little ground, often in the shade; what that saves shows only when evaporation is
reckoned by itself. "eq." and "table" are those of FAO-56 (Allen et al. 1998). Water is a
depth over the ground it is in [m].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series, spread, together
from evenrow.errors import InputError
from evenrow.hydraulics._check import array, number

#: Basal coefficient of dry bare ground, chapter 7.
KC_MIN = 0.15
#: Rain of a day from which all the ground counts as wetted; chapter 7 says 3 to 4 mm [m].
WETTING_RAIN = 0.003


def largest_coefficient(
    kcb: ArrayLike, wind: ArrayLike, rh_min: ArrayLike, height: ArrayLike
) -> FloatArray:
    """Return the largest coefficient that the energy at hand allows, eq. 72.

    Parameters
    ----------
    kcb : array_like
        Basal coefficient: transpiration with dry ground (table 17) [-], 0 to 2.
    wind, rh_min, height : array_like
        As in `crop.climate_adjusted`: [m/s], [-], [m], with the same ranges.

    Returns
    -------
    numpy.ndarray
        Kc max [-], at least Kcb + 0.05.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    basal = series("kcb", kcb, 0.0, 2.0)
    u = np.clip(series("wind", wind, 0.0, 120.0, "m/s"), 1.0, 6.0)
    rh = np.clip(series("rh_min", rh_min, 0.0, 1.0), 0.20, 0.80)
    h = np.clip(series("height", height, 0.0, 100.0, "m"), 0.1, 10.0)
    together(kcb=basal, wind=u, rh_min=rh, height=h)
    climate = 1.2 + (0.04 * (u - 2.0) - 0.4 * (rh - 0.45)) * (h / 3.0) ** 0.3
    return np.asarray(np.maximum(climate, basal + 0.05))


def evaporable_water(
    field_capacity: ArrayLike, wilting_point: ArrayLike, depth: ArrayLike = 0.10
) -> FloatArray:
    """Return the water that can evaporate from the surface of the soil, TEW, eq. 73.

    Parameters
    ----------
    field_capacity, wilting_point : array_like
        Water content [m3/m3], 0 to 0.8.
    depth : array_like
        Of the layer that dries by evaporation [m], 0.05 to 0.3; 0.10 to 0.15 in FAO-56.

    Returns
    -------
    numpy.ndarray
        TEW [m], at least 0.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    high = series("field_capacity", field_capacity, 0.0, 0.8, "m3/m3")
    low = series("wilting_point", wilting_point, 0.0, 0.8, "m3/m3")
    layer = series("depth", depth, 0.05, 0.3, "m")
    together(field_capacity=high, wilting_point=low, depth=layer)
    return np.asarray(np.maximum(high - 0.5 * low, 0.0) * layer)


def ground_cover(kcb: ArrayLike, kc_max: ArrayLike, height: ArrayLike) -> FloatArray:
    """Return the share of the ground that plants cover, from their coefficient, eq. 76.

    Parameters
    ----------
    kcb, kc_max : array_like
        Basal and largest coefficient [-].
    height : array_like
        Of the plants [m], 0 to 100.

    Returns
    -------
    numpy.ndarray
        Cover [-], 0 to 0.99. A cover that was looked at in the field is better.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    basal = series("kcb", kcb, 0.0, 2.0)
    top = series("kc_max", kc_max, 0.2, 2.5)
    h = series("height", height, 0.0, 100.0, "m")
    together(kcb=basal, kc_max=top, height=h)
    share = np.maximum(basal - KC_MIN, 0.0) / (top - KC_MIN)
    return np.asarray(np.clip(share ** (1.0 + 0.5 * h), 0.0, 0.99))


@dataclass(frozen=True)
class Evaporation:
    """Evaporation from the ground, each day.

    Parameters
    ----------
    ke : numpy.ndarray
        Coefficient of evaporation [-], shape (days, …); Kcb + Ke is the whole coefficient.
    evaporation : numpy.ndarray
        Over the whole ground [m/day], same shape.
    bare : numpy.ndarray
        Share of the ground that is wet and in the sun, from which it comes [-].
    depletion : numpy.ndarray
        Water gone from the surface of that ground [m]: at the start, then at the end of each
        day, shape (days + 1, …).
    """

    ke: FloatArray
    evaporation: FloatArray
    bare: FloatArray
    depletion: FloatArray


def evaporation(
    kcb: ArrayLike,
    kc_max: ArrayLike,
    cover: ArrayLike,
    eto: ArrayLike,
    rain: ArrayLike,
    irrigation: ArrayLike,
    *,
    tew: ArrayLike,
    rew: ArrayLike,
    wetted_share: float,
    shaded: bool = True,
    start: ArrayLike | None = None,
) -> Evaporation:
    """Return the evaporation of each day from ground wetted by rain and by emitters.

    Parameters
    ----------
    kcb, kc_max, cover : array_like
        See `largest_coefficient` and `ground_cover` [-]; one number or broadcasting to `eto`.
    eto : array_like
        Reference evapotranspiration [m/day], shape (days,) or (days, columns).
    rain, irrigation : array_like
        Rain less runoff, and net irrigation over the whole ground [m/day].
    tew, rew : array_like
        Evaporable water (`evaporable_water`), and the part that evaporates as fast as the sun
        allows (table 19) [m], 0 <= REW < TEW.
    wetted_share : float
        Share of the ground that the emitters wet [-], 0.01 to 1.
    shaded : bool
        Whether the emitters stand under the plants: then only 1 - 2/3 cover of what they wet
        is in the sun (chapter 7, drip).
    start : array_like, optional
        Depletion before the first day [m], 0 to TEW; dry (TEW) if not given.

    Returns
    -------
    Evaporation
        Coefficient, depth, share and depletion.

    Raises
    ------
    InputError
        If something is not finite, out of range or of another shape.

    Notes
    -----
    Eq. 71, 74, 75 and 77 to 79, with water in the morning and no transpiration from the surface
    layer. From a day of 3 mm of rain on all the ground counts as wetted, until the emitters
    run again.
    """
    heat = array("eto", eto, 0.0, 0.05, unit="m/day")
    if heat.ndim == 0:
        raise InputError(
            "needs days", code="length", field="eto", given=eto, accepted="one value for each day"
        )
    basal, top = spread("kcb", kcb, heat, 2.0), spread("kc_max", kc_max, heat, 2.5)
    shade, fell = spread("cover", cover, heat, 1.0), spread("rain", rain, heat, 2.0)
    given = spread("irrigation", irrigation, heat, 1.0)
    full, quick = spread("tew", tew, heat[0], 0.3), spread("rew", rew, heat[0], 0.3)
    if bool((quick >= full).any()):
        raise InputError(
            "must be less than the evaporable water",
            code="out_of_range",
            field="rew",
            given=float(quick.max()),
            accepted=f"0 to less than {float(full.min()):g} m",
        )
    share = number("wetted_share", wetted_share, 0.01, 1.0)
    gone = spread("start", full if start is None else start, heat[0], 0.3)
    gone = np.minimum(gone, full)
    wet = np.full(heat.shape[1:], share)
    ke, lost, bare = np.empty_like(heat), np.empty_like(heat), np.empty_like(heat)
    depletion = np.empty((heat.shape[0] + 1, *heat.shape[1:]))
    depletion[0] = gone
    for i in range(heat.shape[0]):
        raining = fell[i] >= WETTING_RAIN
        wet = np.where(raining, 1.0, np.where(given[i] > 0.0, share, wet))
        sunny = np.where(wet < 1.0, wet * (1.0 - 2.0 / 3.0 * shade[i]), 1.0) if shaded else wet
        # A little is always bare; the layer's depletion is a depth over it.
        few = np.maximum(np.minimum(1.0 - shade[i], sunny), 0.01)
        left = np.maximum(gone - fell[i] - given[i] / share, 0.0)
        drying = np.clip((full - left) / (full - quick), 0.0, 1.0)
        most = np.minimum(drying * np.maximum(top[i] - basal[i], 0.0), few * top[i]) * heat[i]
        lost[i] = np.minimum(most, (full - left) * few)
        gone = np.minimum(left + lost[i] / few, full)
        depletion[i + 1], bare[i] = gone, few
    np.divide(lost, heat, out=ke, where=heat > 0.0)
    ke[heat <= 0.0] = 0.0
    return Evaporation(ke, lost, bare, depletion)
