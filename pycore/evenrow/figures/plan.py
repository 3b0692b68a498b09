"""The plan of a field as SVG: to scale, numbered to the parts list, legible in one colour."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, pairwise
from math import inf

from evenrow.figures import plan_marks as marks
from evenrow.figures import svg
from evenrow.figures.plan_frame import assembly_strip, key
from evenrow.figures.plan_marks import HIT, Callout
from evenrow.figures.plan_model import Plan
from evenrow.figures.plan_scale import scale_of
from evenrow.figures.plan_sheet import Sheet
from evenrow.figures.plan_words import description, is_level, row_lengths, slope_words, spacing
from evenrow.figures.svg import WIDTH, num
from evenrow.units import format_value
from evenrow.words import tr

#: Left edge of the field with the header at the end of the rows, and with it across them.
LEFT, LEFT_INSIDE = 106.0, 102.0
#: Room at the right for zone numbers and the header's length; more with a slope along it.
RIGHT, RIGHT_SLOPE = 100.0, 130.0
#: Where the pipe from the head assembly runs, the numbers above the first line, that line.
MAIN_Y, TOP_BADGES, TOP = 96.0, 152.0, 204.0
#: The main runs beside the header at this distance; both in one trench in truth.
BESIDE = 32.0
#: Middle of the column of numbers at the left.
COLUMN = 24.0
#: A zone is shown this far beyond its outer lines at the most, and a header's end likewise.
PAD, TAIL = 9.0, 16.0
#: Take-offs and ends of lines are marked one by one up to this many lines.
MARKED = 150


def plan_drawing(plan: Plan, *, name: str = "plan") -> tuple[str, str]:
    """Draw the plan of a field.

    Parameters
    ----------
    plan : Plan
        What it shows; every number finite.
    name : str
        Start of the ids in the drawing, of its own on a page: small letters, digits, hyphens.

    Returns
    -------
    (str, str)
        An ``<svg>`` element in which each numbered part can be reached: ``data-part`` holds its
        line of the parts list; every text is escaped.  And what a person sees on it, in words.

    Raises
    ------
    ValueError
        A number that is not finite.
    """
    inside = any(row.header > 0.0 for row in plan.rows)
    right = WIDTH - (RIGHT_SLOPE if not is_level(plan.header_slope) else RIGHT)
    scale = scale_of(plan, LEFT_INSIDE if inside else LEFT, right, TOP)
    sheet = Sheet(plan, scale, name)
    strip, x_end = assembly_strip(plan, MAIN_Y)
    # Beside the field, or within it where the header is far from its edge.
    beside = max(COLUMN, float(sheet.crossings[1].min()) - 2.4 * BESIDE)
    column = beside if beside - 2 * COLUMN > scale.x(0.0) else COLUMN
    left, left_end = marks.column(_left_callouts(sheet), column, TOP_BADGES + 60)
    below, height = _below(sheet, max(sheet.bottom + 44, left_end + 24))
    body = "".join(
        [
            marks.hatches(name, len(plan.zones)),
            *_zones(sheet),
            *_obstacles(sheet),
            _lines(sheet),
            _breaks(sheet),
            _main(sheet, x_end),
            _headers(sheet),
            _links(sheet),
            strip,
            _cups(sheet),
            _worst(sheet),
            _right(sheet),
            _spacing(sheet),
            left,
            marks.row_of(_top_callouts(sheet), TOP_BADGES, LEFT_INSIDE, WIDTH - 30),
            below,
        ]
    )
    said = description(plan, scale)
    drawn = svg.drawing(body, kind="er-plan", height=height, name=name, title=plan.title, desc=said)
    return drawn, said


def _zones(sheet: Sheet) -> Iterator[str]:
    """Yield tint and hatch of every zone, in pieces of rows of one length."""
    scale, rows = sheet.scale, sheet.plan.rows
    # Two zones meet halfway between their outer lines, and rows of two lengths likewise.
    gaps = (after.lines[0] - row.lines[-1] for row, after in pairwise(rows))
    pad = min(PAD, 0.5 * scale.step * scale.across * min(gaps, default=inf))
    for zone in sheet.plan.zones:
        boxes = []
        members = sheet.rows_drawn(zone)
        for length, group in groupby(members, key=lambda row: row.length):
            alike = list(group)
            y1, y2 = scale.y(alike[0].lines[0]) - pad, scale.y(alike[-1].lines[-1]) + pad
            for x1, x2 in scale.pieces(0.0, length):
                boxes.append((x1, y1, x2 - x1, max(y2 - y1, 1.0)))
        hatch = marks.hatch_id(sheet.name, zone.number)
        number = (zone.number - 1) % len(marks.HATCHES) + 1
        body = "".join(
            svg.rect(*box, f"er-zone er-zone-{number}") + svg.rect(*box, "er-hatched", fill=hatch)
            for box in boxes
        )
        yield svg.group(
            body, title=tr("Zone {zone}", zone=zone.number), stop=False, zone=str(zone.number)
        )


def _obstacles(sheet: Sheet) -> Iterator[str]:
    for obstacle in sheet.plan.obstacles:
        x, y = sheet.header_at(obstacle.position), sheet.scale.y(obstacle.position)
        body = svg.circle(x, y, HIT, "er-hit") + svg.rect(x - 11, y - 9, 22, 18, "er-obstacle")
        yield svg.group(body, title=obstacle.label)


def _lines(sheet: Sheet) -> str:
    """Return the lines; where there are not too many, with their take-offs and ends."""
    scale = sheet.scale
    runs, starts, ends, beds = [], [], [], []
    for zone in sheet.plan.zones:
        for row in sheet.rows_drawn(zone):
            pieces = scale.pieces(0.0, row.length)
            tips = [
                scale.x(v) for v in (0.0, row.length) if abs(v - row.header) > 1e-3 * row.length
            ]
            x = scale.x(row.header)
            ys = sheet.lines(row)
            if len(ys) > 1:
                y1, tall = num(ys[0] - 4), num(ys[-1] - ys[0] + 8)
                beds += [f"M{num(x1)} {y1}H{num(x2)}v{tall}H{num(x1)}z" for x1, x2 in pieces]
            for y in ys:
                runs += [f"M{num(x1)} {num(y)}H{num(x2)}" for x1, x2 in pieces]
                starts.append(svg.circle(x, y, 3.5, "er-takeoff"))
                ends += [f"M{num(tip)} {num(y - 4)}v8" for tip in tips]
    body = svg.path("".join(beds), "er-bed") if beds else ""
    body += _named(sheet, "line", tr("Lines"), svg.path("".join(runs), "er-line"))
    if len(starts) <= MARKED:
        body += _named(
            sheet, "line cap", tr("Ends of the lines"), svg.path("".join(ends), "er-end")
        )
        body += _named(sheet, "take-off", tr("Take-offs"), "".join(starts))
    return body


def _named(sheet: Sheet, what: str, otherwise: str, body: str) -> str:
    """Return a part that the keyboard reaches by its number instead."""
    ref = sheet.plan.refs.get(what)
    if ref is None:
        return svg.group(body, title=otherwise, stop=False)
    return svg.group(body, title=f"{ref.number}: {ref.label}", part=ref.number, stop=False)


def _breaks(sheet: Sheet) -> str:
    y1, y2 = sheet.scale.top - PAD - 6, sheet.bottom + PAD + 6
    middles = [(sheet.scale.x(a) + sheet.scale.x(b)) / 2 for a, b in sheet.scale.breaks]
    return "".join(marks.break_mark(x, y1, y2) for x in middles)


def _main(sheet: Sheet, x_end: float) -> str:
    """Return the main: from the head assembly to the header line, and along it to the feeds."""
    plan, scale = sheet.plan, sheet.scale
    first = plan.rows[0].lines[0]
    arrives = first if plan.arrives is None else plan.arrives
    at = min(max(arrives, first), plan.rows[-1].lines[-1])
    feeds = [zone.feed for zone in plan.zones]
    beside = sheet.header_at(at) - BESIDE
    # It comes along the near ends of the rows, then along a row to the header.
    outer = min(beside, scale.x(0.0) - BESIDE)
    if at > min(feeds) + 1e-6:
        outer -= 14.0
    turn = scale.y(at) - (PAD + 7.0 if at <= first else 0.0)
    trunk = (
        f"M{num(x_end)} {num(MAIN_Y - 62)}h16V{num(MAIN_Y)}H{num(outer)}V{num(turn)}"
        f"H{num(beside)}V{num(scale.y(at))}"
    )
    along = sheet.header_way(min([at, *feeds]), max([at, *feeds]), BESIDE)
    middle = (x_end + 16 + outer) / 2
    said = tr("main {length}", length=format_value(plan.main_length, "length", plan.system))
    ref = plan.refs.get("main")
    parts = [_named(sheet, "main", tr("Main"), svg.path(trunk + along, "er-main"))]
    if ref is not None:
        parts.append(marks.badge(ref, middle, MAIN_Y))
    parts.append(svg.text(middle + 26, MAIN_Y + 27, said, kind="er-halo"))
    return "".join(parts)


def _headers(sheet: Sheet) -> str:
    """Return the headers, thicker where the bore is larger, each past its outer lines."""
    bores = sorted({piece.bore for zone in sheet.plan.zones for piece in zone.pieces})
    body = []
    for zone in sheet.plan.zones:
        for piece in zone.pieces:
            wide = min(bores.index(piece.bore) + 4 - min(len(bores), 3), 3)
            body.append(
                svg.path(sheet.header_way(piece.start, piece.end), f"er-header er-header-{wide}")
            )
        start, end = zone.pieces[0].start, zone.pieces[-1].end
        for place, feed in ((start, zone.feed <= start), (end, zone.feed >= end)):
            if not feed or start == end:
                x, y = sheet.header_at(place), sheet.scale.y(place)
                body.append(svg.stroke(x - 7, y, x + 7, y, "er-end"))
    return _named(sheet, "header", tr("Headers"), "".join(body))


def _links(sheet: Sheet) -> str:
    """Return the way from the main into each header, with its valve where there are several."""
    ref = sheet.plan.refs.get("valve")
    parts = []
    for zone in sheet.zones_marked():
        x, y = sheet.header_at(zone.feed), sheet.scale.y(zone.feed)
        parts.append(svg.stroke(x - BESIDE, y, x, y, "er-main"))
    if ref is not None:
        parts += [
            svg.group(
                marks.valve(sheet.header_at(zone.feed) - BESIDE / 2, sheet.scale.y(zone.feed)),
                title=tr(
                    "{number}: {part}, zone {zone}",
                    number=ref.number,
                    part=ref.label,
                    zone=zone.number,
                ),
                part=ref.number,
                stop=False,
            )
            for zone in sheet.zones_marked()
        ]
    return "".join(parts)


def _left_callouts(sheet: Sheet) -> list[Callout]:
    """Return the numbers of what lies at the header and at the first zone's feed."""
    refs, zone, last = sheet.plan.refs, sheet.plan.zones[0], sheet.plan.zones[-1]
    feed, x = sheet.scale.y(zone.feed), sheet.header_at(zone.feed)
    start, end = zone.pieces[0].start, zone.pieces[-1].end
    inside = end - 0.3 * (end - start)
    closed = last.pieces[-1].end
    places = {
        "tee": (x - BESIDE, feed),
        "elbow": (x - BESIDE, feed),
        "valve": (x - BESIDE / 2, feed),
        "reducer": (x, feed),
        "header": (sheet.header_at(inside), sheet.scale.y(inside)),
        "header cap": (sheet.header_at(closed), sheet.scale.y(closed)),
    }
    return [Callout(ref=refs[what], x=x, y=y) for what, (x, y) in places.items() if what in refs]


def _top_callouts(sheet: Sheet) -> list[Callout]:
    """Return the numbers of what belongs to every line, shown at the first."""
    refs, row, scale = sheet.plan.refs, sheet.plan.rows[0], sheet.scale
    y = sheet.lines(row)[0]
    start = sheet.header_x
    end = scale.x(row.length if row.header < 0.99 * row.length else 0.0)
    places = {
        "take-off": start,
        "line": start + 0.36 * (end - start),
        "anchor": start + 0.7 * (end - start),
        "line cap": end,
    }
    return [Callout(ref=refs[what], x=x, y=y) for what, x in places.items() if what in refs]


def _worst(sheet: Sheet) -> str:
    worst = sheet.plan.worst
    if worst is None:
        return ""
    row = sheet.plan.rows[worst.row]
    zone = next(zone for zone in sheet.plan.zones if zone.rows[0] <= worst.row < zone.rows[1])
    # Of a bed's lines the one farthest from the feed has the least.
    farthest = max(row.lines, key=lambda place: abs(place - zone.feed))
    x, y = sheet.scale.x(worst.along), sheet.scale.y(farthest)
    body = svg.circle(x, y, HIT, "er-hit") + svg.shape(3, x, y, 9, "er-worst")
    return svg.group(body, title=tr("Emitter with the least pressure, row {row}", row=row.number))


def _cups(sheet: Sheet) -> str:
    """Return where cups are set; lines too near to be told apart are drawn as one."""
    rows, scale = sheet.plan.rows, sheet.scale
    body = ""
    for cup in sheet.plan.cups:
        lines = sheet.lines(rows[cup.row])
        y = lines[min(cup.line, len(lines) - 1)]
        body += svg.circle(scale.x(cup.along), y, 5.5, "er-cup")
    return svg.group(body, title=tr("Cups for a check"), stop=False) if body else ""


def _right(sheet: Sheet) -> str:
    """Return the numbers of the zones, the header's length, and the fall along it."""
    scale, plan = sheet.scale, sheet.plan
    edge = max(scale.x(row.length) for row in plan.rows)
    parts = []
    for zone in sheet.zones_marked():
        said, y = f"Z{zone.number}", sheet.zone_middle(zone)
        wide = svg.width_of(said) + 6
        parts.append(svg.rect(edge + 12, y - 14, wide, 28, "er-tag", round_=5))
        parts.append(svg.text(edge + 12 + wide / 2, y, said, kind="er-number", anchor="middle"))
    beside = edge + 12 + max(svg.width_of(f"Z{z.number}") for z in plan.zones) + 22
    first, last = plan.rows[0].lines[0], plan.rows[-1].lines[-1]
    if last > first:
        said = format_value(last - first, "length", plan.system)
        parts.append(marks.upright_dimension(scale.y(first), scale.y(last), beside, said))
    fall = slope_words(plan.header_slope)
    if not is_level(plan.header_slope):
        parts.append(_upright_fall(sheet, beside + 48, fall))
    return "".join(parts)


def _upright_fall(sheet: Sheet, x: float, fall: str) -> str:
    middle = sheet.scale.top + sheet.scale.height / 2
    half = svg.width_of(fall) / 2
    y1, y2 = middle - half, middle + half
    if sheet.plan.header_slope > 0:
        y1, y2 = y2, y1
    line = marks.arrow(x - 8, y1, x - 8, y2)
    return line + svg.text(x, middle, fall, anchor="middle", turn=90.0)


def _spacing(sheet: Sheet) -> str:
    """Return the distance of rows, over so many of them that the words have room."""
    apart = spacing(sheet.plan)
    rows, scale = sheet.plan.rows, sheet.scale
    if apart is None or apart <= 0.0:
        return ""
    count = max(1, -int(-40.0 // (apart * scale.across)))
    if count >= len(rows) or abs(rows[count].middle - rows[0].middle - count * apart) > 1e-3:
        return ""
    said = format_value(apart, "length", sheet.plan.system)
    said = said if count == 1 else f"{count} × {said}"
    ends = (scale.x(0.0), sheet.header_x, scale.x(rows[0].length))
    # In the right arm where it is long enough, clear of a break in its middle and of the main.
    wide = svg.width_of(said) + 24
    low, high = (ends[1], ends[2]) if ends[2] - ends[1] > 1.4 * wide else (ends[0], ends[1] - 110)
    x = max(min(low + 0.62 * (high - low), high - wide), low + 8)
    y1, y2 = scale.y(rows[0].middle), scale.y(rows[count].middle)
    body = marks.arrow(x, (y1 + y2) / 2, x, y1, "er-dimension")
    body += marks.arrow(x, (y1 + y2) / 2, x, y2, "er-dimension")
    return body + svg.plate(x + 10, (y1 + y2) / 2 + 8, said)


def _below(sheet: Sheet, top: float) -> tuple[str, float]:
    """Return what stands below the field, and the height of the whole drawing."""
    scale, plan = sheet.scale, sheet.plan
    longest = max(plan.rows, key=lambda row: row.length)
    y = sheet.bottom + 42
    body = marks.level_dimension(scale.x(0.0), scale.x(longest.length), y, row_lengths(plan))
    fall = slope_words(plan.row_slope)
    if not is_level(plan.row_slope):
        x1, x2 = scale.x(0.0), scale.x(longest.length)
        middle, half = (x1 + x2) / 2, svg.width_of(fall) / 2
        a, b = (middle + half + 14, middle + half + 74)
        y += 38
        body += svg.text(middle, y, fall, anchor="middle")
        body += marks.arrow(*((a, y - 7, b, y - 7) if plan.row_slope < 0 else (b, y - 7, a, y - 7)))
    more, height = key(plan, scale, sheet.name, max(top, y + 14))
    return body + more, height
