"""The field evaluation against published catches, and its band against many made-up fields."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from evenrow.agronomy import field_evaluation as e
from evenrow.agronomy import sampling as s

TEXT = (Path(__file__).parent / "data" / "catch_cans.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(x for x in TEXT.splitlines() if not x.startswith("#")))


@pytest.mark.parametrize("row", [r for r in ROWS if r["published_DUlq"]], ids=lambda r: r["set"])
def test_low_quarter_of_published_catches(row):  # mark: published, see the data file
    flows = e.cup_flows([float(v) for v in row["values"].split()], 120.0)
    assert 100 * e.low_quarter(flows) == pytest.approx(float(row["published_DUlq"]), abs=0.5)


@pytest.mark.parametrize(
    ("us", "eu"), [(1.00, 1.00), (0.95, 0.94), (0.90, 0.87), (0.85, 0.81), (0.75, 0.68)]
)
def test_eu_of_a_bell_curve_by_its_statistical_uniformity(us, eu):
    # ASAE EP458 prints both scales beside each other (from memory): EU = 1 - 1.27 (1 - Us).
    flows = np.maximum(1.0 + (1.0 - us) * _bell(4000), 0.0)
    assert e.low_quarter(flows) == pytest.approx(eu, abs=0.007)


def _bell(count):
    """Return `count` evenly spread points of the standard normal distribution."""
    return norm.ppf((np.arange(count) + 0.5) / count)


TRIALS = 200_000


def _reading_with(bound, side, count, confidence):
    """Return the variation of the cups at which an end of the band just meets `bound`."""
    low, high = 0.0, 2.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        short = s.variation_band(middle, count, confidence)[side] < bound
        low, high = (middle, high) if short else (low, middle)
    return low


@pytest.mark.parametrize("cv", [0.05, 0.12, 0.30])
@pytest.mark.parametrize("count", [8, 16, 36])
@pytest.mark.parametrize("confidence", [0.80, 0.90, 0.95])
def test_the_band_holds_as_often_as_it_says(cv, count, confidence):
    """Monte Carlo: both ends of the band rise with the reading, so that it holds between two."""
    draw = np.random.default_rng(20240229)
    flows = np.maximum(1.0 + cv * draw.standard_normal((TRIALS, count)), 0.0)
    found = flows.std(axis=1, ddof=1) / flows.mean(axis=1)
    least = _reading_with(cv, 1, count, confidence)
    most = _reading_with(cv, 0, count, confidence)
    held = np.mean((found >= least) & (found <= most))
    # Three standard errors of the trials, and half of one per cent for the approximation.
    luck = 3.0 * np.sqrt(confidence * (1 - confidence) / TRIALS)
    assert held == pytest.approx(confidence, abs=luck + 0.005)


def test_the_usual_band_of_many_cups_fails_with_sixteen():
    """Why the usual formula is not used: it holds in clearly fewer than 95 of 100 fields."""
    draw = np.random.default_rng(7)
    flows = 1.0 + 0.1 * draw.standard_normal((20_000, 16))
    v = flows.std(axis=1, ddof=1) / flows.mean(axis=1)
    half = 1.96 * v * np.sqrt((1 + 2 * v**2) / 32)
    assert np.mean(np.abs(v - 0.1) <= half) < 0.93
