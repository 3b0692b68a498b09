"""The root zone's water from day to day, FAO-56 (Allen et al. 1998), eq. 85.

A day's water comes in the morning, the crop uses it, what is too much drains at night. Water
is a depth over the ground [m]. Days go along the first axis; a second holds stations,
years or fields, all of which go through a day at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray, spread
from evenrow.agronomy.soil import stress
from evenrow.errors import InputError
from evenrow.hydraulics._check import array, number


@dataclass(frozen=True)
class Refill:
    """When to water, and how much.

    Parameters
    ----------
    trigger : float
        Share of the readily available water [-], 0 to 2: watered on the morning of a day whose
        use would take the depletion beyond it. 0 waters every day, 1 just before stress.
    leave : float
        Share of the readily available water left unfilled, as room for rain [-], 0 to 1.
    largest : float
        Most that can be given in a day [m], above 0.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    trigger: float = 1.0
    leave: float = 0.0
    largest: float = 1.0

    def __post_init__(self) -> None:
        number("trigger", self.trigger, 0.0, 2.0)
        number("leave", self.leave, 0.0, 1.0)
        number("largest", self.largest, 0.0, 1.0, open_low=True, unit="m")


@dataclass(frozen=True)
class Balance:
    """What became of the water, each day.

    Parameters
    ----------
    depletion : numpy.ndarray
        Water gone from the root zone [m]: first at the start, then at the end of each day,
        shape (days + 1, …).
    used : numpy.ndarray
        Evapotranspiration of the crop as it was [m/day], shape (days, …).
    irrigation, percolation : numpy.ndarray
        Water given, and water drained below the roots [m/day], same shape.
    stress : numpy.ndarray
        Ks [-], same shape: 1 where the crop had all it wanted.
    rain : numpy.ndarray
        Effective rain as given [m/day].
    """

    depletion: FloatArray
    used: FloatArray
    irrigation: FloatArray
    percolation: FloatArray
    stress: FloatArray
    rain: FloatArray

    @property
    def residual(self) -> FloatArray:
        """What the balance does not account for, for each column [m]: 0 but for rounding."""
        stored = self.depletion[0] - self.depletion[-1]
        came = (self.rain + self.irrigation).sum(axis=0)
        return np.asarray(came - (self.used + self.percolation).sum(axis=0) - stored)


def water_balance(
    etc: ArrayLike,
    rain: ArrayLike,
    taw: ArrayLike,
    p: ArrayLike,
    *,
    irrigation: ArrayLike | None = None,
    refill: Refill | None = None,
    start: ArrayLike = 0.0,
) -> Balance:
    """Return the water of the root zone over days, with irrigation as given or by a rule.

    Parameters
    ----------
    etc : array_like
        What the crop would use without stress [m/day], shape (days,) or (days, columns).
    rain : array_like
        Effective rain [m/day]; one number or broadcasting to `etc`.
    taw : array_like
        Water that the root zone holds [m]; may grow from day to day with the roots (the new
        soil is at field capacity), never shrink. Shape (days, 1) for all columns.
    p : array_like
        Share of it used without stress [-], 0 to 1; see `soil.depletion_fraction`.
    irrigation : array_like, optional
        Net water given [m/day]. Not together with `refill`.
    refill : Refill, optional
        Rule that waters; each day sees the depletion it meets.
    start : array_like
        Depletion before the first day [m], 0 to TAW.

    Returns
    -------
    Balance
        Every day's terms; they close exactly but for rounding.

    Raises
    ------
    InputError
        If something is not finite, out of range or of another shape, or both `irrigation`
        and `refill` are given.

    Notes
    -----
    Ks is that of the depletion after the morning's water. Runoff is taken off the rain
    before (`rain.effective_rain_daily`); there is no capillary rise.
    """
    want = array("etc", etc, 0.0, 0.05, unit="m/day")
    if want.ndim == 0:
        raise InputError(
            "needs days", code="length", field="etc", given=etc, accepted="one value for each day"
        )
    if irrigation is not None and refill is not None:
        raise InputError(
            "is given twice",
            code="conflict",
            field="refill",
            accepted="irrigation by day or a rule, not both",
        )
    fell = spread("rain", rain, want, 2.0)
    held = spread("taw", taw, want, 10.0)
    share = spread("p", p, want, 1.0)
    given = spread("irrigation", 0.0 if irrigation is None else irrigation, want, 1.0).copy()
    if bool((np.diff(held, axis=0) < 0.0).any()):
        raise InputError(
            "shrinks from one day to the next",
            code="out_of_range",
            field="taw",
            accepted="water that stays or grows through the days",
            hint="a run of its own for each season",
        )
    gone = spread("start", start, want[0], 10.0).copy()
    if bool((gone > held[0]).any()):
        raise InputError(
            "is more than the root zone holds",
            code="out_of_range",
            field="start",
            given=float(gone.max()),
            accepted=f"0 to {float(held[0].min()):g} m",
        )
    depletion = np.empty((want.shape[0] + 1, *want.shape[1:]))
    depletion[0] = gone
    used, drained, ks = np.empty_like(want), np.empty_like(want), np.empty_like(want)
    ready = share * held
    for i in range(want.shape[0]):
        left = gone - fell[i]
        if refill is not None:
            due = np.maximum(left, 0.0) + want[i] > refill.trigger * ready[i]
            room = np.clip(left - refill.leave * ready[i], 0.0, refill.largest)
            given[i] = np.where(due, room, 0.0)
        left = left - given[i]
        ks[i] = stress(left, held[i], share[i])
        # Rounding may leave a root zone emptied to the last by less than nothing.
        used[i] = np.minimum(ks[i] * want[i], np.maximum(held[i] - left, 0.0))
        after = left + used[i]
        drained[i] = np.maximum(-after, 0.0)
        gone = np.maximum(after, 0.0)
        depletion[i + 1] = gone
    return Balance(depletion, used, given, drained, ks, fell)
