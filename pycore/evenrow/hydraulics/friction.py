"""Pipe friction: one all-regime law, and the handbook laws for comparison."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number, whole
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C, G

# Churchill's law is evaluated for f*Re instead of f: with y = Re/37530,
#   (f Re / 64)^12 = 1 + (37530/8)^12 y^12 [ y^16 / (1 + A y^16) ]^1.5
# It is the same formula, but finite at zero flow (f Re = 64) and free of overflow.
_Y = 1.0 / 37530.0
_T = (37530.0 / 8.0) ** 12
_A = 2.457**16
_LOG7 = 0.9 * math.log(7.0)
_RE_FLOOR = 1e-9  # below this the law is laminar to the last digit


def _f_re(re: FloatArray, eps: FloatArray | float) -> FloatArray:
    """Return f*Re for Re >= 0 (no checks, at least one axis).

    `eps` is 0.27 times the relative roughness.
    """
    re = np.maximum(re, _RE_FLOOR)
    v = np.exp(_LOG7 - 0.9 * np.log(re))
    v += eps
    a = np.log(v)
    a *= a
    a *= a
    a *= a
    a *= a
    y = re * _Y
    y *= y
    y4 = y * y
    y8 = y4 * y4
    s = y8 * y8
    a *= _A
    a *= s
    a += 1.0
    s /= a
    y8 *= y4
    y8 *= s
    y8 *= np.sqrt(s)
    y8 *= _T
    out = np.log1p(y8)
    out *= 1.0 / 12.0
    np.exp(out, out)
    out *= 64.0
    return out


def _f_re_slope(re: FloatArray, eps: FloatArray | float) -> tuple[FloatArray, FloatArray]:
    """Return f*Re and d(f*Re*Re)/dRe for Re >= 0 (see `_f_re`)."""
    re = np.maximum(re, _RE_FLOOR)
    u = np.exp(_LOG7 - 0.9 * np.log(re))
    v = u + eps
    u /= v
    log = np.log(v)
    l2 = log * log
    l4 = l2 * l2
    l15 = l4 * l4
    l15 *= l4
    l15 *= l2
    l15 *= log
    l15 *= _A  # carries the sign of log(v); A = l15 * log(v) is positive
    y = re * _Y
    y *= y
    y4 = y * y
    y8 = y4 * y4
    s = y8 * y8
    a = l15 * log
    a *= s
    a += 1.0
    s /= a
    y8 *= y4
    y8 *= s
    y8 *= np.sqrt(s)
    y8 *= _T
    # dln(y8)/dln(Re) = 36 - s*(24 A - 21.6 (u/v) l15)
    u *= -21.6
    log *= 24.0
    u += log
    u *= l15
    u *= s
    np.subtract(36.0, u, out=u)
    out = np.log1p(y8)
    out *= 1.0 / 12.0
    np.exp(out, out)
    out *= 64.0
    # divide before multiplying: y8/(1+y8) stays finite
    y4 = y8 + 1.0
    y8 /= y4
    y8 *= u
    y8 *= 1.0 / 12.0
    y8 += 1.0
    y8 *= out
    return out, y8


def churchill(reynolds: ArrayLike, relative_roughness: ArrayLike = 0.0) -> FloatArray:
    """Return the Darcy friction factor for any flow regime.

    Parameters
    ----------
    reynolds : array_like
        Reynolds number [-], more than 0, broadcast with `relative_roughness`.
    relative_roughness : array_like
        Equivalent roughness over inside diameter [-], 0 to 0.1.

    Returns
    -------
    numpy.ndarray
        Darcy friction factor [-].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    Churchill, S. W. (1977), Chem. Eng. 84(24), 91-92.
    """
    re = array("reynolds", reynolds, 0.0, 1e12, open_low=True)
    eps = array("relative_roughness", relative_roughness, 0.0, 0.1)
    re, eps = np.broadcast_arrays(re, eps)
    factor = _f_re(np.atleast_1d(re), 0.27 * np.atleast_1d(eps))
    return np.asarray(factor.reshape(re.shape) / re)


def head_gradient(
    flow: ArrayLike,
    diameter: ArrayLike,
    roughness: ArrayLike = ROUGHNESS_SMOOTH,
    viscosity: ArrayLike = VISCOSITY_20C,
) -> tuple[FloatArray, FloatArray]:
    """Return the friction gradient of a full pipe and its derivative by flow.

    Darcy-Weisbach with Churchill's factor. Odd in the flow: a negative flow gives a
    negative gradient; the slope at zero flow is the laminar one.

    Parameters
    ----------
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
    gradient : numpy.ndarray
        Head lost per length [m/m].
    slope : numpy.ndarray
        Derivative of the gradient by flow [s/m3], always positive.

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    J = f V^2 / (2 g D) (Darcy-Weisbach); f by Churchill (1977), Chem. Eng. 84(24), 91-92.
    """
    q = array("flow", flow)
    d = array("diameter", diameter, 0.0, open_low=True, unit="m")
    nu = array("viscosity", viscosity, 0.0, open_low=True, unit="m2/s")
    e = array("roughness", roughness, 0.0, unit="m")
    relative = e / d
    if float(np.max(relative)) > 0.1:
        raise InputError(
            "is more than a tenth of the diameter",
            code="out_of_range",
            field="roughness",
            given=float(np.max(e)),
            accepted="0 to a tenth of the diameter",
        )
    re = 4.0 / (math.pi * d * nu) * np.abs(q)
    if float(np.max(re)) > 1e12:
        raise InputError(
            "is beyond any pipe (Reynolds number over 1e12)",
            code="out_of_range",
            field="flow",
            given=float(np.max(np.abs(q))),
            hint="check the units of flow and diameter",
        )
    re, relative = np.broadcast_arrays(re, relative)
    f_re, slope = _f_re_slope(np.atleast_1d(re), 0.27 * np.atleast_1d(relative))
    scale = laminar_scale(d, nu)
    shape = re.shape
    return np.asarray(scale * f_re.reshape(shape) * q), np.asarray(scale * slope.reshape(shape))


def laminar_scale(diameter: FloatArray | float, viscosity: FloatArray | float) -> FloatArray:
    """Return c of J = c * (f Re) * Q, that is 2 nu / (pi g D^4) (no checks)."""
    return np.asarray(2.0 / (math.pi * G) * viscosity / diameter**4)


def blasius(reynolds: ArrayLike) -> FloatArray:
    """Return Blasius' Darcy factor 0.3164 Re^-0.25 of smooth turbulent flow.

    Parameters
    ----------
    reynolds : array_like
        Reynolds number [-], more than 0 (the law is meant for about 4e3 to 1e5).

    Returns
    -------
    numpy.ndarray
        Darcy friction factor [-].

    Raises
    ------
    InputError
        If a Reynolds number is not finite and positive.

    Notes
    -----
    Blasius, H. (1913), Forschungsarbeiten des VDI 131 (from memory).
    """
    return np.asarray(0.3164 * array("reynolds", reynolds, 0.0, open_low=True) ** -0.25)


def swamee_jain(reynolds: ArrayLike, relative_roughness: ArrayLike = 0.0) -> FloatArray:
    """Return the Darcy factor of turbulent flow by Swamee and Jain.

    Parameters
    ----------
    reynolds : array_like
        Reynolds number [-], at least 2,000 (meant for 5e3 to 1e8).
    relative_roughness : array_like
        Equivalent roughness over inside diameter [-], 0 to 0.1.

    Returns
    -------
    numpy.ndarray
        Darcy friction factor [-].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    Swamee, P. K. and Jain, A. K. (1976), J. Hydraul. Div. ASCE 102(5), 657-664 (from memory).
    """
    re = array("reynolds", reynolds, 2000.0)
    eps = array("relative_roughness", relative_roughness, 0.0, 0.1)
    return np.asarray(0.25 / np.log10(eps / 3.7 + 5.74 / re**0.9) ** 2)


def hazen_williams_gradient(flow: ArrayLike, diameter: ArrayLike, c: ArrayLike) -> FloatArray:
    """Return the Hazen-Williams gradient J = 10.67 Q^1.852 / (C^1.852 D^4.871).

    Parameters
    ----------
    flow : array_like
        Flow [m3/s], at least 0; arguments broadcast.
    diameter : array_like
        Inside diameter [m], more than 0.
    c : array_like
        Hazen-Williams coefficient [-], 10 to 200.

    Returns
    -------
    numpy.ndarray
        Head lost per length [m/m].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    SI form of the law with the constants common in network solvers (published).
    It under-predicts small smooth pipes by some 20 %: offered for comparison only.
    """
    q = array("flow", flow, 0.0, unit="m3/s")
    d = array("diameter", diameter, 0.0, open_low=True, unit="m")
    return np.asarray(10.67 * (q / array("c", c, 10.0, 200.0)) ** 1.852 / d**4.871)


def handbook_gradient(flow: ArrayLike, diameter: ArrayLike) -> FloatArray:
    """Return the micro-irrigation handbook gradient J = K Q^1.75 / D^4.75.

    Parameters
    ----------
    flow : array_like
        Flow [m3/s], at least 0; arguments broadcast.
    diameter : array_like
        Inside diameter [m], more than 0 (the law is meant for less than 0.125 m).

    Returns
    -------
    numpy.ndarray
        Head lost per length [m/m].

    Raises
    ------
    InputError
        If an argument is not finite or out of range.

    Notes
    -----
    Keller, J. and Bliesner, R. D. (1990), Sprinkle and Trickle Irrigation:
    J = 7.89e7 Q^1.75 / D^4.75 in m/100 m, L/s and mm (from memory); equal to the
    0.133 of USDA-SCS NEH Section 15 Chapter 7 in ft/100 ft, gpm and inch.
    """
    q = array("flow", flow, 0.0, unit="m3/s")
    d = array("diameter", diameter, 0.0, open_low=True, unit="m")
    return np.asarray(7.89e5 * (q * 1000.0) ** 1.75 / (d * 1000.0) ** 4.75)


def _first(first: str) -> bool:
    """Return True for a half first spacing; raise on an unknown word."""
    if first not in ("full", "half"):
        raise InputError(
            "is unknown", code="unknown", field="first", given=first, accepted="'full' or 'half'"
        )
    return first == "half"


def christiansen_factor(outlets: int, exponent: float, first: str = "full") -> float:
    """Return Christiansen's factor F for friction along equally spaced equal outlets.

    Parameters
    ----------
    outlets : int
        Number of outlets, 1 to 1,000,000.
    exponent : float
        Exponent m of flow in the friction law [-], 1 to 2.
    first : {"full", "half"}
        Distance of the first outlet from the inlet, in spacings.

    Returns
    -------
    float
        Friction of the lateral over that of the same pipe carrying all the flow [-].

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6N^2), Christiansen (1942), Univ. California Bulletin
    670; half first spacing F' = (N F - 0.5)/(N - 0.5), Jensen and Fratini (1957), Agric.
    Eng. 38, 247. Both from memory, checked against the exact sum. As printed, the formula
    gives a little over 1 for one outlet.
    """
    n = whole("outlets", outlets, 1, 1_000_000)
    m = number("exponent", exponent, 1.0, 2.0)
    half = _first(first)
    factor = 1.0 / (m + 1.0) + 0.5 / n + math.sqrt(m - 1.0) / (6.0 * n * n)
    return (n * factor - 0.5) / (n - 0.5) if half else factor


def multiple_outlet_factor_exact(outlets: int, exponent: float, first: str = "full") -> float:
    """Return the factor that `christiansen_factor` approximates, by its exact sum.

    Parameters
    ----------
    outlets : int
        Number of outlets, 1 to 1,000,000.
    exponent : float
        Exponent m of flow in the friction law [-], 1 to 2.
    first : {"full", "half"}
        Distance of the first outlet from the inlet, in spacings.

    Returns
    -------
    float
        sum(k^m, k = 1..N) / N^(m+1), corrected for a half first spacing [-].

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Definition; the half spacing shortens the first segment and the pipe alike.
    """
    n = whole("outlets", outlets, 1, 1_000_000)
    m = number("exponent", exponent, 1.0, 2.0)
    half = _first(first)
    factor = float(np.sum((np.arange(1, n + 1) / n) ** m)) / n
    return (n * factor - 0.5) / (n - 0.5) if half else factor
