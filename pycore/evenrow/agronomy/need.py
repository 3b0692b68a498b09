"""From what a crop uses to what must flow: depths, volumes, run times, the largest run.

Depths are over the whole ground that a plant has to itself, wetted or not [m]; volumes are
m3, flows m3/s, times s.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, series, together


def net_depth(etc: ArrayLike, effective_rain: ArrayLike = 0.0) -> FloatArray:
    """Return what must be given to the roots.

    Parameters
    ----------
    etc : array_like
        Evapotranspiration of the crop [m/day], at least 0.
    effective_rain : array_like
        Rain that it uses [m/day], at least 0; see `rain.effective_rain_monthly`.

    Returns
    -------
    numpy.ndarray
        Net depth [m/day], at least 0.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    use = series("etc", etc, 0.0, 0.05, "m/day")
    fell = series("effective_rain", effective_rain, 0.0, 1.0, "m/day")
    together(etc=use, effective_rain=fell)
    return np.asarray(np.maximum(use - fell, 0.0))


def gross_depth(
    net: ArrayLike,
    uniformity: ArrayLike,
    leaching: ArrayLike = 0.0,
    transmission: ArrayLike = 1.0,
) -> FloatArray:
    """Return what must leave the emitters so that the net depth reaches the least served.

    Parameters
    ----------
    net : array_like
        Net depth [m/day], at least 0.
    uniformity : array_like
        Emission uniformity [-], 0.1 to 1.
    leaching : array_like
        Leaching requirement [-], 0 to 0.9; see `leaching.leaching_for_drip`.
    transmission : array_like
        Water applied per water that the crop can take at the best, because some always
        passes the roots [-], 1 to 1.5: 1.00 in deep or fine soils to 1.10 in shallow
        gravelly ones.

    Returns
    -------
    numpy.ndarray
        net / uniformity, times the larger of transmission and 1 / (1 - leaching) [m/day].

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.

    Notes
    -----
    Keller, J., Bliesner, R. D. (1990), Sprinkle and Trickle Irrigation, ch. 19 (from memory).
    There a leaching requirement up to 0.1 counts as met by what is lost anyway; here it
    counts from 0 on, so that nothing jumps.
    """
    depth = series("net", net, 0.0, 1.0, "m/day")
    eu = series("uniformity", uniformity, 0.1, 1.0)
    lr = series("leaching", leaching, 0.0, 0.9)
    tr = series("transmission", transmission, 1.0, 1.5)
    together(net=depth, uniformity=eu, leaching=lr, transmission=tr)
    return np.asarray(depth * loss_factor(eu, lr, tr))


def loss_factor(eu: FloatArray, lr: FloatArray, tr: FloatArray) -> FloatArray:
    """Return gross over net depth of arrays that have been checked; see `gross_depth`."""
    return np.asarray(np.maximum(tr, 1.0 / (1.0 - lr)) / eu)


def run_seconds(depth: ArrayLike, area: ArrayLike, flow: ArrayLike) -> FloatArray:
    """Return how long a zone runs for a gross depth.

    Parameters
    ----------
    depth : array_like
        Gross depth [m], at least 0.
    area : array_like
        Ground of the zone's plants [m2], above 0.
    flow : array_like
        Flow of the zone [m3/s], above 0.

    Returns
    -------
    numpy.ndarray
        Seconds.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    d = series("depth", depth, 0.0, 10.0, "m")
    a = series("area", area, 1e-6, 1e9, "m2")
    q = series("flow", flow, 1e-12, 1e3, "m3/s")
    together(depth=d, area=a, flow=q)
    return np.asarray(d * a / q)


def longest_run(
    raw: ArrayLike, area: ArrayLike, flow: ArrayLike, loss: ArrayLike = 1.0
) -> FloatArray:
    """Return the longest run before water passes the roots.

    A root zone that is watered when its readily available water is gone takes that much;
    what comes on top drains away.

    Parameters
    ----------
    raw : array_like
        Readily available water of the *wetted* root zone, as a depth over the whole ground
        [m]: `soil.total_available` with its wetted share, times the depletion fraction.
    area, flow : array_like
        Ground of the zone's plants [m2], and flow of the zone [m3/s], above 0.
    loss : array_like
        Gross over net depth [-], at least 1.

    Returns
    -------
    numpy.ndarray
        Seconds.

    Raises
    ------
    InputError
        If a value is out of range or shapes do not fit together.
    """
    ready = series("raw", raw, 0.0, 10.0, "m")
    factor = series("loss", loss, 1.0, 200.0)
    together(raw=ready, loss=factor)
    return run_seconds(np.asarray(ready * factor), area, flow)
