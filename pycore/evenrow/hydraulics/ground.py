"""The shape of a line: surveyed ground and diameters that change along it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.words import tr


def rises_from_survey(
    positions: ArrayLike, x: ArrayLike, z: ArrayLike, *, horizontal: bool = False
) -> FloatArray:
    """Return the elevation of each place above the start of the line, from surveyed points.

    Parameters
    ----------
    positions : array_like
        Distance of each place from the start along the line [m], shape (n,), at least 0;
        `Lateral.positions` for the emitters of a lateral.
    x : array_like
        Distance of each surveyed point from the start [m], shape (m,), m >= 2, rising; the
        first at or before the start of the line, the last at or beyond its end.
    z : array_like
        Elevation of each surveyed point above any datum [m], shape (m,).
    horizontal : bool
        True if `x` was measured level (on a map), False if along the ground.

    Returns
    -------
    numpy.ndarray
        Elevation above the start [m], shape (n,): straight between the points.

    Raises
    ------
    InputError
        If a value is not finite, lengths differ, `x` does not rise or does not cover the line.

    Notes
    -----
    Linear interpolation. Level distances are turned into distances along the ground by
    Pythagoras, from the start on.
    """
    at = array("positions", positions, 0.0, unit="m")
    points: FloatArray = array("x", x, unit="m").ravel()
    level: FloatArray = array("z", z, -10_000.0, 10_000.0, unit="m").ravel()
    if level.size != points.size:
        raise InputError(
            tr("must have one elevation for each point"), code="length", field="z",
            given=level.size, accepted=tr("{size} numbers", size=points.size),
        )  # fmt: skip
    if points.size < 2 or float(np.diff(points).min()) <= 0.0:
        raise InputError(
            tr("must hold at least two points in rising order"), code="order", field="x",
            given=points.size, accepted=tr("distances that rise from the start of the line"),
        )  # fmt: skip
    if points[0] > 0.0:
        raise InputError(
            tr("must begin at the start of the line"), code="out_of_range", field="x",
            given=float(points[0]), accepted=tr("a first point at 0 m or before"),
        )  # fmt: skip
    start = float(np.interp(0.0, points, level))
    if horizontal:
        ahead = points > 0.0
        points = np.concatenate([[0.0], points[ahead]])
        level = np.concatenate([[start], level[ahead]])
        points = np.concatenate([[0.0], np.hypot(np.diff(points), np.diff(level)).cumsum()])
    longest = float(at.max())
    if float(points[-1]) < longest - 1e-9:
        raise InputError(
            tr("ends before the line does"), code="out_of_range", field="x",
            given=float(points[-1]),
            accepted=tr("a last point at {longest:g} m or beyond", longest=longest),
        )  # fmt: skip
    return np.asarray(np.interp(at, points, level) - start)


def diameters_in_series(
    positions: ArrayLike, near: float, far: float, change_at: float
) -> FloatArray:
    """Return the diameter of the pipe before each emitter where it changes once.

    Parameters
    ----------
    positions : array_like
        Distance of each emitter from the inlet [m], shape (n,), rising.
    near, far : float
        Inside diameter before and after the change [m], more than 0, at most 1.
    change_at : float
        Distance of the change from the inlet [m], at least 0.

    Returns
    -------
    numpy.ndarray
        Diameters [m], shape (n,), for `Lateral`. The change sits at an emitter: at the
        first one at or beyond `change_at`.

    Raises
    ------
    InputError
        If a value is not finite or out of range.
    """
    at = array("positions", positions, 0.0, unit="m")
    first = number("near", near, 0.0, 1.0, open_low=True, unit="m")
    second = number("far", far, 0.0, 1.0, open_low=True, unit="m")
    change = number("change_at", change_at, 0.0, unit="m")
    starts = np.concatenate([[0.0], at[:-1]])
    return np.where(starts < change - 1e-9, first, second)
