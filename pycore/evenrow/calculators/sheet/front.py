"""The front of the field sheet: how to build it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from evenrow.calculators.sheet.paper import (
    AFTER,
    BREAKING,
    CELL,
    GUTTER,
    HEIGHT,
    NAME_MOST,
    ROW,
    WIDTH,
    Block,
    beside,
    lines_of,
    listed,
    noted,
    rest,
    shortened,
    table,
    text_width,
    titled,
    together,
)
from evenrow.catalogue.host import host_cautions
from evenrow.design.expected import Expected
from evenrow.design.instructions.holes import Hole, hole_positions, reducers
from evenrow.design.instructions.laying import cut_list
from evenrow.design.instructions.naming import cut_length, line_kind, row_list, tape_measure
from evenrow.design.line import spacing_note
from evenrow.design.model import Design
from evenrow.design.steps import assembly_names, assembly_steps, cautions, fineness_note
from evenrow.figures.from_design import plan_figure
from evenrow.figures.svg import WIDTH as UNITS
from evenrow.figures.svg import words
from evenrow.units import format_value
from evenrow.words import said, tr, tr_count

#: Widest and narrowest plan, and how high it may be before it is made narrower [mm]; at the
#: narrowest its letters are as large as the drawing leaves room for.
WIDEST, NARROWEST, TALLEST = 112.0, 88.0, 122.0
#: Letters of the plan: as large as those around it, and the largest that it is laid out for.
PLAN_LETTER, PLAN_MOST = 3.15, 22.0
#: Letters of the title [mm].
TITLE = 5.6
#: Bold letters are wider by about this.
BOLD = 1.1
#: Most lines of the title.
TITLE_LINES = 3
#: Rows of a table below which leaving some out saves nothing.
LEAST_ROWS = 1
#: A wider box of cautions has two columns [mm].
NARROW_CARE = 120.0
#: Where a group of holes is named: at least, and at most for long names [mm].
GROUP, GROUP_MOST = 36.0, 46.0
#: From the roomiest way to lay out the front to the closest: whether it says what each part of the
#: head is for, and the height that the list of cuts may take where the plan leaves none [mm].
WAYS = ((True, 42.0), (False, 42.0), (False, 0.0))
#: Most columns of pairs of row and distance.
MOST_PAIRS = 7

_VIEW = re.compile(r'viewBox="0 0 [0-9.]+ ([0-9.]+)"')


@dataclass(frozen=True, kw_only=True)
class _Holes:
    """The holes on one side of one zone's feed."""

    title: str
    pairs: tuple[tuple[str, str], ...]


def limits(found: Design) -> str:
    """Return what must not be overstepped in use, in one sentence each."""
    field, system = found.field, found.field.system
    emitter = field.line.device.emitter
    low, high = (
        format_value(head, "pressure", system) for head in (emitter.head_min, emitter.head_max)
    )
    told = [tr("Pressure in the lines: {low} to {high}, never more.", low=low, high=high)]
    set_head = found.candidate.assembly.set_head
    if set_head is not None:
        told.append(
            tr("Regulator: {set_head}.", set_head=format_value(set_head, "pressure", system))
        )
    if len(found.zones) > 1:
        told.append(tr("One zone at a time: the source does not carry two."))
    window = field.watering.window
    if window is not None:
        told.append(
            tr("All watering within {window} a day.", window=format_value(window, "hours", system))
        )
    return " ".join(told)


def _title_lines(name: str) -> int:
    lines = math.ceil(BOLD * text_width(name, TITLE) / (WIDTH - 62.0))
    # A long word may leave most of a line empty.
    return lines if lines == 1 else lines + 1


def heading(name: str, date: str, side: str, most_lines: int = TITLE_LINES) -> Block:
    """Return the strip at the top of a side: name, cut to so many lines, date, which side it is."""
    shown = shortened(name) or tr("Drip system")
    most = NAME_MOST
    while (lines := _title_lines(shown)) > most_lines:
        most -= 4
        shown = shortened(name, most)
    html = (
        f'<header><h1><bdi>{words(shown)}</bdi></h1><p class="side">{words(side)}'
        + (f"<br>{words(shortened(date, 40))}" if date else "")
        + "</p></header>"
    )
    return Block(html=html, height=4.6 + max(8.2, 6.6 * lines))


def _facts(found: Design) -> Block:
    field, system = found.field, found.field.system
    lines = sum(row.lines for row in field.rows)
    zones = len(found.zones)
    told = (
        tr(
            "{rows} rows, {lines} lines of {label}, an emitter every {spacing}.",
            rows=len(field.rows),
            lines=lines,
            label=tr(field.line.device.label),
            spacing=format_value(field.line.spacing, "spacing", system),
        ),
        tr_count(zones, "{count} zone.", "{count} zones."),
        tr("Header: {pipe}.", pipe=tr(found.candidate.header.label)),
        tr("Main: {pipe}.", pipe=tr(found.candidate.main.label)),
    )
    both = together((noted(" ".join(told), WIDTH), noted(limits(found), WIDTH / BOLD)))
    return Block(html=f'<div class="facts">{both.html}</div>', height=both.height + AFTER)


def warnings(found: Design, width: float) -> Block:
    """Return every caution and warning that goes with the design, none ever left out."""
    field = found.field
    told = [
        *cautions(field.source_kind, injection=field.injection),
        *host_cautions(),
        *filter(
            None,
            (
                spacing_note(field.line.device, field.line.spacing, field.system),
                fineness_note(field.line.device, field.source_kind),
            ),
        ),
    ]
    # Across the whole page they stand in two columns, each about half as high.
    two = width > NARROW_CARE
    wide = (width - GUTTER - 6.0) / 2 if two else width - 6.0
    heights = [listed((text,), wide).height for text in told]
    cut = len(told)
    if two:
        cut = min(range(len(told) + 1), key=lambda i: max(sum(heights[:i]), sum(heights[i:])))
    body = beside(listed(told[:cut], wide), listed(told[cut:], wide))
    box = Block(html=f'<div class="care">{body.html}</div>', height=body.height + 2.6)
    return titled(tr("Take care; your local code comes first"), box)


def plan(found: Design) -> tuple[Block, float]:
    """Return the plan as it goes on the paper, and its width [mm]."""
    drawn = plan_figure(found).svg
    size = _VIEW.search(drawn)
    assert size is not None  # every drawing has its size
    ratio = float(size[1]) / UNITS
    wide = min(WIDEST, max(NARROWEST, TALLEST / ratio))
    letter = min(PLAN_MOST, PLAN_LETTER * UNITS / wide)
    html = f'<div class="plan" style="width:{wide:.1f}mm;--letter:{letter:.1f}px">{drawn}</div>'
    return Block(html=html, height=wide * ratio + AFTER), wide


def assembly(found: Design, width: float, *, reasons: bool) -> Block:
    """Return the head assembly in its order, where there is room with what each part is for."""
    steps = assembly_steps(found) if reasons else assembly_names(found)
    return titled(tr("Head, in this order"), listed(steps, width, ordered=True))


def _same_cuts(expected: Expected) -> list[tuple[tuple[int, ...], int, float]]:
    """Return rows, pieces and length of each kind of cut; zones do not matter for the knife."""
    kept: list[tuple[tuple[int, ...], int, float]] = []
    for cut in cut_list(expected):
        if kept:
            rows, pieces, length = kept[-1]
            same = pieces * len(cut.rows) == cut.pieces * len(rows)
            if same and length == cut.length and set(rows).isdisjoint(cut.rows):
                kept[-1] = (rows + cut.rows, pieces + cut.pieces, length)
                continue
        kept.append((cut.rows, cut.pieces, cut.length))
    return kept


def cuts(expected: Expected, width: float, room: float) -> Block:
    """Return which pieces of line to cut for which rows, as many rows as there is room for [mm]."""
    system = expected.found.field.system
    rows = [
        (row_list(cut), f"{pieces} ×", cut_length(length, system))
        for cut, pieces, length in _same_cuts(expected)
    ]
    widths = (width - 43.0, 16.0, 27.0)
    note = noted(tr("Allowance for take-off and end included."), width)

    def made(count: int) -> Block:
        left = rest(
            len(rows) - count,
            said("… and {count} more lines: see “{where}” in the full answer."),
            tr("What to cut for which row"),
            width,
        )
        shown = table((tr("For"), tr("Pieces"), tr("Cut each")), rows[:count], widths, right=(1, 2))
        kind = line_kind(expected.found.field.line.device.kind)
        return titled(tr("Cut the {kind}", kind=kind), together((shown, note, left)))

    return fitted(made, len(rows), room, least=LEAST_ROWS)


def fitted(made: Callable[[int], Block], count: int, room: float, *, least: int) -> Block:
    """Return the block with the most of `count` entries that fits the room [mm].

    Parameters
    ----------
    made : callable
        Gives the block with so many entries; its height grows with them.
    count : int
        How many there are.
    room : float
        Height that the block may take [mm].
    least : int
        So many are shown at least.
    """
    low, high = min(least, count), count
    if made(high).height <= room:
        return made(high)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if made(middle).height <= room else (low, middle - 1)
    return made(low)


def _holes(expected: Expected) -> list[_Holes]:
    system = expected.found.field.system
    several = len(expected.found.zones) > 1
    smaller = {(h.zone, h.row, h.line) for h in reducers(expected)}
    lined = any(row.lines > 1 for row in expected.found.field.rows)
    tees = {network.layout.number: network.layout.tee for network in expected.zones}

    def pair(hole: Hole) -> tuple[str, str]:
        name = f"{hole.row}/{hole.line}" if lined else str(hole.row)
        marks = ("*" if (hole.zone, hole.row, hole.line) in smaller else "") + (
            " ×2" if hole.holes > 1 else ""
        )
        far = tape_measure(hole.distance, system)
        if system == "metric":
            # The unit stands at the head of the column.
            far = far.removesuffix("m").rstrip()
        return name, far + marks

    found = []
    for (zone, side), holes in groupby(
        hole_positions(expected), key=lambda hole: (hole.zone, hole.side)
    ):
        way = tr("to the last row") if side > 0 else tr("to the first row")
        way = way if tees[zone] else tr("along the header")
        title = (
            tr("Zone {zone}, {way}", zone=zone, way=way) if several else way[0].upper() + way[1:]
        )
        found.append(_Holes(title=title, pairs=tuple(map(pair, holes))))
    return found


def _group_width(groups: Sequence[_Holes]) -> float:
    """Return how wide the column is in which groups are named [mm]."""
    longest = BREAKING * max(text_width(group.title) for group in groups) + CELL
    return min(max(GROUP, longest), GROUP_MOST)


def _hole_table(groups: Sequence[_Holes], columns: int, head: tuple[str, str]) -> Block:
    """Return the distances as columns of pairs, each group read along its lines."""
    named = _group_width(groups)
    wide = (WIDTH - named) / columns
    own = max(text_width(name) for group in groups for name, _ in group.pairs)
    # Names and titles are bold.
    own = min(BOLD * max(own, text_width(head[0])) + CELL, wide / 2)
    cols = f'<col style="width:{own:.1f}mm"><col style="width:{wide - own:.1f}mm">' * columns
    name, far = map(words, head)
    titles = f'<th scope="col" class="name">{name}</th><th scope="col">{far}</th>' * columns
    body, lines = "", 1
    for group in groups:
        deep = -(-len(group.pairs) // columns)
        tall = max(deep, lines_of(group.title, named - CELL))
        for line in range(deep):
            part = group.pairs[line * columns : (line + 1) * columns]
            cells = [*part, *[("", "")] * (columns - len(part))]
            title = f'<th scope="rowgroup" rowspan="{deep}">{words(group.title)}</th>'
            body += (
                f"<tr>{title if line == 0 else ''}"
                + "".join(
                    f'<td class="name">{words(name)}</td><td class="far">{words(far)}</td>'
                    for name, far in cells
                )
                + "</tr>"
            )
        lines += tall
    html = (
        f'<table class="pairs"><colgroup><col style="width:{named:.1f}mm">{cols}</colgroup>'
        f'<thead><tr><th scope="col">{words(tr("From the feed"))}</th>{titles}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )
    return Block(html=html, height=ROW * lines)


def _first(groups: Sequence[_Holes], count: int) -> list[_Holes]:
    """Return the groups with the first `count` of their pairs."""
    kept = []
    for group in groups:
        if count <= 0:
            break
        kept.append(_Holes(title=group.title, pairs=group.pairs[:count]))
        count -= len(group.pairs)
    return kept


def punching(expected: Expected, room: float) -> Block:
    """Return where the header is punched, as many holes as there is room for [mm]."""
    groups = _holes(expected)
    pairs = [pair for group in groups for pair in group.pairs]
    lined = any("/" in name for name, _ in pairs)
    metric = expected.found.field.system == "metric"
    head = (tr("Row"), tr("metres") if metric else tr("Distance"))
    longest = max(text_width(name) for name, _ in [*pairs, head])
    longest += max(text_width(far) for _, far in [*pairs, head]) + 2 * CELL
    most = max(1, min(MOST_PAIRS, int((WIDTH - _group_width(groups)) // longest)))
    # The fewest lines, and of those ways the one with the widest columns.
    columns = min(
        range(1, most + 1),
        key=lambda count: (sum(-(-len(group.pairs) // count) for group in groups), count),
    )
    notes = [
        tr(
            "Leave the tape measure hooked at the feed for a whole side: each distance is from "
            "there, none from the hole before."
        )
    ]
    if lined:
        notes.append(tr("3/2 is row 3, line 2."))
    if any(hole.at_fitting for hole in hole_positions(expected)):
        notes.append(tr("A hole that falls on the fitting goes close beside it."))
    if any("×2" in far for _, far in pairs):
        notes.append(tr("×2: a hole to each side."))
    if any("*" in far for _, far in pairs):
        notes.append(tr("*: just beyond it the header goes on in smaller pipe."))
    note = " ".join(notes)

    def made(count: int) -> Block:
        shown = _hole_table(_first(groups, count), columns, head)
        left = rest(
            len(pairs) - count,
            said("… and {count} more holes: see “{where}” in the full answer."),
            tr("Where to punch the header"),
            WIDTH,
        )
        return titled(tr("Punch the header"), together((noted(note, WIDTH), shown, left)))

    return fitted(made, len(pairs), room, least=columns)


def _upper(
    found: Design, expected: Expected, *, reasons: bool, care: bool, cutting: float
) -> Block:
    """Return the plan with what stands beside it; the cautions there too, or below."""
    drawn, wide = plan(found)
    narrow = WIDTH - wide - GUTTER
    first = [assembly(found, narrow, reasons=reasons)]
    if care:
        first.insert(0, warnings(found, narrow))
    room = drawn.height - sum(block.height for block in first)
    right = together((*first, cuts(expected, narrow, max(room, cutting))))
    html = (
        f'<div class="drawn"><div>{drawn.html}</div>'
        f'<div style="width:{narrow:.1f}mm">{right.html}</div></div>'
    )
    both = Block(html=html, height=max(drawn.height, right.height))
    return both if care else together((both, warnings(found, WIDTH)))


def front(found: Design, expected: Expected, name: str, date: str) -> Block:
    """Return the front of the sheet.

    Parameters
    ----------
    found : Design
        The finished design.
    expected : Expected
        The same, ready to be measured.
    name, date : str
        As they shall stand at the top, "" for none.
    """
    top = together((heading(name, date, tr("Field sheet, front: build it")), _facts(found)))
    room = HEIGHT - top.height
    wanted = punching(expected, math.inf).height
    for reasons, cutting in WAYS:
        ways = [
            _upper(found, expected, reasons=reasons, care=care, cutting=cutting)
            for care in (True, False)
        ]
        upper = min(ways, key=lambda block: block.height)
        # What each part is for gives way to where the holes are.
        if upper.height + wanted <= room:
            break
    return together((top, upper, punching(expected, room - upper.height)))
