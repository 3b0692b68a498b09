"""When there is not enough: who gets how much."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy._series import FloatArray
from evenrow.errors import InputError
from evenrow.hydraulics._check import array


def share_supply(
    need: ArrayLike, available: ArrayLike, priority: ArrayLike | None = None
) -> FloatArray:
    """Return what each one gets of a supply that may fall short.

    Parameters
    ----------
    need : array_like
        What each needs, at least 0, in any unit, shape (…, takers).
    available : array_like
        What there is, at least 0, in the same unit, shape (…) or one number; infinite where
        there is no limit.
    priority : array_like, optional
        Rank of each taker, shape (takers,): 1 is served first, then 2, and so on. Takers of
        one rank get the same share of their need. All are of one rank if it is not given.

    Returns
    -------
    numpy.ndarray
        What each gets, shape of `need`: nobody more than the need, in all the lesser of
        supply and need.

    Raises
    ------
    InputError
        If a value is not finite (a supply may be infinite), below 0 or of a wrong shape.
    """
    wanted = array("need", need, 0.0)
    if wanted.ndim == 0:
        raise InputError(
            "needs takers", code="length", field="need", accepted="one value for each taker"
        )
    left = np.asarray(available, dtype=np.float64)
    if not bool((left >= 0.0).all()):  # neither is NaN
        raise InputError(
            "is out of range",
            code="out_of_range",
            field="available",
            given=available,
            accepted="at least 0, or infinite for no limit",
        )
    try:
        left = np.broadcast_to(left, wanted.shape[:-1])
    except ValueError:
        raise InputError(
            "does not fit the needs",
            code="length",
            field="available",
            given=left.shape,
            accepted=f"one number, or shape {wanted.shape[:-1]}",
        ) from None
    rank = np.ones(wanted.shape[-1]) if priority is None else array("priority", priority)
    if rank.shape != wanted.shape[-1:]:
        raise InputError(
            "needs one rank for each taker",
            code="length",
            field="priority",
            given=rank.shape,
            accepted=f"{wanted.shape[-1]} numbers",
        )
    return shared(wanted, left, rank)


def shared(wanted: FloatArray, left: FloatArray | float, rank: FloatArray) -> FloatArray:
    """Return `share_supply` of arrays that have been checked."""
    if bool((wanted.sum(axis=-1) <= left).all()):
        return wanted.copy()
    if bool((rank == rank[0]).all()):
        return wanted * _share(wanted.sum(axis=-1), left)[..., None]
    got = np.zeros_like(wanted)
    for level in np.unique(rank):
        members = rank == level
        asked = wanted[..., members]
        total = asked.sum(axis=-1)
        got[..., members] = asked * _share(total, left)[..., None]
        left = np.maximum(left - total, 0.0)
    return got


def _share(total: FloatArray, left: FloatArray | float) -> FloatArray:
    """Return which share of a total is there [-]: exactly 1 where all is, 0 where none is."""
    return np.where(total <= left, 1.0, np.minimum(left, total) / np.maximum(total, 1e-300))
