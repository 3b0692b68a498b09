"""Days gathered by month."""

import numpy as np
import pytest

from evenrow.agronomy.climate import DAYS_IN_MONTH, day_of_year, monthly_means
from evenrow.errors import InputError

DATES = np.arange(np.datetime64("2019-06-10"), np.datetime64("2022-02-03"))


def test_means_are_those_of_the_plain_way():
    random = np.random.default_rng(3)
    values = random.normal(size=(2, DATES.size))
    values[0, 50:90] = np.nan
    month = DATES.astype("datetime64[M]").astype(int) % 12
    wanted = [[np.nanmean(row[month == m]) for m in range(12)] for row in values]
    assert monthly_means(DATES, values) == pytest.approx(np.array(wanted), rel=1e-12)
    mixed = random.permutation(DATES.size)
    assert monthly_means(DATES[mixed], values[1, mixed]) == pytest.approx(wanted[1], rel=1e-12)


def test_a_month_without_days_is_a_gap():
    few = monthly_means(np.array(["2020-07-01", "2020-05-02", "2021-05-04"]), [1.0, 2.0, 4.0])
    assert few[[4, 6]].tolist() == [3.0, 1.0]
    assert np.isnan(few).sum() == 10
    assert np.isnan(monthly_means(np.array(["2020-07-01"]), [np.nan])).all()


def test_days():
    dates = np.array(["2019-01-01", "2019-12-31", "2020-12-31"], "datetime64[D]")
    assert day_of_year(dates).tolist() == [1.0, 365.0, 366.0]
    assert DAYS_IN_MONTH.sum() == 365.25


def test_bad_series():
    with pytest.raises(InputError):
        monthly_means(DATES, [1.0, 2.0])
    with pytest.raises(InputError) as caught:
        monthly_means(np.array(["2020-01-01", "NaT"], "datetime64[D]"), [1.0, 2.0])
    assert caught.value.field == "dates"
