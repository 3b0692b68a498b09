"""A full pipe with fittings: head lost between its ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C, G
from evenrow.hydraulics.friction import laminar_scale
from evenrow.hydraulics.laws import (
    FrictionLaw,
    friction_gradient,
    friction_law,
    local_loss_factor,
)


@dataclass(frozen=True)
class Pipe:
    """A pipe of one diameter.

    Parameters
    ----------
    length : float
        Length [m], at least 0.
    diameter : float
        Inside diameter [m], more than 0, at most 5.
    roughness : float
        Equivalent roughness [m], 0 to a tenth of the diameter.
    rise : float
        Elevation of the far end above the near end [m]; negative falls.
    minor_k : float
        Sum of the loss coefficients of its fittings [-], at least 0.
    friction : str or FrictionLaw
        Friction law, by its name in `FRICTION_LAWS`.

    Raises
    ------
    InputError
        If a value is not finite or out of range.
    """

    length: float
    diameter: float
    roughness: float = ROUGHNESS_SMOOTH
    rise: float = 0.0
    minor_k: float = 0.0
    friction: str | FrictionLaw = "churchill"

    def __post_init__(self) -> None:
        number("length", self.length, 0.0, 1e5, unit="m")
        diameter = number("diameter", self.diameter, 0.0, 5.0, open_low=True, unit="m")
        number("roughness", self.roughness, 0.0, 0.1 * diameter, unit="m")
        number("rise", self.rise, -10_000.0, 10_000.0, unit="m")
        number("minor_k", self.minor_k, 0.0, 1e6)
        friction_law(self.friction)


def pipe_of_numbers(length: float, diameter: float, rise: float, minor_k: float) -> Pipe:
    """Return a smooth pipe of numbers that are known to be right.

    For searches that build thousands of mains from a layout: nothing is checked.

    Parameters
    ----------
    length, diameter, rise, minor_k : float
        As of `Pipe`.
    """
    pipe = object.__new__(Pipe)
    known = {
        "length": length,
        "diameter": diameter,
        "roughness": ROUGHNESS_SMOOTH,
        "rise": rise,
        "minor_k": minor_k,
        "friction": "churchill",
    }
    pipe.__dict__.update(known)
    return pipe


def pipe_friction(
    flow: ArrayLike, pipe: Pipe, viscosity: float = VISCOSITY_20C
) -> tuple[FloatArray, FloatArray]:
    """Return the head lost to friction and fittings, without the rise.

    Parameters
    ----------
    flow : array_like
        Flow from the near to the far end [m3/s], any sign.
    pipe : Pipe
        The pipe.
    viscosity : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    loss, slope : numpy.ndarray
        Head lost [m] and its derivative by flow [s/m2].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    The pipe's friction law (Churchill's factor unless chosen otherwise); fittings K V^2 / (2 g).
    """
    q = array("flow", flow, unit="m3/s")
    nu = number("viscosity", viscosity, 1e-8, 1e-4, unit="m2/s")
    gradient, slope = friction_gradient(pipe.friction, q, pipe.diameter, pipe.roughness, nu)
    k = pipe.minor_k / (2.0 * G * (0.25 * math.pi * pipe.diameter**2) ** 2)
    size = np.abs(q)
    return (
        np.asarray(pipe.length * gradient + k * q * size),
        np.asarray(pipe.length * slope + 2.0 * k * size),
    )


def pipe_loss(
    flow: ArrayLike, pipe: Pipe, viscosity: float = VISCOSITY_20C
) -> tuple[FloatArray, FloatArray]:
    """Return the pressure head lost between the ends: friction, fittings *and rise*.

    Parameters
    ----------
    flow : array_like
        Flow from the near to the far end [m3/s], any sign.
    pipe : Pipe
        The pipe; its `rise` is added to the loss, so a falling pipe may return less
        than 0 (pressure is gained). `pipe_friction` leaves the rise out.
    viscosity : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    loss, slope : numpy.ndarray
        Pressure head at the near end minus that at the far end [m], and its derivative
        by flow [s/m2].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    See `pipe_friction`. Velocity head is neglected.
    """
    loss, slope = pipe_friction(flow, pipe, viscosity)
    return np.asarray(loss + pipe.rise), slope


class PipeRun:
    """Pipes in series, reckoned together and without checks, for the solvers.

    Parameters
    ----------
    pipes : sequence of Pipe
        At least one, in the order of the water.
    viscosity : float
        Kinematic viscosity [m2/s].
    """

    def __init__(self, pipes: Sequence[Pipe], viscosity: float) -> None:
        length, diameter, roughness, rise, k = np.array(
            [(p.length, p.diameter, p.roughness, p.rise, p.minor_k) for p in pipes]
        ).T
        self.rise = rise
        self.per_re = 4.0 / (math.pi * viscosity) / diameter
        self.scale = length * laminar_scale(diameter, viscosity)
        self.local = local_loss_factor(k, diameter)
        names = [p.friction for p in pipes]
        self.laws: list[tuple[FrictionLaw, NDArray[np.int64] | slice, FloatArray]] = []
        for name in (several := dict.fromkeys(names)):
            law = friction_law(name)
            mine: NDArray[np.int64] | slice = slice(None)
            parameter = np.asarray(law.parameter(diameter, roughness, viscosity))
            if len(several) > 1:
                mine = np.array([i for i, other in enumerate(names) if other == name])
            self.laws.append((law, mine, np.broadcast_to(parameter, rise.shape)[mine]))

    def losses(self, flow: float | FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return head lost in each pipe, rise included [m], and derivatives [s/m2].

        `flow` [m3/s] is 0 or more: one number, or one for each pipe.
        """
        f_re, slope = np.empty_like(self.rise), np.empty_like(self.rise)
        reynolds = flow * self.per_re
        for law, mine, parameter in self.laws:
            f_re[mine], slope[mine] = law.f_re_slope(reynolds[mine], parameter)
        local = self.local * flow
        return (
            np.asarray((self.scale * f_re + local) * flow + self.rise),
            np.asarray(self.scale * slope + 2.0 * local),
        )
