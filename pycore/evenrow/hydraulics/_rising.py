"""The last length that keeps its limits on flat or rising ground, by few exact solves.

There every limit that fails once fails at all greater lengths. With one emitter more at the
same inlet head the line takes more water, so that at each place the head is less than before:
more is lost on the way, in each segment, and the ratio of new to old head falls along the line.
Hence, whatever the friction law, as long as it rises with the flow, and for emitters whose local
exponent does not rise with the head (power laws, compensating ones, both straight below their
lowest heads): the least head falls, inlet flow and velocity rise, the variation of heads and
flows rises. Emission uniformity falls too: that is proved where the product of both exponents
is at most 1 (the profile steepens as the end head falls), and tested where it is more, on random
lines of every law. On falling ground this does not hold; lengths are scanned there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from evenrow.hydraulics._columns import Cell, constants

_EU_LEAST: Final = 0.05  # below this uniformity nothing was tested
_FRICTION_POWER: Final = 1.75
_MEAN_SHARE: Final = 1.0 - 1.0 / (_FRICTION_POWER + 2.0)  # mean drop over that at the end
_TRIES_BEFORE_HALVING: Final = 5

#: Exponent by which what a limit measures grows with length, before two lengths have told.
_GROWTH: Final = {"inlet_flow_max": 1.0, "inlet_velocity_max": 1.0}
_GROWTH_OF_LOSS: Final = _FRICTION_POWER + 1.0

Limits = dict[str, float]
Measure = Callable[[int], tuple[bool, dict[str, float]]]


def applies(cell: Cell, limits: Limits) -> bool:
    """Return True if every limit, once broken, stays broken, and exact solves find it fast.

    Flushing is left to the scan: there one march serves, while each exact solve is a search.

    Parameters
    ----------
    cell : Cell
        The lateral.
    limits : dict
        As `first_failures` takes them.
    """
    if cell.slope < 0.0 or not limits or "flush_velocity_min" in limits:
        return False
    return _EU_LEAST <= limits.get("eu", 0.5) < 1.0


def last_kept(cell: Cell, limits: Limits, most: int, measure: Measure) -> int:
    """Return the last number of emitters that keeps all limits, 0 if none does.

    Parameters
    ----------
    cell : Cell
        The lateral, for which `applies` is true.
    limits : dict
        As `first_failures` takes them.
    most : int
        Longest count to look at.
    measure : callable
        Count to whether all limits hold, and the value that each is about.

    Returns
    -------
    int
        The count; it and the next one have been measured, unless it is 0 or `most`.
    """
    good, bad = 0, most + 1
    seen: dict[str, list[tuple[float, float]]] = {name: [] for name in limits}
    count = min(max(first_guess(cell, limits), 1), most)
    tries = 0
    while bad - good > 1:
        holds, values = measure(count)
        good, bad = (count, bad) if holds else (good, count)
        tries += 1
        for name, limit in limits.items():
            seen[name].append((math.log(count), _size(cell, name, values[name], limit)))
        if tries % _TRIES_BEFORE_HALVING == 0:
            count = (good + bad) // 2 if bad <= most else min(4 * good, most)
            continue
        near = min((_crossing(name, points) for name, points in seen.items()), default=math.inf)
        count = int(min(math.exp(min(near, 50.0)), 2.0 * most))
        if bad > most:
            count = min(count, 3 * good + 1)
        count = min(max(count, good + 1), bad - 1)
    return good


def _size(cell: Cell, name: str, value: float, limit: float) -> float:
    """Return ln of what grows with length over the same at the limit; 0 at the limit."""
    if name == "eu":
        value, limit = 1.0 - value, 1.0 - limit
    elif name == "head_min":
        value, limit = cell.inlet_head - value, cell.inlet_head - limit
    return math.log(max(value, 1e-12)) - math.log(max(limit, 1e-12))


def _crossing(name: str, points: list[tuple[float, float]]) -> float:
    """Return ln of the length at which a limit is met, from the last points seen."""
    if not points:
        return math.inf
    x, y = points[-1]
    growth = _GROWTH.get(name, _GROWTH_OF_LOSS)
    if len(points) > 1:
        nearest = sorted(points, key=lambda p: abs(p[1]))[:2]
        (x, y), (x2, y2) = nearest
        if x2 != x and (y2 - y) / (x2 - x) > 0.1 * growth:
            growth = (y2 - y) / (x2 - x)
    return x - y / growth


def first_guess(cell: Cell, limits: Limits) -> int:
    """Return a guess of the length at which the first limit fails.

    Blasius' friction of the flow at the mean head, and the climb; what a limit lets the end
    head fall to says where it fails.
    """
    head, power = cell.inlet_head, cell.emitter.law_exponent
    flat = cell.emitter.threshold_or(head)
    lengths = [1e6]
    for name, limit in limits.items():
        if name in ("inlet_flow_max", "inlet_velocity_max"):
            lengths.append(limit / max(_flow(cell, head), 1e-300))
            continue
        if name == "eu":
            ratio = min(max(limit, 0.0), 1.0) ** (1.0 / power)
            drop = head * (1.0 - ratio) / (1.0 - _MEAN_SHARE * ratio)
            if flat < head:
                drop = head - flat * ratio
        elif name == "flow_variation":
            drop = head - min(flat, head) * max(1.0 - limit, 0.0) ** (1.0 / power)
        elif name == "head_variation":
            drop = head * limit
        else:
            drop = head - limit
        lengths.append(_length_of_drop(cell, min(max(drop, 0.0), 0.98 * head)))
    return int(min(lengths))


def _flow(cell: Cell, head: float) -> float:
    """Return the flow of an emitter at a head of more than 0 [m3/s]."""
    device = cell.emitter
    flow = math.exp(device.log_coefficient + device.law_exponent * math.log(head))
    return float(min(flow, device.flow_nominal)) if device.compensating else flow


def _length_of_drop(cell: Cell, drop: float) -> float:
    """Return the number of emitters whose line loses and climbs so much head."""
    _, _, _, _, per_re, scale, _, local, climb, *_ = constants(cell)
    q = _flow(cell, cell.inlet_head - _MEAN_SHARE * drop)
    friction = 0.3164 * scale * (q * per_re) ** 0.75 * q / (_FRICTION_POWER + 1.0)
    local *= q * q / 3.0
    count = (max(drop, 1e-9) / friction) ** (1.0 / (_FRICTION_POWER + 1.0))
    for _ in range(6):
        part = friction * count ** (_FRICTION_POWER + 1.0)
        rest = local * count**3
        over = part + rest + climb * count - drop
        slope = (_FRICTION_POWER + 1.0) * part + 3.0 * rest + climb * count
        count *= max(1.0 - over / slope, 0.2)
    return float(count)
