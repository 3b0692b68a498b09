"""Where the marches of a search of lengths start: the end heads, and the law of the device."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics._columns import Cell

#: Fewest end heads of a lateral.
LEAST_NODES: Final = 6
_WEIGHT = 0.15  # of the largest head in the mean, the least taking the rest: least met on falls
_WEIGHT_RISING = 0.25  # the same on rising ground
_DENSITY = 0.07  # step of the logarithm of the end head
_FLAT_FROM = 1e-3  # [m] as good as any head

Limits = Mapping[str, float]


def flat(cell: Cell, targets: Sequence[Limits]) -> Cell:
    """Return the cell with its device flat at all heads where no set of limits can tell.

    Where the least head has to stay above that from which a device compensates, a length that
    keeps it gives the same with a flat flow, and one that would keep it with a flat flow keeps it
    in truth. Without the kink all that a length shows is straight between the end heads.
    """
    device = cell.emitter
    if not device.compensating:
        return cell
    if any(limits.get("head_min", 0.0) < device.threshold for limits in targets):
        return cell
    return replace(cell, emitter=replace(device, head_compensating_from=_FLAT_FROM))


def end_heads(cell: Cell, targets: Sequence[Limits], most: int, wide: bool) -> FloatArray:
    """Return the end heads at which lengths that keep the limits may end.

    The range is a guess from the uniformity asked for, with the mean head a certain
    part of the way from the least head to the largest; lengths outside it are found out and solved.
    """
    head = cell.inlet_head
    length = cell.first_spacing + (most - 1) * cell.spacing
    fall = max(0.0, -cell.slope * length)
    if wide:
        # On a long fall the end heads that matter lie many times the inlet head up, close
        # together in proportion: in even steps there.
        below, high = _in_proportion(1e-3 * head, head), head * 1.001 + fall
        steps = math.ceil((high - head) / (_DENSITY * head)) + 1
        return np.concatenate((below[:-1], np.linspace(head, high, steps)))
    spread = max(_head_spread(cell, limits) for limits in targets)
    least = 0.95 * min(head, cell.emitter.threshold_or(head)) / spread
    return _in_proportion(least, min(head * 1.001 + fall, 1.05 * head * spread))


def _in_proportion(low: float, high: float) -> FloatArray:
    """Return rising heads, each the same part above the one before [m]."""
    number = max(math.ceil(math.log(high / low) / _DENSITY) + 1, LEAST_NODES)
    step = math.log(high / low) / (number - 1)
    return np.asarray(low * np.exp(step * np.arange(number)), dtype=np.float64)


def _head_spread(cell: Cell, limits: Limits) -> float:
    """Return a guess of the largest head over the least that a set of limits lets pass."""
    found = [20.0]
    power = 1.0 / cell.emitter.law_exponent
    weight = _WEIGHT_RISING if cell.slope > 0.0 else _WEIGHT
    if limits.get("eu", 0.0) > 0.0:
        found.append(1.0 + (min(1.0 / limits["eu"], 20.0) ** power - 1.0) / weight)
    if "flow_variation" in limits:
        found.append((1.0 / max(1.0 - limits["flow_variation"], 0.05)) ** power)
    if "head_variation" in limits:
        found.append(1.0 / max(1.0 - limits["head_variation"], 0.05))
    if limits.get("head_min", 0.0) > 0.0:
        found.append(max(cell.inlet_head / limits["head_min"], 1.0))
    return max(min(found), 1.05)
