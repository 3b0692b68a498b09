"""Line charts as SVG: legible in light and dark, in print and in one colour.

Colours are custom properties of the page (``--er-ink``, ``--er-series-1`` …), with
fallbacks, so that a chart follows the page's light or dark scheme; each series also has
its own dash, so that a chart in one colour still reads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

#: Drawing size in user units; the page scales it to the width there is.
WIDTH, HEIGHT = 640.0, 280.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 62.0, 16.0, 16.0, 46.0
#: Points drawn at the most for one series: more cannot be told apart.
POINTS = 200


@dataclass(frozen=True, kw_only=True)
class Series:
    """One line of a chart, in the units that are shown."""

    label: str
    x: Sequence[float]
    y: Sequence[float]


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A level that the lines are compared with."""

    label: str
    y: float


def ticks(low: float, high: float, wanted: int = 5) -> list[float]:
    """Return round values that cover low to high, about `wanted` of them."""
    span = high - low or abs(high) or 1.0
    raw = span / wanted
    power = 10.0 ** np.floor(np.log10(raw))
    step = float(power * min((1, 2, 2.5, 5, 10), key=lambda m: abs(m * power - raw)))
    first = np.floor(low / step) * step
    last = np.ceil(high / step - 1e-9) * step
    return [float(first + step * i) for i in range(round((last - first) / step) + 1)]


def _label(value: float) -> str:
    return f"{value:.6g}".replace("-", "−")


def _thin(series: Series) -> tuple[FloatArray, FloatArray]:
    x, y = np.asarray(series.x, float), np.asarray(series.y, float)
    if x.size <= POINTS:
        return x, y
    keep = np.unique(np.linspace(0, x.size - 1, POINTS).round().astype(int))
    return x[keep], y[keep]


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
        An ``<svg>`` element; every text escaped.
    """
    thin = [_thin(s) for s in series]
    xs = np.concatenate([x for x, _ in thin])
    ys = np.concatenate([y for _, y in thin] + [np.array([limit.y for limit in limits])])
    x_ticks = ticks(min(0.0, float(xs.min())), float(xs.max()))
    low, high = float(ys.min()), float(ys.max())
    pad = max(0.08 * (high - low), 0.01 * abs(high), 1e-9)
    y_ticks = ticks(max(low - pad, 0.0) if low >= 0 else low - pad, high + pad)
    x0, x1, y0, y1 = x_ticks[0], x_ticks[-1], y_ticks[0], y_ticks[-1]

    def px(x: float) -> float:
        return float(_LEFT + (x - x0) / (x1 - x0) * (WIDTH - _LEFT - _RIGHT))

    def py(y: float) -> float:
        return float(HEIGHT - _BOTTOM - (y - y0) / (y1 - y0) * (HEIGHT - _TOP - _BOTTOM))

    parts = [
        f'<svg class="er-chart" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg" aria-label="{escape(alternative)}">'
    ]
    for tick in y_ticks:
        y = py(tick)
        parts.append(f'<path class="er-grid" d="M{_LEFT:g} {y:.1f}H{WIDTH - _RIGHT:g}"/>')
        parts.append(
            f'<text x="{_LEFT - 6:g}" y="{y + 4:.1f}" text-anchor="end">{_label(tick)}</text>'
        )
    parts += [
        f'<text x="{px(tick):.1f}" y="{HEIGHT - _BOTTOM + 18:g}" text-anchor="middle">'
        f"{_label(tick)}</text>"
        for tick in x_ticks
    ]
    parts.append(
        f'<path class="er-axis" d="M{_LEFT:g} {_TOP:g}V{HEIGHT - _BOTTOM:g}H{WIDTH - _RIGHT:g}"/>'
    )
    for limit in limits:
        y = py(limit.y)
        parts.append(f'<path class="er-limit" d="M{_LEFT:g} {y:.1f}H{WIDTH - _RIGHT:g}"/>')
        parts.append(
            f'<text x="{WIDTH - _RIGHT - 4:g}" y="{y - 5:.1f}" text-anchor="end">'
            f"{escape(limit.label)}</text>"
        )
    for number, (along, up) in enumerate(thin, start=1):
        points = " ".join(f"{px(a):.1f},{py(b):.1f}" for a, b in zip(along, up, strict=True))
        parts.append(f'<polyline class="er-series er-series-{number}" points="{points}"/>')
    parts.append(
        f'<text x="{(_LEFT + WIDTH - _RIGHT) / 2:g}" y="{HEIGHT - 8:g}" text-anchor="middle">'
        f"{escape(x_label)}</text>"
    )
    parts.append(
        f'<text transform="translate(14 {(HEIGHT - _BOTTOM + _TOP) / 2:g}) rotate(-90)" '
        f'text-anchor="middle">{escape(y_label)}</text>'
    )
    parts.append("</svg>")
    return "".join(parts)
