"""Where headers and main lie: lengths and bends that follow from rows, zones and feeding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.design.runs import Row
from evenrow.errors import InputError

FloatArray = NDArray[np.float64]

#: A header runs on past its outermost rows by this much, to carry a cap for flushing. [m]
HEADER_TAIL = 0.3048
#: Widest a bed's lines lie apart, as a share of the row spacing. They meet the header there.
BED_SHARE = 0.6
#: Elbows where a buried main goes down behind the source, and where it comes up at a zone.
ELBOWS_DOWN, ELBOWS_UP = 2, 1


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """Something on the header line that pipe has to go round, over or under.

    `position` along the header from the first row's middle [m]; `extra` is how much longer
    than straight the pipe gets there [m]; `elbows` are the bends that it takes.
    """

    position: float
    extra: float
    elbows: int


@dataclass(frozen=True, kw_only=True)
class Route:
    """How the main comes to the header line, and what lies on that line.

    Parameters
    ----------
    main_length : float
        From the source to the near ends of the rows, along the way the pipe lies [m].
    arrives : float or None
        Where it meets the header line, from the first row's middle, + toward the last [m];
        None where it comes to the first line of all.
    share : float
        Where the header crosses the rows, as a share of their length from the near end;
        the main goes on along a row to there.
    depth : float
        How deep the main is buried [m]; 0 on the ground. It goes down behind the source and
        comes up at each zone.
    obstacles : tuple of Obstacle
        In any order.
    """

    main_length: float
    arrives: float | None = None
    share: float = 0.0
    depth: float = 0.0
    obstacles: tuple[Obstacle, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ZoneLayout:
    """Header of one zone.

    Parameters
    ----------
    number : int
        From 1, in the order of the rows.
    rows : (int, int)
        Half-open range of row indices.
    takeoffs : tuple of float
        Rising positions of the lines along the header from the first row's middle, one for
        each line [m].
    ways : tuple of float
        The same measured along the pipe, with what obstacles add [m].
    bends : tuple of int
        Elbows of obstacles on the header line before each take-off.
    feed, feed_way, feed_bends : float, float, int
        The same for the place where the main comes in.
    tee : bool
        Whether the main comes in at a tee between take-offs.
    """

    number: int
    rows: tuple[int, int]
    takeoffs: tuple[float, ...]
    ways: tuple[float, ...]
    bends: tuple[int, ...]
    feed: float
    feed_way: float
    feed_bends: int
    tee: bool

    @property
    def arms(self) -> tuple[float, ...]:
        """Length of pipe of each arm of the header from its feed, tail included [m]."""
        near, far = self.feed_way - self.ways[0], self.ways[-1] - self.feed_way
        if self.tee:
            return (near + HEADER_TAIL, far + HEADER_TAIL)
        return (max(near, far) + HEADER_TAIL,)

    @property
    def header_length(self) -> float:
        """Length of header pipe, tails included [m]."""
        return sum(self.arms)

    @property
    def header_ends(self) -> int:
        """Closed ends of the header: one when fed at its end, two when fed at a tee."""
        return len(self.arms)

    @property
    def elbows(self) -> int:
        """Elbows that obstacles ask for within the header."""
        return self.bends[-1] - self.bends[0]


@dataclass(frozen=True, kw_only=True)
class Layout:
    """All zones and the main that feeds them.

    The main goes from the source to where it meets the header line, and from there along that
    line, to one or both sides, to the farthest zones.
    """

    rows: tuple[Row, ...]
    zones: tuple[ZoneLayout, ...]
    route: Route
    trunk: float
    arrival_way: float
    arrival_bends: int

    def main_to(self, zone: ZoneLayout) -> float:
        """Return the length of main from the source to that zone's feed [m]."""
        return self.trunk + abs(zone.feed_way - self.arrival_way) + 2.0 * self.route.depth

    def elbows_to(self, zone: ZoneLayout) -> int:
        """Return the elbows in the main on the way to that zone."""
        buried = ELBOWS_DOWN + ELBOWS_UP if self.route.depth > 0.0 else 0
        return abs(zone.feed_bends - self.arrival_bends) + buried

    @cached_property
    def main_stretches(self) -> tuple[float, ...]:
        """Lengths of the pieces of main between source, tees and zones, risers left out [m]."""
        ways = [zone.feed_way - self.arrival_way for zone in self.zones]
        one_side = [way for way in ways if way >= 0.0]
        other = [-way for way in ways if way < 0.0]
        sides = [np.diff([0.0, *sorted(side)]) for side in (one_side, other) if side]
        outer = [float(step) for side in sides for step in side]
        if len(sides) == 1:
            # All zones to one side: the trunk runs on into the first piece.
            outer[0] += self.trunk
        else:
            outer.insert(0, self.trunk)
        return tuple(length for length in outer if length > 1e-6)

    @property
    def risers(self) -> tuple[float, ...]:
        """Lengths of the upright pieces of a buried main: at the source and at each zone [m]."""
        return (self.route.depth,) * (1 + len(self.zones)) if self.route.depth > 0.0 else ()

    @property
    def main_elbows(self) -> int:
        """Elbows of obstacles and of burying in the whole main."""
        turns = [zone.feed_bends - self.arrival_bends for zone in self.zones]
        buried = ELBOWS_DOWN + ELBOWS_UP * len(self.zones) if self.route.depth > 0.0 else 0
        return max(0, *turns) - min(0, *turns) + buried

    @property
    def main_total(self) -> float:
        """Length of main pipe to lay [m]."""
        return sum(self.main_stretches) + sum(self.risers)


def line_positions(rows: Sequence[Row]) -> list[tuple[float, ...]]:
    """Return for each row the positions of its lines along the header [m].

    Lines of a bed lie evenly over `BED_SHARE` of the distance to the nearest neighbour row.
    """
    gaps = [after.position - before.position for before, after in pairwise(rows)]
    found = []
    for i, row in enumerate(rows):
        nearest = min(gaps[max(i - 1, 0) : i + 1], default=row.width)
        width = BED_SHARE * nearest if row.lines > 1 else 0.0
        step = width / max(row.lines - 1, 1)
        found.append(tuple(row.position - width / 2 + step * k for k in range(row.lines)))
    return found


class HeaderLine:
    """The line across all rows on which headers lie, measured along its pipe.

    Parameters
    ----------
    rows : sequence of Row
        In their order along the header.
    route : Route
        How the main comes to it.
    """

    def __init__(self, rows: Sequence[Row], route: Route) -> None:
        self.rows = tuple(rows)
        self.route = route
        by_row = line_positions(self.rows)
        self.first = np.concatenate(([0], np.cumsum([len(places) for places in by_row])))
        self.positions = np.array([place for places in by_row for place in places])
        # Where rows differ in length, so does how far the header lies from their near ends.
        across = route.share * np.repeat([row.length for row in rows], np.diff(self.first))
        step = np.hypot(np.diff(self.positions), np.diff(across))
        self._straight = np.concatenate(([0.0], np.cumsum(step))) + self.positions[0]
        self._obstacles = sorted(route.obstacles, key=lambda obstacle: obstacle.position)
        self._at = np.array([obstacle.position for obstacle in self._obstacles])
        self._extra = _running([obstacle.extra for obstacle in self._obstacles])
        self._elbows = _running([obstacle.elbows for obstacle in self._obstacles])
        self.arrives = float(self.positions[0]) if route.arrives is None else route.arrives
        self.ways = self.way(self.positions)
        self.bends = self.bend(self.positions)

    def way(self, position: ArrayLike) -> FloatArray:
        """Return the distance along the pipe of positions along the header line [m]."""
        at = np.asarray(position, float)
        places = self.positions
        straight = np.interp(at, places, self._straight)
        straight += np.minimum(at - places[0], 0.0) + np.maximum(at - places[-1], 0.0)
        return np.asarray(straight + self._extra[np.searchsorted(self._at, at)])

    def bend(self, position: ArrayLike) -> NDArray[np.int64]:
        """Return how many elbows of obstacles lie before positions along the header line."""
        return np.asarray(self._elbows[np.searchsorted(self._at, np.asarray(position))], np.int64)

    def layout(self, ranges: Sequence[tuple[int, int]], feed: str) -> Layout:
        """Lay headers and main for zones; see `layout`."""
        if [r for a, b in ranges for r in range(a, b)] != list(range(len(self.rows))):
            raise InputError("the zones must hold every row once, in order", field="zones")
        zones = tuple(self._zone(i, span, feed) for i, span in enumerate(ranges, start=1))
        route = self.route
        nearest = min(self.rows, key=lambda row: abs(row.position - self.arrives))
        return Layout(
            rows=self.rows,
            zones=zones,
            route=route,
            trunk=route.main_length + route.share * nearest.length,
            arrival_way=float(self.way(self.arrives)),
            arrival_bends=int(self.bend(self.arrives)),
        )

    def _zone(self, number: int, rows: tuple[int, int], feed: str) -> ZoneLayout:
        span = slice(self.first[rows[0]], self.first[rows[1]])
        takeoffs, ways = self.positions[span], self.ways[span]
        tee = feed == "tee" and len(takeoffs) > 1
        if tee:
            place = 0.5 * (takeoffs[0] + takeoffs[-1])
        else:
            nearer = abs(takeoffs[0] - self.arrives) <= abs(takeoffs[-1] - self.arrives)
            place = takeoffs[0] if nearer else takeoffs[-1]
        return ZoneLayout(
            number=number,
            rows=rows,
            takeoffs=tuple(takeoffs.tolist()),
            ways=tuple(ways.tolist()),
            bends=tuple(self.bends[span].tolist()),
            feed=float(place),
            feed_way=float(self.way(place)),
            feed_bends=int(self.bend(place)),
            tee=tee,
        )


def _running(values: Sequence[float]) -> FloatArray:
    return np.concatenate(([0.0], np.cumsum(values)))


def layout(
    rows: Sequence[Row],
    ranges: Sequence[tuple[int, int]],
    *,
    main_length: float,
    feed: str,
    share: float = 0.0,
) -> Layout:
    """Lay headers and main along the rows.

    Parameters
    ----------
    rows : sequence of Row
        In their order along the header.
    ranges : sequence of (int, int)
        Half-open row range of each zone, together all rows in order.
    main_length : float
        From the source to the near end of the first row, >= 0. [m]
    feed : str
        ``"end"``: each header is fed at the end nearer to where the main arrives; ``"tee"``: at
        the middle of its take-offs.
    share : float
        Where the header crosses the rows, 0 (near end) to 1 (far end).

    Raises
    ------
    InputError
        Ranges that do not hold every row once.
    """
    return HeaderLine(rows, Route(main_length=main_length, share=share)).layout(ranges, feed)
