"""What a finished design should show when it runs: each zone solved, filter clean or dirty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from evenrow.design.layout import HEADER_TAIL, ZoneLayout
from evenrow.design.marked_lines import MarkedLine, marked_lines
from evenrow.design.model import Design
from evenrow.design.segments import TAKEOFF_K, header_pipe, main_pipes
from evenrow.design.system import FieldHydraulics
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.laws import local_loss_factor
from evenrow.hydraulics.many import System, solve_systems
from evenrow.hydraulics.network import Supply, SystemSolution
from evenrow.hydraulics.pipe import Pipe

#: Steps that find the flow from an open header at most, and how near they come, relatively.
STEPS = 60
NEAR = 1e-12

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
        self.hydraulics = found.hydraulics or FieldHydraulics(found.field)
        self._open_headers: dict[tuple[Pipe, ...], float | None] = {}

    @cached_property
    def zones(self) -> tuple[ZoneNetwork, ...]:
        """The network of each zone, in their order."""
        return tuple(self._network(zone.layout) for zone in self.found.zones)

    @cached_property
    def clean(self) -> tuple[SystemSolution, ...]:
        """Each zone as it runs with a clean filter."""
        return self._running[0]

    @cached_property
    def dirty(self) -> tuple[SystemSolution, ...]:
        """Each zone as it runs with the filter as dirty as it may get."""
        return self._running[1]

    @cached_property
    def _running(self) -> tuple[tuple[SystemSolution, ...], tuple[SystemSolution, ...]]:
        """All zones, with a clean and with a dirty filter, solved together."""
        field = self.found.field
        systems = [*self.systems(dirty=False), *self.systems(dirty=True)]
        solved = solve_systems(field.source, systems, self.hydraulics.curves, field.line.viscosity)
        loss = float(local_loss_factor(TAKEOFF_K, field.line.device.diameter))
        found = []
        for number in range(len(systems)):
            one = solved.one(number)
            starts = one.takeoff_heads - loss * one.outlet_flows**2
            found.append(replace(one, outlet_heads=starts))
        zones = len(self.zones)
        return tuple(found[:zones]), tuple(found[zones:])

    @cached_property
    def marked(self) -> tuple[tuple[MarkedLine, ...], ...]:
        """The lines of each zone on which gauges and cups are put."""
        return marked_lines(self.zones, self.clean, self.dirty)

    def systems(self, *, dirty: bool) -> list[System]:
        """Return the zones as they are solved together.

        The loss of a take-off belongs to its lateral there, as in `hydraulics.curves`.
        """
        assembly = self.found.candidate.assembly.components(dirty=dirty)
        return [
            System(
                assembly=assembly,
                main=network.main,
                header=replace(network.header, takeoff_k=0.0, takeoff_diameter=None),
                index=network.kinds,
            )
            for network in self.zones
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
        velocity head at the jet). The head left falls with the flow: Newton's method within a
        bracket.
        """
        pipes = (*network.main, *network.arm(last))
        if pipes not in self._open_headers:
            self._open_headers[pipes] = self._open_flow(pipes)
        return self._open_headers[pipes]

    def _open_flow(self, pipes: tuple[Pipe, ...]) -> float | None:
        """Return the flow at which no head is left behind pipes, if the source's curve has it."""
        supply, most = self._supply(pipes), self.found.field.source.max_flow
        if supply.still <= 0.0:
            return None
        low, high = 0.0, 1e-3
        while supply.offered(high)[0] > 0.0:
            if high > most:
                return None
            low, high = high, 2.0 * high
        flow = 0.5 * (low + high)
        for _ in range(STEPS):
            left, slope = supply.offered(flow)
            low, high = (flow, high) if left > 0.0 else (low, flow)
            near = flow - left / min(slope, -1e-300)
            if abs(near - flow) <= NEAR * flow:
                break
            flow = near if low < near < high else 0.5 * (low + high)
        return flow if flow <= most else None
