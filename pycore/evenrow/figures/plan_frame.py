"""What stands around a field on a plan: the head assembly above it, scale and key below."""

from __future__ import annotations

from evenrow.figures import plan_marks as marks
from evenrow.figures import svg
from evenrow.figures.plan_model import Plan
from evenrow.figures.plan_scale import Scale, bar_length
from evenrow.figures.plan_words import ZONES_LISTED, cup_words, notes, worst_words, zone_words
from evenrow.figures.svg import WIDTH, num
from evenrow.units import format_value
from evenrow.words import tr

#: Place of the source, distance of the parts of the head assembly, width of one's box.
SOURCE_X, PITCH, BOX = 30.0, 66.0, 46.0
#: Height of a line of the key, and of a line of words.
LINE, WORDS = 34.0, 28.0


def assembly_strip(plan: Plan, main_y: float) -> tuple[str, float]:
    """Return the source and the head assembly in the order of the flow, and where they end.

    Parameters
    ----------
    plan : Plan
        What is drawn.
    main_y : float
        Where the main runs below.

    Returns
    -------
    (str, float)
        SVG, and the place across at which the main begins.
    """
    y = main_y - 62
    count = len(plan.assembly)
    pitch = min(PITCH, (WIDTH - 130.0) / max(count, 1))
    box = min(BOX, pitch - 14)
    x_end = SOURCE_X + 26 + pitch * count
    drop = f"M{num(SOURCE_X)} {num(y - 12)}c6 9 10 12 10 18a10 10 0 0 1 -20 0c0 -6 4 -9 10 -18z"
    source = svg.circle(SOURCE_X, y, 20, "er-source") + svg.path(drop, "er-drop")
    parts = [
        svg.stroke(SOURCE_X, y, x_end, y, "er-main"),
        svg.group(source, title=tr("Source: {source}", source=plan.source)),
    ]
    for place, said in enumerate(plan.assembly, start=1):
        ref = plan.refs.get(f"assembly {place}")
        x = SOURCE_X + 30 + pitch * (place - 0.5)
        body = svg.rect(x - box / 2, y - 22, box, 44, "er-box", round_=6)
        if ref is None:
            parts.append(svg.group(body, title=said))
            continue
        body += svg.text(x, y, str(ref.number), kind="er-number", anchor="middle")
        title = f"{ref.number}: {ref.label}"
        parts.append(svg.group(body, title=title, part=ref.number))
    x_said = 8.0
    parts.append(
        svg.text(x_said, main_y - 14, svg.fit(plan.source, max(x_end - 20, 120)), kind="er-halo")
    )
    return "".join(parts), x_end


def _wrapped(said: str, width: float) -> list[str]:
    """Return a sentence in lines no wider than `width` user units."""
    lines: list[str] = []
    for word in said.split(" "):
        if lines and svg.width_of(f"{lines[-1]} {word}") <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(svg.fit(word, width))
    return lines


def _paragraph(said: str, x: float, y: float, kind: str = "") -> tuple[str, float]:
    """Return wrapped words whose first line has its base at `y`, and the base of the next."""
    parts = []
    for line in _wrapped(said, WIDTH - x - 8):
        parts.append(svg.text(x, y, line, kind=kind))
        y += WORDS
    return "".join(parts), y


def _bars(plan: Plan, scale: Scale, y: float) -> str:
    """Return the scale bar; with two scales one each way."""
    # Two bars share the line.
    length = bar_length(scale.along, 190.0 if scale.equal else 140.0, plan.system)
    said = format_value(length, "length", plan.system)
    along = tr("{length} along the rows", length=said)
    wide = length * scale.along
    body = _bar(16.0, y, wide)
    if scale.equal:
        return body + svg.text(16 + wide + 12, y + 8, said)
    body += svg.text(16 + wide + 12, y + 8, along)
    high = bar_length(scale.across, 44.0, plan.system)
    tall = high * scale.across
    x = 16 + wide + 24 + svg.width_of(along)
    body += svg.path(
        f"M{num(x)} {num(y - tall / 2)}v{num(tall)}M{num(x - 7)} {num(y - tall / 2)}h14"
        f"M{num(x - 7)} {num(y + tall / 2)}h14",
        "er-scale",
    )
    across = tr("{length} across", length=format_value(high, "length", plan.system))
    return body + svg.text(x + 14, y + 8, across)


def _bar(x: float, y: float, wide: float) -> str:
    half = svg.rect(x, y - 4, wide / 2, 8, "er-scale-half")
    outline = f"M{num(x)} {num(y - 9)}v18M{num(x + wide)} {num(y - 9)}v18"
    box = f"M{num(x)} {num(y - 4)}h{num(wide)}v8h{num(-wide)}z"
    return half + svg.path(outline + box, "er-scale")


def key(plan: Plan, scale: Scale, name: str, top: float) -> tuple[str, float]:
    """Return scale bar, north arrow, key of the zones and notes, and where they end.

    Parameters
    ----------
    plan, scale
        What is drawn.
    name : str
        Start of the ids of the hatches.
    top : float
        Where there is room.
    """
    y = top + 30
    parts = [_bars(plan, scale, y)]
    if plan.bearing is not None:
        parts.append(marks.north(WIDTH - 56, y + 14, plan.bearing))
        y += 44
    y += 24
    for zone in plan.zones[:ZONES_LISTED]:
        y += LINE
        number = (zone.number - 1) % len(marks.HATCHES) + 1
        hatch = marks.hatch_id(name, zone.number)
        parts.append(svg.rect(16, y - 20, 40, 26, f"er-zone er-zone-{number}"))
        parts.append(svg.rect(16, y - 20, 40, 26, "er-hatched er-edged", fill=hatch))
        first, *more = _wrapped(f"Z{zone.number}: {zone_words(plan, zone)}", WIDTH - 76)
        parts.append(svg.text(68, y, first))
        if more:
            # A second line at most: the name of a crop may be as long as it likes.
            y += WORDS
            parts.append(svg.text(68, y, svg.fit(" ".join(more), WIDTH - 76)))
    if len(plan.zones) > ZONES_LISTED:
        y += LINE
        parts.append(
            svg.text(68, y, tr("and {count} more zones", count=len(plan.zones) - ZONES_LISTED))
        )
    y += LINE
    if plan.worst is not None:
        parts.append(svg.shape(3, 36, y - 7, 9, "er-worst"))
        body, y = _paragraph(worst_words(plan), 68, y)
        parts.append(body)
    if plan.cups:
        parts.append(svg.circle(36, y - 7, 5.5, "er-cup"))
        body, y = _paragraph(cup_words(plan), 68, y)
        parts.append(body)
    for said in notes(plan, scale):
        body, y = _paragraph(said, 16, y + 4, "er-soft")
        parts.append(body)
    return "".join(parts), y
