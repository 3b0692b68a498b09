"""Repeated readings of a bucket and a watch."""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import array

# Two-sided 95 % points of Student's t for 1 to 30 degrees of freedom (from memory; the
# tests compare them with a reference library).
_T95 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
    2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip


@dataclass(frozen=True)
class BucketStatistics:
    """Summary of repeated bucket readings.

    Attributes
    ----------
    mean : float
        Mean flow [m3/s].
    standard_deviation : float
        Sample standard deviation of the flows [m3/s]; 0 for one reading.
    spread : float
        (max - min) / mean [-].
    count : int
        Number of readings.
    half_width : float
        Half width of the 95 % confidence interval of the mean [m3/s]; inf for one reading.
    """

    mean: float
    standard_deviation: float
    spread: float
    count: int
    half_width: float


def bucket_statistics(volumes: ArrayLike, times: ArrayLike) -> BucketStatistics:
    """Summarise repeated readings of a bucket and a watch.

    Parameters
    ----------
    volumes : array_like
        Volumes caught [m3], more than 0; one number serves for all times.
    times : array_like
        Filling times [s], more than 0.

    Returns
    -------
    BucketStatistics
        Mean, standard deviation, spread, count and 95 % half width.

    Raises
    ------
    InputError
        If a reading is not positive or the lengths do not fit.

    Notes
    -----
    Student's t interval of the mean (textbook); above 30 degrees of freedom by the
    Cornish-Fisher expansion of t (from memory).
    """
    t = array("times", times, 0.0, open_low=True, unit="s").ravel()
    v = array("volumes", volumes, 0.0, open_low=True, unit="m3").ravel()
    if v.size not in (1, t.size):
        raise InputError(
            "must have one volume for each time",
            code="length",
            field="volumes",
            given=v.size,
            accepted=f"1 or {t.size} volumes",
        )
    flows = v / t
    mean, n = float(flows.mean()), int(flows.size)
    spread = float(flows.max() - flows.min()) / mean
    if n == 1:
        return BucketStatistics(mean, 0.0, spread, 1, math.inf)
    deviation = float(flows.std(ddof=1))
    return BucketStatistics(mean, deviation, spread, n, _t95(n - 1) * deviation / math.sqrt(n))


def _t95(freedom: int) -> float:
    """Return the two-sided 95 % point of Student's t."""
    if freedom <= len(_T95):
        return _T95[freedom - 1]
    z = 1.959964
    return z + (z**3 + z) / (4 * freedom) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
