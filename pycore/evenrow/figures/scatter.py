"""Price against uniformity: each option a point, the best ones joined, the chosen one ringed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenrow.figures import svg
from evenrow.figures.frame import BOTTOM, RIGHT, TOP, Frame, left_for, round_range
from evenrow.figures.svg import WIDTH
from evenrow.words import tr

HEIGHT = 420.0
#: Radius of what is tapped around a point: 24 px on a phone.
HIT = 24.0


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to build the field.

    Parameters
    ----------
    id : str
        Stable name, given to the page as ``data-option``.
    label : str
        What people read.
    cost : float
        Less is better; in the unit shown, finite.
    worth : float
        More is better; in the unit shown, finite.
    """

    id: str
    label: str
    cost: float
    worth: float


def frontier(options: Sequence[Option]) -> list[int]:
    """Return the places of the options that no other betters, by rising cost.

    An option is bettered when another costs no more and is worth no less, and is not its equal
    in both.  Of equals the first counts.
    """
    order = sorted(range(len(options)), key=lambda i: (options[i].cost, -options[i].worth, i))
    kept: list[int] = []
    for i in order:
        if not kept or options[i].worth > options[kept[-1]].worth:
            kept.append(i)
    return kept


def scatter(
    options: Sequence[Option],
    *,
    x_label: str,
    y_label: str,
    chosen: str = "",
    alternative: str,
    name: str = "options",
) -> str:
    """Draw options as points of cost and worth.

    Parameters
    ----------
    options : sequence of Option
        At least one.
    x_label, y_label : str
        Names of the axes: cost across, worth upward.
    chosen : str
        Id of the option that is ringed.
    alternative : str
        What the chart shows, in words.
    name : str
        Start of the ids in the drawing, of its own on a page.

    Returns
    -------
    str
        An ``<svg>`` element in which each option can be reached: ``data-option`` holds its id.
    """
    best = frontier(options)
    x_ticks = round_range(min(o.cost for o in options), max(o.cost for o in options))
    y_ticks = round_range(min(o.worth for o in options), max(o.worth for o in options))
    frame = Frame(
        left=left_for(y_ticks),
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=HEIGHT - BOTTOM,
        x_ticks=x_ticks,
        y_ticks=y_ticks,
    )
    parts = [*frame.grid(y_label), *frame.axes(x_label)]
    along = frame.points([options[i].cost for i in best], [options[i].worth for i in best])
    parts.append(f'<polyline class="er-frontier" points="{along}"/>')
    # The best lie on top.
    behind = [i for i in range(len(options)) if i not in best]
    parts += [
        _point(frame, options[i], best=i not in behind, chosen=options[i].id == chosen)
        for i in behind + best
    ]
    named = best + [i for i in behind if options[i].id == chosen]
    parts += _names(frame, [options[i] for i in named], options, chosen)
    none_better = tr("none better and cheaper")
    second = max(346.0, 34 + svg.width_of(none_better) + 28)
    key = (
        svg.circle(18, HEIGHT + 8, 9, "er-best")
        + svg.text(34, HEIGHT + 15, none_better)
        + svg.shape(3, second, HEIGHT + 8, 7, "er-other")
        + svg.text(second + 16, HEIGHT + 15, tr("another betters it"))
    )
    return svg.drawing(
        "".join(parts) + key,
        kind="er-chart er-options",
        height=HEIGHT + 30,
        name=name,
        title=tr("{upright} against {level}", upright=y_label, level=x_label),
        desc=alternative,
    )


def _point(frame: Frame, option: Option, *, best: bool, chosen: bool) -> str:
    x, y = frame.px(option.cost), frame.py(option.worth)
    body = svg.circle(x, y, HIT, "er-hit")
    body += svg.circle(x, y, 9, "er-best") if best else svg.shape(3, x, y, 7, "er-other")
    if chosen:
        body += svg.circle(x, y, 16, "er-ring")
    marks = [
        f"{option.label}: {svg.label(option.cost)}, {svg.label(option.worth)}",
        tr("none is both better and cheaper") if best else tr("another is no worse and no dearer"),
        *([tr("chosen")] if chosen else []),
    ]
    return svg.group(body, title="; ".join(marks), option=option.id)


def _names(
    frame: Frame, options: Sequence[Option], every: Sequence[Option], chosen: str
) -> list[str]:
    """Return names beside points where they cover nothing; the chosen one's first."""
    spots = [(frame.px(o.cost), frame.py(o.worth)) for o in options]
    points = [
        (a - 10, b - 10, a + 10, b + 10)
        for a, b in ((frame.px(o.cost), frame.py(o.worth)) for o in every)
    ]
    order = sorted(range(len(options)), key=lambda i: options[i].id != chosen)
    taken: list[tuple[float, float, float, float]] = []
    parts = []
    for i in order:
        name = svg.fit(options[i].label, 300)
        wide = svg.width_of(name)
        x, y = spots[i]
        for left, base in (
            (x + 20, y + 26),
            (x - 20 - wide, y - 14),
            (x + 20, y - 14),
            (x - 20 - wide, y + 26),
        ):
            box = (left, base - 18, left + wide, base + 5)
            inside = (
                frame.left < box[0]
                and box[2] < WIDTH
                and frame.top - 14 < box[1]
                and box[3] < frame.bottom
            )
            if inside and not any(_touch(box, other) for other in taken + points):
                taken.append(box)
                parts.append(svg.text(left, base, name, kind="er-halo"))
                break
    return parts


def _touch(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
