"""Friction laws against a reference library, against rows and against handbook constants.

Marks: "library" is computed by the open-source library `fluids`; the rows of
``data/friction_rows.csv`` are computed from the stated formulas (the constant 0.133 from
memory, 10.67 of Hazen-Williams published); the rest is said beside each check.
"""

import csv
import math
from pathlib import Path

import fluids
import numpy as np
import pytest

from evenrow.hydraulics.friction import (
    blasius,
    churchill,
    handbook_gradient,
    hazen_williams_gradient,
    head_gradient,
    swamee_jain,
)

GPM, INCH, NU, G = 6.309019640343e-5, 0.0254, 1.004e-6, 9.80665
TEXT = (Path(__file__).parent / "data" / "friction_rows.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(x for x in TEXT.splitlines() if not x.startswith("#")))


@pytest.mark.parametrize("roughness", [0.0, 1e-5, 1e-4, 1e-2])
def test_churchill_equals_the_library(roughness):  # mark: library
    re = np.geomspace(1.0, 1e8, 60)
    theirs = [fluids.friction.Churchill_1977(x, roughness) for x in re]
    np.testing.assert_allclose(churchill(re, roughness), theirs, rtol=1e-12)


@pytest.mark.parametrize("roughness", [1e-5, 1e-4, 1e-2])
def test_swamee_jain_equals_the_library(roughness):  # mark: library
    re = np.geomspace(5e3, 1e8, 40)
    theirs = [fluids.friction.Swamee_Jain_1976(x, roughness) for x in re]
    np.testing.assert_allclose(swamee_jain(re, roughness), theirs, rtol=1e-3)


def test_churchill_is_near_colebrook_where_flow_is_turbulent():  # mark: library
    for re in (1e4, 1e5, 1e6):
        for roughness in (1e-5, 1e-4, 1e-3):
            exact = fluids.friction.Colebrook(re, roughness)
            assert float(churchill(re, roughness)) == pytest.approx(exact, rel=0.035)


def test_churchill_is_laminar_below_the_transition():  # mark: definition, f = 64 / Re
    re = np.array([1.0, 100.0, 1200.0])
    np.testing.assert_allclose(churchill(re, 1e-4) * re, 64.0, rtol=2e-3)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['ID_in']}in-{r['Q_gpm']}gpm")
def test_rows_of_ten_pipes(row):  # mark: computed from the stated formulas
    d, q = float(row["ID_in"]) * INCH, float(row["Q_gpm"]) * GPM
    re = 4.0 * q / (math.pi * d * NU)
    v = 4.0 * q / (math.pi * d * d)
    assert re == pytest.approx(float(row["Re"]), abs=1.0)
    by_blasius = 100.0 * float(blasius(re)) * v * v / (2.0 * G * d)
    assert by_blasius == pytest.approx(float(row["J_blasius"]), rel=2e-4, abs=6e-5)
    assert 100.0 * float(handbook_gradient(q, d)) == pytest.approx(
        float(row["J_neh_0.133"]), rel=1.5e-3
    )
    for c in (150, 140, 130):
        ours = 100.0 * float(hazen_williams_gradient(q, d, c))
        assert ours == pytest.approx(float(row[f"J_HW_C{c}"]), rel=2e-4, abs=6e-5)
    if re > 4000.0:
        smooth = 100.0 * float(head_gradient(q, d, 0.0, NU)[0])
        assert smooth == pytest.approx(float(row["J_smooth_fluids"]), rel=0.035)


def test_handbook_constant_in_us_units():
    # J = 0.133 ft/100 ft at 1 gpm in 1 inch; NEH Section 15 Chapter 7; mark: from memory
    assert 100.0 * float(handbook_gradient(GPM, INCH)) == pytest.approx(0.133, rel=1.5e-3)


def test_hazen_williams_point():
    # 1 gpm, 1 inch, C 150: 0.0976 ft/100 ft; mark: constants published, number computed
    ours = 100.0 * float(hazen_williams_gradient(GPM, INCH, 150.0))
    assert ours == pytest.approx(0.0976, rel=1e-3)
    # US form 4.52 Q^1.85/(C^1.85 d^4.87) psi/ft of NFPA 13 (from memory): 0.6 % above
    us = 100.0 * 4.52 / 150.0**1.85 * 2.306659
    assert us == pytest.approx(ours, rel=0.01)
