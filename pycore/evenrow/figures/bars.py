"""Bars as SVG: a histogram, bars by month, and the pressure budget as steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenrow.figures import svg
from evenrow.figures.frame import BOTTOM, RIGHT, TOP, Frame, Limit, left_for, ticks
from evenrow.figures.svg import WIDTH
from evenrow.words import tr

HEIGHT = 330.0
#: Height of one step of a budget, and of its bar.
STEP, BAR = 64.0, 26.0
#: Less of the scale than this cannot be seen as a step.
SEEN = 0.005


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A value marked across a histogram; far outside its classes only named, with its side.

    `limit` tells that it is a bound, not something measured.
    """

    label: str
    x: float
    limit: bool = False


@dataclass(frozen=True, kw_only=True)
class Station:
    """A place on the water's way, and the pressure left there in the unit shown."""

    label: str
    left: float


def _frame(x_ticks: Sequence[float], highest: float, top: float) -> Frame:
    y_ticks = ticks(0.0, max(highest, 1e-9) * 1.05, 4)
    return Frame(
        left=left_for(y_ticks),
        right=WIDTH - RIGHT,
        top=top,
        bottom=top - TOP + HEIGHT - BOTTOM,
        x_ticks=x_ticks,
        y_ticks=y_ticks,
    )


def histogram(
    edges: Sequence[float],
    counts: Sequence[float],
    *,
    x_label: str,
    y_label: str,
    marks: Sequence[Mark] = (),
    alternative: str,
) -> str:
    """Draw how often values fall between edges.

    Parameters
    ----------
    edges : sequence of float
        Rising, one more than `counts`; finite, in the unit shown.
    counts : sequence of float
        How many values lie in each class, at least 0.
    x_label, y_label : str
        Names of the axes with their units.
    marks : sequence of Mark
        Values marked by upright lines, each named above the plot; such as mean and least.
    alternative : str
        What the chart shows, in words.
    """
    span = edges[-1] - edges[0]
    shown = [mark.x for mark in marks if edges[0] - span <= mark.x <= edges[-1] + span]
    values = [*edges, *shown]
    x_ticks = ticks(min(values), max(values), 4)
    frame = _frame(x_ticks, max(counts), TOP + 28.0 * len(marks))
    parts = [*frame.grid(""), svg.text(4.0, 24.0, y_label, kind="er-name")]
    for low, high, count in zip(edges, edges[1:], counts, strict=False):
        x, y = frame.px(low), frame.py(count)
        # A hair of paper between bars; a class of few values stays to be seen.
        wide = max(frame.px(high) - x - 1.5, 0.5)
        tall = max(frame.bottom - y, 2.0 if count > 0 else 0.0)
        parts.append(svg.rect(x, frame.bottom - tall, wide, tall, "er-bar-box"))
    parts += frame.axes(x_label)
    for place, mark in enumerate(marks):
        y = TOP + 8.0 + 28.0 * place
        name = svg.fit(mark.label, WIDTH - 80)
        if mark.x not in shown:
            before = mark.x < edges[0]
            x = frame.left + 4 if before else frame.right - 4
            said = f"← {name}" if before else f"{name} →"
            parts.append(svg.text(x, y, said, kind="er-halo", anchor="start" if before else "end"))
            continue
        x = frame.px(mark.x)
        end = x + 10 + svg.width_of(name) > WIDTH
        parts.append(
            svg.stroke(x, y - 14, x, frame.bottom, "er-limit" if mark.limit else "er-measured")
        )
        parts.append(svg.shape(place, x, y - 8, 6, "er-mark er-mark-4"))
        parts.append(
            svg.text(
                x - 12 if end else x + 12, y, name, kind="er-halo", anchor="end" if end else "start"
            )
        )
    return svg.image(
        "".join(parts), kind="er-chart", height=frame.bottom + BOTTOM, alternative=alternative
    )


def bar_chart(
    labels: Sequence[str],
    values: Sequence[float],
    *,
    x_label: str = "",
    y_label: str,
    limits: Sequence[Limit] = (),
    alternative: str,
) -> str:
    """Draw one bar for each label, such as a month.

    Parameters
    ----------
    labels : sequence of str
        At least one; every second one is left out where they would touch.
    values : sequence of float
        One for each label, at least 0, in the unit shown.
    x_label, y_label : str
        Names of the axes.
    limits : sequence of Limit
        Levels drawn across, such as the most that the source gives.
    alternative : str
        What the chart shows, in words.
    """
    highest = max([*values, *(limit.y for limit in limits)])
    frame = _frame([0.0, float(len(labels))], highest, TOP)
    each = (frame.right - frame.left) / len(labels)
    thin = 1
    while max(svg.width_of(name) for name in labels) > each * thin - 6 and thin < len(labels):
        thin += 1
    parts = [*frame.grid(y_label), *frame.axes(x_label, numbers=False)]
    for place, (name, value) in enumerate(zip(labels, values, strict=True)):
        x, y = frame.left + place * each, frame.py(value)
        box = svg.rect(x + 0.14 * each, y, 0.72 * each, frame.bottom - y, "er-bar-box")
        parts.append(svg.group(box, title=f"{name}: {svg.label(value)}", stop=False))
        if place % thin == 0:
            middle = x + each / 2
            parts.append(
                svg.text(middle, frame.bottom + 25, svg.fit(name, each * thin), anchor="middle")
            )
    for limit in limits:
        parts += frame.limit(limit)
    height = frame.bottom + (BOTTOM if x_label else BOTTOM - 28)
    return svg.image("".join(parts), kind="er-chart", height=height, alternative=alternative)


def pressure_budget(
    stations: Sequence[Station],
    *,
    unit: str,
    band: tuple[float, float] | None = None,
    band_label: str = "",
    alternative: str,
) -> str:
    """Draw the pressure left at each place from the source to the last emitter, as steps.

    Each bar is what is left; the hatched piece at its end is what was taken on the way from
    the place before, or, marked with a plus, what falling ground gave back.

    Parameters
    ----------
    stations : sequence of Station
        In the order of the flow, at least one.
    unit : str
        Unit of the values.
    band : (float, float), optional
        Lowest and highest pressure of the line, in the unit shown.
    band_label : str
        Its name.
    alternative : str
        What the figure shows, in words.
    """
    values = [s.left for s in stations] + list(band or ())
    x_ticks = ticks(min(0.0, *values), max(values), 4)
    top = 44.0 if band else 12.0
    bottom = top + STEP * len(stations) + 4
    frame = Frame(
        left=12, right=WIDTH - RIGHT, top=top, bottom=bottom, x_ticks=x_ticks, y_ticks=[0.0, 1.0]
    )
    parts = [svg.stroke(frame.px(t), top, frame.px(t), bottom, "er-grid") for t in x_ticks]
    if band:
        low, high = frame.px(band[0]), frame.px(band[1])
        parts.append(svg.rect(low, top - 4, high - low, bottom - top + 4, "er-band"))
        parts += [svg.stroke(x, top - 4, x, bottom, "er-limit") for x in (low, high)]
        name = svg.fit(band_label, WIDTH - 20)
        half = svg.width_of(name) / 2
        middle = min(max((low + high) / 2, half + 4), WIDTH - half - 4)
        parts.append(svg.text(middle, 26, name, anchor="middle"))
    before: float | None = None
    for place, station in enumerate(stations):
        y = top + STEP * place
        parts.append(_step(frame, station, before, y, unit))
        before = station.left
    parts += frame.axes(tr("pressure ({unit})", unit=unit))
    return svg.image(
        "".join(parts), kind="er-chart", height=bottom + BOTTOM, alternative=alternative
    )


def _step(frame: Frame, station: Station, before: float | None, y: float, unit: str) -> str:
    zero, here = frame.px(0.0), frame.px(station.left)
    y_bar = y + 28
    parts = [svg.rect(min(zero, here), y_bar, abs(here - zero), BAR, "er-bar-box")]
    change = 0.0 if before is None else before - station.left
    said = f"{station.left:.3g} {unit}".replace("-", "−")
    if before is not None and abs(change) >= SEEN * (frame.x_ticks[-1] - frame.x_ticks[0]):
        was = frame.px(before)
        kind = "er-taken" if change > 0 else "er-gained"
        parts.append(svg.rect(min(was, here), y_bar, abs(was - here), BAR, kind))
        much = f"− {change:.2g}" if change > 0 else f"+ {-change:.2g}"
        x = min(max(was, here) + 8, WIDTH - svg.width_of(much) - 6)
        parts.append(svg.text(x, y_bar + 21, much, kind="er-halo"))
    room = WIDTH - 34 - svg.width_of(said)
    parts.append(svg.text(frame.left + 6, y + 21, svg.fit(station.label, room), kind="er-halo"))
    parts.append(svg.text(WIDTH - 8, y + 21, said, kind="er-halo er-strong", anchor="end"))
    return "".join(parts)
