"""Walking the system once it runs: what to look at, zone by zone."""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.design.expected import Expected
from evenrow.design.instructions.naming import line_kind
from evenrow.design.model import Design
from evenrow.words import tr


@dataclass(frozen=True, kw_only=True)
class ZoneWalk:
    """What there is to look at in one zone, counted from the layout.

    `rows` are the numbers of the first and the last row; `walk` is the way along every line
    and the header once [m].
    """

    zone: int
    rows: tuple[int, int]
    takeoffs: int
    ends: int
    emitters: int
    walk: float


def zone_walks(expected: Expected) -> tuple[ZoneWalk, ...]:
    """Return what there is to look at in each zone."""
    found = []
    for network in expected.zones:
        ends = network.ends
        counts = [network.laterals[int(kind)].count for kind in network.kinds]
        ways = [end.way for end in ends] + [0.0]
        found.append(
            ZoneWalk(
                zone=network.layout.number,
                rows=(ends[0].row, ends[-1].row),
                takeoffs=len(ends),
                ends=len(ends) + network.layout.header_ends,
                emitters=sum(counts),
                walk=sum(end.length for end in ends) + max(ways) - min(ways),
            )
        )
    return tuple(found)


def walking_steps(found: Design) -> tuple[str, ...]:
    """Return what to look at on the way, in the order of the water (common practice, no source)."""
    kind = line_kind(found.field.line.device.kind)
    several = len(found.zones) > 1
    guarded = any("backflow" in part.kind for part in found.candidate.assembly.parts)
    steps = [
        tr(
            "Run one zone at a time, each ten minutes before you walk: lines fill, air "
            "leaves, leaks show."
        )
        if several
        else tr("Let it run ten minutes before you walk: lines fill, air leaves, leaks show."),
        tr(
            "Head: every joint dry, the backflow preventer not dripping, the pressure "
            "on both sides of the filter standing still."
        )
        if guarded
        else tr("Head: every joint dry, the pressure on both sides of the filter standing still."),
        tr("Main: no wet spot along it, no hissing at its fittings."),
    ]
    if several:
        steps.append(
            tr("Valves: the one of this zone open, all others shut, with no water behind them.")
        )
    steps += [
        tr(
            "Header: look at each take-off; a drip at a hole is a punch that went in "
            "askew. Close it with a hole plug and punch anew beside it."
        ),
        tr(
            "Lines: walk each to its end. The {kind} lies flat, emitters up, no kink "
            "and no fold; every emitter drips, none sprays.",
            kind=kind,
        ),
        tr(
            "Ends: every cap tight. Push the last stretch of the line with a finger: "
            "it is as firm as the first."
        ),
        tr(
            "Mark a dry emitter with a flag and look at it again after an hour; more "
            "than a few on one line call for flushing that line once more."
        ),
        tr(
            "After an hour look at the ground: where water runs off, water in shorter "
            "turns; where the wet spots of two neighbours stay apart, scrape the soil "
            "away between them before you trust them to meet below."
        ),
    ]
    return tuple(steps)
