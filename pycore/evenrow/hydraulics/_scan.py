"""One backward march that yields the uniformity of every length of a lateral at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.friction import _f_re, laminar_scale

_CHUNK = 64
_LOW = 1e-4  # lowest end head of the family, relative to the inlet head
_SLACK = 0.01  # scanned uniformity this close to its limit is looked at exactly


@dataclass(frozen=True)
class Family:
    """Geometry that all lengths of one lateral share (see `Lateral` for the arguments)."""

    emitter: Emitter
    spacing: float
    first_spacing: float
    diameter: float
    slope: float
    roughness: float
    viscosity: float
    barb_length: float


@dataclass
class Track:
    """Scanned measures of lengths 1, 2, … n at one inlet head."""

    min_over_mean: FloatArray
    variation: FloatArray
    #: True where the end head lies within the family that was marched.
    known: FloatArray


def end_heads(inlet_head: float, top: float) -> FloatArray:
    """Return the end heads of the family, dense where laterals usually end."""
    low = np.geomspace(_LOW, 0.1, 9)[:-1] * inlet_head
    usual = np.linspace(0.1 * inlet_head, inlet_head, 28)
    if top <= inlet_head * (1.0 + 1e-9):
        return np.concatenate([low, usual])
    return np.concatenate([low, usual, np.linspace(inlet_head, top, 17)[1:]])


class March:
    """A backward march over many end heads that can be continued chunk by chunk."""

    def __init__(self, family: Family, inlet_head: float, top: float) -> None:
        self.family = family
        self.inlet_head = inlet_head
        head = end_heads(inlet_head, top)
        self.head = head
        self.flow = np.zeros_like(head)
        self.low = np.full_like(head, math.inf)
        self.high = np.zeros_like(head)
        self.count = 0
        self.loss: FloatArray | None = None

    def advance(self, steps: int) -> Track:
        """Add `steps` emitters at the inlet side and return the track of these lengths."""
        f = self.family
        per_re = 4.0 / (math.pi * f.viscosity) / f.diameter
        scale = float(laminar_scale(f.diameter, f.viscosity)) * (f.spacing + f.barb_length)
        first = (f.first_spacing + f.barb_length) / (f.spacing + f.barb_length)
        eps = 0.27 * f.roughness / f.diameter
        climb = f.slope * f.spacing
        width = self.head.size
        inlet, total, low, high = (np.empty((steps, width)) for _ in range(4))
        head, flow = self.head, self.flow
        for i in range(steps):
            if self.loss is not None:
                head += self.loss
                head += climb
                np.minimum(head, 1e6, out=head)
            q = f.emitter._flow(head)
            flow += q
            np.minimum(self.low, q, out=self.low)
            np.maximum(self.high, q, out=self.high)
            loss = _f_re(flow * per_re, eps)
            loss *= flow
            loss *= scale
            self.loss = loss
            np.multiply(loss, first, out=inlet[i])
            inlet[i] += head
            total[i], low[i], high[i] = flow, self.low, self.high
        inlet += f.slope * f.first_spacing
        counts: FloatArray = np.arange(self.count + 1.0, self.count + steps + 1.0, dtype=np.float64)
        self.count += steps
        return self._read(inlet, total, low, high, counts)

    def _read(
        self, inlet: FloatArray, total: FloatArray, low: FloatArray, high: FloatArray,
        counts: FloatArray,
    ) -> Track:
        """Interpolate between end heads to the inlet head that is really there."""
        above = (inlet < self.inlet_head).sum(axis=1)
        width = inlet.shape[1]
        k = np.clip(above, 1, width - 1)
        rows = np.arange(inlet.shape[0])
        a, b = inlet[rows, k - 1], inlet[rows, k]
        share = np.clip((self.inlet_head - a) / np.maximum(b - a, 1e-300), 0.0, 1.0)

        def at(values: FloatArray) -> FloatArray:
            left = values[rows, k - 1]
            return np.asarray(left + share * (values[rows, k] - left))

        q_low, q_high, q = at(low), at(high), at(total)
        return Track(
            q_low * counts / np.maximum(q, 1e-300),
            (q_high - q_low) / np.maximum(q_high, 1e-300),
            (above > 0) & (above < width),
        )


def suspects(
    family: Family, inlet_head: float, longest: int, eu_ratio: float, variation: float
) -> list[tuple[int, int]]:
    """Return, in rising order, the stretches of lengths in which a limit may fail.

    Parameters
    ----------
    family : Family
        What the lengths share.
    inlet_head : float
        Pressure head at the inlet [m], more than 0.
    longest : int
        Largest number of emitters to look at.
    eu_ratio : float
        Least q_min / q_avg [-]; 0 to leave it out.
    variation : float
        Largest flow variation [-]; 1 to leave it out.

    Returns
    -------
    list of (first, worst)
        First count of a stretch that comes close to a limit, and its worst count. The scan
        stops soon after a stretch that fails clearly.
    """
    length = family.first_spacing + (longest - 1) * family.spacing
    reach = min(length, max(60.0, 256 * family.spacing))
    while True:
        top = inlet_head * 1.02 + max(0.0, -family.slope) * reach
        found, complete = _scan(
            March(family, inlet_head, top), longest, eu_ratio, variation,
            bounded=reach < length,
        )
        if complete:
            return found
        reach = min(length, 3.0 * reach)


def _scan(
    march: March, longest: int, eu_ratio: float, variation: float, bounded: bool
) -> tuple[list[tuple[int, int]], bool]:
    """March until a clear failure; the flag is False if the end heads did not suffice."""
    margins: list[FloatArray] = []
    while march.count < longest:
        track = march.advance(min(_CHUNK, longest - march.count))
        short = ~np.asarray(track.known, dtype=bool)
        dry = short & (track.min_over_mean < 0.5)  # below the family, not above it
        if bounded and bool((short & ~dry).any()):
            return [], False
        margin = np.minimum(track.min_over_mean - eu_ratio, variation - track.variation)
        margins.append(np.where(short, np.minimum(margin, -_SLACK), margin))
        if bool((margins[-1] < -3.0 * _SLACK).any()):
            break
    margin = np.concatenate(margins)
    close = margin < _SLACK
    starts = np.flatnonzero(close & ~np.concatenate([[False], close[:-1]]))
    stops = np.flatnonzero(close & ~np.concatenate([close[1:], [False]]))
    found = [
        (int(a) + 1, int(a) + 1 + int(np.argmin(margin[a : b + 1])))
        for a, b in zip(starts, stops, strict=True)
    ]
    return found, True
