"""Line charts as SVG: legible in light and dark, in print and in one colour.

Colours are custom properties of the page, so that a chart follows the page's light or dark
scheme; each series has its own dash and its own marks, so that a chart in one colour reads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from evenrow.figures import svg
from evenrow.figures.frame import BOTTOM, RIGHT, TOP, Frame, Limit, left_for, round_range, ticks
from evenrow.figures.svg import WIDTH

__all__ = ["HEIGHT", "POINTS", "WIDTH", "Limit", "Series", "line_chart", "ticks"]

FloatArray = NDArray[np.float64]

HEIGHT = 330.0
#: Points drawn at the most for one series: more cannot be told apart.
POINTS = 200
#: Marks along one series.
MARKS = 5
#: Widest name that stands at the end of its line; wider ones go into a legend.
END_NAME = 150.0
#: Least distance of two names at line ends, and of legend lines.
APART = 26.0
#: A name this far from every line is clear of them.
CLEAR = 22.0


@dataclass(frozen=True, kw_only=True)
class Series:
    """One line of a chart, in the units that are shown."""

    label: str
    x: Sequence[float]
    y: Sequence[float]


def thin(series: Series) -> tuple[FloatArray, FloatArray]:
    """Return at most `POINTS` points of a series: both ends, its extremes and some between."""
    x, y = np.asarray(series.x, float), np.asarray(series.y, float)
    if x.size <= POINTS:
        return x, y
    kept = np.linspace(0, x.size - 1, POINTS - 2).round().astype(int)
    keep = np.unique(np.concatenate((kept, [int(y.argmin()), int(y.argmax())])))
    return x[keep], y[keep]


def _names_at_ends(frame: Frame, series: Sequence[Series], lines: Sequence[FloatArray]) -> bool:
    """Tell whether every name fits at the end of its line without touching another."""
    if len(series) < 2 or any(svg.width_of(s.label) > END_NAME for s in series):
        return False
    ends = sorted(frame.py(float(y[-1])) for y in lines)
    last = {round(float(s.x[-1]), 9) for s in series}
    return len(last) == 1 and all(b - a >= APART for a, b in pairwise(ends))


def _legend(series: Sequence[Series], top: float) -> tuple[list[str], float]:
    """Return the names with a piece of each line, and the room that they take."""
    parts, x, y = [], 8.0, top
    for number, one in enumerate(series, start=1):
        name = svg.fit(one.label, WIDTH - 90)
        wide = 62 + svg.width_of(name) + 18
        if x > 8.0 and x + wide > WIDTH:
            x, y = 8.0, y + APART + 4
        parts.append(svg.stroke(x, y - 7, x + 50, y - 7, f"er-series er-series-{number}"))
        parts.append(svg.shape(number - 1, x + 25, y - 7, 7, f"er-mark er-mark-{number}"))
        parts.append(svg.text(x + 60, y, name))
        x += wide
    return parts, y + APART + 4 - top


def _marks(frame: Frame, number: int, x: FloatArray, y: FloatArray) -> list[str]:
    """Return the marks along a series; those of different series do not fall on one another."""
    share = (np.arange(MARKS) + 0.25 + 0.12 * (number % 5)) / MARKS
    where = np.unique(np.minimum((share * x.size).astype(int), x.size - 1))
    kind = f"er-mark er-mark-{number}"
    return [
        svg.shape(number - 1, frame.px(float(x[i])), frame.py(float(y[i])), 7, kind) for i in where
    ]


def limits_drawn(
    frame: Frame, limits: Sequence[Limit], lines: Sequence[tuple[FloatArray, FloatArray]]
) -> list[str]:
    """Return the limits, each with its name at an end, above or below, clear of the lines."""
    parts: list[str] = []
    for limit in limits:
        wide = svg.width_of(limit.label)
        others = [frame.py(other.y) for other in limits if other is not limit]
        best, place = -1.0, ("end", False)
        for side, below in (("end", False), ("start", False), ("end", True), ("start", True)):
            start = frame.right - wide - 6 if side == "end" else frame.left + 8
            middle = frame.py(limit.y) + (15.0 if below else -14.0)
            if middle - 10 < frame.top - 14 or middle + 10 > frame.bottom:
                continue
            at = np.linspace(start, start + wide, 9)
            near = [abs(level - middle) for level in others]
            for x, y in lines:
                xs, ys = [frame.px(float(v)) for v in x], [frame.py(float(v)) for v in y]
                drawn = at[(at >= xs[0] - 5) & (at <= xs[-1] + 5)]
                near += [float(v) for v in np.abs(np.interp(drawn, xs, ys) - middle)]
            free = min(near, default=np.inf)
            if min(free, CLEAR) > best:
                best, place = min(free, CLEAR), (side, below)
        parts += frame.limit(limit, side=place[0], below=place[1])
    return parts


def line_chart(
    series: Sequence[Series],
    *,
    x_label: str,
    y_label: str,
    limits: Sequence[Limit] = (),
    alternative: str,
) -> str:
    """Draw lines over one another.

    Parameters
    ----------
    series : sequence of Series
        At least one, each with at least one point; finite values in the units shown.
    x_label, y_label : str
        Names of the axes with their units.
    limits : sequence of Limit
        Levels drawn across.
    alternative : str
        What the chart shows, in words, for those who do not see it.

    Returns
    -------
    str
        An ``<svg>`` element; every text escaped.  Several series have their names at the
        ends of their lines where these fit, else in a legend.
    """
    drawn = [thin(s) for s in series]
    xs = np.concatenate([x for x, _ in drawn])
    ys = np.concatenate([y for _, y in drawn] + [np.array([limit.y for limit in limits])])
    x_ticks = ticks(min(0.0, float(xs.min())), float(xs.max()))
    y_ticks = round_range(float(ys.min()), float(ys.max()))
    left = left_for(y_ticks)
    frame = Frame(
        left=left,
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=HEIGHT - BOTTOM,
        x_ticks=x_ticks,
        y_ticks=y_ticks,
    )
    at_ends = _names_at_ends(frame, series, [y for _, y in drawn])
    legend: list[str] = []
    height = HEIGHT
    if at_ends:
        room = max(svg.width_of(s.label) for s in series) + 14
        frame = Frame(
            left=left,
            right=WIDTH - room,
            top=TOP,
            bottom=frame.bottom,
            x_ticks=x_ticks,
            y_ticks=y_ticks,
        )
    elif len(series) > 1:
        legend, room = _legend(series, 24)
        height += room
        frame = Frame(
            left=left,
            right=frame.right,
            top=TOP + room,
            bottom=frame.bottom + room,
            x_ticks=x_ticks,
            y_ticks=y_ticks,
        )
    parts = [*legend, *frame.grid(y_label), *frame.axes(x_label)]
    for number, (x, y) in enumerate(drawn, start=1):
        points = frame.points(list(x), list(y))
        parts.append(f'<polyline class="er-series er-series-{number}" points="{points}"/>')
        if len(series) > 1:
            parts += _marks(frame, number, x, y)
        if at_ends:
            end = frame.px(float(x[-1])) + 8, frame.py(float(y[-1])) + 7
            parts.append(svg.text(*end, series[number - 1].label, kind="er-halo"))
    parts += limits_drawn(frame, limits, drawn)
    return svg.image("".join(parts), kind="er-chart", height=height, alternative=alternative)
