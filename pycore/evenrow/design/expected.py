"""What a finished design should show when it runs: each zone solved, filter clean or dirty."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evenrow import hydraulics
from evenrow.design.layout import HEADER_TAIL, ZoneLayout
from evenrow.design.marked_lines import MarkedLine, marked_lines
from evenrow.design.model import Design
from evenrow.design.segments import TAKEOFF_K, header_pipe, main_pipes
from evenrow.design.system import FieldHydraulics
from evenrow.errors import ConvergenceError
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.laws import local_loss_factor
from evenrow.hydraulics.many import System, solve_systems
from evenrow.hydraulics.network import SystemSolution
from evenrow.hydraulics.open_end import open_flows
from evenrow.hydraulics.pipe import Pipe, PipeRun, pipe_of_numbers

if TYPE_CHECKING:
    from evenrow.hydraulics.flush_many import EndsState, ManyFlush

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


@dataclass(frozen=True, kw_only=True, eq=False)
class ZoneNetwork:
    """The pipes of one zone; `kinds` says which of `laterals` each take-off has.

    Equal only to itself, so that it can be a key.
    """

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

    @cached_property
    def bare(self) -> Header:
        """The header without the loss of its take-offs."""
        header = self.header
        length, bore = np.asarray(header.length), np.asarray(header.diameter)
        return Header.of_arrays(length, bore, np.asarray(header.rise), header.feed)

    def arm(self, last: bool) -> tuple[Pipe, ...]:
        """Return the header from its feed to the open end past the last or the first take-off.

        Nothing leaves on the way: neighbours of one bore are one pipe.
        """
        if last not in self._arms:
            self._arms[last] = self._arm(last)
        return self._arms[last]

    @cached_property
    def _arms(self) -> dict[bool, tuple[Pipe, ...]]:
        return {}

    def _arm(self, last: bool) -> tuple[Pipe, ...]:
        header = self.header
        side = slice(header.feed, None) if last else slice(header.feed - 1, None, -1)
        if not last and header.feed == 0:
            side = slice(0, 0)
        # A step along the array at a time: lengths, bores and rises lead away from the feed.
        steps = zip(
            np.asarray(header.diameter)[side].tolist(),
            np.asarray(header.length)[side].tolist(),
            np.asarray(header.rise)[side].tolist(),
            strict=True,
        )
        pipes = []
        for bore, group in groupby(steps, key=itemgetter(0)):
            _, lengths, rises = zip(*group, strict=True)
            pipes.append(pipe_of_numbers(sum(lengths), bore, sum(rises), 0.0))
        bore = pipes[-1].diameter if pipes else float(np.asarray(header.diameter)[0])
        # A free jet leaves with one velocity head.
        return (*pipes, pipe_of_numbers(HEADER_TAIL, bore, 0.0, 1.0))


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
        self._open_headers: dict[tuple[ZoneNetwork, bool], float | None] = {}

    @cached_property
    def zones(self) -> tuple[ZoneNetwork, ...]:
        """The network of each zone, in their order."""
        return tuple(self._network(zone.layout) for zone in self.found.zones)

    @cached_property
    def clean(self) -> tuple[SystemSolution, ...]:
        """Each zone as it runs with a clean filter."""
        return tuple(self._behind_takeoffs(system) for system in self._both[1])

    @property
    def all_open(self) -> list[EndsState] | None:
        """Each zone with a clean filter and every end open; None where one is not solved."""
        return self._both[0]

    @cached_property
    def flush(self) -> ManyFlush:
        """The zones with ends that can be open."""
        field = self.found.field
        # By the name of the package: the site loads this part when it is first asked for.
        return hydraulics.ManyFlush(
            field.source,
            self.hydraulics.with_takeoffs,
            self.hydraulics.curves,
            # A little more than a line can see.
            field.supply(self.found.candidate.assembly.set_head) + max(0.0, -field.lowest) + 0.5,
            field.line.viscosity,
        )

    @cached_property
    def _both(self) -> tuple[list[EndsState] | None, list[SystemSolution]]:
        """Each zone with every end open, and each as it waters, solved together if they can be."""
        try:
            return self.flush.all_open_and_watering(self.systems)
        except ConvergenceError:
            field, curves = self.found.field, self.hydraulics.curves
            solved = solve_systems(field.source, self.systems, curves, field.line.viscosity)
            return None, [solved.one(i) for i in range(len(self.systems))]

    @cached_property
    def dirty(self) -> tuple[SystemSolution, ...]:
        """Each zone as it runs with the filter as dirty as it may get: so it was designed."""
        return tuple(self._behind_takeoffs(zone.system) for zone in self.found.zones)

    def _behind_takeoffs(self, system: SystemSolution) -> SystemSolution:
        """Return a zone as solved with the heads at the start of its lines."""
        loss = float(local_loss_factor(TAKEOFF_K, self.found.field.line.device.diameter))
        starts = system.takeoff_heads - loss * system.outlet_flows**2
        return replace(system, outlet_heads=starts)

    @cached_property
    def marked(self) -> tuple[tuple[MarkedLine, ...], ...]:
        """The lines of each zone on which gauges and cups are put."""
        return marked_lines(self.zones, self.hydraulics.curves, self.clean, self.dirty)

    @cached_property
    def systems(self) -> list[System]:
        """The zones with a clean filter, as they are solved together.

        The loss of a take-off belongs to its lateral there, as in `hydraulics.curves`.
        """
        assembly = self.found.candidate.assembly.components(dirty=False)
        return [
            System(assembly=assembly, main=network.main, header=network.bare, index=network.kinds)
            for network in self.zones
        ]

    @cached_property
    def _mains(self) -> tuple[PipeRun, NDArray[np.intp]]:
        """The pipes before the headers of all zones, and where those of each zone begin."""
        counts = [len(network.main) for network in self.zones]
        pipes = [pipe for network in self.zones for pipe in network.main]
        first = np.cumsum([0, *counts[:-1]], dtype=np.intp)
        return PipeRun(pipes, self.found.field.line.viscosity), first

    def main_losses(self, flow: float) -> FloatArray:
        """Return the head lost before the header of each zone at a flow [m], rise included."""
        pipes, first = self._mains
        return np.asarray(np.add.reduceat(pipes.losses(flow)[0], first))

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
        velocity head at the jet).
        """
        if (network, last) not in self._open_headers:
            # Those of all zones together, each distinct one once.
            asked = [(network, last), *((each, side) for each in self.zones for side in each.sides)]
            ways = {key: (*key[0].main, *key[0].arm(key[1])) for key in asked}
            field = self.found.field
            different = list(dict.fromkeys(ways.values()))
            flows = open_flows(
                field.source,
                self.found.candidate.assembly.components(dirty=False),
                different,
                field.line.viscosity,
            )
            known = dict(zip(different, flows.tolist(), strict=True))
            for key, way in ways.items():
                self._open_headers[key] = None if math.isnan(known[way]) else known[way]
        return self._open_headers[network, last]
