"""How the uniformity of a field has gone over the years, and when it may fall too low."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenrow.errors import InputError
from evenrow.hydraulics._check import array, number
from evenrow.words import said

#: Fewer checks than this have no trend.
FEWEST = 3
#: Of so many bands a share of this holds the truth: 4 of 5.
CONFIDENCE = 0.8
#: What one round of cups is uncertain by at the least, as a share (standard deviation): common
#: practice, no source.
CHECK_ERROR = 0.02
#: Checks closer than this are of one day [years]; a hair less, for sums of floats.
DAY = 0.999 / 365.25
#: Years after the last check about which nothing is said.
YEARS_MAX = 10.0
TREND_SOURCE = said(
    "least squares with Student's t; when a line crosses a level: Fieller (1954), J. R. Stat. "
    "Soc. B 16(2)"
)

#: Student's t of 0.9, for 1 to 30 degrees of freedom, and beyond (standard tables).
_T90 = (
    *(3.078, 1.886, 1.638, 1.533, 1.476, 1.440, 1.415, 1.397, 1.383, 1.372),
    *(1.363, 1.356, 1.350, 1.345, 1.341, 1.337, 1.333, 1.330, 1.328, 1.325),
    *(1.323, 1.321, 1.319, 1.318, 1.316, 1.315, 1.314, 1.313, 1.311, 1.310),
)
_T90_MORE = 1.303
#: The same of the normal distribution, for an error that is known.
_Z90 = 1.282


@dataclass(frozen=True, kw_only=True)
class Trend:
    """A straight line through checks of uniformity.

    Parameters
    ----------
    way : {"falling", "rising", "unclear"}
        Where it goes; unclear where the band of `per_year` holds 0.
    per_year : float
        Change in a year, as a share.
    low, high : float
        Band of `per_year`.
    at_first, at_last : float
        Height of the line at the first and the last check, as a share.
    crosses : (float, float, float) or None
        Earliest, most likely and latest time at which it is at the level wanted, in years from
        the first check; None where it does not fall.
    """

    way: Literal["falling", "rising", "unclear"]
    per_year: float
    low: float
    high: float
    at_first: float
    at_last: float
    crosses: tuple[float, float, float] | None = None


def student_t(freedom: int) -> float:
    """Return Student's t that 80 % of values lie within, either way.

    Parameters
    ----------
    freedom : int
        Degrees of freedom, at least 1; beyond 30 the value of 40 is taken, as the cautious one
        of the usual tables.
    """
    if freedom < 1:
        raise InputError("must be at least 1", code="out_of_range", field="freedom", given=freedom)
    return _T90[freedom - 1] if freedom <= len(_T90) else _T90_MORE


def trend(years: Sequence[float], shares: Sequence[float], wanted: float) -> Trend | None:
    """Return how uniformity has gone, or None where nothing can be said.

    Parameters
    ----------
    years : sequence of float
        When each check was, in years from any day, in any order.
    shares : sequence of float
        What it found, 0 to 1.
    wanted : float
        Uniformity that the field should keep, 0 to 1.

    Returns
    -------
    Trend or None
        None for fewer than three checks or all within a day. The order of the checks changes
        nothing. Times of `crosses` count from the earliest check.

    Raises
    ------
    InputError
        If a value is out of range or the lengths differ.

    Notes
    -----
    Least squares. The margin of a check is Student's t times the scatter about the line, or that
    of a known error of `CHECK_ERROR` if that is more: checks that lie on a line by chance are
    not exact. The band of the crossing is that of Fieller (1954).
    """
    number("wanted", wanted, 0.0, 1.0)
    if len(years) != len(shares):
        raise InputError(
            "must be one for each year", code="length", field="shares", given=len(shares)
        )
    count = len(years)
    if count < FEWEST:
        return None
    order = sorted(zip(years, shares, strict=True))
    x = array("years", [pair[0] for pair in order])
    y = array("shares", [pair[1] for pair in order], 0.0, 1.0)
    x = x - x[0]
    from_middle = x - x.mean()
    spread = float(np.sum(from_middle**2))
    if x[-1] < DAY:
        return None
    slope = float(np.sum(from_middle * (y - y.mean()))) / spread
    level = float(y.mean())
    left = y - level - slope * from_middle
    scatter = math.sqrt(float(np.sum(left**2)) / (count - 2))
    margin = max(student_t(count - 2) * scatter, _Z90 * CHECK_ERROR)
    wide = margin / math.sqrt(spread)
    way: Literal["falling", "rising", "unclear"] = "unclear"
    if abs(slope) > wide:
        way = "falling" if slope < 0.0 else "rising"
    middle = float(x.mean())
    crosses = None
    if way == "falling":
        above = level - wanted
        steep = slope**2 - wide**2
        root = margin * math.sqrt(steep / count + above**2 / spread)
        ends = ((-slope * above - root) / steep, (-slope * above + root) / steep)
        crosses = (middle + ends[0], middle - above / slope, middle + ends[1])
    return Trend(
        way=way,
        per_year=slope,
        low=slope - wide,
        high=slope + wide,
        at_first=level - slope * middle,
        at_last=level + slope * (float(x[-1]) - middle),
        crosses=crosses,
    )
