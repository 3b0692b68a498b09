"""Crop coefficients: over a season, by climate, canopy, wetted ground and mulch.

"eq." and "table" below are those of FAO-56 (Allen et al. 1998). A coefficient is the ratio
of a crop's evapotranspiration to that of the reference grass [-].
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.agronomy._series import FloatArray, series, together
from evenrow.agronomy.climate import as_days
from evenrow.errors import InputError
from evenrow.hydraulics._check import array, number

#: Largest coefficient accepted; those of tall crops in wind and dry air reach about 1.4.
MAX_KC = 2.0


@dataclass(frozen=True)
class KcCurve:
    """The coefficient over a season: flat, rising, flat, falling (eq. 66).

    Parameters
    ----------
    lengths : tuple of float
        Days of the initial, development, middle and late stage, each at least 0, in all
        1 to 1,000.
    initial, middle, end : float
        Coefficient of the initial stage, of the middle stage and on the last day, 0 to 2.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    lengths: tuple[float, float, float, float]
    initial: float
    middle: float
    end: float

    def __post_init__(self) -> None:
        days = array("lengths", self.lengths, 0.0, 1000.0, unit="days")
        if days.shape != (4,):
            raise InputError(
                "needs four stages",
                code="length",
                field="lengths",
                given=self.lengths,
                accepted="days of the initial, development, middle and late stage",
            )
        number("lengths", float(days.sum()), 1.0, 1000.0, unit="days in all")
        for name in ("initial", "middle", "end"):
            number(name, getattr(self, name), 0.0, MAX_KC)

    @property
    def days(self) -> float:
        """Length of the season [days]."""
        return float(sum(self.lengths))

    def at(self, day: ArrayLike, outside: float = 0.0) -> FloatArray:
        """Return the coefficient on days of the season.

        Parameters
        ----------
        day : array_like
            Day of the season, 1 on the day of planting (or when leaves unfold); any shape.
        outside : float
            Coefficient before day 1 and after the last, 0 to 2.

        Returns
        -------
        numpy.ndarray
            Coefficients, same shape.

        Raises
        ------
        InputError
            If a day is not finite or `outside` is out of range.
        """
        i = array("day", day)
        rest = number("outside", outside, 0.0, MAX_KC)
        ends = (0.0, *accumulate(self.lengths))
        values = [self.initial, self.initial, self.middle, self.middle, self.end]
        inside = (i >= 1.0) & (i <= ends[-1])
        return np.where(inside, np.interp(i, ends, values), rest)


def day_of_season(
    dates: ArrayLike, month: int, day: int, *, first_year: int | None = None
) -> FloatArray:
    """Return the day of the season of dates, for a season that begins every year.

    Parameters
    ----------
    dates : array_like of datetime64
        Any dates, any shape.
    month, day : int
        When the season begins. The 29th of February is the 1st of March in common years.
    first_year : int, optional
        Year of planting; earlier dates have days below 1.

    Returns
    -------
    numpy.ndarray
        1 on the day the latest season began, 2 on the next.

    Raises
    ------
    InputError
        If a date, the month or the day is none.
    """
    number("month", month, 1, 12)
    number("day", day, 1, 31)
    when = as_days(dates)
    year = when.astype("datetime64[Y]")

    def begins(years: NDArray[np.datetime64]) -> NDArray[np.datetime64]:
        starts = (years.astype("datetime64[M]") + (int(month) - 1)).astype("datetime64[D]")
        return np.asarray(starts + (int(day) - 1))

    start = begins(year)
    start = np.where(start > when, begins(year - 1), start)
    if first_year is not None:
        start = np.maximum(start, begins(np.array(f"{int(first_year):04d}", "datetime64[Y]")))
    return np.asarray((when - start).astype(np.float64) + 1.0)


def climate_adjusted(
    kc: ArrayLike, wind: ArrayLike, rh_min: ArrayLike, height: ArrayLike
) -> FloatArray:
    """Return a middle or end coefficient of the tables for another climate, eq. 62 and 65.

    Parameters
    ----------
    kc : array_like
        From table 12, which is for 2 m/s and a lowest humidity of 45 %. Below 0.45 it is
        returned as it is (eq. 65 is not for crops left to dry).
    wind : array_like
        Mean wind at 2 m during the stage [m/s]; taken as 1 to 6, the range of eq. 62.
    rh_min : array_like
        Mean of the days' lowest humidity [-], 0 to 1; taken as 0.20 to 0.80.
    height : array_like
        Mean height of the plants [m]; taken as 0.1 to 10.

    Returns
    -------
    numpy.ndarray
        Adjusted coefficient [-].

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    k = series("kc", kc, 0.0, MAX_KC)
    u = np.clip(series("wind", wind, 0.0, 120.0, "m/s"), 1.0, 6.0)
    rh = np.clip(series("rh_min", rh_min, 0.0, 1.0), 0.20, 0.80)
    h = np.clip(series("height", height, 0.0, 100.0, "m"), 0.1, 10.0)
    together(kc=k, wind=u, rh_min=rh, height=h)
    shift = (0.04 * (u - 2.0) - 0.4 * (rh - 0.45)) * (h / 3.0) ** 0.3
    return np.asarray(np.where(k < 0.45, k, np.maximum(k + shift, 0.0)))


def wetted_initial(kc: ArrayLike, wetted_share: ArrayLike) -> FloatArray:
    """Return an initial coefficient where only part of the ground is wetted, eq. 60.

    Parameters
    ----------
    kc : array_like
        Initial coefficient of ground that is wetted all over [-].
    wetted_share : array_like
        Share of the ground that is wetted [-], 0 to 1; 0.3 to 0.4 under drip (table 20).

    Returns
    -------
    numpy.ndarray
        Coefficient of the whole ground.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    return np.asarray(
        series("kc", kc, 0.0, MAX_KC) * series("wetted_share", wetted_share, 0.0, 1.0)
    )


#: Reduction for partial canopy -> of the share of ground shaded at noon.
CANOPY_RULES: dict[str, Callable[[FloatArray], FloatArray]] = {
    "keller_bliesner": lambda c: np.sqrt(c),
    "fereres": lambda c: np.minimum(2.0 * c, 1.0),
    "keller_karmeli": lambda c: np.minimum(c / 0.85, 1.0),
    "decroix": lambda c: np.where(c > 0.0, np.minimum(0.1 + c, 1.0), 0.0),
    "freeman_garzoli": lambda c: np.asarray(c + 0.5 * (1.0 - c)),
}


def canopy_reduction(cover: ArrayLike, rule: str = "keller_bliesner") -> FloatArray:
    """Return by how much a canopy that does not cover the ground uses less, under drip.

    It multiplies the coefficient of a *full* canopy. A coefficient that was found for the
    spacing at hand already holds it.

    Parameters
    ----------
    cover : array_like
        Share of the ground shaded at noon [-], 0 to 1.
    rule : str
        ``"keller_bliesner"``: the square root (Keller and Bliesner 1990, Sprinkle and
        Trickle Irrigation, ch. 19: 0.1 times the root of the percentage).
        ``"fereres"``: twice the cover, up to 1 (Fereres and Castel 1981, for young orchards).
        ``"keller_karmeli"``: cover / 0.85 (Keller and Karmeli 1974). ``"decroix"``: cover +
        0.1. ``"freeman_garzoli"``: half way between cover and 1 (both from Vermeiren and
        Jobling 1980, FAO Irrigation and Drainage Paper 36). All five from memory.

    Returns
    -------
    numpy.ndarray
        Factor [-], 0 to 1.

    Raises
    ------
    InputError
        If a cover is out of range or the rule is unknown.
    """
    c = series("cover", cover, 0.0, 1.0)
    if rule not in CANOPY_RULES:
        raise InputError(
            "is unknown",
            code="unknown",
            field="rule",
            given=rule,
            accepted=" or ".join(CANOPY_RULES),
        )
    return np.asarray(CANOPY_RULES[rule](c), dtype=np.float64)


def under_plastic(kc: ArrayLike, covered: ArrayLike, reduction: float = 0.20) -> FloatArray:
    """Return a coefficient of a crop grown in plastic film, FAO-56, chapter 10.

    Parameters
    ----------
    kc : array_like
        Middle or end coefficient of the crop without film [-].
    covered : array_like
        Share of the ground under film [-], 0 to 1; the reduction goes in proportion to it.
    reduction : float
        By how much film all over reduces the coefficient [-], 0 to 0.5: 0.10 to 0.30 by
        crop (table 25; the values from memory), 0.20 in the middle.

    Returns
    -------
    numpy.ndarray
        Coefficient [-].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    less = number("reduction", reduction, 0.0, 0.5)
    share = series("covered", covered, 0.0, 1.0)
    return np.asarray(series("kc", kc, 0.0, MAX_KC) * (1.0 - less * share))


def under_organic_mulch(kc_initial: ArrayLike, covered: ArrayLike) -> FloatArray:
    """Return an initial coefficient under straw, chips or leaves, FAO-56, chapter 10.

    Parameters
    ----------
    kc_initial : array_like
        Initial coefficient of bare ground, which is nearly all evaporation [-].
    covered : array_like
        Share of the ground under mulch [-], 0 to 1.

    Returns
    -------
    numpy.ndarray
        Coefficient: evaporation falls by 5 % for every 10 % covered (from memory).

    Raises
    ------
    InputError
        If a value is out of range.
    """
    share = series("covered", covered, 0.0, 1.0)
    return np.asarray(series("kc_initial", kc_initial, 0.0, MAX_KC) * (1.0 - 0.5 * share))
