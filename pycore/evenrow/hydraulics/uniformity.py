"""Measures of uniformity of emitter flows; all return fractions of 1."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number, whole


def _flows(flows: ArrayLike) -> FloatArray:
    """Return the flows as an array with at least one axis and some water in each row."""
    q = np.atleast_1d(array("flows", flows, 0.0, unit="m3/s"))
    if not bool(np.all(q.max(axis=-1) > 0.0)):
        raise InputError(
            "must not all be zero",
            code="no_flow",
            field="flows",
            given=0,
            accepted="at least one flow above 0",
        )
    return q


def _counts(counts: ArrayLike | None, q: FloatArray) -> FloatArray | None:
    """Return the counts broadcast to the flows, or None."""
    if counts is None:
        return None
    c = array("counts", counts, 0.0)
    try:
        c = np.broadcast_to(c, q.shape)
    except ValueError:
        raise InputError(
            "must fit the flows",
            code="length",
            field="counts",
            given=c.shape,
            accepted=f"shape {q.shape}",
        ) from None
    if not bool(np.all(c.sum(axis=-1) > 0.0)):
        raise InputError(
            "must not all be zero",
            code="out_of_range",
            field="counts",
            given=0,
            accepted="at least one count above 0",
        )
    return c


def _mean(q: FloatArray, c: FloatArray | None) -> FloatArray:
    """Return the mean over the last axis, by counts if given."""
    mean = q.mean(axis=-1) if c is None else (q * c).sum(axis=-1) / c.sum(axis=-1)
    if not bool(np.all(mean > 0.0)):
        raise InputError(
            "must not all be zero where counted",
            code="no_flow",
            field="flows",
            given=0,
            accepted="at least one counted flow above 0",
        )
    return np.asarray(mean)


def _extremes(q: FloatArray, c: FloatArray | None) -> tuple[FloatArray, FloatArray]:
    """Return least and largest flow of the last axis among those that count."""
    if c is None:
        return q.min(axis=-1), q.max(axis=-1)
    return np.where(c > 0, q, math.inf).min(axis=-1), np.where(c > 0, q, 0.0).max(axis=-1)


def emission_uniformity(
    flows: ArrayLike, cv: float, per_plant: int = 1, *, counts: ArrayLike | None = None
) -> FloatArray:
    """Return the design emission uniformity of Keller and Karmeli.

    Parameters
    ----------
    flows : array_like
        Emitter flows without manufacturing spread [any flow unit], at least 0; the last
        axis is summarised.
    cv : float
        Coefficient of manufacturing variation [-], 0 to 1.
    per_plant : int
        Number n of emitters that feed one plant, 1 to 1,000.
    counts : array_like, optional
        How many times each flow occurs [-], broadcast to `flows`.

    Returns
    -------
    numpy.ndarray
        (1 - 1.27 CV / sqrt(n)) q_min / q_avg, 0 to 1 [-], never below 0.

    Raises
    ------
    InputError
        If an argument is out of range or no water flows at all.

    Notes
    -----
    Keller, J. and Karmeli, D. (1974), Trans. ASAE 17(4), 678-684 (from memory; the
    formula itself was read in a published summary).
    """
    q = _flows(flows)
    c = _counts(counts, q)
    n = whole("per_plant", per_plant, 1, 1000)
    spread = 1.0 - 1.27 * number("cv", cv, 0.0, 1.0) / math.sqrt(n)
    return np.asarray(max(spread, 0.0) * _extremes(q, c)[0] / _mean(q, c))


def distribution_uniformity_lq(flows: ArrayLike, *, counts: ArrayLike | None = None) -> FloatArray:
    """Return the low-quarter distribution uniformity.

    Parameters
    ----------
    flows : array_like
        Catches or flows [any unit], at least 0; the last axis is summarised.
    counts : array_like, optional
        How many times each flow occurs [-], broadcast to `flows`.

    Returns
    -------
    numpy.ndarray
        Mean of the lowest quarter over the mean of all, 0 to 1 [-].

    Raises
    ------
    InputError
        If an argument is out of range or no water flows at all.

    Notes
    -----
    Merriam, J. L. and Keller, J. (1978), Farm Irrigation System Evaluation. The quarter of n
    readings is n/4 rounded to the nearest whole number (halves up, at least 1), as
    the published worked catches need.
    """
    q = _flows(flows)
    c = _counts(counts, q)
    mean = _mean(q, c)
    if c is None:
        take = max(1, math.floor(q.shape[-1] / 4.0 + 0.5))
        low = np.partition(q, take - 1, axis=-1)[..., :take].mean(axis=-1)
        return np.asarray(low / mean)
    order = np.argsort(q, axis=-1)
    sorted_q = np.take_along_axis(q, order, axis=-1)
    sorted_c = np.take_along_axis(c, order, axis=-1)
    total = sorted_c.sum(axis=-1, keepdims=True)
    quarter = np.minimum(np.maximum(np.floor(total / 4.0 + 0.5), 1.0), total)
    before = np.cumsum(sorted_c, axis=-1) - sorted_c
    part = np.clip(quarter - before, 0.0, sorted_c)
    return np.asarray((sorted_q * part).sum(axis=-1) / quarter[..., 0] / mean)


def statistical_uniformity(
    flows: ArrayLike, cv: float = 0.0, *, counts: ArrayLike | None = None
) -> FloatArray:
    """Return the statistical uniformity 1 - V, V the total coefficient of variation.

    Parameters
    ----------
    flows : array_like
        Emitter flows [any flow unit], at least 0; the last axis is summarised.
    cv : float
        Coefficient of manufacturing variation to add as an independent spread [-], 0 to 1.
    counts : array_like, optional
        How many times each flow occurs [-], broadcast to `flows`.

    Returns
    -------
    numpy.ndarray
        Statistical uniformity [-], at most 1, never below 0.

    Raises
    ------
    InputError
        If an argument is out of range or no water flows at all.

    Notes
    -----
    Wilcox and Swailes (1947); Bralts et al. (1981), Trans. ASAE 24(5), 1234-1240 (from
    memory). The hydraulic and the manufacturing variation are independent factors of
    each flow, so V^2 = V_h^2 + V_m^2 + V_h^2 V_m^2. V_h is that of the whole population.
    """
    q = _flows(flows)
    c = _counts(counts, q)
    mean = _mean(q, c)
    apart = (q - mean[..., None]) ** 2
    variance = apart.mean(axis=-1) if c is None else (apart * c).sum(axis=-1) / c.sum(axis=-1)
    hydraulic = variance / mean**2
    made = number("cv", cv, 0.0, 1.0) ** 2
    total = np.sqrt(hydraulic + made + hydraulic * made)
    return np.asarray(np.maximum(1.0 - total, 0.0))


def flow_variation(flows: ArrayLike, *, counts: ArrayLike | None = None) -> FloatArray:
    """Return the flow variation (q_max - q_min) / q_max.

    Parameters
    ----------
    flows : array_like
        Emitter flows [any flow unit], at least 0; the last axis is summarised.
    counts : array_like, optional
        How many times each flow occurs [-]; flows that occur 0 times are left out.

    Returns
    -------
    numpy.ndarray
        Flow variation, 0 to 1 [-].

    Raises
    ------
    InputError
        If an argument is out of range or no water flows at all.

    Notes
    -----
    Wu, I. P. and Gitlin, H. M. (1974), Trans. ASAE 17(3), 429-432 (from memory).
    """
    q = _flows(flows)
    low, high = _extremes(q, _counts(counts, q))
    if not bool(np.all(high > 0.0)):
        raise InputError(
            "must not all be zero where counted",
            code="no_flow",
            field="flows",
            given=0,
            accepted="at least one counted flow above 0",
        )
    return np.asarray((high - low) / high)
