"""What a meter, gauges and cups should show, with boxes to write in what they do show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenrow.calculators.sheet.front import fitted
from evenrow.calculators.sheet.paper import (
    GUTTER,
    WIDTH,
    Block,
    beside,
    noted,
    rest,
    table,
    titled,
    together,
)
from evenrow.calculators.zones import row_span
from evenrow.design.expected import Expected
from evenrow.design.instructions.commissioning import (
    AFTER_FILTER,
    AFTER_REGULATOR,
    AT_HEADER,
    BEFORE_FILTER,
    FAR_END,
    CupCheck,
    FlowCheck,
    GaugeCheck,
    cup_checks,
    flow_checks,
    gauge_checks,
)
from evenrow.units import UnitSystem, format_value, to_unit
from evenrow.words import said, tr

HALF = (WIDTH - GUTTER) / 2
#: Columns of the two tables [mm].
_GAUGES, _CUPS = (HALF - 53.0, 35.0, 18.0), (HALF - 43.0, 24.0, 19.0)
_READING = said(
    "Filter clean, ten minutes after opening. ±: what emitters and instruments may be off."
)
_CUPS_READ = said(
    "Cups: the mean of those at a place. Off by more: look for a leak, a plug, a kink or a "
    "regulator that does not hold, before anything is buried."
)
_HEAD = (said("Should be"), said("Measured"))
_TUBE = said("Pressure: hold a clear tube upright, measure how high the water stands.")


@dataclass(frozen=True, kw_only=True)
class _Line:
    """One expected figure: what is looked at, what it should be, and how soon it is left out."""

    what: str
    should: str
    rank: int


def _give(value: str, tolerance: str) -> str:
    """Return a value with what it may be off by; a unit that both have is said once."""
    number, _, unit = value.partition("\N{NO-BREAK SPACE}")
    return f"{number if tolerance.endswith(unit) else value} ± {tolerance}"


def _meter(check: FlowCheck, system: UnitSystem) -> list[_Line]:
    off = format_value(check.tolerance, "share", system, 2)
    flow = format_value(check.clean, "flow", system)
    return [_Line(what=tr("Flow at meter"), should=_give(flow, off), rank=0)]


#: Which gauge is left out last.
_RANKS = {
    FAR_END: 1,
    AFTER_REGULATOR: 2,
    AT_HEADER: 3,
    BEFORE_FILTER: 4,
    AFTER_FILTER: 5,
}


def _gauge(check: GaugeCheck, system: UnitSystem) -> _Line:
    # Small heads are read at a clear tube, as a height of water.
    kind = "spacing" if check.scale is None else "pressure"
    value, off = (
        format_value(check.clean, kind, system),
        format_value(check.tolerance, kind, system, 2),
    )
    rank = _RANKS.get(check.spot, 6)
    place = check.place[0].upper() + check.place[1:]
    return _Line(what=place, should=_give(value, off), rank=rank)


def _cup(check: CupCheck) -> _Line:
    volume = to_unit(check.volume, "volume", "mL")
    should = f"{volume:.0f} mL ± {volume * check.tolerance:.0f} mL".replace(" mL", "\u00a0mL")
    what = f"{check.row[0].upper()}{check.row[1:]}: {check.place}"
    return _Line(what=what, should=should, rank=0 if check.last else 1)


def _kept(lines: Sequence[_Line], most: int) -> list[tuple[str, str, str]]:
    """Return the lines that are left out last, in the order of all."""
    last = sorted(range(len(lines)), key=lambda i: (lines[i].rank, i))[:most]
    return [(lines[i].what, lines[i].should, "") for i in sorted(last)]


def measuring(expected: Expected, room: float) -> Block:
    """Return the figures to expect with room for those measured, as many as there is room for."""
    found = expected.found
    system = found.field.system
    flows = flow_checks(expected)
    gauges = gauge_checks(expected)
    cups, time = cup_checks(expected)
    tube = gauges[0].scale is None
    zones = [
        (
            zone,
            [
                *_meter(flow, system),
                *(_gauge(g, system) for g in gauges if g.zone == flow.zone),
            ],
            [_cup(c) for c in cups if c.zone == flow.zone],
        )
        for zone, flow in zip(found.zones, flows, strict=True)
    ]
    several = len(zones) > 1
    cup_title = tr("Cups, after {time}", time=format_value(time, "duration", system))
    reading = (_READING, _TUBE, _CUPS_READ) if tube else (_READING, _CUPS_READ)
    note = noted(" ".join(tr(text) for text in reading), WIDTH)
    head = tuple(tr(text) for text in _HEAD)

    def made(most: int, count: int) -> Block:
        gauge_rows: list[tuple[str, ...]] = []
        cup_rows: list[tuple[str, ...]] = []
        for zone, left, right in zones[:count]:
            number = zone.layout.number
            own: list[tuple[str, ...]] = list(_kept(left, most))
            if several and most > 1:
                span = row_span(found.field.rows, *zone.layout.rows)
                gauge_rows.append((tr("Zone {zone}, rows {span}", zone=number, span=span),))
            elif several:
                own = [
                    (tr("Zone {zone}: {what}", zone=number, what=what.lower()), *more)
                    for what, *more in own
                ]
            gauge_rows += own
            # A row is in one zone only, so that cups need no further name.
            cup_rows += _kept(right, most)
        both = beside(
            table((tr("Meter and gauges"), *head), gauge_rows, _GAUGES, written=2),
            table((cup_title, *head), cup_rows, _CUPS, written=2),
        )
        hidden = sum(len(a) + len(b) for _, a, b in zones) - sum(
            min(most, len(a)) + min(most, len(b)) for _, a, b in zones[:count]
        )
        left_out = rest(
            hidden,
            said("… and {count} more figures: see “{where}” in the full answer."),
            tr("What you should measure"),
            WIDTH,
        )
        return titled(tr("What you should measure"), together((note, both, left_out)))

    full = max(max(len(a), len(b)) for _, a, b in zones)
    for most in range(full, 0, -1):
        block = made(most, len(zones))
        if block.height <= room:
            return block
    return fitted(lambda count: made(1, count), len(zones), room, least=1)
