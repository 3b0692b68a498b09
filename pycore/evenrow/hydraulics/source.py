"""The water source: head it still gives at each flow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics.bucket import BucketStatistics, bucket_statistics
from evenrow.hydraulics.constants import G
from evenrow.words import tr

__all__ = ["BucketStatistics", "SourceCurve", "bucket_statistics", "usable_flow"]

#: Range of the fitted exponent of a throttled flow test [-].
EXPONENT_RANGE = (1.5, 2.1)


@dataclass(frozen=True)
class SourceCurve:
    """Head of a source as a falling function of flow; build it with a ``from_…`` method.

    Parameters
    ----------
    kind : {"power", "points"}
        ``H = shutoff_head - k Q^exponent``, or a curve through points.
    shutoff_head : float
        Head at zero flow [m].
    max_flow : float
        Flow at which the head is used up, or the last known point of a pump [m3/s];
        inf for a source whose head never falls.
    k : float
        Coefficient of the power law [m / (m3/s)^exponent].
    exponent : float
        Exponent of the power law [-].
    flows, heads, slopes : numpy.ndarray or None
        Points of the curve [m3/s, m, s/m2].
    """

    kind: str
    shutoff_head: float
    max_flow: float
    k: float = 0.0
    exponent: float = 2.0
    flows: FloatArray | None = None
    heads: FloatArray | None = None
    slopes: FloatArray | None = None

    @classmethod
    def from_flow_test(
        cls,
        static_head: float,
        open_flow: float | None,
        points: Sequence[tuple[float, float]] = (),
        exponent: float = 2.0,
    ) -> SourceCurve:
        """Build the curve from a pressure reading and a bucket test.

        Parameters
        ----------
        static_head : float
            Head with nothing open [m], more than 0.
        open_flow : float or None
            Flow with the outlet fully open, so at no head [m3/s], more than 0; may be
            None if `points` are given.
        points : sequence of (head, flow)
            Throttled readings [m, m3/s], each head below the static head.
        exponent : float
            Exponent used when there are no `points` [-], 1.5 to 2.1.

        Returns
        -------
        SourceCurve
            H = H0 - k Q^m; with points m is fitted within 1.5 to 2.1 and k by least
            squares of the heads, the open flow counting as one more reading.

        Raises
        ------
        InputError
            If a reading is out of range or nothing but the static head is given.

        Notes
        -----
        Losses of the supply line in turbulent flow, Q^1.75 to Q^2 (common practice).
        """
        h0 = number("static_head", static_head, 0.0, 10_000.0, open_low=True, unit="m")
        m = number("exponent", exponent, *EXPONENT_RANGE)
        readings: list[tuple[float, float]] = []
        for i, (head, flow) in enumerate(points):
            drop = h0 - number(f"points.{i}.head", head, 0.0, unit="m")
            if drop <= 0.0:
                raise InputError(
                    tr("must be below the static head"),
                    code="out_of_range",
                    field=f"points.{i}.head",
                    given=head,
                    accepted=tr("less than {head:g} m", head=h0),
                    hint=tr("check which reading is static"),
                )
            readings.append(
                (drop, number(f"points.{i}.flow", flow, 0.0, open_low=True, unit="m3/s"))
            )
        if open_flow is not None:
            readings.append((h0, number("open_flow", open_flow, 0.0, open_low=True, unit="m3/s")))
        if not readings:
            raise InputError(
                tr("is needed when there are no throttled readings"),
                code="missing",
                field="open_flow",
                accepted=tr("more than 0 m3/s"),
            )
        drops = np.array([r[0] for r in readings])
        flows = np.array([r[1] for r in readings])
        if points:
            m = _fit_exponent(drops, flows)
        k = _fit_k(drops, flows, m)
        return cls("power", h0, (h0 / k) ** (1.0 / m), k, m)

    @classmethod
    def from_pump_points(cls, flows: ArrayLike, heads: ArrayLike) -> SourceCurve:
        """Build the curve through points of a pump, keeping its falling shape.

        Parameters
        ----------
        flows : array_like
            Flows [m3/s], at least 0, rising, at least two.
        heads : array_like
            Heads at these flows [m], at least 0, falling.

        Returns
        -------
        SourceCurve
            Monotone cubic through the points, straight beyond both ends; `max_flow` is
            the last flow given.

        Raises
        ------
        InputError
            If the lengths differ, the flows do not rise or the heads do not fall.

        Notes
        -----
        Fritsch, F. N. and Butland, J. (1984), SIAM J. Sci. Stat. Comput. 5, 300-304
        (weighted harmonic mean of neighbouring slopes; from memory).
        """
        q = array("flows", flows, 0.0, unit="m3/s").ravel()
        h = array("heads", heads, 0.0, unit="m").ravel()
        if q.size < 2:
            raise InputError(
                tr("must hold at least two points"), code="too_few", field="flows", given=q.size
            )
        if q.size != h.size:
            raise InputError(
                tr("must have one head for each flow"),
                code="length",
                field="heads",
                given=h.size,
                accepted=tr("{size} heads", size=q.size),
            )
        step = np.diff(q)
        if not bool((step > 0.0).all()):
            raise InputError(
                tr("must rise from point to point"),
                code="not_rising",
                field="flows",
                accepted=tr("each flow above the one before"),
            )
        secant = np.diff(h) / step
        if not bool((secant < 0.0).all()):
            at = int(np.argmax(secant >= 0.0))
            raise InputError(
                tr("must fall as the flow rises"),
                code="not_falling",
                field=f"heads.{at + 1}",
                given=float(h[at + 1]),
                accepted=tr("less than {head:g} m", head=float(h[at])),
                hint=tr("leave out the part of the pump curve that rises from zero flow"),
            )
        slopes = np.concatenate([secant[:1], secant[-1:]])
        if secant.size > 1:
            before, after = step[:-1], step[1:]
            w1, w2 = 2.0 * after + before, after + 2.0 * before
            inner = (w1 + w2) / (w1 / secant[:-1] + w2 / secant[1:])
            first = _end_slope(step[0], step[1], secant[0], secant[1])
            last = _end_slope(step[-1], step[-2], secant[-1], secant[-2])
            slopes = np.concatenate([[first], inner, [last]])
        shutoff = float(h[0] - slopes[0] * q[0])
        return cls("points", shutoff, float(q[-1]), flows=q, heads=h, slopes=slopes)

    @classmethod
    def from_tank(
        cls, water_height: float, outlet: float | None = None, open_flow: float | None = None
    ) -> SourceCurve:
        """Build the curve of a tank that feeds by gravity.

        Parameters
        ----------
        water_height : float
            Height of the water surface above the outlet [m], more than 0.
        outlet : float, optional
            Inside diameter of the outlet [m]; its loss is 1.5 velocity heads.
        open_flow : float, optional
            Measured flow of the open outlet [m3/s]; replaces `outlet`.

        Returns
        -------
        SourceCurve
            H = height - k Q^2; k = 0 if neither outlet nor flow is given.

        Raises
        ------
        InputError
            If a value is out of range.

        Notes
        -----
        Sharp-edged entrance 0.5 and velocity head 1.0 (handbook coefficients, common
        practice).
        """
        h0 = number("water_height", water_height, 0.0, 1000.0, open_low=True, unit="m")
        k = 0.0
        if open_flow is not None:
            k = h0 / number("open_flow", open_flow, 0.0, open_low=True, unit="m3/s") ** 2
        elif outlet is not None:
            d = number("outlet", outlet, 0.0, 5.0, open_low=True, unit="m")
            k = 1.5 / (2.0 * G * (0.25 * math.pi * d * d) ** 2)
        return cls("power", h0, math.sqrt(h0 / k) if k > 0.0 else math.inf, k, 2.0)

    def head(self, flow: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the head at a flow and its derivative.

        Parameters
        ----------
        flow : array_like
            Flow [m3/s], at least 0. Beyond `max_flow` the law goes on downwards.

        Returns
        -------
        head, slope : numpy.ndarray
            Head [m] and derivative by flow [s/m2], never above 0.

        Raises
        ------
        InputError
            If a flow is negative or not finite.
        """
        q = array("flow", flow, 0.0, unit="m3/s")
        if self.flows is None or self.heads is None or self.slopes is None:
            return (
                np.asarray(self.shutoff_head - self.k * q**self.exponent),
                np.asarray(-self.k * self.exponent * q ** (self.exponent - 1.0)),
            )
        x, y, d = self.flows, self.heads, self.slopes
        i = np.clip(np.searchsorted(x, q, side="right") - 1, 0, x.size - 2)
        width = x[i + 1] - x[i]
        t = np.clip((q - x[i]) / width, 0.0, 1.0)
        rise = (y[i + 1] - y[i]) / width
        c2 = 3.0 * rise - 2.0 * d[i] - d[i + 1]
        c3 = d[i] + d[i + 1] - 2.0 * rise
        head = y[i] + width * t * (d[i] + t * (c2 + t * c3))
        slope = d[i] + t * (2.0 * c2 + 3.0 * t * c3)
        outside = q - np.clip(q, x[0], x[-1])
        return np.asarray(head + outside * slope), np.asarray(slope)

    def flow_at(self, head: ArrayLike) -> FloatArray:
        """Return the flow the source gives at a head.

        Parameters
        ----------
        head : array_like
            Head [m].

        Returns
        -------
        numpy.ndarray
            Flow [m3/s]: 0 at or above the shutoff head, at most `max_flow` (which is
            inf below the surface of a tank without outlet loss).

        Raises
        ------
        InputError
            If a head is not finite.
        """
        h = array("head", head, unit="m")
        drop = np.maximum(self.shutoff_head - h, 0.0)
        if self.flows is None:
            if self.k == 0.0:
                return np.where(drop > 0.0, math.inf, 0.0)
            return np.asarray(np.minimum((drop / self.k) ** (1.0 / self.exponent), self.max_flow))
        low, high = np.zeros_like(h), np.full_like(h, self.max_flow)
        for _ in range(60):
            middle = 0.5 * (low + high)
            enough = self.head(middle)[0] >= h
            low, high = np.where(enough, middle, low), np.where(enough, high, middle)
        return np.asarray(np.where(drop > 0.0, 0.5 * (low + high), 0.0))


def _end_slope(near: float, far: float, secant: float, next_secant: float) -> float:
    """Return the three-point slope at an end, kept falling and from overshooting."""
    slope = ((2.0 * near + far) * secant - near * next_secant) / (near + far)
    return float(min(max(slope, 3.0 * secant), 0.02 * secant))


def _fit_k(drops: FloatArray, flows: FloatArray, m: float) -> float:
    """Return the least-squares k of drop = k Q^m."""
    powers = flows**m
    return float(drops @ powers) / float(powers @ powers)


def _fit_exponent(drops: FloatArray, flows: FloatArray) -> float:
    """Return the exponent within `EXPONENT_RANGE` of least squared error of the drops."""
    low, high = EXPONENT_RANGE
    scaled = flows / flows.max()  # k only absorbs the scale
    if scaled.min() > 0.999:
        return 2.0  # one flow only: nothing to fit an exponent to
    for _ in range(5):
        grid = np.linspace(low, high, 21)
        errors = [float(np.sum((drops - _fit_k(drops, scaled, m) * scaled**m) ** 2)) for m in grid]
        i = int(np.argmin(errors))
        low, high = float(grid[max(i - 1, 0)]), float(grid[min(i + 1, 20)])
    return 0.5 * (low + high)


def usable_flow(source: SourceCurve, required_head: float) -> float:
    """Return the flow a source can give while keeping a required head.

    Parameters
    ----------
    source : SourceCurve
        The source.
    required_head : float
        Head to keep at the source [m].

    Returns
    -------
    float
        Flow [m3/s]; 0 if the source never reaches the head.

    Raises
    ------
    InputError
        If the head is not finite.

    Notes
    -----
    The source curve read backwards.
    """
    return float(source.flow_at(number("required_head", required_head, unit="m")))
