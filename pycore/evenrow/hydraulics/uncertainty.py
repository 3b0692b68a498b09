"""What makers' spread and plugged emitters do to uniformity, by seeded random trials."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics._check import FloatArray, array, number, whole
from evenrow.hydraulics._rows import CHUNK, Rows
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.uniformity import distribution_uniformity_lq

#: Percentiles given where none are asked for.
PERCENTILES = (5.0, 50.0, 95.0)
_MAX_SAMPLES = 100_000
_MAX_NUMBERS = 50_000_000
_BATCH = 2_000_000


@dataclass(frozen=True)
class Uncertainty:
    """Uniformity over random trials.

    Attributes
    ----------
    percentiles : tuple of float
        Percentiles asked for [%].
    eu : numpy.ndarray
        Percentiles of the emission uniformity as a field test finds it, the mean of the
        lowest quarter of the plants over the mean of all [-].
    dulq : numpy.ndarray
        Percentiles of the same by single emitters [-].
    eu_mean, dulq_mean : float
        Means over the trials [-].
    eu_samples, dulq_samples : numpy.ndarray
        All trials, shape (samples,).
    mean_flow : float
        Mean flow of an emitter over all trials, plugged ones included [m3/s].
    """

    percentiles: tuple[float, ...]
    eu: FloatArray
    dulq: FloatArray
    eu_mean: float
    dulq_mean: float
    eu_samples: FloatArray
    dulq_samples: FloatArray
    mean_flow: float


def uniform_numbers(seed: int, stream: int, first: int, count: int) -> FloatArray:
    """Return random numbers between 0 and 1 that depend on nothing but the arguments.

    Parameters
    ----------
    seed, stream : int
        Which series, 0 to 2**53 and 0 to 1,000.
    first, count : int
        Which part of it: numbers `first` to ``first + count - 1``.

    Returns
    -------
    numpy.ndarray
        Numbers in the open interval (0, 1), shape (count,).

    Raises
    ------
    InputError
        If an argument is not whole or out of range.

    Notes
    -----
    SplitMix64 as a hash of a counter: Steele, Lea and Flood (2014), OOPSLA, 453-472 (from
    memory). The same in every build, also where NumPy comes without its own generators.
    """
    start = whole("first", first, 0, 2**53)
    z: NDArray[np.uint64] = np.arange(
        start + 1, start + whole("count", count, 1, _MAX_NUMBERS) + 1, dtype=np.uint64
    )
    key = _hash(np.array([whole("seed", seed, 0, 2**53)], dtype=np.uint64))
    key = _hash(key + np.array([whole("stream", stream, 0, 1000)], dtype=np.uint64))
    z *= np.uint64(0x9E3779B97F4A7C15)
    z = _hash(z + key)
    return ((z >> np.uint64(11)).astype(np.float64) + 0.5) * 2.0**-53


def _hash(z: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Return the mixing function of SplitMix64; products wrap around on purpose."""
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


def normal_numbers(seed: int, stream: int, first: int, count: int) -> FloatArray:
    """Return standard normal random numbers, see `uniform_numbers`.

    Parameters
    ----------
    seed, stream, first, count : int
        As in `uniform_numbers`; streams `stream` and ``stream + 1`` are used.

    Returns
    -------
    numpy.ndarray
        Numbers with mean 0 and variance 1, shape (count,).

    Raises
    ------
    InputError
        If an argument is not whole or out of range.

    Notes
    -----
    Box and Muller (1958), Ann. Math. Stat. 29, 610-611.
    """
    radius = np.sqrt(-2.0 * np.log(uniform_numbers(seed, stream, first, count)))
    angle = 2.0 * math.pi * uniform_numbers(seed, stream + 1, first, count)
    return np.asarray(radius * np.cos(angle))


@dataclass(frozen=True)
class _Trials:
    """Checked arguments of the trials."""

    cv: float
    plugged: float
    samples: int
    seed: int
    per_plant: int
    percentiles: tuple[float, ...]

    def factors(self, first: int, rows: int, n: int) -> FloatArray:
        """Return what each emitter gives of its flow, shape (rows, n), for some trials."""
        size, start = rows * n, first * n
        out: FloatArray = np.ones(size)
        if self.cv > 0.0:
            # A spread so wide that it would reach below zero is cut there.
            out = np.maximum(1.0 + self.cv * normal_numbers(self.seed, 0, start, size), 0.0)
        if self.plugged > 0.0:
            out *= uniform_numbers(self.seed, 2, start, size) >= self.plugged
        return out.reshape(rows, n)

    def measures(self, flows: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return field EU and DUlq of each row; 0 where all emitters are plugged."""
        wet = flows.max(axis=1) > 0.0
        eu, du = np.zeros(wet.size), np.zeros(wet.size)
        if wet.any():
            du[wet] = distribution_uniformity_lq(flows[wet])
            plants = flows.shape[1] // self.per_plant
            each = flows[:, : plants * self.per_plant]
            totals = each.reshape(wet.size, plants, self.per_plant).sum(axis=2)
            some = totals.max(axis=1) > 0.0
            if some.any():
                eu[some] = distribution_uniformity_lq(totals[some])
        return eu, du

    def gathered(self, eu: FloatArray, du: FloatArray, mean_flow: float) -> Uncertainty:
        """Return the summary."""
        return Uncertainty(
            self.percentiles,
            np.asarray(np.percentile(eu, self.percentiles), np.float64),
            np.asarray(np.percentile(du, self.percentiles), np.float64),
            float(eu.mean()),
            float(du.mean()),
            eu,
            du,
            mean_flow,
        )


def _trials(
    n: int, cv: float, plugged: float, samples: int, seed: int, per_plant: int,
    percentiles: Sequence[float],
) -> _Trials:  # fmt: skip
    """Check the arguments."""
    count = whole("samples", samples, 2, _MAX_SAMPLES)
    if count * n > _MAX_NUMBERS:
        raise InputError(
            "times the number of emitters is too much",
            code="out_of_range",
            field="samples",
            given=samples,
            accepted=f"at most {_MAX_NUMBERS // n}",
        )
    return _Trials(
        number("cv", cv, 0.0, 1.0),
        number("plugged", plugged, 0.0, 0.99),
        count,
        whole("seed", seed, 0, 2**53),
        whole("per_plant", per_plant, 1, n),
        tuple(array("percentiles", percentiles, 0.0, 100.0, unit="%").ravel().tolist()),
    )


def flow_uncertainty(
    flows: ArrayLike,
    cv: float,
    plugged: float = 0.0,
    *,
    samples: int = 500,
    seed: int = 1,
    per_plant: int = 1,
    percentiles: Sequence[float] = PERCENTILES,
) -> Uncertainty:
    """Return the uniformity of emitters whose makers' spread and plugging are random.

    Parameters
    ----------
    flows : array_like
        Flows without spread [m3/s], at least 0, shape (n,); neighbours feed one plant.
    cv : float
        Coefficient of manufacturing variation [-], 0 to 1.
    plugged : float
        Share of emitters that give nothing [-], 0 to 0.99, each independently.
    samples : int
        Trials, 2 to 100,000.
    seed : int
        Seed, 0 to 2**53; the same seed gives the same answer on every machine.
    per_plant : int
        Emitters that feed one plant, 1 to n.
    percentiles : sequence of float
        Percentiles to return [%], 0 to 100.

    Returns
    -------
    Uncertainty
        Percentiles, means and all trials.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Normal factors 1 + CV z, independent from emitter to emitter, none below 0. Pressures
    stay as they were: right for spread, which evens out; `lateral_uncertainty` solves each
    trial anew, which plugging asks for.
    """
    q = array("flows", flows, 0.0, unit="m3/s").ravel()
    trials = _trials(q.size, cv, plugged, samples, seed, per_plant, percentiles)
    batch = max(1, _BATCH // q.size)
    eu: list[FloatArray] = []
    du: list[FloatArray] = []
    total = 0.0
    for first in range(0, trials.samples, batch):
        drawn = q * trials.factors(first, min(batch, trials.samples - first), q.size)
        for kept, value in zip((eu, du), trials.measures(drawn), strict=True):
            kept.append(value)
        total += float(drawn.sum())
    mean = total / (q.size * trials.samples)
    return trials.gathered(np.concatenate(eu), np.concatenate(du), mean)


def lateral_uncertainty(
    lateral: Lateral,
    inlet_head: float,
    plugged: float = 0.0,
    *,
    cv: float | None = None,
    samples: int = 200,
    seed: int = 1,
    per_plant: int = 1,
    percentiles: Sequence[float] = PERCENTILES,
) -> Uncertainty:
    """Return the uniformity of a lateral, its pressures solved anew for every trial.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    inlet_head : float
        Pressure head at its inlet [m], more than 0.
    plugged, samples, seed, per_plant, percentiles
        As in `flow_uncertainty`.
    cv : float, optional
        Coefficient of manufacturing variation [-]; that of the emitter if left out.

    Returns
    -------
    Uncertainty
        Percentiles, means and all trials.

    Raises
    ------
    InputError
        If an argument is out of range.
    ConvergenceError
        If a trial is not solved.

    Notes
    -----
    As `flow_uncertainty`, the factors applied to the coefficient of each emitter.
    """
    head = number("inlet_head", inlet_head, 0.0, 10_000.0, open_low=True, unit="m")
    n = lateral.count
    spread = lateral.emitter.cv if cv is None else cv
    trials = _trials(n, spread, plugged, samples, seed, per_plant, percentiles)
    usual = solve_lateral(lateral, head).head
    batch = max(1, CHUNK // n)
    one = Rows([lateral.line])
    eu: list[FloatArray] = []
    du: list[FloatArray] = []
    total = 0.0
    for first in range(0, trials.samples, batch):
        rows = min(batch, trials.samples - first)
        weights = trials.factors(first, rows, n)
        many = one.repeated(rows).weighted(weights.ravel())
        solved = many.solve(np.full(rows, head), np.tile(usual, rows))
        if not solved.done.all():
            raise ConvergenceError(
                f"{int((~solved.done).sum())} of {rows} trials were not solved",
                code="not_converged",
                hint="report this lateral with its inputs",
            )
        flows = solved.flow.reshape(rows, n)
        for kept, value in zip((eu, du), trials.measures(flows), strict=True):
            kept.append(value)
        total += float(solved.total.sum())
    return trials.gathered(np.concatenate(eu), np.concatenate(du), total / (n * trials.samples))
