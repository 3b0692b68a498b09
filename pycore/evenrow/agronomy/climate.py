"""Days gathered into the twelve months of a mean year."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.agronomy._series import FloatArray, series
from evenrow.errors import InputError

#: Days of each month of a mean year; February has a quarter of a leap day.
DAYS_IN_MONTH = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=np.float64)
DAYS_IN_MONTH.setflags(write=False)


def as_days(dates: ArrayLike) -> NDArray[np.datetime64]:
    """Return dates (NumPy's, or texts such as ``2020-05-31``) as days, or raise `InputError`."""
    try:
        when: NDArray[np.datetime64] = np.asarray(dates, dtype="datetime64[D]")
    except (TypeError, ValueError):
        when = np.array("NaT", "datetime64[D]")
    if bool(np.isnat(when).any()):
        raise InputError(
            "has something that is no date",
            code="not_a_date",
            field="dates",
            given=dates,
            accepted="days such as 2020-05-31",
        )
    return when


def day_of_year(dates: ArrayLike) -> FloatArray:
    """Return the day of the year, 1 to 366, of dates of any shape."""
    when = as_days(dates)
    return np.asarray((when - when.astype("datetime64[Y]")).astype(np.float64) + 1.0)


def monthly_means(dates: ArrayLike, values: ArrayLike) -> FloatArray:
    """Return the mean of daily values in each month, over all years.

    Parameters
    ----------
    dates : array_like of datetime64
        The days, shape (days,), in any order.
    values : array_like
        One value for each day, shape (days,), or several series at once, shape
        (series, days); NaN where none was measured.

    Returns
    -------
    numpy.ndarray
        Means, January first, shape (12,) or (series, 12); NaN for a month without a single
        value. For a quantity per day, such as rain, this times `DAYS_IN_MONTH` is the
        month's total.

    Raises
    ------
    InputError
        If dates and values are not as many, or a date is none.
    """
    when, known = _in_order(dates, values)
    rows = np.atleast_2d(known)
    # Days of one month are neighbours now: each month of each year is summed at one go.
    months = np.arange(when[0].astype("datetime64[M]"), when[-1].astype("datetime64[M]") + 1)
    begins = np.searchsorted(when, months.astype("datetime64[D]"))
    lengths = np.concatenate((begins[1:], (when.size,))) - begins
    has_days = lengths > 0
    begins, calendar = begins[has_days], months[has_days].astype(np.intp) % 12
    counts = np.broadcast_to(lengths[has_days], (rows.shape[0], begins.size))
    sums = np.add.reduceat(rows, begins, axis=1)
    # A gap makes the sum of its month one, and so does what is no number.
    if not np.isfinite(sums).all():
        series("values", known)
        gaps = np.isnan(rows)
        counts = np.add.reduceat(~gaps, begins, axis=1, dtype=np.intp)
        sums = np.add.reduceat(np.where(gaps, 0.0, rows), begins, axis=1)
    means = np.full((rows.shape[0], 12), np.nan)
    for i in range(rows.shape[0]):
        total = np.bincount(calendar, sums[i], 12)
        count = np.bincount(calendar, counts[i], 12)
        np.divide(total, count, out=means[i], where=count > 0)
    return means[0] if known.ndim == 1 else means


def _in_order(dates: ArrayLike, values: ArrayLike) -> tuple[NDArray[np.datetime64], FloatArray]:
    """Return dates and values as `monthly_means` takes them, in the order of the dates.

    Long series go through here often, so that each is read no more often than it must be.
    """
    try:
        known: FloatArray = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        known = series("values", values)
    when = np.asarray(dates)
    if when.dtype != np.dtype("datetime64[D]"):
        when = as_days(dates)
    if when.ndim != 1 or known.ndim not in (1, 2) or known.shape[-1] != when.size or not when.size:
        as_days(dates)
        series("values", values)
        raise InputError(
            "needs one value for each date",
            code="length",
            field="values",
            given=known.shape,
            accepted=f"{when.size} values",
        )
    # As numbers of days they are compared quicker; what is no date is the least of all numbers.
    number = when.view(np.int64)
    if bool((number[1:] < number[:-1]).any()):
        order = np.argsort(when, kind="stable")
        as_days(when)
        return when[order], known[..., order]
    as_days(when[:1])
    return when, known
