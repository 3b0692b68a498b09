"""A map of cups: the rows that are checked, side by side, and what each cup gave."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from evenrow.figures import svg
from evenrow.figures.svg import WIDTH
from evenrow.words import tr

#: Left edge of the lines, their right edge, height of one line, room above the first.
LEFT, RIGHT, LINE, TOP = 196.0, WIDTH - 60.0, 58.0, 62.0
#: Lines that are drawn at the most.
MOST = 24
#: Radius of a cup.
_CUP = 8.0


@dataclass(frozen=True, kw_only=True)
class MapCup:
    """A cup on the map.

    Parameters
    ----------
    row : str
        Name of its row, or "".
    place : float
        How far along the line, as a share from 0 at the header to 1 at the closed end.
    said : str
        What stands beside it, such as ``"96 %"``; "" before it is measured.
    low : bool
        Whether it is one of the lowest.
    """

    row: str
    place: float
    said: str = ""
    low: bool = False


def cup_map(cups: Sequence[MapCup], *, alternative: str) -> str:
    """Draw cups along their rows, not to scale.

    Parameters
    ----------
    cups : sequence of MapCup
        At least one. Rows come in the order in which they first appear; several cups at one
        place of a row get a line each.
    alternative : str
        What the map shows, in words.

    Returns
    -------
    str
        An ``<svg>`` element, every text escaped; of more than `MOST` lines the first.
    """
    lines = _lines(cups)[:MOST]
    parts = [
        svg.text(LEFT, 24.0, tr("header"), anchor="middle"),
        svg.text(RIGHT, 24.0, tr("closed end"), anchor="end"),
    ]
    bottom = TOP + LINE * (len(lines) - 1)
    parts.append(svg.stroke(LEFT, TOP - 22.0, LEFT, bottom + 22.0, "er-axis"))
    for number, (row, members) in enumerate(lines):
        y = TOP + LINE * number
        parts.append(svg.stroke(LEFT, y, RIGHT, y, "er-series er-series-1"))
        if row:
            parts.append(svg.text(8.0, y + 8, svg.fit(row, LEFT - 24)))
        for cup in members:
            x = LEFT + cup.place * (RIGHT - LEFT)
            shape, kind = (2, "er-mark er-mark-3") if cup.low else (0, "er-mark er-mark-1")
            parts.append(svg.shape(shape, x, y, _CUP + 2.0 * cup.low, kind))
            if cup.said:
                end = cup.place > 0.9
                parts.append(
                    svg.text(
                        x + (16.0 if not end else 40.0),
                        y - 14,
                        cup.said,
                        kind="er-halo",
                        anchor="end" if end else "start",
                    )
                )
    height = bottom + 34.0
    if any(cup.low for _, members in lines for cup in members):
        parts.append(svg.shape(2, LEFT, height + 14.0, _CUP + 2.0, "er-mark er-mark-3"))
        parts.append(svg.text(LEFT + 22.0, height + 22.0, tr("the lowest quarter")))
        height += 40.0
    return svg.image("".join(parts), kind="er-chart", height=height, alternative=alternative)


def _lines(cups: Sequence[MapCup]) -> list[tuple[str, list[MapCup]]]:
    """Return the lines of the map: name of the row, on its first line only, and the cups."""
    rows: dict[str, list[MapCup]] = defaultdict(list)
    for cup in cups:
        rows[cup.row].append(cup)
    lines: list[tuple[str, list[MapCup]]] = []
    for row, members in rows.items():
        stacked: list[list[MapCup]] = []
        for cup in members:
            line = next((each for each in stacked if all(c.place != cup.place for c in each)), None)
            if line is None:
                stacked.append([cup])
            else:
                line.append(cup)
        lines += [("" if number else row, line) for number, line in enumerate(stacked)]
    return lines
