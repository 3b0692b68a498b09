"""Source, head assemblies and pipes of many systems as falling functions of their flows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from evenrow.hydraulics._check import FloatArray
from evenrow.hydraulics.assembly import NONE, Component, Regulator
from evenrow.hydraulics.pipe import Pipe, PipeRun
from evenrow.hydraulics.source import SourceCurve

Index = NDArray[np.int64]


class Supplies:
    """All before the headers of many systems on one source, one of them running at a time.

    Parameters
    ----------
    source : SourceCurve
        The source.
    assemblies : sequence of tuple of LossComponent or Regulator
        The head assembly of each system.
    mains : sequence of sequence of Pipe
        The pipes of each, at least one.
    viscosity : float
        Kinematic viscosity [m2/s].
    """

    def __init__(
        self, source: SourceCurve, assemblies: Sequence[tuple[Component, ...]],
        mains: Sequence[Sequence[Pipe]], viscosity: float,
    ) -> None:  # fmt: skip
        self.source = source
        groups: dict[tuple[Component, ...], list[int]] = {}
        for number, parts in enumerate(assemblies):
            groups.setdefault(parts, []).append(number)
        # Where all have the same, a slice of all is looked up faster than their places.
        self.assemblies: list[tuple[tuple[Component, ...], Index | slice]] = [
            (parts, slice(None) if len(groups) == 1 else np.array(mine))
            for parts, mine in groups.items()
        ]
        self.pipes = PipeRun([pipe for main in mains for pipe in main], viscosity)
        self.of = np.repeat(np.arange(len(mains)), [len(main) for main in mains])

    def offered(self, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the heads offered at the headers [m] and their slopes by flow [s/m2]."""
        start, rate = self.source.head(flow)
        head, slope = np.array(start), np.array(rate)
        for parts, mine in self.assemblies:
            head[mine], slope[mine], _ = _through(parts, head[mine], slope[mine], flow[mine])
        losses, rises = self.pipes.losses(flow[self.of])
        head -= sums(self.of, losses, flow.size)
        slope -= sums(self.of, rises, flow.size)
        return head, slope

    def heads(self, flow: FloatArray) -> tuple[FloatArray, list[list[float]], list[FloatArray]]:
        """Return the heads on the way at the flows of all systems [m].

        Returns
        -------
        source : numpy.ndarray
            Head at the source, shape (systems,).
        parts : list of list of float
            Head after each part of the assembly of each system.
        pipes : list of numpy.ndarray
            Head at the far end of each of its pipes.
        """
        start, rate = self.source.head(flow)
        behind, numbers = np.array(start), np.arange(flow.size)
        after: list[list[float]] = [[] for _ in range(flow.size)]
        for parts, mine in self.assemblies:
            for part in parts:
                behind[mine], _, _ = _through([part], behind[mine], rate[mine], flow[mine])
                for number, head in zip(numbers[mine].tolist(), behind[mine].tolist(), strict=True):
                    after[number].append(head)
        losses, _ = self.pipes.losses(flow[self.of])
        each = np.split(losses, np.flatnonzero(np.diff(self.of)) + 1)
        pipes = [head - lost.cumsum() for head, lost in zip(behind, each, strict=True)]
        return start, after, pipes

    def regulators(self, flow: FloatArray) -> list[str]:
        """Return the state of the regulator of each system at its flow."""
        start, rate = self.source.head(flow)
        states, numbers = [NONE] * flow.size, np.arange(flow.size)
        for parts, mine in self.assemblies:
            regulator = next((p for p in reversed(parts) if isinstance(p, Regulator)), None)
            if regulator is not None:
                _, _, regulates = _through(parts, start[mine], rate[mine], flow[mine])
                for number, yes in zip(numbers[mine].tolist(), regulates.tolist(), strict=True):
                    states[number] = regulator.state(float(flow[number]), yes)
        return states


def _through(
    parts: Sequence[Component], head: FloatArray, slope: FloatArray, flow: FloatArray
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Return heads and slopes behind one assembly, and where its last regulator regulates."""
    regulates = np.zeros(flow.shape, dtype=bool)
    for part in parts:
        if isinstance(part, Regulator):
            scale = part.loss_nominal / part.nominal_flow**2
            left = head - scale * flow * flow
            regulates = left > part.set_head
            head = np.where(regulates, part.set_head, left)
            slope = np.where(regulates, 0.0, slope - 2.0 * scale * flow)
        else:
            share = flow / part.nominal_flow
            head = head - part.nominal_loss * share**part.exponent
            steep = part.exponent * part.nominal_loss / part.nominal_flow
            slope = slope - steep * share ** (part.exponent - 1.0)
    return head, slope, regulates


def sums(of: Index, values: FloatArray, count: int) -> FloatArray:
    """Return the sum of the values of each system."""
    return np.bincount(of, values, count).astype(np.float64)
