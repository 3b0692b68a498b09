"""The frame of a chart: axes with round numbers, names of the axes, grid and limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from evenrow.figures import svg

#: Room above the plot for the name of the upright axis, and below it for numbers and name.
TOP, BOTTOM = 44.0, 66.0
#: Room at the right edge for half of the last number.
RIGHT = 26.0
#: Most numbers along the lower axis that do not touch in large letters.
X_NUMBERS = 5


def ticks(low: float, high: float, wanted: int = 5) -> list[float]:
    """Return round values that cover low to high, about `wanted` of them."""
    span = high - low or abs(high) or 1.0
    raw = span / wanted
    power = 10.0 ** math.floor(math.log10(raw))
    step = float(power * min((1, 2, 2.5, 5, 10), key=lambda m: abs(m * power - raw)))
    first = math.floor(low / step) * step
    last = math.ceil(high / step - 1e-9) * step
    return [float(first + step * i) for i in range(max(round((last - first) / step), 1) + 1)]


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A level that the lines are compared with."""

    label: str
    y: float


@dataclass(frozen=True, kw_only=True)
class Frame:
    """A plot from `left` to `right` and `top` to `bottom`, for the values of its numbers."""

    left: float
    right: float
    top: float
    bottom: float
    x_ticks: Sequence[float]
    y_ticks: Sequence[float]

    def px(self, x: float) -> float:
        """Return where a value lies across."""
        low, high = self.x_ticks[0], self.x_ticks[-1]
        return self.left + (x - low) / (high - low) * (self.right - self.left)

    def py(self, y: float) -> float:
        """Return where a value lies up and down."""
        low, high = self.y_ticks[0], self.y_ticks[-1]
        return self.bottom - (y - low) / (high - low) * (self.bottom - self.top)

    def points(self, xs: Sequence[float], ys: Sequence[float]) -> str:
        """Return the points of a polyline."""
        return " ".join(
            f"{svg.num(self.px(x))},{svg.num(self.py(y))}" for x, y in zip(xs, ys, strict=True)
        )

    def grid(self, y_label: str) -> list[str]:
        """Return the level lines with their numbers, and the name of the upright axis."""
        parts = [svg.text(4.0, self.top - 20.0, y_label, kind="er-name")] if y_label else []
        for tick in self.y_ticks:
            y = self.py(tick)
            parts.append(svg.stroke(self.left, y, self.right, y, "er-grid"))
            parts.append(svg.text(self.left - 8, y + 6, svg.label(tick), anchor="end"))
        return parts

    def axes(self, x_label: str = "", *, numbers: bool = True) -> list[str]:
        """Return both axes, the numbers along the lower one, and its name."""
        parts = [
            svg.path(
                f"M{svg.num(self.left)} {svg.num(self.top)}V{svg.num(self.bottom)}"
                f"H{svg.num(self.right)}",
                "er-axis",
            )
        ]
        if numbers:
            thin = -(-len(self.x_ticks) // (X_NUMBERS + 1))
            parts += [
                svg.text(
                    _inside(self.px(tick), tick), self.bottom + 25, svg.label(tick), anchor="middle"
                )
                for tick in list(self.x_ticks)[::thin]
            ]
        if x_label:
            middle = (self.left + self.right) / 2
            parts.append(
                svg.text(middle, self.bottom + 54, x_label, kind="er-name", anchor="middle")
            )
        return parts

    def limit(self, limit: Limit, *, side: str = "end", below: bool = False) -> list[str]:
        """Return a level across the plot with its name at one end, above or below it."""
        y = self.py(limit.y)
        x = self.right - 6 if side == "end" else self.left + 8
        # Above the topmost level there may be no room.
        under = below or y - svg.LETTER < self.top - 14
        return [
            svg.stroke(self.left, y, self.right, y, "er-limit"),
            svg.text(
                x, y + svg.LETTER if under else y - 7, limit.label, kind="er-halo", anchor=side
            ),
        ]


def _inside(x: float, tick: float) -> float:
    """Return where the middle of a number stands so that its end is still on the paper."""
    return min(x, svg.WIDTH - svg.width_of(svg.label(tick)) / 2)


def left_for(y_ticks: Sequence[float]) -> float:
    """Return the room that the numbers of the upright axis take."""
    return 16.0 + max(svg.width_of(svg.label(tick)) for tick in y_ticks)


def round_range(low: float, high: float, wanted: int = 4) -> list[float]:
    """Return the numbers of an axis with some air below and above; never below 0 from above 0."""
    pad = max(0.08 * (high - low), 0.01 * abs(high), 1e-9)
    return ticks(max(low - pad, 0.0) if low >= 0 else low - pad, high + pad, wanted)
