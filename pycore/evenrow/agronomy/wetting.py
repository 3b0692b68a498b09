"""The soil that a drip emitter wets: how wide and how deep, and how lines add up.

All values are SI: lengths in m, volumes in m3, flows in m3/s, conductivity in m/s.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array

#: Widest spacing at which wetted patterns meet, as a share of their diameter (Keller and Karmeli
#: 1975, Trickle Irrigation Design; USDA-SCS National Engineering Handbook, section 15, chapter 7:
#: Se = 0.8 w; both from memory).
SPACING_SHARE: Final = 0.8

# Schwartzman and Zur (1986), J. Irrig. Drain. Eng. 112(3), 242-253, constants in SI (from memory;
# the form in litres and litres per hour, recalled by itself, gives the same within 1.4 %).
_DEPTH, _DEPTH_VOLUME, _DEPTH_RATIO = 2.54, 0.63, 0.45
_WIDTH, _WIDTH_VOLUME, _WIDTH_RATIO = 1.82, 0.22, -0.17

#: Emitter flow for which `tabled_width` holds: 1 gal/h [m3/s].
TABLE_FLOW: Final = 3.785411784e-3 / 3600.0
_FOOT = 0.3048
_TABLE_DEPTHS = np.array([2.5, 5.0]) * _FOOT
#: Wetted diameter [ft] at 2.5 ft and 5 ft of roots in soil without layers.
_TABLE_WIDTHS: Final = {"coarse": (1.5, 2.5), "medium": (3.0, 4.0), "fine": (3.5, 5.0)}

#: Texture classes of `tabled_width`, coarse first.
TEXTURES: Final = tuple(_TABLE_WIDTHS)


def _positive(**values: ArrayLike) -> list[FloatArray]:
    return [array(name, value, 0.0, 1e9, open_low=True) for name, value in values.items()]


def wetted_depth(volume: ArrayLike, conductivity: ArrayLike, flow: ArrayLike) -> FloatArray:
    """Return how deep one emitter on the surface wets dry soil [m].

    ``z = 2.54 V^0.63 (Ks / q)^0.45``

    Parameters
    ----------
    volume : array_like
        Water given by the emitter [m3], more than 0.
    conductivity : array_like
        Saturated hydraulic conductivity of the soil [m/s], more than 0.
    flow : array_like
        Flow of the emitter [m3/s], more than 0. The three broadcast.

    Returns
    -------
    numpy.ndarray
        Depth of the wetting front below the emitter [m], of the broadcast shape.

    Raises
    ------
    InputError
        If an argument is not finite or not positive.

    Notes
    -----
    Schwartzman and Zur (1986), J. Irrig. Drain. Eng. 112(3), 242-253 (from memory). Fitted to a
    loam and a sand with emitters of a few litres an hour; soil in layers spreads water wider.
    """
    v, k, q = _positive(volume=volume, conductivity=conductivity, flow=flow)
    return np.asarray(_DEPTH * v**_DEPTH_VOLUME * (k / q) ** _DEPTH_RATIO)


def wetted_width(volume: ArrayLike, conductivity: ArrayLike, flow: ArrayLike) -> FloatArray:
    """Return the largest diameter of the soil that one emitter wets [m].

    ``w = 1.82 V^0.22 (Ks / q)^-0.17``; arguments, errors and source as of `wetted_depth`.
    """
    v, k, q = _positive(volume=volume, conductivity=conductivity, flow=flow)
    return np.asarray(_WIDTH * v**_WIDTH_VOLUME * (k / q) ** _WIDTH_RATIO)


def volume_to_depth(depth: ArrayLike, conductivity: ArrayLike, flow: ArrayLike) -> FloatArray:
    """Return the water [m3] that one emitter gives until dry soil is wet to `depth` [m].

    The inverse of `wetted_depth`; `depth` more than 0, the rest as there.
    """
    z, k, q = _positive(depth=depth, conductivity=conductivity, flow=flow)
    return np.asarray((z / _DEPTH * (q / k) ** _DEPTH_RATIO) ** (1.0 / _DEPTH_VOLUME))


def width_at_depth(depth: ArrayLike, conductivity: ArrayLike, flow: ArrayLike) -> FloatArray:
    """Return how wide [m] the wetted soil is once it reaches down to `depth` [m].

    Both formulas of Schwartzman and Zur with the volume taken out, in their paper rounded to
    ``w = 1.32 z^0.35 (q / Ks)^0.33`` (from memory). Arguments as of `volume_to_depth`.
    """
    return wetted_width(volume_to_depth(depth, conductivity, flow), conductivity, flow)


def tabled_width(texture: str, depth: ArrayLike) -> FloatArray:
    """Return the handbook's wetted diameter [m] of a 1 gal/h (4 L/h) emitter.

    Parameters
    ----------
    texture : {"coarse", "medium", "fine"}
        Sands; sandy loam to silt loam; clay loam to clay.
    depth : array_like
        Depth of the roots [m], more than 0.

    Returns
    -------
    numpy.ndarray
        Straight between 2.5 ft and 5 ft of roots, constant beyond.

    Raises
    ------
    InputError
        ``unknown_choice`` for another texture; depths that are not positive numbers.

    Notes
    -----
    USDA-SCS National Engineering Handbook, section 15, chapter 7 (Trickle Irrigation), table of
    areas wetted by a 1 gal/h emitter; also Keller and Bliesner (1990); from memory. Rows of soil
    without layers: layered soils are wetted wider, so that these are the careful ones.
    """
    if texture not in _TABLE_WIDTHS:
        raise InputError(
            "this texture is not in the table",
            code="unknown_choice",
            field="texture",
            given=texture,
            accepted=", ".join(TEXTURES),
        )
    (z,) = _positive(depth=depth)
    return np.asarray(np.interp(z, _TABLE_DEPTHS, np.array(_TABLE_WIDTHS[texture]) * _FOOT))


def widest_spacing(width: ArrayLike) -> FloatArray:
    """Return the widest emitter spacing [m] at which patterns of that `width` [m] still meet."""
    (w,) = _positive(width=width)
    return np.asarray(SPACING_SHARE * w)


def strip_width(width: ArrayLike, spacing: ArrayLike) -> FloatArray:
    """Return the mean width [m] of the strip that a line of emitters wets.

    Parameters
    ----------
    width : array_like
        Diameter that one emitter wets [m], more than 0.
    spacing : array_like
        Distance between emitters [m], more than 0.

    Returns
    -------
    numpy.ndarray
        Area of all the circles together, each part counted once, over the length of the line:
        at most `width`, and ``pi width^2 / (4 spacing)`` where they do not touch. Plane geometry.

    Raises
    ------
    InputError
        If an argument is not finite or not positive.
    """
    w, s = _positive(width=width, spacing=spacing)
    radius = w / 2
    half = np.minimum(s / 2, radius)
    chord = np.sqrt(np.maximum(radius**2 - half**2, 0.0))
    return np.asarray(2 * (half * chord + radius**2 * np.arcsin(half / radius)) / s)


def narrowest_strip(width: ArrayLike, spacing: ArrayLike) -> FloatArray:
    """Return the width [m] of a wetted strip half way between two emitters, 0 if they do not meet.

    Arguments and errors as of `strip_width`.
    """
    w, s = _positive(width=width, spacing=spacing)
    return np.asarray(np.sqrt(np.maximum(w**2 - s**2, 0.0)))


def wetted_share(strip: ArrayLike, lines: ArrayLike, ground: ArrayLike) -> FloatArray:
    """Return the share of the ground that lines evenly set across it wet [-], 0 to 1.

    Parameters
    ----------
    strip : array_like
        Width that one line wets [m], more than 0.
    lines : array_like
        Number of lines across the ground, at least 1.
    ground : array_like
        Width of bed, root zone or row spacing [m], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.
    """
    b, g = _positive(strip=strip, ground=ground)
    n = array("lines", lines, 1.0, 1e6)
    return np.asarray(np.minimum(n * b / g, 1.0))


def wetted_share_of_plants(
    emitters: ArrayLike,
    spacing: ArrayLike,
    width: ArrayLike,
    plant_spacing: ArrayLike,
    row_spacing: ArrayLike,
) -> FloatArray:
    """Return the share of the ground wetted in a stand of wide-spaced plants [-], 0 to 1.

    ``Pw = e Se w / (Sp Sr)`` with ``Se`` no more than 0.8 `width`.

    Parameters
    ----------
    emitters : array_like
        Emitters for each plant, at least 1.
    spacing, width : array_like
        Emitter spacing and diameter that one emitter wets [m], more than 0.
    plant_spacing, row_spacing : array_like
        Between plants in the row and between rows [m], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Keller and Karmeli (1974), Trans. ASAE 17(4), 678-684; National Engineering Handbook,
    section 15, chapter 7: 33 to 67 % are aimed at (from memory).
    """
    s, w, sp, sr = _positive(
        spacing=spacing, width=width, plant_spacing=plant_spacing, row_spacing=row_spacing
    )
    e = array("emitters", emitters, 1.0, 1e6)
    return np.asarray(np.minimum(e * np.minimum(s, SPACING_SHARE * w) * w / (sp * sr), 1.0))


def strip_rate(flow: ArrayLike, spacing: ArrayLike, strip: ArrayLike) -> FloatArray:
    """Return how fast a line waters the strip that it wets [m/s].

    Above the soil's intake rate water stands and runs off. ``q / (s b)``: flow of an emitter
    [m3/s] over emitter spacing [m] times width of the strip [m], each more than 0.

    Raises
    ------
    InputError
        If an argument is not finite or not positive.
    """
    q, s, b = _positive(flow=flow, spacing=spacing, strip=strip)
    return np.asarray(q / (s * b))
