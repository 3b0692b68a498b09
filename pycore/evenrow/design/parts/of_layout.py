"""The parts list of a layout: what `parts_list` takes, read off rows, zones and route."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Protocol

from evenrow.catalogue import AssemblyPart, Device, PipeSize
from evenrow.design.choices import BuildChoices
from evenrow.design.layout import HEADER_TAIL, Layout, ZoneLayout
from evenrow.design.parts.build import OffLayout, parts_list, parts_price
from evenrow.design.parts.model import Arms, PartsList, PipePiece, RunPiece, ZoneFeed
from evenrow.design.runs import Row, runs_of

#: Pieces of pipe shorter than this are none. [m]
_NONE = 1e-6


class Taper(Protocol):
    """A smaller pipe for the outer take-offs of the near and of the far arm."""

    @property
    def size(self) -> PipeSize:
        """The smaller pipe."""

    @property
    def takeoffs(self) -> tuple[int, int]:
        """How many take-offs it serves on the near and on the far arm."""


def run_pieces(layout: Layout, share: float) -> tuple[RunPiece, ...]:
    """Return every run of line, row by row; `share` as in `evenrow.design.runs.runs_of`."""
    return tuple(
        RunPiece(row=row.number, zone=zone.number, length=run.length)
        for zone in layout.zones
        for row in layout.rows[slice(*zone.rows)]
        for _ in range(row.lines)
        for run in runs_of(row.length, share, True)
    )


def run_lengths(rows: Sequence[Row], share: float) -> list[float]:
    """Return the length of every run of line in the field, row by row [m]."""
    return [
        run.length
        for row in rows
        for _ in range(row.lines)
        for run in runs_of(row.length, share, True)
    ]


def header_arms(zone: ZoneLayout, header: PipeSize, taper: Taper | None) -> Arms:
    """Return the arms of a zone's header, pieces from the feed outwards."""
    small = [0.0] * len(zone.arms)
    if taper is not None:
        near, far = taper.takeoffs
        ends = [
            zone.ways[near] - zone.ways[0] if near else 0.0,
            zone.ways[-1] - zone.ways[len(zone.ways) - 1 - far] if far else 0.0,
        ]
        small = ends if zone.tee else [max(ends)]
        small = [length + HEADER_TAIL if length > 0.0 else 0.0 for length in small]
    arms = []
    for length, outer in zip(zone.arms, small, strict=True):
        pieces = [PipePiece(size=header, length=length - outer)]
        if taper is not None and outer > 0.0:
            pieces.append(PipePiece(size=taper.size, length=outer))
        arms.append(tuple(piece for piece in pieces if piece.length > _NONE))
    return tuple(arms)


def parts_of(
    layout: Layout,
    *,
    share: float,
    device: Device,
    header: PipeSize,
    main: PipeSize,
    assembly: Sequence[AssemblyPart],
    valve: AssemblyPart | None,
    choices: BuildChoices,
    tapers: Mapping[int, Taper] | None = None,
) -> PartsList:
    """Return everything to buy for a layout.

    Parameters
    ----------
    layout : Layout
        Rows, zones, headers and main.
    share : float
        Where the header crosses the rows, from 0 (near end) to 1 (far end).
    device, header, main, assembly, valve, choices
        As `parts_list`.
    tapers : mapping of int to Taper, optional
        Smaller pipe at the outer take-offs, by zone.

    Raises
    ------
    InputError
        As `parts_list`.
    """
    return parts_list(
        **_read_off(layout, share, header, main, tapers or {}, None),
        assembly=assembly,
        valve=valve,
        device=device,
        choices=choices,
    )


def price_of(
    layout: Layout,
    *,
    share: float,
    device: Device,
    header: PipeSize,
    main: PipeSize,
    assembly: Sequence[AssemblyPart],
    valve: AssemblyPart | None,
    choices: BuildChoices,
    runs: Sequence[RunPiece] | None = None,
) -> tuple[float, int]:
    """Return what everything to buy for a layout costs, and how many lines have no price.

    As of `parts_of`, without making the list.
    """
    return parts_price(
        **_read_off(layout, share, header, main, {}, runs),
        assembly=assembly,
        valve=valve,
        device=device,
        choices=choices,
    )


def _read_off(
    layout: Layout,
    share: float,
    header: PipeSize,
    main: PipeSize,
    tapers: Mapping[int, Taper],
    runs: Sequence[RunPiece] | None,
) -> OffLayout:
    """Return what `parts_list` takes of a layout and its pipes."""
    elbows = Counter({main.code: layout.main_elbows})
    elbows[header.code] += sum(zone.elbows for zone in layout.zones)
    return {
        "runs": run_pieces(layout, share) if runs is None else runs,
        "headers": {z.number: header_arms(z, header, tapers.get(z.number)) for z in layout.zones},
        "mains": [
            PipePiece(size=main, length=length)
            for length in (*layout.main_stretches, *layout.risers)
            if length > _NONE
        ],
        "zones": [
            ZoneFeed(
                number=zone.number,
                tee=zone.tee,
                takeoffs=len(zone.takeoffs),
            )
            for zone in layout.zones
        ],
        "main": main,
        "elbows": {code: count for code, count in elbows.items() if count},
    }
