"""Profiles: pressure, flow and ground along one line or along a header, one above the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenrow.figures import svg
from evenrow.figures.bars import Mark, histogram
from evenrow.figures.charts import Series, limits_drawn, thin
from evenrow.figures.frame import BOTTOM, RIGHT, Frame, Limit, left_for, round_range, ticks
from evenrow.figures.svg import WIDTH
from evenrow.words import tr

#: Height of the plot of each panel, and of the room above it for its name.
PANEL, NAME = 150.0, 46.0
GROUND = 80.0
#: Classes of a histogram of emitter flows.
CLASSES = 24


@dataclass(frozen=True, kw_only=True)
class Profile:
    """Values along a pipe, all of one length, finite and in the units shown.

    Parameters
    ----------
    distance : sequence of float
        From the inlet, rising; at least one.
    pressure : sequence of float
        Pressure there.
    flow : sequence of float
        Flow there.
    ground : sequence of float
        Height of the ground there above the inlet.
    limits : sequence of Limit
        Lowest and highest pressure.
    """

    distance: Sequence[float]
    pressure: Sequence[float]
    flow: Sequence[float]
    ground: Sequence[float]
    limits: Sequence[Limit] = ()


def profile_chart(
    profile: Profile,
    *,
    distance_label: str,
    pressure_label: str,
    flow_label: str,
    ground_label: str,
    alternative: str,
) -> str:
    """Draw pressure with its limits, flow and ground along a pipe, over one distance.

    Parameters
    ----------
    profile : Profile
        What is drawn.
    distance_label, pressure_label, flow_label, ground_label : str
        Names of the axes with their units.
    alternative : str
        What the figure shows, in words.
    """
    pressures = [*profile.pressure, *(limit.y for limit in profile.limits)]
    scales = (
        round_range(min(pressures), max(pressures)),
        round_range(min(profile.flow), max(profile.flow), 3),
        _ground_ticks(profile.ground),
    )
    left = max(left_for(scale) for scale in scales)
    far = max(profile.distance) or 1.0
    x_ticks = ticks(min(0.0, *profile.distance), far)
    names = (pressure_label, flow_label, ground_label)
    values = (profile.pressure, profile.flow, profile.ground)
    parts: list[str] = []
    top = NAME
    for number, (name, ys, scale) in enumerate(zip(names, values, scales, strict=True), start=1):
        tall = GROUND if number == 3 else PANEL
        frame = Frame(
            left=left,
            right=WIDTH - RIGHT,
            top=top,
            bottom=top + tall,
            x_ticks=x_ticks,
            y_ticks=scale,
        )
        parts += frame.grid(name)
        x, y = thin(Series(label="", x=profile.distance, y=ys))
        points = frame.points(list(x), list(y))
        if number == 3:
            low = svg.num(frame.bottom)
            first, last = svg.num(frame.px(float(x[0]))), svg.num(frame.px(float(x[-1])))
            parts.append(
                f'<polygon class="er-ground" points="{first},{low} {points} {last},{low}"/>'
            )
        parts.append(f'<polyline class="er-series er-along-{number}" points="{points}"/>')
        if number == 1:
            parts += limits_drawn(frame, profile.limits, [(x, y)])
        parts += frame.axes(distance_label if number == 3 else "", numbers=number == 3)
        top += tall + NAME
    return svg.image(
        "".join(parts), kind="er-chart", height=top - NAME + BOTTOM, alternative=alternative
    )


def _ground_ticks(ground: Sequence[float]) -> list[float]:
    low, high = min(0.0, *ground), max(0.0, *ground)
    if high - low < 1e-6:
        return [-1.0, 0.0, 1.0]
    return ticks(low, high, 2)


def flow_histogram(
    flows: Sequence[float],
    *,
    target: float | None,
    unit: str,
    alternative: str,
) -> str:
    """Draw how the flows of a zone's emitters are spread, with mean, least and target.

    Parameters
    ----------
    flows : sequence of float
        Flow of each emitter in the unit shown, finite; at least one.
    target : float or None
        Flow that the least emitter should not go below, in the unit shown.
    unit : str
        Unit of the flows.
    alternative : str
        What the chart shows, in words.
    """
    values = np.asarray(flows, float)
    low, high = float(values.min()), float(values.max())
    # Emitters that give all the same still need a class of some width.
    pad = max((high - low) * 0.02, 0.005 * abs(high), 1e-6)
    counts, edges = np.histogram(values, bins=CLASSES, range=(low - pad, high + pad))
    mean = float(values.mean())
    marks = [
        Mark(label=tr("least {low:.3g} {unit}", low=low, unit=unit), x=low),
        Mark(label=tr("mean {mean:.3g} {unit}", mean=mean, unit=unit), x=mean),
    ]
    if target is not None:
        marks.append(
            Mark(
                label=tr("least wanted {target:.3g} {unit}", target=target, unit=unit),
                x=target,
                limit=True,
            )
        )
    return histogram(
        [float(edge) for edge in edges],
        [float(count) for count in counts],
        x_label=tr("flow of an emitter ({unit})", unit=unit),
        y_label=tr("emitters"),
        marks=sorted(marks, key=lambda mark: mark.x),
        alternative=alternative,
    )
