import numpy as np
import pytest
from scipy import stats

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics import uncertainty
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.uncertainty import (
    flow_uncertainty,
    lateral_uncertainty,
    normal_numbers,
    uniform_numbers,
)

DEVICE = Emitter(2.0e-3 / 3600.0, 10.0, 0.5, 0.07, 5.0, 30.0)
LATERAL = Lateral(DEVICE, 120, 0.3, 0.0138)
EVEN = np.full(400, 1e-6)


@pytest.mark.parametrize("seed", [0, 1, 12345])
def test_numbers_are_distributed_as_they_should_be(seed):
    uniform = uniform_numbers(seed, 0, 0, 100_000)
    assert 0.0 < uniform.min() < uniform.max() < 1.0
    assert stats.kstest(uniform, "uniform").pvalue > 1e-3
    assert stats.kstest(normal_numbers(seed, 0, 0, 100_000), "norm").pvalue > 1e-3
    # neighbours, streams and seeds know nothing of each other
    others = (
        uniform[1:],
        uniform_numbers(seed, 1, 0, 99_999),
        uniform_numbers(seed + 1, 0, 0, 99_999),
    )
    for other in others:
        assert abs(np.corrcoef(uniform[:-1], other)[0, 1]) < 0.012
    counts = np.histogram2d(uniform[0::2], uniform[1::2], bins=16)[0].ravel()
    assert stats.chisquare(counts).pvalue > 1e-3


def test_numbers_depend_on_their_place_only():
    whole = uniform_numbers(3, 2, 0, 50)
    np.testing.assert_array_equal(uniform_numbers(3, 2, 20, 30), whole[20:])


def test_spread_alone_comes_to_the_formula():
    # 1.27 is the mean of the lowest quarter of a normal distribution, in deviations.
    for per_plant in (1, 4):
        found = flow_uncertainty(EVEN, 0.07, per_plant=per_plant, samples=400)
        expected = 1.0 - 1.27 * 0.07 / per_plant**0.5
        assert found.eu_mean == pytest.approx(expected, abs=2e-3)
    assert found.dulq_mean == pytest.approx(1.0 - 1.27 * 0.07, abs=2e-3)


def test_plugging_alone():
    found = flow_uncertainty(EVEN, 0.0, 0.1, samples=400)
    # a tenth gives nothing: of the lowest quarter 15 parts in 25 are left
    assert found.dulq_mean == pytest.approx(0.15 / 0.25 / 0.9, abs=0.01)
    assert found.mean_flow == pytest.approx(0.9e-6, rel=5e-3)


def test_percentiles_are_those_of_the_trials():
    found = flow_uncertainty(EVEN, 0.1, samples=101, percentiles=(0.0, 50.0, 100.0))
    assert found.eu[0] == found.eu_samples.min()
    assert found.eu[2] == found.eu_samples.max()
    assert found.dulq[1] == pytest.approx(np.median(found.dulq_samples))
    assert found.dulq_samples.shape == (101,)


def test_the_seed_decides():
    a, b, c = (flow_uncertainty(EVEN, 0.1, 0.02, seed=seed, samples=20) for seed in (4, 4, 5))
    np.testing.assert_array_equal(a.eu_samples, b.eu_samples)
    assert not np.array_equal(a.eu_samples, c.eu_samples)


def test_batches_change_nothing(monkeypatch):
    whole = flow_uncertainty(EVEN, 0.1, 0.05, samples=30)
    line = lateral_uncertainty(LATERAL, 10.0, 0.05, samples=30)
    monkeypatch.setattr(uncertainty, "_BATCH", 1600)
    monkeypatch.setattr(uncertainty, "CHUNK", 500)
    np.testing.assert_array_equal(flow_uncertainty(EVEN, 0.1, 0.05, samples=30).eu, whole.eu)
    parts = lateral_uncertainty(LATERAL, 10.0, 0.05, samples=30)
    np.testing.assert_allclose(parts.eu_samples, line.eu_samples, rtol=1e-7)


def test_trials_of_a_lateral_are_solved():
    none = lateral_uncertainty(LATERAL, 10.0, cv=0.0, samples=2)
    usual = solve_lateral(LATERAL, 10.0)
    np.testing.assert_allclose(none.dulq_samples, float(usual.dulq), rtol=1e-8)
    assert none.mean_flow == pytest.approx(float(usual.flow.mean()), rel=1e-8)
    # plugged neighbours leave pressure to the others
    long = Lateral(DEVICE, 350, 0.3, 0.0138)
    plugged = lateral_uncertainty(long, 10.0, 0.2, samples=60)
    still = flow_uncertainty(solve_lateral(long, 10.0).flow, 0.07, 0.2, samples=60)
    assert plugged.mean_flow > 1.02 * still.mean_flow


def test_all_plugged_is_no_nan():
    found = flow_uncertainty([1e-6, 1e-6], 0.0, 0.9, samples=50, per_plant=2)
    assert np.all(np.isfinite(found.eu_samples))
    assert found.eu_samples.min() == 0.0


def test_a_trial_that_fails_is_said(monkeypatch):
    monkeypatch.setattr("evenrow.hydraulics._rows._MAX_NEWTON", 0)
    with pytest.raises(ConvergenceError, match="trials"):
        lateral_uncertainty(LATERAL, 10.0, 0.2, samples=4)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"cv": -0.1}, "cv"),
        ({"plugged": 1.0}, "plugged"),
        ({"samples": 1}, "samples"),
        ({"seed": 0.5}, "seed"),
        ({"per_plant": 401}, "per_plant"),
        ({"percentiles": (101.0,)}, "percentiles"),
        ({"flows": [-1.0]}, "flows"),
        ({"flows": np.ones(1000), "samples": 100_000}, "samples"),
    ],
)
def test_wrong_trials(more, field):
    with pytest.raises(InputError) as error:
        flow_uncertainty(**{"flows": EVEN, "cv": 0.1, **more})
    assert error.value.field == field
