"""Where the header is punched: distances for a tape measure laid once."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from evenrow.design.expected import Expected, ZoneNetwork

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
    return tuple(hole for network in expected.zones for hole in _holes(network))


def _holes(network: ZoneNetwork) -> list[Hole]:
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
    return sorted(places.values(), key=lambda hole: (hole.side, hole.distance))


def _outward(network: ZoneNetwork) -> tuple[range, range]:
    """Return the take-offs of both sides in their order from the feed."""
    feed, count = network.header.feed, network.header.count
    return range(feed - 1, -1, -1), range(feed, count)


def reducers(expected: Expected) -> tuple[Hole, ...]:
    """Return the last hole before each place where a header goes on in smaller pipe."""
    found = []
    for network in expected.zones:
        bore = np.asarray(network.header.diameter).tolist()
        if min(bore) == max(bore):
            continue
        holes = {(hole.row, hole.line): hole for hole in _holes(network)}
        for side in _outward(network):
            for before, after in pairwise(side):
                if bore[after] < bore[before]:
                    end = network.ends[before]
                    found.append(holes[end.row, end.line])
    return tuple(found)
