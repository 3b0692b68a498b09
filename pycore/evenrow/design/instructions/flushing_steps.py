"""Flushing and closing in words."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.design.expected import Expected
from evenrow.design.instructions.flushing import ZoneFlush, flush_plans
from evenrow.design.instructions.naming import line_kind, order_of_ends
from evenrow.design.model import Design
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

#: Where the velocity and the order come from.
SOURCE = said(
    "1 ft/s at the open end: maintenance guides of the University of California; closing the ends "
    "nearest the source first: common practice, no source"
)


_BEYOND = said(
    "This takes more water than the source's curve reaches to: if the ends run weakly, close some "
    "and take them in turns."
)


def zone_list(zones: Sequence[int]) -> str:
    """Return zone numbers as words: ``Zone 1``, ``Zones 1, 2, 5``."""
    listed = ", ".join(str(zone) for zone in zones)
    return tr("Zones {zones}", zones=listed) if len(zones) > 1 else tr("Zone {zone}", zone=listed)


def _speed(value: float, system: UnitSystem) -> str:
    return format_value(value, "velocity", system, 2)


def _start(flush: ZoneFlush, system: UnitSystem) -> str:
    least = _speed(FLUSH_VELOCITY, system)
    count = len(flush.ends)
    if flush.running == 0:
        return tr(
            "With all {count} ends open none of them would reach {least}.", count=count, least=least
        )
    return tr(
        "With all {count} ends open only {running} of them would reach {least}.",
        count=count,
        running=flush.running,
        least=least,
    )


def _order_words(flush: ZoneFlush) -> str:
    if flush.order:
        return order_of_ends(flush.order, flush.ends)
    if all(len(group) == 1 for group in flush.groups):
        # They stand from the feed outward, which needs no list.
        return tr("those nearest the feed first, the farthest last")
    return tr(", then ").join(order_of_ends(group, flush.ends) for group in flush.groups)


def _lines_step(alike: Sequence[ZoneFlush], system: UnitSystem, *, several: bool) -> str:
    """Return how the lines of zones solved together are flushed."""
    flush = alike[0]
    least = _speed(FLUSH_VELOCITY, system)
    words = [f"{zone_list([each.zone for each in alike])}:"] if several else []
    if flush.all_run:
        words.append(
            tr(
                "All {ends} ends can be open at once, and even the slowest runs at "
                "{slowest} or faster ({least} is enough). Let each run clear for a "
                "minute, then close them, those nearest the feed first, the farthest "
                "last.",
                ends=len(flush.ends),
                slowest=_speed(flush.slowest, system),
                least=least,
            )
        )
        return " ".join([*words, tr(_BEYOND)] if flush.beyond_source else words)
    words.append(_start(flush, system))
    if not flush.order and not flush.groups and not flush.stuck:
        words.append(
            tr(
                "Close the ends nearest the feed first and go outward: the water then "
                "reaches the next ones. Open again, a few at a time, any that never "
                "ran strongly."
            )
        )
        return " ".join(words)
    if flush.order:
        words.append(
            tr(
                "Let the strongest run clear, close it, and go on with the next; the "
                "last {together} then run together. Order of closing:",
                together=flush.together,
            )
        )
    elif flush.groups:
        most = max(len(group) for group in flush.groups)
        words.append(
            tr("Cap them all, then open one end at a time, let it run clear and cap it:")
            if most == 1
            else tr(
                "Cap them all, then open at most {most} at a time, let them run clear "
                "and cap them before you open the next:",
                most=most,
            )
        )
    if flush.order or flush.groups:
        own = [
            tr("in zone {zone} {order}", zone=each.zone, order=_order_words(each)) for each in alike
        ]
        words.append(("; ".join(own) if several else _order_words(flush)) + ".")
    if flush.order and not flush.nearest_first:
        words.append(
            tr("Here the ends nearest the feed are not the strongest, because of the ground.")
        )
    if flush.stuck:
        stuck = ", ".join(order_of_ends(each.stuck, each.ends) for each in alike)
        words.append(
            tr(
                "Not even alone does this reach {least}: {stuck}. Leave each of these "
                "open for several minutes, and flush them more often.",
                least=least,
                stuck=stuck,
            )
        )
    return " ".join(words)


def _header_step(plans: Sequence[ZoneFlush | None], system: UnitSystem, *, tee: bool) -> str:
    text = (
        tr(
            "Before you punch the header, open each of its ends in turn, let it run "
            "clear, then cap it."
        )
        if tee
        else tr("Before you punch the header, open its end, let it run clear, then cap it.")
    )
    known = [plan.header_velocity for plan in plans if plan is not None]
    speeds = [speed for speed in known if speed is not None]
    if not speeds or len(speeds) < len(plans):
        return text
    slowest, least = min(speeds), _speed(FLUSH_VELOCITY, system)
    if slowest >= FLUSH_VELOCITY:
        speed = tr(
            "The water leaves it at {slowest} or faster; {least} is enough.",
            slowest=_speed(slowest, system),
            least=least,
        )
    else:
        speed = tr(
            "The water leaves it at only {slowest}, less than the {least} that "
            "takes fine dirt along: leave it open for several minutes.",
            slowest=_speed(slowest, system),
            least=least,
        )
    return f"{text} {speed}"


def flushing_steps(found: Design, expected: Expected | None = None) -> tuple[str, ...]:
    """Return the order of flushing and re-capping for this design.

    Parameters
    ----------
    found : Design
        The finished design.
    expected : Expected, optional
        Its zones, if they are at hand; made from `found` otherwise.

    Returns
    -------
    tuple of str
        Main, header, lines zone by zone, and what follows; each count of ends is solved.
    """
    expected = Expected(found) if expected is None else expected
    plans = flush_plans(expected)
    system = found.field.system
    several = len(plans) > 1
    alike: dict[int, list[ZoneFlush]] = {}
    for plan in plans:
        if plan is not None:
            alike.setdefault(plan.solved, []).append(plan)
    header = _header_step(plans, system, tee=any(n.layout.tee for n in expected.zones))
    go_on = tr("Go on zone by zone, the zone nearest the source first.")
    steps = [
        tr("Flush the main first: open it at its far end, let it run clear, close it."),
        f"{go_on} {header}" if several else header,
        tr(
            "Punch the header, join the {kind} to it and leave every end open; stand "
            "clear of the ends when the water comes.",
            kind=line_kind(found.field.line.device.kind),
        ),
        *(_lines_step(same, system, several=several) for same in alike.values()),
    ]
    unknown = [
        network.layout.number
        for network, plan in zip(expected.zones, plans, strict=True)
        if plan is None
    ]
    if unknown:
        steps.append(
            tr(
                "{zones}: if not every end runs, close the ends nearest the feed first and go "
                "outward.",
                zones=zone_list(unknown),
            )
        )
    steps.append(
        tr(
            "Clean the filter: the first hours bring the dirt of building. Clean it "
            "again after the first day."
        )
    )
    return tuple(steps)
