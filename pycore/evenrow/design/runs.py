"""The runs of line that rows are made of, on either side of a header."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from evenrow.design.ground import Ground
from evenrow.design.line import Line
from evenrow.hydraulics.lateral import Lateral, solve_lateral

#: Where along the rows the header lies, as a share of their length from the near end.
SHARES = {"end": 0.0, "middle": 0.5, "far": 1.0}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of plants.

    Parameters
    ----------
    number : int
        From 1, in order along the header.
    crop : str
        Name of its crop group.
    length : float
        From its near end to its far end [m].
    lines : int
        Tapes or driplines on it.
    position : float
        Of its middle along the header, from that of the first row [m].
    width : float
        Ground that it waters across: the distance from row to row [m].
    plant_spacing : float or None
        From plant to plant along the row [m].
    """

    number: int
    crop: str
    length: float
    lines: int
    position: float
    width: float
    plant_spacing: float | None = None


@dataclass(frozen=True)
class Run:
    """A run of line from the header to its closed end.

    `length` [m]; `away` is 1 toward the far end of the row and -1 toward its near end; `start`
    is where along the row it begins [m], 0 on even ground, where equal lengths are equal runs.
    """

    length: float
    away: int
    start: float = 0.0

    def lateral(self, line: Line, ground: Ground) -> Lateral:
        """Return it as a lateral; raises as `Line.lateral`."""
        if ground.even:
            return line.lateral(self.length, slope=self.away * ground.row_slope)
        at = self.start + self.away * line.positions(self.length)
        rises = ground.along_row(at) - ground.along_row(self.start)
        return line.lateral(self.length, rises=rises)

    def span(self, ground: Ground) -> tuple[float, float]:
        """Return the heights of its lowest and its highest point above its start [m].

        The first is at most 0, the second at least.
        """
        kinks = [self.away * (x - self.start) for x, _ in ground.row_survey]
        places = [0.0, self.length, *(x for x in kinks if 0.0 < x < self.length)]
        heights = ground.along_row(self.start + self.away * np.array(places))
        return float(np.min(heights - heights[0])), float(np.max(heights - heights[0]))


@lru_cache(maxsize=4096)
def runs_of(length: float, share: float, even: bool) -> tuple[Run, ...]:
    """Return the runs that one line of a row is made of.

    Parameters
    ----------
    length : float
        Of the row [m].
    share : float
        Where the header crosses it, from 0 (near end) to 1 (far end).
    even : bool
        Whether the rows lie on one slope.
    """
    start = 0.0 if even else share * length
    runs = []
    if share < 1.0:
        runs.append(Run((1.0 - share) * length, 1, start))
    if share > 0.0:
        runs.append(Run(share * length, -1, start))
    return tuple(runs)


def row_flows(
    rows: Sequence[Row], line: Line, *, share: float, ground: Ground, head: float
) -> list[float]:
    """Return the flow of every row with all its lines at one inlet head.

    Parameters
    ----------
    rows : sequence of Row
        The rows.
    line : Line
        Their tape or dripline.
    share : float
        Where the header crosses them, see `runs_of`.
    ground : Ground
        What they lie on.
    head : float
        At the start of every line, > 0. [m]

    Returns
    -------
    list of float
        [m3/s]; each distinct lateral is solved once.
    """
    known: dict[Run, float] = {}

    def flow(run: Run) -> float:
        if run not in known:
            known[run] = float(solve_lateral(run.lateral(line, ground), head).inlet_flow)
        return known[run]

    return [
        row.lines * sum(flow(run) for run in runs_of(row.length, share, ground.even))
        for row in rows
    ]
