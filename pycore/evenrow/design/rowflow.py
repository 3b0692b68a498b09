"""Flow of rows at one inlet head, each distinct lateral solved once."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.design.field import Row
from evenrow.design.line import Line
from evenrow.hydraulics.lateral import solve_lateral


def row_flows(
    rows: Sequence[Row], line: Line, *, place: str, slope: float, head: float
) -> list[float]:
    """Return the flow of every row with all its lines at one inlet head.

    Parameters
    ----------
    rows : sequence of Row
        The rows.
    line : Line
        Their tape or dripline.
    place : str
        Header at the ``"end"`` or across the ``"middle"`` of the rows.
    slope : float
        Rise over length away from the header; reversed on the other side of a middle header.
    head : float
        At the start of every line, > 0. [m]

    Returns
    -------
    list of float
        [m3/s]
    """
    known: dict[tuple[float, float], float] = {}

    def flow(length: float, rise: float) -> float:
        key = (length, rise)
        if key not in known:
            known[key] = float(solve_lateral(line.lateral(length, rise), head).inlet_flow)
        return known[key]

    found = []
    for row in rows:
        if place == "middle":
            one = flow(row.length / 2, slope) + flow(row.length / 2, -slope)
        else:
            one = flow(row.length, slope)
        found.append(row.lines * one)
    return found
