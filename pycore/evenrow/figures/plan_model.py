"""What a plan shows: rows, zones, headers, main and head assembly as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from evenrow.units import UnitSystem


@dataclass(frozen=True, kw_only=True)
class Ref:
    """A line of the parts list: its number from 1, and what it says."""

    number: int
    label: str


@dataclass(frozen=True, kw_only=True)
class PlanRow:
    """One row or bed.

    Parameters
    ----------
    number : int
        As the user counts it.
    lines : tuple of float
        Position of each line along the header, rising, at least one. [m]
    length : float
        From its near end to its far end, more than 0. [m]
    header : float
        Where the header crosses it, from its near end, 0 to `length`. [m]
    """

    number: int
    lines: tuple[float, ...]
    length: float
    header: float = 0.0

    @property
    def middle(self) -> float:
        """Position of its middle along the header [m]."""
        return (self.lines[0] + self.lines[-1]) / 2


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A piece of a header of one bore, by its ends along the header [m]."""

    start: float
    end: float
    bore: float


@dataclass(frozen=True, kw_only=True)
class PlanZone:
    """What is watered at once.

    Parameters
    ----------
    number : int
        From 1.
    rows : (int, int)
        Half-open range of indices into the plan's rows.
    feed : float
        Where the main comes in, along the header. [m]
    pieces : tuple of Piece
        The header from its near to its far end; at least one.
    note : str
        What the key says behind the rows, such as the crop and the flow.
    """

    number: int
    rows: tuple[int, int]
    feed: float
    pieces: tuple[Piece, ...]
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """Something that the header has to get round, at a position along it [m]."""

    label: str
    position: float


@dataclass(frozen=True, kw_only=True)
class Worst:
    """The emitter with the lowest pressure: index of its row, place from the near end [m]."""

    row: int
    along: float


@dataclass(frozen=True, kw_only=True)
class Cup:
    """An emitter under which a cup is set: row index, line in it from 0, from the near end [m]."""

    row: int
    line: int
    along: float


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Everything that a plan shows.  Lengths in metres, slopes as ratios.

    Positions across the rows are measured along the header from the first row's middle; the rows
    are counted to the right of someone who stands at the near end of the first row and looks
    along it.  Near ends lie on one line.

    Parameters
    ----------
    title : str
        Name of the drawing.
    source : str
        What the source is called.
    rows : tuple of PlanRow
        In their order along the header, at least one.
    zones : tuple of PlanZone
        Together all rows, in order.
    main_length : float
        From the source to the near ends of the rows. [m]
    arrives : float, optional
        Where the main meets the header line, along the header; None for the first line. [m]
    assembly : tuple of str
        Parts of the head assembly in the order of the flow.
    refs : mapping
        Line of the parts list for ``"line"``, ``"take-off"``, ``"line cap"``, ``"anchor"``,
        ``"main"``, ``"header"``, ``"header cap"``, ``"tee"``, ``"elbow"``, ``"reducer"``,
        ``"valve"`` and ``"assembly 1"``, ``"assembly 2"`` …; what is not there gets no number.
    row_slope, header_slope : float
        Rise over length along the rows from their near ends to their far ends, and from the
        first row to the last.
    system : {"us", "metric"}
        Units of what is written.
    bearing : float, optional
        Direction along the rows, in degrees from north by way of east.
    worst : Worst, optional
        The emitter with the lowest pressure.
    obstacles : tuple of Obstacle
        What the header has to get round.
    cups : tuple of Cup
        Where cups are set to check it later.
    """

    title: str
    source: str
    rows: tuple[PlanRow, ...]
    zones: tuple[PlanZone, ...]
    main_length: float
    arrives: float | None = None
    assembly: tuple[str, ...] = ()
    refs: Mapping[str, Ref] = field(default_factory=dict)
    row_slope: float = 0.0
    header_slope: float = 0.0
    system: UnitSystem = "metric"
    bearing: float | None = None
    worst: Worst | None = None
    obstacles: tuple[Obstacle, ...] = ()
    cups: tuple[Cup, ...] = ()
