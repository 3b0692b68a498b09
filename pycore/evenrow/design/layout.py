"""Where headers and main lie: lengths that follow from rows, zones and feeding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from evenrow.design.field import Row
from evenrow.errors import InputError

#: A header runs on past its outermost rows by this much, to carry a cap for flushing. [m]
HEADER_TAIL = 0.3048
#: Widest a bed's lines lie apart, as a share of the row spacing. They meet the header there.
BED_SHARE = 0.6


@dataclass(frozen=True, kw_only=True)
class ZoneLayout:
    """Header of one zone.  Positions along the header line from the first row's middle [m].

    `rows` is the half-open range of row indices, `takeoffs` the rising positions of the
    lines, one for each line, and `feed` the position where the main comes in.
    """

    number: int
    rows: tuple[int, int]
    takeoffs: tuple[float, ...]
    feed: float
    tee: bool

    @property
    def header_length(self) -> float:
        """Length of header pipe, tails included [m]."""
        return self.takeoffs[-1] - self.takeoffs[0] + HEADER_TAIL * self.header_ends

    @property
    def header_ends(self) -> int:
        """Closed ends of the header: one when fed at its end, two when fed at a tee."""
        return 2 if self.tee else 1


@dataclass(frozen=True, kw_only=True)
class Layout:
    """All zones and the main that feeds them.

    `main_length` is the way from the source to the header line at the first row;
    the main then runs along the header line to the farthest zone's feed.
    """

    rows: tuple[Row, ...]
    zones: tuple[ZoneLayout, ...]
    main_length: float

    def main_to(self, zone: ZoneLayout) -> float:
        """Return the length of main from the source to that zone's feed [m]."""
        # The outer line of the first bed lies before the first row's middle; no main is saved.
        return self.main_length + max(zone.feed, 0.0)

    @property
    def main_total(self) -> float:
        """Length of main pipe to lay [m]."""
        return max(self.main_to(zone) for zone in self.zones)


def line_positions(rows: Sequence[Row]) -> list[tuple[float, ...]]:
    """Return for each row the positions of its lines along the header [m].

    Lines of a bed lie evenly over `BED_SHARE` of the distance to the nearest neighbour row.
    """
    gaps = [after.position - before.position for before, after in pairwise(rows)]
    found = []
    for i, row in enumerate(rows):
        nearest = min(gaps[max(i - 1, 0) : i + 1], default=0.0)
        width = BED_SHARE * nearest if row.lines > 1 else 0.0
        step = width / max(row.lines - 1, 1)
        found.append(tuple(row.position - width / 2 + step * k for k in range(row.lines)))
    return found


def layout(
    rows: Sequence[Row],
    ranges: Sequence[tuple[int, int]],
    *,
    main_length: float,
    feed: str,
) -> Layout:
    """Lay headers and main along the rows.

    Parameters
    ----------
    rows : sequence of Row
        In their order along the header.
    ranges : sequence of (int, int)
        Half-open row range of each zone, together all rows in order.
    main_length : float
        From the source to the header line at the first row, >= 0. [m]
    feed : str
        ``"end"``: each header is fed at the end nearer the first row; ``"tee"``: at the middle
        of its take-offs.

    Raises
    ------
    InputError
        Ranges that do not hold every row once.
    """
    if [r for a, b in ranges for r in range(a, b)] != list(range(len(rows))):
        raise InputError("the zones must hold every row once, in order", field="zones")
    positions = line_positions(rows)
    zones = []
    for number, (start, end) in enumerate(ranges, start=1):
        takeoffs = tuple(p for places in positions[start:end] for p in places)
        tee = feed == "tee" and len(takeoffs) > 1
        middle = (takeoffs[0] + takeoffs[-1]) / 2
        zones.append(
            ZoneLayout(
                number=number,
                rows=(start, end),
                takeoffs=takeoffs,
                feed=middle if tee else takeoffs[0],
                tee=tee,
            )
        )
    return Layout(rows=tuple(rows), zones=tuple(zones), main_length=main_length)
