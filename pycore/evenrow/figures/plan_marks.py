"""Marks on a plan: numbers with leaders, dimensions, arrows, the scale bar, hatches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from evenrow.figures import svg
from evenrow.figures.plan_model import Ref
from evenrow.figures.svg import num
from evenrow.words import tr

#: Radius of a number's circle, of what is tapped around it, and least distance of two numbers.
BADGE, HIT, APART = 17.0, 24.0, 46.0
#: Hatches that take turns.
HATCHES = (
    "M-3 3L3 -3M0 12L12 0M9 15L15 9",
    "M6 0V12",
    "M-3 9L3 15M0 0L12 12M9 -3L15 3",
    "M5 6h2M-1 0h2M11 0h2M-1 12h2M11 12h2",
    "M0 12L12 0M0 0L12 12",
    "M6 1v6M3 4h6",
)


@dataclass(frozen=True, kw_only=True)
class Callout:
    """A number of the parts list and the place that it points at."""

    ref: Ref
    x: float
    y: float


def hatch_id(name: str, number: int) -> str:
    """Return the id of a zone's hatch."""
    return f"{name}-hatch-{(number - 1) % len(HATCHES) + 1}"


def hatches(name: str, count: int) -> str:
    """Return the patterns for that many zones."""
    made = "".join(
        f'<pattern id="{hatch_id(name, k)}" width="12" height="12" patternUnits="userSpaceOnUse">'
        f'<path class="er-hatch" d="{HATCHES[k - 1]}"/></pattern>'
        for k in range(1, min(count, len(HATCHES)) + 1)
    )
    return f"<defs>{made}</defs>"


def badge(ref: Ref, x: float, y: float, *, leader: str = "", stop: bool = True) -> str:
    """Return a number in a circle, with the line that leads to what it names."""
    body = (
        leader
        + svg.circle(x, y, HIT, "er-hit")
        + svg.circle(x, y, BADGE, "er-badge")
        + svg.text(x, y, str(ref.number), kind="er-number", anchor="middle")
    )
    return svg.group(body, title=f"{ref.number}: {ref.label}", part=ref.number, stop=stop)


def spread(wanted: Sequence[float], least: float, first: float) -> list[float]:
    """Return places near the wanted ones (rising), `least` apart and none before `first`."""
    placed: list[float] = []
    for want in wanted:
        placed.append(max(want, placed[-1] + least if placed else first))
    # What was pushed on goes back as far as the one before it lets it.
    overrun = placed[-1] - max(wanted[-1], first) if placed else 0.0
    for i in range(len(placed)):
        floor = placed[i - 1] + least if i else first
        placed[i] = max(floor, placed[i] - overrun / 2)
    return placed


def column(callouts: Sequence[Callout], x: float, first: float) -> tuple[str, float]:
    """Return numbers in an upright column with leaders, and where the last one ends."""
    # Of things side by side the nearer one comes first: leaders then do not cross.
    order = sorted(callouts, key=lambda c: (round(c.y, 1), c.x, c.ref.number))
    places = spread([c.y for c in order], APART, first)
    parts = []
    for callout, y in zip(order, places, strict=True):
        # Out of the circle level, then straight to the thing.
        line = f"M{num(x + BADGE)} {num(y)}L{num(callout.x)} {num(callout.y)}"
        dot = svg.circle(callout.x, callout.y, 3, "er-dot")
        parts.append(badge(callout.ref, x, y, leader=svg.path(line, "er-leader") + dot))
    return "".join(parts), places[-1] + BADGE if places else first


def row_of(callouts: Sequence[Callout], y: float, first: float, last: float) -> str:
    """Return numbers side by side above the things that they name."""
    order = sorted(callouts, key=lambda c: (c.x, c.ref.number))
    if not order:
        return ""
    places = spread([c.x for c in order], APART, first)
    over = max(0.0, places[-1] - last)
    parts = []
    for callout, x in zip(order, [p - over for p in places], strict=True):
        line = f"M{num(x)} {num(y + BADGE)}L{num(callout.x)} {num(callout.y)}"
        dot = svg.circle(callout.x, callout.y, 3, "er-dot")
        parts.append(badge(callout.ref, x, y, leader=svg.path(line, "er-leader") + dot))
    return "".join(parts)


def level_dimension(x1: float, x2: float, y: float, said: str, edge: float = 0.0) -> str:
    """Return a dimension across, its words in its middle; short ones have them beside it.

    `edge` is where the extension lines begin.
    """
    ends = "".join(svg.stroke(x, edge or y - 8, x, y + 8, "er-dimension") for x in (x1, x2))
    wide = svg.width_of(said) + 12
    middle = (x1 + x2) / 2
    if wide > x2 - x1 - 16:
        line = svg.stroke(x1, y, x2, y, "er-dimension")
        return ends + line + svg.text(x2 + 10, y + 8, said, kind="er-halo")
    lines = svg.stroke(x1, y, middle - wide / 2, y, "er-dimension")
    lines += svg.stroke(middle + wide / 2, y, x2, y, "er-dimension")
    return ends + lines + svg.text(middle, y + 8, said, kind="er-halo", anchor="middle")


def upright_dimension(y1: float, y2: float, x: float, said: str) -> str:
    """Return a dimension up and down with its words turned beside it."""
    ends = "".join(svg.stroke(x - 8, y, x + 8, y, "er-dimension") for y in (y1, y2))
    line = svg.stroke(x, y1, x, y2, "er-dimension")
    return ends + line + svg.text(x + 10, (y1 + y2) / 2, said, anchor="middle", turn=90.0)


def arrow(x1: float, y1: float, x2: float, y2: float, kind: str = "er-fall") -> str:
    """Return an arrow from one point to another."""
    angle = math.atan2(y2 - y1, x2 - x1)
    head = "".join(
        f"M{num(x2 - 13 * math.cos(angle + turn))} {num(y2 - 13 * math.sin(angle + turn))}"
        f"L{num(x2)} {num(y2)}"
        for turn in (-0.5, 0.5)
    )
    return svg.path(f"M{num(x1)} {num(y1)}L{num(x2)} {num(y2)}{head}", kind)


def north(x: float, y: float, bearing: float) -> str:
    """Return a north arrow; `bearing` is the direction of "right" in the drawing [degrees]."""
    turn = math.radians(90.0 - bearing)
    up = math.sin(turn), -math.cos(turn)
    body = svg.circle(x, y, 24, "er-dimension")
    body += arrow(x - 17 * up[0], y - 17 * up[1], x + 17 * up[0], y + 17 * up[1], "er-north")
    # The letter stands beside the arrow's point, outside the circle.
    body += svg.text(x + 38 * up[0], y + 38 * up[1] + 8, "N", kind="er-strong", anchor="middle")
    return f"<g><title>{escape(tr('North'))}</title>{body}</g>"


def valve(x: float, y: float) -> str:
    """Return the sign of a valve: two triangles, point to point, in a pipe that runs across."""
    return svg.path(
        f"M{num(x - 9)} {num(y - 7)}v14L{num(x + 9)} {num(y - 7)}v14z",
        "er-valve",
    )


def break_mark(x: float, y1: float, y2: float) -> str:
    """Return the two wavy lines between which something is left out."""
    count = max(2, round((y2 - y1) / 14))
    step = (y2 - y1) / count
    waves = "".join(
        f"q{num(5.0 if i % 2 else -5.0)} {num(step / 2)} 0 {num(step)}" for i in range(count)
    )
    return svg.path(f"M{num(x - 4)} {num(y1)}{waves}M{num(x + 4)} {num(y1)}{waves}", "er-break")
