"""Pieces of SVG as text: every word escaped, every number short and the same every time."""

from __future__ import annotations

import math
import re
import unicodedata
from html import escape

#: Width of every drawing in user units; the page scales it to the width there is.
WIDTH = 640.0
#: Size of the letters where the drawing is narrowest, as on a phone of 360 px.  Drawings are
#: laid out for these; ``chart.css`` makes letters smaller where there is more room.
LETTER = 22.0
#: Width of an average letter as a share of its size; measured generously.
LETTER_WIDTH = 0.53
#: Characters that XML does not allow, and those that turn the direction of the text around them.
_UNFIT = re.compile(
    "[^\t\n\r\x20-\x7e\x85\xa0-\u2029\u202f-\u2065\u206a-\ud7ff\ue000-\ufdcf\ufdf0-\ufffd\U00010000-\U0010ffff]"
)


def num(value: float) -> str:
    """Return a coordinate with one decimal at the most; never ``-0``.

    Raises
    ------
    ValueError
        The value is not finite: it has no place in a drawing.
    """
    if not math.isfinite(value):
        raise ValueError("a drawing has no place for a number that is not finite")
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def words(text: str) -> str:
    """Return text fit to stand in SVG, within quotes too."""
    return escape(_UNFIT.sub("\ufffd", text))


def width_of(text: str, size: float = LETTER) -> float:
    """Return about how wide a text is in user units; rather too wide than too narrow."""
    full = sum(1 for ch in text if unicodedata.east_asian_width(ch) in "WF" or ord(ch) > 0xFFFF)
    return size * (LETTER_WIDTH * (len(text) - full) + full)


def fit(text: str, width: float, size: float = LETTER) -> str:
    """Return the text, cut with an ellipsis where it is wider than `width` user units."""
    if width_of(text, size) <= width:
        return text
    kept = text
    while kept and width_of(kept + "…", size) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def label(value: float) -> str:
    """Return a number of an axis as text, with a real minus sign."""
    return f"{value + 0.0:.6g}".replace("-", "−")


def text(
    x: float, y: float, said: str, *, kind: str = "", anchor: str = "start", turn: float = 0.0
) -> str:
    """Return a text with its base line at a point, turned by degrees clockwise around it."""
    if not said:
        return ""
    named = f' class="{kind}"' if kind else ""
    placed = "" if anchor == "start" else f' text-anchor="{anchor}"'
    turned = f' transform="rotate({num(turn)} {num(x)} {num(y)})"' if turn else ""
    return f'<text{named} x="{num(x)}" y="{num(y)}"{placed}{turned}>{words(said)}</text>'


def plate(x: float, y: float, said: str, *, anchor: str = "start") -> str:
    """Return a text on a plate that covers what it stands on; arguments as in `text`."""
    wide = width_of(said) + 4
    left = x - 4 if anchor == "start" else x - wide / 2
    return rect(left, y - 19, wide + 2, 25, "er-plate", round_=4) + text(x, y, said, anchor=anchor)


def path(d: str, kind: str) -> str:
    """Return a path of a class."""
    return f'<path class="{kind}" d="{d}"/>'


def stroke(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    """Return a straight line of a class."""
    return path(f"M{num(x1)} {num(y1)}L{num(x2)} {num(y2)}", kind)


def rect(
    x: float, y: float, width: float, height: float, kind: str, *, fill: str = "", round_: float = 0
) -> str:
    """Return a rectangle of a class; `fill` is the id of a pattern."""
    filled = f' fill="url(#{fill})"' if fill else ""
    corner = f' rx="{num(round_)}"' if round_ else ""
    return (
        f'<rect class="{kind}" x="{num(x)}" y="{num(y)}" width="{num(max(width, 0.0))}" '
        f'height="{num(max(height, 0.0))}"{corner}{filled}/>'
    )


def circle(x: float, y: float, radius: float, kind: str) -> str:
    """Return a circle of a class."""
    return f'<circle class="{kind}" cx="{num(x)}" cy="{num(y)}" r="{num(radius)}"/>'


def group(body: str, *, title: str, part: int | None = None, stop: bool = True, **data: str) -> str:
    """Return a named part of a drawing, which can be reached by keyboard and by touch.

    Parameters
    ----------
    body : str
        SVG of the part.
    title : str
        What it is, in words.
    part : int, optional
        Its line of the parts list.
    stop : bool
        Whether the keyboard stops there: once for each kind of part is enough.
    **data : str
        Further ``data-…`` attributes.
    """
    marks = "" if part is None else f' data-part="{part}"'
    marks += "".join(f' data-{name}="{words(value)}"' for name, value in data.items())
    reached = ' tabindex="0" role="img"' if stop else ""
    return f'<g class="er-part"{marks}{reached}><title>{words(title)}</title>{body}</g>'


def image(body: str, *, kind: str, height: float, alternative: str) -> str:
    """Return a drawing in which nothing can be reached by itself: one picture with its words."""
    return (
        f'<svg class="{kind}" viewBox="0 0 {num(WIDTH)} {num(height)}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg" aria-label="{words(alternative)}">{body}</svg>'
    )


def drawing(body: str, *, kind: str, height: float, name: str, title: str, desc: str) -> str:
    """Return a drawing whose parts can be reached: a group with a name and a description.

    It is no ``img``, because what stands in one is hidden from those who do not see it.

    Parameters
    ----------
    body, kind, height
        Content, class, height in user units.
    name : str
        Start of the ids in it, of its own on a page: letters, digits and hyphens.
    title, desc : str
        Name, and what a person sees, in words.
    """
    if not re.fullmatch(r"[a-z][a-z0-9-]*", name):
        raise ValueError("a drawing's name is made of small letters, digits and hyphens")
    return (
        f'<svg class="{kind}" viewBox="0 0 {num(WIDTH)} {num(height)}" role="group" '
        f'xmlns="http://www.w3.org/2000/svg" aria-labelledby="{name}-title" '
        f'aria-describedby="{name}-desc"><title id="{name}-title">{words(title)}</title>'
        f'<desc id="{name}-desc">{words(desc)}</desc>{body}</svg>'
    )


def shape(number: int, x: float, y: float, radius: float, kind: str) -> str:
    """Return a mark; five shapes take turns, so that series can be told in one colour."""
    r = radius
    outlines = (
        f"M{num(x - r)} {num(y)}a{num(r)} {num(r)} 0 1 0 {num(2 * r)} 0a{num(r)} {num(r)} 0 1 0 "
        f"{num(-2 * r)} 0z",
        f"M{num(x - r)} {num(y - r)}h{num(2 * r)}v{num(2 * r)}h{num(-2 * r)}z",
        f"M{num(x)} {num(y - 1.2 * r)}l{num(1.2 * r)} {num(2.1 * r)}h{num(-2.4 * r)}z",
        f"M{num(x)} {num(y - 1.3 * r)}l{num(1.3 * r)} {num(1.3 * r)}l{num(-1.3 * r)} "
        f"{num(1.3 * r)}l{num(-1.3 * r)} {num(-1.3 * r)}z",
        f"M{num(x)} {num(y + 1.2 * r)}l{num(1.2 * r)} {num(-2.1 * r)}h{num(-2.4 * r)}z",
    )
    return path(outlines[number % len(outlines)], kind)
