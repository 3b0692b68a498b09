"""One lateral: a closed-end pipe with emitters, solved exactly for any inlet head."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics import _line
from evenrow.hydraulics._check import FloatArray, array, number, whole
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.laws import FrictionLaw, friction_law, local_loss_factor
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
    statistical_uniformity,
)

#: Most emitters on one lateral.
MAX_EMITTERS = 20_000


@dataclass(frozen=True)
class Lateral:
    """A lateral with `count` equal emitters, closed at its far end.

    Parameters
    ----------
    emitter : Emitter
        The device; `Emitter.several` makes one of several at each place.
    count : int
        Number of emitters, 1 to 20,000.
    spacing : float or array_like
        Distance between emitters [m], more than 0: one number, or shape (count - 1,) where
        it changes along the line.
    diameter : float or array_like
        Inside diameter [m], more than 0, at most 1: one number, or shape (count,) for the
        pipe before each emitter (see `diameters_in_series`).
    first_spacing : float, optional
        Distance from the inlet to the first emitter, a blank lead-in included [m], more
        than 0. Half a spacing if left out: on a row cut to length the first outlet is
        anywhere between 0 and 1 spacing from the header, half on average.
    slope : float
        Rise per length toward the far end [-], -1 to 1; negative falls away from the header.
    rises : array_like, optional
        Surveyed elevation of each emitter above the inlet [m], shape (count,); replaces `slope`.
        `rises_from_survey` makes it of surveyed points.
    roughness : float
        Equivalent roughness [m].
    viscosity : float
        Kinematic viscosity of the water [m2/s].
    barb_length : float
        Length of pipe with the same loss as one emitter's barb or body [m], at least 0.
    barb_k : float
        Loss coefficient of one emitter's barb or body on the velocity head in the pipe
        before it [-], at least 0; added to `barb_length`.
    friction : str or FrictionLaw
        Friction law, by its name in `FRICTION_LAWS`.
    inlet_k : float
        Loss coefficient of the take-off at the inlet on the velocity head in the pipe behind
        it [-], at least 0.

    Raises
    ------
    InputError
        If a value is not finite, out of range or of the wrong length.
    """

    emitter: Emitter
    count: int
    spacing: ArrayLike
    diameter: ArrayLike
    first_spacing: float | None = None
    slope: float = 0.0
    rises: ArrayLike | None = None
    roughness: float = ROUGHNESS_SMOOTH
    viscosity: float = VISCOSITY_20C
    barb_length: float = 0.0
    barb_k: float = 0.0
    friction: str | FrictionLaw = "churchill"
    inlet_k: float = 0.0
    segments: FloatArray = field(init=False, repr=False, compare=False)
    line: _line.Line = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        count = whole("count", self.count, 1, MAX_EMITTERS)
        spacing = _one_or_each("spacing", self.spacing, max(count - 1, 1), 1000.0)
        diameter = _one_or_each("diameter", self.diameter, count, 1.0)
        thinnest = float(np.min(diameter))
        roughness = number("roughness", self.roughness, 0.0, 0.1 * thinnest, unit="m")
        viscosity = number("viscosity", self.viscosity, 1e-8, 1e-4, unit="m2/s")
        barb = number("barb_length", self.barb_length, 0.0, 100.0, unit="m")
        barb_k = number("barb_k", self.barb_k, 0.0, 1e6)
        segments = np.empty(count)
        segments[1:] = spacing if isinstance(spacing, float) else spacing[: count - 1]
        if self.first_spacing is None:
            segments[0] = 0.5 * (spacing if isinstance(spacing, float) else float(spacing[0]))
        else:
            segments[0] = number(
                "first_spacing", self.first_spacing, 0.0, 10_000.0, open_low=True, unit="m"
            )
        if self.rises is None:
            rise = number("slope", self.slope, -1.0, 1.0) * segments.cumsum()
        else:
            rise = array("rises", self.rises, -10_000.0, 10_000.0, unit="m")
            if rise.shape != (count,):
                raise InputError(
                    "must hold one elevation for each emitter",
                    code="length",
                    field="rises",
                    given=rise.shape,
                    accepted=f"{count} numbers",
                )
        local = None
        inlet_k = number("inlet_k", self.inlet_k, 0.0, 1e6)
        if barb_k > 0.0 or inlet_k > 0.0:
            each = np.full(count, barb_k)
            each[0] += inlet_k
            local = np.array(local_loss_factor(each, diameter))
        line = _line.Line(
            self.emitter,
            rise,
            segments + barb,
            diameter,
            roughness,
            viscosity,
            friction_law(self.friction),
            local,
        )
        object.__setattr__(self, "segments", segments)
        object.__setattr__(self, "line", line)

    @property
    def inlet_spacing(self) -> float:
        """Distance from the inlet to the first emitter [m]."""
        return float(self.segments[0])

    @property
    def positions(self) -> FloatArray:
        """Distance of each emitter from the inlet along the line [m], shape (count,)."""
        return np.asarray(self.segments.cumsum())

    @property
    def length(self) -> float:
        """Length from the inlet to the last emitter [m]."""
        return float(self.segments.sum())

    @property
    def area(self) -> FloatArray | float:
        """Inside cross-section [m2], a float or shape (count,) as `diameter`."""
        return 0.25 * math.pi * self.line.diameter**2


def _one_or_each(name: str, value: ArrayLike, n: int, high: float) -> float | FloatArray:
    """Return one checked number, or n of them."""
    if isinstance(value, (int, float)):
        return number(name, value, 0.0, high, open_low=True, unit="m")
    got = array(name, value, 0.0, high, open_low=True, unit="m")
    if got.ndim == 0:
        return float(got)
    if got.shape != (n,):
        raise InputError(
            "must be one number or one for each",
            code="length",
            field=name,
            given=got.shape,
            accepted=f"1 or {n} numbers",
        )
    return got


@dataclass(frozen=True)
class LateralSolution:
    """A solved lateral; arrays of shape (count,), or (K, count) for K inlet heads.

    Attributes
    ----------
    lateral : Lateral
        What was solved.
    inlet_head : float or numpy.ndarray
        Pressure head at the inlet [m], scalar or (K,).
    head : numpy.ndarray
        Pressure head at each emitter [m].
    flow : numpy.ndarray
        Flow of each emitter [m3/s].
    segment_flow, velocity : numpy.ndarray
        Flow [m3/s] and mean velocity [m/s] in the pipe just before each emitter.
    residual : float
        Largest head that any emitter misses of its equation, summed from the inlet [m].
    """

    lateral: Lateral
    inlet_head: FloatArray
    head: FloatArray
    flow: FloatArray
    segment_flow: FloatArray
    velocity: FloatArray
    residual: float
    state: _line.State = field(repr=False, compare=False)

    @property
    def inlet_flow_slope(self) -> FloatArray:
        """Derivative of the inlet flow by inlet head [m2/s]."""
        inlet = self.inlet_head[..., None]
        return _line.inlet_slope(self.lateral.line, inlet, self.state)

    @property
    def inlet_flow(self) -> FloatArray:
        """Flow into the lateral [m3/s]."""
        return np.asarray(self.segment_flow[..., 0])

    @property
    def end_head(self) -> FloatArray:
        """Pressure head at the last emitter [m]."""
        return np.asarray(self.head[..., -1])

    @property
    def min_head(self) -> FloatArray:
        """Least pressure head at an emitter [m]."""
        return np.asarray(self.head.min(axis=-1))

    @property
    def max_head(self) -> FloatArray:
        """Largest pressure head at an emitter [m]."""
        return np.asarray(self.head.max(axis=-1))

    @property
    def head_variation(self) -> FloatArray:
        """(max - min) / max of the emitter heads [-]; 0 where no head is above 0."""
        top = self.max_head
        part = np.zeros_like(top)
        np.divide(top - self.min_head, top, out=part, where=top > 0.0)
        return part

    @property
    def eu(self) -> FloatArray:
        """Emission uniformity with one emitter per plant [-]; 0 where nothing flows."""
        return self.emission_uniformity(1)

    def emission_uniformity(self, per_plant: int = 1) -> FloatArray:
        """Return the emission uniformity for `per_plant` emitters each plant [-]."""
        factor = emission_uniformity(np.ones(1), self.lateral.emitter.cv, per_plant)
        return np.asarray(factor * self._where_wet(lambda q: q.min(axis=-1) / q.mean(axis=-1), 0.0))

    @property
    def flow_variation(self) -> FloatArray:
        """(max - min) / max of the emitter flows [-]; 1 where nothing flows."""
        return self._where_wet(flow_variation, 1.0)

    @property
    def dulq(self) -> FloatArray:
        """Low-quarter distribution uniformity of the emitter flows [-]; 0 where nothing flows."""
        return self._where_wet(distribution_uniformity_lq, 0.0)

    @property
    def statistical_uniformity(self) -> FloatArray:
        """Statistical uniformity, the device's CV included [-]; 0 where nothing flows."""
        cv = self.lateral.emitter.cv
        return self._where_wet(lambda q: statistical_uniformity(q, cv), 0.0)

    @property
    def reynolds(self) -> FloatArray:
        """Reynolds number in the pipe just before each emitter [-], shape as `velocity`."""
        return np.asarray(self.velocity * self.lateral.line.diameter / self.lateral.viscosity)

    @property
    def regime_shares(self) -> FloatArray:
        """Shares of the length that are laminar, transitional and turbulent [-], (..., 3).

        The limits are Re 2,000 and 4,000; pipe in which nothing flows counts as laminar.
        """
        re, length = self.reynolds, self.lateral.segments
        laminar = ((re < 2000.0) * length).sum(axis=-1)
        turbulent = ((re > 4000.0) * length).sum(axis=-1)
        total = length.sum()
        middle = ((re >= 2000.0) & (re <= 4000.0)) @ length
        return np.asarray(np.stack([laminar, middle, turbulent], axis=-1) / total)

    @property
    def arrival_times(self) -> FloatArray:
        """Time of the water from the inlet to each emitter [s]; inf where it never arrives.

        Once the line is full this is the least time a chemical takes to arrive; filling an
        empty line takes longer, as the emitters passed already run.
        """
        moving = self.velocity > 0.0
        time = np.full(self.velocity.shape, math.inf)
        lengths = np.broadcast_to(self.lateral.segments, time.shape)
        np.divide(lengths, self.velocity, out=time, where=moving)
        return np.asarray(time.cumsum(axis=-1))

    @property
    def travel_time(self) -> FloatArray:
        """Time of the water from the inlet to the last emitter [s]; inf if it never arrives."""
        return np.asarray(self.arrival_times[..., -1])

    def _where_wet(self, measure: Any, otherwise: float) -> FloatArray:
        """Return `measure` of the flows, and `otherwise` for rows in which nothing flows."""
        wet = self.inlet_flow > 0.0
        if wet.all():
            return np.asarray(measure(self.flow))
        out = np.full(wet.shape, otherwise)
        if wet.any():
            out[wet] = measure(self.flow[wet])
        return out


def solve_lateral(lateral: Lateral, inlet_head: ArrayLike) -> LateralSolution:
    """Solve the heads and flows of a lateral for one or several inlet heads.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    inlet_head : array_like
        Pressure head at the inlet [m], scalar or shape (K,), -1,000 to 10,000.

    Returns
    -------
    LateralSolution
        Arrays of shape (count,) for a scalar, (K, count) for K heads.

    Raises
    ------
    InputError
        If an inlet head is not finite or out of range.
    ConvergenceError
        If the tolerance cannot be reached.

    Notes
    -----
    Mass balance at each emitter and the lateral's friction law (and barb loss) on each segment,
    by Newton's method on the heads (the global gradient method of Todini and Pilati 1988
    written for a single line). Velocity head is neglected. Emitters at a head of 0
    or less give nothing.
    """
    inlet = array("inlet_head", inlet_head, -1000.0, 10_000.0, unit="m")
    if inlet.ndim > 1:
        raise InputError(
            "must be one number or a list of numbers",
            code="shape",
            field="inlet_head",
            given=inlet.shape,
            accepted="shape () or (K,)",
        )
    return solution_of(lateral, inlet, solve(lateral.line, inlet[..., None], slopes=False))


def solve_lateral_near(
    lateral: Lateral, inlet_head: float, near: LateralSolution
) -> LateralSolution:
    """Solve a lateral to the same tolerance from the heads of one much like it.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    inlet_head : float
        Pressure head at the inlet [m].
    near : LateralSolution
        A lateral solved for one inlet head; its heads are taken at the same shares of the
        length to start from.

    Returns
    -------
    LateralSolution
        As of `solve_lateral`, to which a start that leads nowhere is left.

    Raises
    ------
    InputError, ConvergenceError
        As of `solve_lateral`.
    """
    inlet = np.asarray(number("inlet_head", inlet_head, -1000.0, 10_000.0, unit="m"))
    share = near.lateral.count / lateral.count
    places = share * (np.arange(lateral.count) + 0.5) - 0.5
    start = np.interp(places, np.arange(near.lateral.count), near.head)
    state, done = _line.newton(lateral.line, inlet[..., None], start)
    return solution_of(lateral, inlet, state) if done.all() else solve_lateral(lateral, inlet)


def solution_of(lateral: Lateral, inlet: FloatArray, state: _line.State) -> LateralSolution:
    """Return what a solved state means."""
    return LateralSolution(
        lateral=lateral,
        inlet_head=inlet,
        head=state.head,
        flow=state.flow,
        segment_flow=state.segment_flow,
        velocity=state.segment_flow / lateral.area,
        residual=float(state.norm.max()),
        state=state,
    )
