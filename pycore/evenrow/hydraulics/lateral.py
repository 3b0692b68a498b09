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
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
)

#: Most emitters on one lateral.
MAX_EMITTERS = 20_000


@dataclass(frozen=True)
class Lateral:
    """A lateral with `count` equal emitters, closed at its far end.

    Parameters
    ----------
    emitter : Emitter
        The device.
    count : int
        Number of emitters, 1 to 20,000.
    spacing : float
        Distance between emitters [m], more than 0.
    diameter : float
        Inside diameter [m], more than 0, at most 1.
    first_spacing : float, optional
        Distance from the inlet to the first emitter [m], more than 0. Half a spacing if
        left out: on a row cut to length the first outlet is anywhere between 0 and 1
        spacing from the header, half on average.
    slope : float
        Rise per length toward the far end [-], -1 to 1; negative falls away from the header.
    rises : array_like, optional
        Surveyed elevation of each emitter above the inlet [m], shape (count,); replaces `slope`.
    roughness : float
        Equivalent roughness [m].
    viscosity : float
        Kinematic viscosity of the water [m2/s].
    barb_length : float
        Length of pipe with the same loss as one emitter's barb or body [m], at least 0.

    Raises
    ------
    InputError
        If a value is not finite or out of range.
    """

    emitter: Emitter
    count: int
    spacing: float
    diameter: float
    first_spacing: float | None = None
    slope: float = 0.0
    rises: ArrayLike | None = None
    roughness: float = ROUGHNESS_SMOOTH
    viscosity: float = VISCOSITY_20C
    barb_length: float = 0.0
    line: _line.Line = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        count = whole("count", self.count, 1, MAX_EMITTERS)
        spacing = number("spacing", self.spacing, 0.0, 1000.0, open_low=True, unit="m")
        diameter = number("diameter", self.diameter, 0.0, 1.0, open_low=True, unit="m")
        if self.first_spacing is not None:
            number("first_spacing", self.first_spacing, 0.0, 10_000.0, open_low=True, unit="m")
        roughness = number("roughness", self.roughness, 0.0, 0.1 * diameter, unit="m")
        viscosity = number("viscosity", self.viscosity, 1e-8, 1e-4, unit="m2/s")
        barb = number("barb_length", self.barb_length, 0.0, 100.0, unit="m")
        length = np.full(count, spacing)
        length[0] = self.inlet_spacing
        if self.rises is None:
            slope = number("slope", self.slope, -1.0, 1.0)
            rise = slope * np.cumsum(length)
        else:
            rise = array("rises", self.rises, -10_000.0, 10_000.0, unit="m")
            if rise.shape != (count,):
                raise InputError(
                    "must hold one elevation for each emitter", code="length", field="rises",
                    given=rise.shape, accepted=f"{count} numbers",
                )
        length += barb
        line = _line.Line(self.emitter, rise, length, diameter, roughness, viscosity)
        object.__setattr__(self, "line", line)

    @property
    def inlet_spacing(self) -> float:
        """Distance from the inlet to the first emitter [m]."""
        return 0.5 * self.spacing if self.first_spacing is None else float(self.first_spacing)

    @property
    def length(self) -> float:
        """Length from the inlet to the last emitter [m]."""
        return self.inlet_spacing + (self.count - 1) * self.spacing


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
    def travel_time(self) -> FloatArray:
        """Time of the water from the inlet to the last emitter [s]; inf if it never arrives."""
        length = np.full(self.lateral.count, float(self.lateral.spacing))
        length[0] = self.lateral.inlet_spacing
        moving = self.velocity > 0.0
        time = np.full(self.velocity.shape, math.inf)
        np.divide(np.broadcast_to(length, time.shape), self.velocity, out=time, where=moving)
        return np.asarray(time.sum(axis=-1))

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
    Mass balance at each emitter and Darcy-Weisbach with Churchill's factor on each segment,
    by Newton's method on the heads (the global gradient method of Todini and Pilati 1988
    written for a single line). Velocity head is neglected. Emitters at a head of 0
    or less give nothing.
    """
    inlet = array("inlet_head", inlet_head, -1000.0, 10_000.0, unit="m")
    if inlet.ndim > 1:
        raise InputError(
            "must be one number or a list of numbers", code="shape", field="inlet_head",
            given=inlet.shape, accepted="shape () or (K,)",
        )
    state = _line.solve(lateral.line, inlet[..., None])
    area = 0.25 * math.pi * lateral.diameter**2
    return LateralSolution(
        lateral=lateral,
        inlet_head=inlet,
        head=state.head,
        flow=state.flow,
        segment_flow=state.segment_flow,
        velocity=state.segment_flow / area,
        residual=float(state.norm.max()),
        state=state,
    )
