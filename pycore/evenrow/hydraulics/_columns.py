"""Many laterals marched from their closed ends side by side, one column for each end head."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.friction import laminar_scale
from evenrow.hydraulics.laws import FrictionLaw, local_loss_factor

_HEAD_CAP = 1e6  # far above any inlet head; keeps powers finite
# Last move of the heads in a block, relative: what is left is less than that by the factor
# that each sweep gains, far below the error of the interpolation between columns.
_SWEEP_ERROR = 1e-7
_SWEEPS = 8
_BLOCK_NUMBERS = 2000
_WIDE = 200
_BLOCK_LEAST = 6  # blocks as short as the sweeps they need gain nothing


@dataclass(frozen=True)
class Cell:
    """One lateral whose length is sought: all that its lengths share (no checks)."""

    emitter: Emitter
    spacing: float
    first_spacing: float
    diameter: float
    slope: float
    roughness: float
    viscosity: float
    barb_length: float
    friction: FrictionLaw
    inlet_head: float
    barb_k: float = 0.0

    @property
    def area(self) -> float:
        """Inside cross-section [m2]."""
        return 0.25 * math.pi * self.diameter**2


@dataclass
class Column:
    """What the march needs to know of each column, flat arrays of one length."""

    coefficient: FloatArray  # ln of the flow at 1 m of head
    exponent: FloatArray
    linear_below: FloatArray
    most_flow: FloatArray  # of a compensating device, inf of others
    per_re: FloatArray
    scale: FloatArray
    parameter: FloatArray
    local: FloatArray
    climb: FloatArray
    first_share: FloatArray  # friction of the first segment over that of the others
    first_climb: FloatArray
    inlet_head: FloatArray

    def take(self, chosen: NDArray[Any]) -> Column:
        """Return the columns of a mask or of places."""
        return Column(*(getattr(self, f.name)[chosen] for f in fields(self)))

    def flows(self, head: FloatArray) -> FloatArray:
        """Return the emitter flows at heads of shape (..., columns)."""
        lifted: FloatArray = np.maximum(head, self.linear_below)
        q: FloatArray = np.log(lifted)
        q *= self.exponent
        q += self.coefficient
        np.exp(q, out=q)
        if bool((head < self.linear_below).any()):
            q *= np.maximum(head, 0.0) / lifted
        np.minimum(q, self.most_flow, out=q)
        return q


def constants(cell: Cell) -> tuple[float, ...]:
    """Return the entries of `Column` for one cell."""
    device = cell.emitter
    whole = cell.spacing + cell.barb_length
    return (
        device.log_coefficient,
        device.law_exponent,
        device.linear_end,
        device.flow_nominal if device.compensating else math.inf,
        4.0 / (math.pi * cell.viscosity * cell.diameter),
        float(laminar_scale(cell.diameter, cell.viscosity)) * whole,
        float(cell.friction.parameter(cell.diameter, cell.roughness, cell.viscosity)),
        float(local_loss_factor(cell.barb_k, cell.diameter)) if cell.barb_k else 0.0,
        cell.slope * cell.spacing,
        (cell.first_spacing + cell.barb_length) / whole,
        cell.slope * cell.first_spacing,
        cell.inlet_head,
    )


@dataclass
class Chunk:
    """What lengths show, arrays of shape (steps, columns)."""

    inlet: FloatArray  # inlet head [m]
    total: FloatArray  # inlet flow [m3/s]
    low: FloatArray  # least head at an emitter [m]
    first: FloatArray  # head at the emitter next to the inlet [m]


class March:
    """Columns of end heads that can be marched upstream chunk by chunk.

    Parameters
    ----------
    cells : sequence of Cell
        The laterals; one friction law for all.
    end_heads : sequence of numpy.ndarray
        Rising end heads of each cell [m].
    end_flow : numpy.ndarray, optional
        Flow that leaves the open end of each column [m3/s]; 0 if left out.
    """

    def __init__(
        self,
        cells: Sequence[Cell],
        end_heads: Sequence[FloatArray],
        end_flow: FloatArray | None = None,
    ) -> None:
        self.friction = cells[0].friction
        widths = np.array([h.size for h in end_heads])
        rows = np.array([constants(cell) for cell in cells])
        self.column = Column(*np.repeat(rows, widths, axis=0).T.copy())
        self.cell = np.repeat(np.arange(len(cells)), widths)
        self.end: FloatArray = np.concatenate(end_heads)
        self.head = self.end
        self.flow = np.zeros(self.head.size) if end_flow is None else end_flow.copy()
        self.step_up: FloatArray | None = None  # loss and climb to the next emitter upstream
        self.low: FloatArray = np.full(self.head.size, math.inf)
        self.count = 0
        self.has_local = bool(self.column.local.any())

    def keep(self, mask: NDArray[np.bool_]) -> None:
        """Drop the columns outside a mask."""
        self.column = self.column.take(mask)
        self.cell, self.head, self.flow = self.cell[mask], self.head[mask], self.flow[mask]
        self.end, self.low = self.end[mask], self.low[mask]
        if self.step_up is not None:
            self.step_up = self.step_up[mask]

    def losses(self, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return friction of a full spacing and local loss at the flows in the pipe."""
        c = self.column
        loss = self.friction.f_re(flow * c.per_re, c.parameter)
        loss *= flow
        loss *= c.scale
        return loss, c.local * flow * flow if self.has_local else np.zeros((1, 1))

    def advance(self, steps: int) -> Chunk:
        """Add `steps` emitters upstream and return what each length shows."""
        width = self.head.size
        inlet, total, low, first = (np.empty((steps, width)) for _ in range(4))
        # Wide marches gain nothing from blocks; near the end, where flows change fast from
        # emitter to emitter, long blocks settle slowly.
        size = min(_BLOCK_NUMBERS // width, max(32, self.count // 4))
        if size < _BLOCK_LEAST:
            size = 1
        done = 0
        while done < steps:
            solved = self._block(min(size, steps - done))
            if solved is None:
                size = max(size // 2, 1)
                continue
            heads, flow, loss, local = solved
            rows = slice(done, done + len(heads))
            total[rows], first[rows] = flow, heads
            inlet[rows] = loss * self.column.first_share + local + heads
            done = rows.stop
            self.head, self.flow = heads[-1], total[done - 1]
            self.step_up = loss[-1] + local[-1] + self.column.climb
        inlet += self.column.first_climb
        _running_least(first, self.low, low)
        self.low = low[-1]
        self.count += steps
        return Chunk(inlet, total, low, first)

    def _block(self, size: int) -> tuple[FloatArray, ...] | None:
        """Solve the next `size` emitters together, or return None if that does not settle.

        Along a few emitters the heads hardly differ, so that sweeps of flows from heads
        and heads from flows settle at once; one emitter needs no sweep at all.
        """
        step = self.step_up
        start = self.head if step is None else np.minimum(self.head + step, _HEAD_CAP)
        if size == 1:
            flow = self.flow + self.column.flows(start)[None]
            return (start[None], flow, *self.losses(flow))
        steps = np.arange(size, dtype=np.float64)[:, None]
        heads = start + steps * (self.column.climb if step is None else step)
        if step is not None and self.count:
            # each step is larger than the last by the share that one emitter adds to the flow
            share = self.column.flows(start) / np.maximum(self.flow, 1e-300)
            grown = 0.875 * (step - self.column.climb) * np.minimum(share, 1.0)
            heads += steps * steps * grown
        for _ in range(_SWEEPS):
            flow = self.flow + self.column.flows(heads).cumsum(axis=0)
            loss, local = self.losses(flow)
            new = np.empty_like(heads)
            new[0] = start
            np.cumsum((loss + local + self.column.climb)[:-1], axis=0, out=new[1:])
            new[1:] += start
            np.minimum(new, _HEAD_CAP, out=new)
            error = np.abs(new - heads)
            heads = new
            if bool((error <= _SWEEP_ERROR * (1.0 + np.abs(new))).all()):
                return heads, flow, loss, local
        return None


def _running_least(heads: FloatArray, so_far: FloatArray, out: FloatArray) -> None:
    """Write the least of `so_far` and of the rows up to each row of `heads` to `out`."""
    if heads.shape[1] < _WIDE:
        np.minimum(heads[0], so_far, out=out[0])
        out[1:] = heads[1:]
        np.minimum.accumulate(out, axis=0, out=out)
        return
    for row, least in zip(heads, out, strict=True):  # wide rows: faster than down the columns
        so_far = np.minimum(row, so_far, out=least)
