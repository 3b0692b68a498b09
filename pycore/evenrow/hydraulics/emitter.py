"""The emitter: flow as a function of the pressure head at it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number, whole
from evenrow.words import tr

#: Head below which the flow falls in proportion to the head [m]. A root has an infinite
#: slope at 0, so that on a line that runs dry round-off alone would decide the flows;
#: no law of a device was ever measured at a millimetre of water.
LINEAR_BELOW = 1e-3


@dataclass(frozen=True)
class Emitter:
    """An emission device with its flow law and its makers' spread.

    ``q = flow_nominal * (h / head_nominal) ** exponent`` and 0 for ``h <= 0``; below
    `linear_below`, 1 mm of head, the flow is proportional to the head. A compensating
    device gives `flow_nominal` from `head_compensating_from` upwards and
    behaves like an orifice (exponent 0.5) below it.

    Parameters
    ----------
    flow_nominal : float
        Flow at the nominal head [m3/s], more than 0.
    head_nominal : float
        Nominal pressure head [m], more than 0.
    exponent : float
        Exponent x [-], more than 0 and at most 1; not used (0 allowed) if compensating.
    cv : float
        Coefficient of manufacturing variation [-], 0 to 1.
    head_min, head_max : float
        Range of pressure head the device is meant for [m]; not a limit of the law.
    compensating : bool
        True for a pressure-compensating device.
    head_compensating_from : float, optional
        Head from which the flow is flat [m]; `head_min` if left out.
    linear_below : float
        Head below which the flow is proportional to the head [m], 1e-6 to 100.

    Raises
    ------
    InputError
        If a value is not finite or out of range.

    Notes
    -----
    Power law: Keller and Karmeli (1974), Trans. ASAE 17(4), 678-684 (from memory).
    """

    flow_nominal: float
    head_nominal: float
    exponent: float
    cv: float
    head_min: float
    head_max: float
    compensating: bool = False
    head_compensating_from: float | None = None
    linear_below: float = LINEAR_BELOW

    def __post_init__(self) -> None:
        number("flow_nominal", self.flow_nominal, 0.0, 1.0, open_low=True, unit="m3/s")
        number("head_nominal", self.head_nominal, 0.0, open_low=True, unit="m")
        number("exponent", self.exponent, 0.0, 1.0, open_low=not self.compensating)
        number("cv", self.cv, 0.0, 1.0)
        number("head_min", self.head_min, 0.0, unit="m")
        if not self.head_max > self.head_min:
            raise InputError(
                tr("must be above head_min"),
                code="out_of_range",
                field="head_max",
                given=self.head_max,
                accepted=tr("more than {head:g} m", head=self.head_min),
            )
        number("linear_below", self.linear_below, 1e-6, 100.0, unit="m")
        if self.compensating:
            number("head_compensating_from", self.threshold, 0.0, open_low=True, unit="m")

    @property
    def threshold(self) -> float:
        """Head from which a compensating device is flat [m]."""
        given = self.head_compensating_from
        return self.head_min if given is None else given

    @property
    def law_exponent(self) -> float:
        """Exponent of the rising part of the law [-]."""
        return 0.5 if self.compensating else self.exponent

    def head_giving(self, flow: float) -> float:
        """Return the head at which the rising part of the law gives a flow of more than 0 [m]."""
        return math.exp((math.log(flow) - self.log_coefficient) / self.law_exponent)

    def threshold_or(self, head: float) -> float:
        """Return the head from which a compensating device is flat, `head` for others [m]."""
        return self.threshold if self.compensating else head

    @property
    def linear_end(self) -> float:
        """Head below which the flow really is proportional to the head [m]."""
        return self._linear_below

    @cached_property
    def _linear_below(self) -> float:
        """Head below which the flow is proportional to the head [m]."""
        if self.compensating:
            return min(self.linear_below, 0.5 * self.threshold)
        return self.linear_below

    def softened(self, head: float) -> Emitter:
        """Return the same device with its flow proportional to the head up to `head` [m]."""
        return replace(self, linear_below=head)

    def several(self, number_at_place: int) -> Emitter:
        """Return several of this device at one place (on one plant) as one outlet.

        Parameters
        ----------
        number_at_place : int
            How many there are, 1 to 1,000.

        Returns
        -------
        Emitter
            That many times the flow. The makers' spread of their sum is CV / sqrt(n), as
            they vary independently, so that the emission uniformity of lines of such
            outlets is that of Keller and Karmeli with n emitters to a plant.

        Raises
        ------
        InputError
            If the number is not whole or out of range.
        """
        n = whole("number_at_place", number_at_place, 1, 1000)
        return replace(self, flow_nominal=n * self.flow_nominal, cv=self.cv / math.sqrt(n))

    @cached_property
    def log_coefficient(self) -> float:
        """Natural logarithm of the flow at 1 m of head on the rising part."""
        base = self.threshold if self.compensating else self.head_nominal
        return math.log(self.flow_nominal) - self.law_exponent * math.log(base)

    def flow(self, head: ArrayLike) -> FloatArray:
        """Return the flow at each pressure head.

        Parameters
        ----------
        head : array_like
            Pressure head [m], any shape and sign.

        Returns
        -------
        numpy.ndarray
            Flow [m3/s], same shape; 0 where the head is 0 or less.

        Raises
        ------
        InputError
            If a head is not finite.
        """
        h = array("head", head)
        return self._flow(np.atleast_1d(h)).reshape(h.shape)

    def flow_and_slope(self, head: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the flow at each pressure head and its derivative.

        Parameters
        ----------
        head : array_like
            Pressure head [m], any shape and sign.

        Returns
        -------
        flow, slope : numpy.ndarray
            Flow [m3/s] and derivative by head [m2/s]; both 0 where the head is 0 or
            less, and the slope 0 where a compensating device is flat.

        Raises
        ------
        InputError
            If a head is not finite.
        """
        h = array("head", head)
        flow, slope = self.flows_and_slopes(np.atleast_1d(h))
        return flow.reshape(h.shape), slope.reshape(h.shape)

    def flows_and_slopes(self, head: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return flow and slope without checks, for the solver (see `flow_and_slope`)."""
        q = self._flow(head)
        slope = np.maximum(head, 1e-200)
        np.divide(q, slope, out=slope)
        slope *= np.where(head < self._linear_below, 1.0, self.law_exponent)
        if self.compensating:
            slope *= head < self.threshold
        return q, slope

    def flows(self, head: FloatArray) -> FloatArray:
        """Return the flow without checks, for the solver."""
        return self._flow(head)

    def flow_of(self, outlet: int, head: FloatArray) -> FloatArray:
        """Return the flow of one outlet at several heads without checks (all are equal)."""
        return self._flow(head)

    def _flow(self, head: FloatArray) -> FloatArray:
        """Return the flow without checking `head`."""
        small = self._linear_below
        q: FloatArray = np.log(np.maximum(head, small))
        q *= self.law_exponent
        q += self.log_coefficient
        np.exp(q, out=q)
        part = head / small
        np.maximum(part, 0.0, out=part)
        np.minimum(part, 1.0, out=part)
        q *= part
        if self.compensating:
            np.minimum(q, self.flow_nominal, out=q)
        return q


@dataclass(frozen=True)
class PowerLawFit:
    """q = k h^x fitted to measured pairs by `fit_emitter`.

    Attributes
    ----------
    coefficient : float
        k, the flow at 1 m of head [m3/s].
    exponent : float
        x [-].
    residuals : numpy.ndarray
        Measured over fitted flow, less 1 [-], shape (n,).
    coefficient_error : float or None
        Standard error of k relative to k [-]; None with two points, which any law fits.
    exponent_error : float or None
        Standard error of x [-]; None with two points.
    """

    coefficient: float
    exponent: float
    residuals: FloatArray
    coefficient_error: float | None
    exponent_error: float | None

    def flow(self, head: ArrayLike) -> FloatArray:
        """Return the fitted flow [m3/s] at pressure heads [m] of at least 0."""
        h = array("head", head, 0.0, unit="m")
        return np.asarray(self.coefficient * h**self.exponent)


def fit_emitter(heads: ArrayLike, flows: ArrayLike) -> PowerLawFit:
    """Fit q = k h^x to measured pairs and say how well they fit.

    Parameters
    ----------
    heads : array_like
        Pressure heads [m], more than 0, at least two different ones.
    flows : array_like
        Flows at these heads [m3/s], more than 0, same length.

    Returns
    -------
    PowerLawFit
        Law, residuals and standard errors.

    Raises
    ------
    InputError
        If the lengths differ, a value is not positive, or all heads are equal.

    Notes
    -----
    Ordinary least squares on ln q against ln h: equal relative errors of the flows are
    taken for granted, and the heads for exact.
    """
    h = np.log(array("heads", heads, 0.0, open_low=True, unit="m").ravel())
    q = np.log(array("flows", flows, 0.0, open_low=True, unit="m3/s").ravel())
    if h.size != q.size:
        raise InputError(
            "must have one flow for each head",
            code="length",
            field="flows",
            given=q.size,
            accepted=f"{h.size} flows",
        )
    middle = float(h.mean())
    spread = h - middle
    total = float(spread @ spread)
    if total < 1e-12:
        raise InputError(
            "must hold at least two different heads",
            code="too_few",
            field="heads",
            given=h.size,
            hint="measure the flow at two or more pressures",
        )
    exponent = float(spread @ (q - q.mean())) / total
    at_one = float(q.mean()) - exponent * middle
    off = q - (at_one + exponent * h)
    coefficient_error = exponent_error = None
    if h.size > 2:
        variance = float(off @ off) / (h.size - 2)
        exponent_error = math.sqrt(variance / total)
        coefficient_error = math.sqrt(variance * (1.0 / h.size + middle**2 / total))
    return PowerLawFit(math.exp(at_one), exponent, np.expm1(off), coefficient_error, exponent_error)


def fit_power_law(heads: ArrayLike, flows: ArrayLike) -> tuple[float, float]:
    """Return k [m3/s at 1 m of head] and x [-] of `fit_emitter` alone.

    Parameters
    ----------
    heads, flows : array_like
        As of `fit_emitter`.

    Returns
    -------
    coefficient, exponent : float
        k [m3/s] and x [-].

    Raises
    ------
    InputError
        As `fit_emitter`.
    """
    fit = fit_emitter(heads, flows)
    return fit.coefficient, fit.exponent
