"""The friction laws a line can be reckoned with, as one table.

Every law is written for f Re, as a function of the Reynolds number and of one parameter that
pipe, water and law fix. The solver asks for nothing else, so that all laws run through the
same code. The default is Churchill's, which holds in every regime; the others are for
comparison with handbooks and with other engines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.friction import _f_re, _f_re_slope, laminar_scale

Numbers = FloatArray | float


@dataclass(frozen=True)
class FrictionLaw:
    """A friction law as the solver needs it; take one from `FRICTION_LAWS`.

    Attributes
    ----------
    name : str
        Name in the table.
    f_re : callable
        (Re, parameter) to f Re [-], for arrays with Re >= 0.
    f_re_slope : callable
        (Re, parameter) to f Re and d(f Re Re)/dRe [-].
    parameter : callable
        (diameter [m], roughness [m], viscosity [m2/s]) to the parameter.
    reynolds : tuple of float
        Range of Reynolds numbers the law is meant for [-]. Outside it the law still gives
        numbers, as a comparison with the handbook that uses it everywhere needs.
    source : str
        Where the law was published.
    """

    name: str
    f_re: Callable[[FloatArray, Numbers], FloatArray]
    f_re_slope: Callable[[FloatArray, Numbers], tuple[FloatArray, FloatArray]]
    parameter: Callable[[Numbers, Numbers, Numbers], Numbers]
    reynolds: tuple[float, float]
    source: str


def _blasius_f_re(re: FloatArray, _: Numbers) -> FloatArray:
    """Return f Re of Blasius' law, laminar where that is more (below Re 1,187)."""
    return np.asarray(np.maximum(0.3164 * re**0.75, 64.0))


def _blasius_f_re_slope(re: FloatArray, _: Numbers) -> tuple[FloatArray, FloatArray]:
    """Return f Re and slope of Blasius' law."""
    value = _blasius_f_re(re, 0.0)
    return value, np.where(value > 64.0, 1.75, 1.0) * value


# Swamee and Jain above Re 4,000, 64/Re below 2,000, and between them the cubic by Dunlop that
# meets both with equal value and slope.
_LAMINAR_TO = 2000.0
_TURBULENT_FROM = 4000.0
_TWO_OVER_LN10 = 2.0 / math.log(10.0)
_DUNLOP = 1.8 * 5.74 * _TWO_OVER_LN10 / _TURBULENT_FROM**0.9


def _dunlop(relative: Numbers) -> tuple[Numbers, Numbers, Numbers, Numbers]:
    """Return the coefficients of f in powers of Re / 2,000 between both regimes."""
    y2 = relative / 3.7 + 5.74 / _TURBULENT_FROM**0.9
    y3 = -_TWO_OVER_LN10 * np.log(y2)
    fa = y3**-2.0
    fb = fa * (2.0 - _DUNLOP / (y2 * y3))
    return (
        7.0 * fa - fb,
        0.128 - 17.0 * fa + 2.5 * fb,
        -0.128 + 13.0 * fa - 2.0 * fb,
        0.032 - 3.0 * fa + 0.5 * fb,
    )


def _swamee_f_re_slope(re: FloatArray, relative: Numbers) -> tuple[FloatArray, FloatArray]:
    """Return f Re and slope of the three-piece law; `relative` is roughness over diameter."""
    high = np.maximum(re, _TURBULENT_FROM)
    thin = 5.74 * high**-0.9
    y = relative / 3.7 + thin
    log = np.log(y)
    f_high = (0.5 * math.log(10.0) / log) ** 2
    slope_high = f_high * high * (2.0 + 1.8 * thin / (y * log))
    x1, x2, x3, x4 = _dunlop(relative)
    r = re / _LAMINAR_TO
    f_mid = x1 + r * (x2 + r * (x3 + r * x4))
    slope_mid = re * (2.0 * f_mid + r * (x2 + r * (2.0 * x3 + r * 3.0 * x4)))
    laminar, turbulent = re <= _LAMINAR_TO, re >= _TURBULENT_FROM
    value = np.where(laminar, 64.0, re * np.where(turbulent, f_high, f_mid))
    slope = np.where(laminar, 64.0, np.where(turbulent, slope_high, slope_mid))
    return value, slope


def _swamee_f_re(re: FloatArray, relative: Numbers) -> FloatArray:
    """Return f Re of the three-piece law."""
    return _swamee_f_re_slope(re, relative)[0]


def _power_law(
    name: str,
    power: float,
    constant: float,
    diameter_power: float,
    reynolds: tuple[float, float],
    source: str,
) -> FrictionLaw:
    """Return J = constant Q^power / D^diameter_power (SI) as a `FrictionLaw`.

    Below Re 1 it is kept in proportion to the flow: its slope would vanish at rest, and
    the loss there is nothing that could be measured.
    """
    rest = power - 1.0

    def f_re(re: FloatArray, parameter: Numbers) -> FloatArray:
        return np.asarray(parameter * np.maximum(re, 1.0) ** rest)

    def f_re_slope(re: FloatArray, parameter: Numbers) -> tuple[FloatArray, FloatArray]:
        value = f_re(re, parameter)
        return value, np.where(re < 1.0, 1.0, power) * value

    def parameter(diameter: Numbers, _: Numbers, viscosity: Numbers) -> Numbers:
        flow_per_re = 0.25 * math.pi * diameter * viscosity
        gradient = constant * flow_per_re**rest / diameter**diameter_power
        return np.asarray(gradient / laminar_scale(diameter, viscosity))

    return FrictionLaw(name, f_re, f_re_slope, parameter, reynolds, source)


def hazen_williams(c: float = 150.0) -> FrictionLaw:
    """Return the Hazen-Williams law for a coefficient C.

    Parameters
    ----------
    c : float
        Coefficient [-], 10 to 200; 150 is usual for smooth plastic.

    Returns
    -------
    FrictionLaw
        J = 10.67 Q^1.852 / (C^1.852 D^4.871) in SI.

    Raises
    ------
    InputError
        If `c` is not finite or out of range.

    Notes
    -----
    SI form with the constants common in network solvers (published). It takes no viscosity
    and under-predicts small smooth pipes by some 20 %: for comparison only.
    """
    size = number("c", c, 10.0, 200.0)
    return _power_law(
        "hazen-williams", 1.852, 10.67 / size**1.852, 4.871, (1e4, 1e7),
        "Williams and Hazen (1905), SI constants as in network solvers",
    )  # fmt: skip


CHURCHILL: Final = FrictionLaw(
    "churchill", _f_re, _f_re_slope,
    lambda diameter, roughness, _: 0.27 * roughness / diameter,
    (0.0, 1e8),
    "Churchill (1977), Chem. Eng. 84(24), 91-92",
)  # fmt: skip

#: All laws by name; `hazen_williams` makes one with another coefficient than 150.
FRICTION_LAWS: Final[Mapping[str, FrictionLaw]] = MappingProxyType(
    {
        law.name: law
        for law in (
            CHURCHILL,
            FrictionLaw(
                "blasius", _blasius_f_re, _blasius_f_re_slope, lambda *_: 0.0, (4e3, 1e5),
                "Blasius (1913), Forschungsarbeiten des VDI 131 (from memory); 64/Re where more",
            ),
            FrictionLaw(
                "swamee-jain", _swamee_f_re, _swamee_f_re_slope,
                lambda diameter, roughness, _: roughness / diameter, (0.0, 1e8),
                "Swamee and Jain (1976), J. Hydraul. Div. ASCE 102(5), 657-664; 64/Re below "
                "Re 2,000 and Dunlop's cubic to 4,000 as in the EPANET manual (from memory)",
            ),
            hazen_williams(),
            _power_law(
                "handbook", 1.75, 7.89e5 * 1e3**1.75 / 1e3**4.75, 4.75, (3e3, 1e5),
                "Keller and Bliesner (1990), J = 7.89e7 Q^1.75 D^-4.75 in m/100 m, L/s, mm "
                "(from memory); for less than 125 mm",
            ),
        )
    }
)  # fmt: skip


def friction_law(law: str | FrictionLaw) -> FrictionLaw:
    """Return a friction law by its name.

    Parameters
    ----------
    law : str or FrictionLaw
        A name in `FRICTION_LAWS`, or a law, which is returned as it is.

    Returns
    -------
    FrictionLaw
        The law.

    Raises
    ------
    InputError
        If the name is unknown.
    """
    if isinstance(law, FrictionLaw):
        return law
    found = FRICTION_LAWS.get(law) if isinstance(law, str) else None
    if found is None:
        raise InputError(
            "is unknown",
            code="unknown",
            field="friction",
            given=law,
            accepted=", ".join(FRICTION_LAWS),
        )
    return found


def friction_gradient(
    law: str | FrictionLaw, flow: ArrayLike, diameter: ArrayLike, roughness: ArrayLike,
    viscosity: ArrayLike,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Return the friction gradient of a full pipe by any law, and its derivative by flow.

    Parameters
    ----------
    law : str or FrictionLaw
        The law or its name.
    flow : array_like
        Flow [m3/s], any sign; all arguments broadcast together.
    diameter : array_like
        Inside diameter [m], more than 0.
    roughness : array_like
        Equivalent roughness [m], 0 to a tenth of the diameter.
    viscosity : array_like
        Kinematic viscosity [m2/s], more than 0.

    Returns
    -------
    gradient, slope : numpy.ndarray
        Head lost per length [m/m] and its derivative by flow [s/m3].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    J = c (f Re) Q with c = 2 nu / (pi g D^4), which is Darcy-Weisbach's J = f V^2 / (2 g D).
    """
    chosen = friction_law(law)
    q = array("flow", flow)
    d = array("diameter", diameter, 0.0, open_low=True, unit="m")
    nu = array("viscosity", viscosity, 0.0, open_low=True, unit="m2/s")
    e = array("roughness", roughness, 0.0, unit="m")
    if float(np.max(e / d)) > 0.1:
        raise InputError(
            "is more than a tenth of the diameter", code="out_of_range", field="roughness",
            given=float(np.max(e)), accepted="0 to a tenth of the diameter",
        )  # fmt: skip
    q, d, e, nu = np.broadcast_arrays(q, d, e, nu)
    re = 4.0 / (math.pi * d * nu) * np.abs(q)
    if float(np.max(re)) > 1e12:
        raise InputError(
            "is beyond any pipe (Reynolds number over 1e12)", code="out_of_range", field="flow",
            given=float(np.max(np.abs(q))), hint="check the units of flow and diameter",
        )  # fmt: skip
    parameter = np.atleast_1d(np.asarray(chosen.parameter(d, e, nu)))
    f_re, slope = chosen.f_re_slope(np.atleast_1d(re), parameter)
    scale = laminar_scale(d, nu)
    return (
        np.asarray(scale * f_re.reshape(q.shape) * q),
        np.asarray(scale * slope.reshape(q.shape)),
    )


def local_loss_factor(k: ArrayLike, diameter: ArrayLike) -> FloatArray:
    """Return c of the local loss h = c Q^2 that a coefficient K stands for.

    Parameters
    ----------
    k : array_like
        Loss coefficient on the velocity head [-], at least 0.
    diameter : array_like
        Inside diameter the velocity is taken in [m], more than 0.

    Returns
    -------
    numpy.ndarray
        K / (2 g A^2) [s2/m5].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    Definition, h = K V^2 / (2 g).
    """
    coefficient = array("k", k, 0.0)
    d = array("diameter", diameter, 0.0, open_low=True, unit="m")
    return np.asarray(coefficient / (2.0 * G * (0.25 * math.pi * d * d) ** 2))


def equivalent_length(k: ArrayLike, diameter: ArrayLike, friction_factor: ArrayLike) -> FloatArray:
    """Return the length of pipe that loses as much as a local loss.

    Parameters
    ----------
    k : array_like
        Loss coefficient on the velocity head [-], at least 0.
    diameter : array_like
        Inside diameter of the pipe [m], more than 0.
    friction_factor : array_like
        Darcy friction factor at the flow in question [-], more than 0.

    Returns
    -------
    numpy.ndarray
        K D / f [m].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    Definition: f (L/D) V^2 / (2 g) = K V^2 / (2 g).
    """
    coefficient = array("k", k, 0.0)
    d = array("diameter", diameter, 0.0, open_low=True, unit="m")
    f = array("friction_factor", friction_factor, 0.0, open_low=True)
    return np.asarray(coefficient * d / f)
