"""The back of the field sheet: start it, measure it, water with it."""

from __future__ import annotations

import math

from evenrow.calculators.parts_text import total_text
from evenrow.calculators.sheet.code import code_block
from evenrow.calculators.sheet.front import fitted, heading
from evenrow.calculators.sheet.measuring import measuring
from evenrow.calculators.sheet.paper import (
    GUTTER,
    HEIGHT,
    TEXT_MOST,
    WIDTH,
    Block,
    beside,
    listed,
    noted,
    rest,
    shortened,
    table,
    titled,
    together,
)
from evenrow.catalogue.host import host
from evenrow.design.expected import Expected
from evenrow.design.hours import watering_times
from evenrow.design.instructions.flushing_steps import flushing_steps
from evenrow.design.model import Design
from evenrow.design.parts.rules import SPARES
from evenrow.units import format_value
from evenrow.words import said, tr

#: Columns of the upper half [mm].
LEFT = 108.0
RIGHT = WIDTH - LEFT - GUTTER
#: Shares of the hottest day's water on the timer card.
SHARES = (1.0, 0.75, 0.5, 0.25)

#: Shares of the page that flushing and the timer card may take.
FLUSH_SHARE, TIMER_SHARE = 0.40, 0.35
#: Steps of flushing before those of the zones, and behind them.
FRAME = (3, 1)
#: A step is cut to this, not further. [characters]
LEAST_STEP = 220


def _flushing(expected: Expected, room: float) -> Block:
    """Return the order of flushing and closing; long orders of ends are cut with a word."""
    steps = flushing_steps(expected.found, expected)

    # Those of the zones stand between three for main and header and one for the filter.
    own = len(steps) - sum(FRAME)

    def made(most: int, zones: int = own) -> Block:
        kept = [*steps[: FRAME[0] + zones], *steps[-FRAME[1] :]]
        shown = listed([_cut(step, most) for step in kept], LEFT, ordered=True)
        left = rest(
            own - zones,
            said("… and {count} more steps for other zones: see “{where}” in the full answer."),
            tr("Flush and close"),
            LEFT,
        )
        return titled(tr("Flush, then close"), together((shown, left)))

    longest = min(TEXT_MOST, max(map(len, steps)))
    if made(LEAST_STEP).height <= room:
        return fitted(made, longest, room, least=LEAST_STEP)
    return fitted(lambda zones: made(LEAST_STEP, zones), own, room, least=1)


def _cut(step: str, most: int) -> str:
    if len(step) <= most:
        return step
    kept, _, _ = step[:most].rpartition(",")
    return tr(
        "{kept} … (all of it: see “{where}” in the full answer)",
        kept=kept,
        where=tr("Flush and close"),
    )


def clock(time: float) -> str:
    """Return a time [s] as a timer takes it, in whole minutes, never too short."""
    minutes = math.ceil(time / 60.0 - 1e-6)
    hours, rest_ = divmod(minutes, 60)
    return (
        f"{hours}\N{NO-BREAK SPACE}h\N{NO-BREAK SPACE}{rest_:02}"
        if hours
        else (f"{minutes}\N{NO-BREAK SPACE}min")
    )


def _timer(found: Design, room: float) -> Block:
    """Return how long each zone runs on the hottest day, and on days that need less."""
    field, system = found.field, found.field.system
    times = watering_times(field, found.zones)
    depth = format_value(field.watering.depth, "water_depth", system)
    rows = [
        (tr("Zone {zone}", zone=zone.layout.number), *(clock(time * share) for share in SHARES))
        for zone, time in zip(found.zones, times, strict=True)
    ]
    if len(rows) > 1:
        rows.append((tr("Together"), *(clock(sum(times) * share) for share in SHARES)))
    note = tr(
        "100 %: the hottest day, {depth} of water. Set less when it is cooler: "
        "where the ground a finger deep stays wet, take the next column.",
        depth=depth,
    )
    head = ("", *(format_value(share, "share", system) for share in SHARES))
    widths = (19.0, *(((RIGHT - 19.0) / len(SHARES),) * len(SHARES)))

    def made(count: int) -> Block:
        # The sum is always shown: it says whether the day is long enough.
        shown = [*rows[: count - 1], rows[-1]]
        left = rest(
            len(rows) - count,
            said("… and {count} more zones: see “{where}” in the full answer."),
            tr("How long to water"),
            RIGHT,
        )
        body = (table(head, shown, widths, right=(1, 2, 3, 4)), left, noted(note, RIGHT))
        return titled(tr("Timer card: each day"), together(body))

    return fitted(made, len(rows), room, least=2 if len(rows) > 1 else 1)


def _parts(found: Design, room: float) -> Block:
    """Return the main lines of the parts list, numbered as on the plan."""
    # Spares are not built in, so they have no number on the plan.
    main = [part for part in found.parts.parts if part.group != SPARES]
    spares = len(found.parts.parts) - len(main)

    def line(number: int) -> tuple[str, str, str]:
        part = main[number]
        name = part.label
        if part.length is not None:
            length = format_value(part.length, "length", found.field.system, 4)
            name = tr("{part} of {length}", part=name, length=length)
        unit = "\u00a0m" if part.product.unit == "metre" else ""
        return str(part.number), f"{part.count}{unit}", name

    rows = [line(i) for i in range(len(main))]

    def made(count: int) -> Block:
        shown = table(
            (tr("No."), tr("Buy"), tr("Part")), rows[:count], (9.0, 17.0, LEFT - 26.0), right=(1,)
        )
        hidden = len(main) - count
        note = tr("Total: {total}. Numbers as on the plan.", total=total_text(found.parts))
        if hidden or spares:
            note += f" {_left_out(hidden, spares)}"
        return titled(tr("Parts"), together((shown, noted(note, LEFT))))

    return fitted(made, len(rows), room, least=2)


def _left_out(hidden: int, spares: int) -> str:
    """Return how many lines of the parts list, and of spares, are not on the sheet."""
    where = tr("Parts")
    if not spares:
        return tr(
            "Not shown here: {hidden} more lines; see “{where}” in the full answer.",
            hidden=hidden,
            where=where,
        )
    if not hidden:
        return tr(
            "Not shown here: {spares} lines of spares; see “{where}” in the full answer.",
            spares=spares,
            where=where,
        )
    return tr(
        "Not shown here: {hidden} more lines and {spares} lines of spares; see “{where}” in the "
        "full answer.",
        hidden=hidden,
        spares=spares,
        where=where,
    )


def back(found: Design, expected: Expected, name: str, date: str, link: str) -> Block:
    """Return the back of the sheet.

    Parameters
    ----------
    found : Design
        The finished design.
    expected : Expected
        The same, ready to be measured.
    name, date : str
        As they shall stand at the top, "" for none.
    link : str
        Address that opens the design, "" for none.
    """
    top = heading(name, date, tr("Field sheet, back: start and run it"), most_lines=1)
    small = noted(
        tr(
            "Worked out for generic lines, pipes and parts; check it against what you "
            "have bought. Prices: {catalogue}.",
            catalogue=shortened(found.parts.catalogue, 120),
        ),
        WIDTH,
    )
    keeper = host()
    if keeper and keeper.contact:
        small = together((small, noted(f"{keeper.name}: {keeper.contact}", WIDTH)))
    flush = _flushing(expected, FLUSH_SHARE * HEIGHT)
    upper = beside(flush, _timer(found, max(flush.height, TIMER_SHARE * HEIGHT)), "uneven")
    code = titled(tr("This design"), code_block(link, RIGHT))
    room = HEIGHT - top.height - upper.height - small.height
    measured = measuring(expected, room - max(code.height, _parts(found, 0.0).height))
    lower = beside(_parts(found, room - measured.height), code, "uneven")
    return together((top, upper, measured, lower, small))
