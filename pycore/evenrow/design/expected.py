"""What a finished design should show when it runs: each zone solved, filter clean or dirty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from evenrow.design.layout import HEADER_TAIL, ZoneLayout
from evenrow.design.model import Design
from evenrow.design.segments import header_pipe, main_pipes
from evenrow.design.system import FieldHydraulics
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, LateralSolution, solve_lateral
from evenrow.hydraulics.network import Supply, SystemSolution, solve_system
from evenrow.hydraulics.pipe import Pipe

#: Largest relative error of a curve between its nodes.
CURVE_TOLERANCE = 1e-6
#: Halvings that find a flow to more digits than a bucket shows.
HALVINGS = 60

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class End:
    """One run of line, from its take-off to its closed end.

    Parameters
    ----------
    row, line : int
        Number of its row, and of the line in that row, from 1.
    away : int
        1 if it runs toward the far end of the row, -1 toward the near end.
    length : float
        From the header to its end [m].
    way : float
        Where it leaves the header, along the pipe from the feed [m]; positive toward the last
        row.
    """

    row: int
    line: int
    away: int
    length: float
    way: float


@dataclass(frozen=True, kw_only=True)
class ZoneNetwork:
    """The pipes of one zone; `kinds` says which of `laterals` each take-off has."""

    layout: ZoneLayout
    ends: tuple[End, ...]
    main: tuple[Pipe, ...]
    header: Header
    laterals: tuple[Lateral, ...]
    kinds: NDArray[np.int64]

    @property
    def sides(self) -> tuple[bool, ...]:
        """The open ends of the header: True past the last row, False before the first."""
        zone = self.layout
        if zone.tee:
            return (True, False)
        return (zone.ways[-1] - zone.feed_way >= zone.feed_way - zone.ways[0],)

    def arm(self, last: bool) -> tuple[Pipe, ...]:
        """Return the header from its feed to the open end past the last or the first take-off."""
        header = self.header
        side = slice(header.feed, None) if last else slice(header.feed - 1, None, -1)
        if not last and header.feed == 0:
            side = slice(0, 0)
        # A step along the array at a time: lengths, bores and rises lead away from the feed.
        steps = zip(
            np.asarray(header.length)[side],
            np.asarray(header.diameter)[side],
            np.asarray(header.rise)[side],
            strict=True,
        )
        pipes = [Pipe(length=float(s), diameter=float(d), rise=float(r)) for s, d, r in steps]
        bore = pipes[-1].diameter if pipes else float(np.asarray(header.diameter)[0])
        # A free jet leaves with one velocity head.
        return (*pipes, Pipe(length=HEADER_TAIL, diameter=bore, minor_k=1.0))


class Expected:
    """The zones of a design, ready to be solved in the states in which they are measured.

    Parameters
    ----------
    found : Design
        The finished design.
    """

    def __init__(self, found: Design) -> None:
        self.found = found
        self.hydraulics = FieldHydraulics(found.field)

    @cached_property
    def zones(self) -> tuple[ZoneNetwork, ...]:
        """The network of each zone, in their order."""
        return tuple(self._network(zone.layout) for zone in self.found.zones)

    @cached_property
    def clean(self) -> tuple[SystemSolution, ...]:
        """Each zone as it runs with a clean filter."""
        return tuple(self._running(network, dirty=False) for network in self.zones)

    @cached_property
    def dirty(self) -> tuple[SystemSolution, ...]:
        """Each zone as it runs with the filter as dirty as it may get."""
        return tuple(self._running(network, dirty=True) for network in self.zones)

    @cached_property
    def _curves(self) -> list[LateralCurve]:
        """Inlet flow by inlet head of each distinct lateral, behind its take-off."""
        field = self.found.field
        supply = field.supply(self.found.candidate.assembly.set_head)
        # From less than a line ever works at, to a little more than it can see.
        high = supply + max(0.0, -field.lowest) + 0.5
        low = 0.5 * min(field.line.device.emitter.head_min, high)
        return [
            lateral_curve(lateral, low, high, CURVE_TOLERANCE)
            for lateral in self.hydraulics.laterals
        ]

    def supply(self, zone: int) -> Supply:
        """Return all before the header of the zone at that place in `zones`, filter clean."""
        return self._supply(self.zones[zone].main)

    def _supply(self, pipes: Sequence[Pipe]) -> Supply:
        field = self.found.field
        assembly = self.found.candidate.assembly.components(dirty=False)
        return Supply(field.source, assembly, tuple(pipes), field.line.viscosity)

    def _network(self, zone: ZoneLayout) -> ZoneNetwork:
        field, candidate = self.found.field, self.found.candidate
        outlets = self.hydraulics.outlets(zone)
        return ZoneNetwork(
            layout=zone,
            ends=self._ends(zone),
            main=tuple(main_pipes(field, candidate, zone)),
            header=header_pipe(field, candidate, zone, outlets.takeoffs),
            laterals=tuple(self.hydraulics.laterals),
            kinds=outlets.kinds,
        )

    def _ends(self, zone: ZoneLayout) -> tuple[End, ...]:
        """Return the runs of a zone in the order of its outlets."""
        field = self.found.field
        ways = iter(zone.ways)
        found: list[End] = []
        for row in field.rows[slice(*zone.rows)]:
            for line in range(1, row.lines + 1):
                way = next(ways) - zone.feed_way
                found += [
                    End(row=row.number, line=line, away=run.away, length=run.length, way=way)
                    for run in field.runs(row)
                ]
        return tuple(found)

    def _running(self, network: ZoneNetwork, *, dirty: bool) -> SystemSolution:
        field, assembly = self.found.field, self.found.candidate.assembly
        return solve_system(
            field.source,
            assembly.components(dirty=dirty),
            network.main,
            network.header,
            self._curves,
            network.kinds,
            field.line.viscosity,
        )

    def open_header_flow(self, network: ZoneNetwork, *, last: bool) -> float | None:
        """Return what runs out of an open header end before any line is joined.

        Parameters
        ----------
        network : ZoneNetwork
            One of `zones`.
        last : bool
            The end past the last row, or else the one before the first.

        Returns
        -------
        float or None
            Flow with a clean filter [m3/s]; None where nothing comes out, or where more would
            than the source's curve reaches to.

        Notes
        -----
        Source, parts, main and header to that end lose all the head (Darcy–Weisbach, one
        velocity head at the jet); found by halving, as the head left falls with the flow.
        """
        field = self.found.field
        supply = self._supply((*network.main, *network.arm(last)))
        if supply.still <= 0.0:
            return None
        low, high = 0.0, 1e-3
        while supply.offered(high)[0] > 0.0:
            if high > field.source.max_flow:
                return None
            low, high = high, 2.0 * high
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if supply.offered(middle)[0] > 0.0 else (low, middle)
        return low if low <= field.source.max_flow else None


def line_at(network: ZoneNetwork, outlet: int, head: float) -> LateralSolution:
    """Return one line of a zone, emitter by emitter, at the head at its start [m]."""
    return solve_lateral(network.laterals[int(network.kinds[outlet])], head)


def lowest_heads(network: ZoneNetwork, heads: Sequence[float] | FloatArray) -> FloatArray:
    """Return the lowest emitter head of each line at the heads at their starts [m]."""
    inlet = np.asarray(heads, dtype=np.float64)
    found = np.zeros(inlet.size)
    for kind in np.unique(network.kinds):
        mine = np.flatnonzero((network.kinds == kind) & (inlet > 0.0))
        if mine.size:
            found[mine] = solve_lateral(network.laterals[int(kind)], inlet[mine]).head.min(axis=-1)
    return found
