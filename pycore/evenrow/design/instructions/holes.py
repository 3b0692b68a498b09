"""Where the header is punched: distances for a tape measure laid once."""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.design.expected import Expected

#: Nearer to the feed than this a hole meets the fitting there. [m]
FITTING = 0.06


@dataclass(frozen=True, kw_only=True)
class Hole:
    """One place at which the header is punched.

    Parameters
    ----------
    zone, row, line : int
        What leaves there, from 1.
    side : int
        1 toward the last row from the feed, -1 toward the first row.
    distance : float
        From the feed along the pipe, 0 or more [m].
    holes : int
        One for each run that leaves there: two where lines go both ways.
    """

    zone: int
    row: int
    line: int
    side: int
    distance: float
    holes: int

    @property
    def at_fitting(self) -> bool:
        """Whether the hole falls on the fitting at the feed."""
        return self.distance < FITTING


def hole_positions(expected: Expected) -> tuple[Hole, ...]:
    """Return every place to punch, zone by zone, from the feed outward on each side.

    Each distance is measured from the feed, not from the hole before, so that small errors
    of marking do not add up.
    """
    found = []
    for network in expected.zones:
        places: dict[tuple[int, int], Hole] = {}
        for end in network.ends:
            key = (end.row, end.line)
            before = places.get(key)
            places[key] = Hole(
                zone=network.layout.number,
                row=end.row,
                line=end.line,
                # A header fed at its end has one side only, whichever way it goes.
                side=-1 if end.way < 0.0 else 1,
                distance=abs(end.way),
                holes=1 if before is None else before.holes + 1,
            )
        found += sorted(places.values(), key=lambda hole: (hole.side, hole.distance))
    return tuple(found)
