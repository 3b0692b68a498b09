"""Laying the pipes and lines, and which lengths to cut for which rows."""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.design.expected import Expected
from evenrow.design.instructions.naming import line_kind
from evenrow.design.model import Design
from evenrow.design.parts import LINE_ALLOWANCE
from evenrow.units import UnitSystem
from evenrow.words import said, tr

#: From the line to the stems: common practice, no source.
OFF_PLANTS: dict[UnitSystem, str] = {
    "us": said("2 to 3 in"),
    "metric": said("5 to 8 cm"),
}
#: `parts.ANCHOR_EVERY` and `parts.LINE_ALLOWANCE` as people say them.
_ANCHORS: dict[UnitSystem, str] = {"us": "10 ft", "metric": "3 m"}
_ALLOWANCE: dict[UnitSystem, str] = {"us": "1 ft", "metric": "0.3 m"}


@dataclass(frozen=True, kw_only=True)
class Cut:
    """Equal pieces of line for neighbouring rows.

    `length` is that of one piece with its allowance, `run` what of it lies along the row [m].
    """

    zone: int
    rows: tuple[int, ...]
    pieces: int
    run: float
    length: float


def cut_list(expected: Expected) -> tuple[Cut, ...]:
    """Return the pieces to cut, zone by zone, row by row; equal neighbours together."""
    found: list[Cut] = []
    for network in expected.zones:
        number = network.layout.number
        rows: dict[int, dict[float, int]] = {}
        for end in network.ends:
            pieces = rows.setdefault(end.row, {})
            pieces[end.length] = pieces.get(end.length, 0) + 1
        groups: list[tuple[list[int], dict[float, int]]] = []
        for row, pieces in rows.items():
            if groups and groups[-1][1] == pieces:
                groups[-1][0].append(row)
            else:
                groups.append(([row], pieces))
        found += [
            Cut(
                zone=number,
                rows=tuple(same),
                pieces=count * len(same),
                run=run,
                length=run + LINE_ALLOWANCE,
            )
            for same, pieces in groups
            for run, count in sorted(pieces.items(), reverse=True)
        ]
    return tuple(found)


def laying_steps(found: Design) -> tuple[str, ...]:
    """Return how main, headers and lines are laid, in order (common practice, no source)."""
    field = found.field
    thin = field.line.device.kind == "tape"
    kind = line_kind(field.line.device.kind)
    system = field.system
    header = tr(
        "Lay the header straight across the rows, with a hand's breadth to spare: plastic pipe "
        "shortens when the water cools it."
    )
    zone_by_zone = tr("Go on zone by zone.")
    anchors = tr(
        "Hold it down with a stake or anchor every {distance} and one at its end, firm enough for "
        "wind and loose enough to slide.",
        distance=_ANCHORS[system],
    )
    knot = tr("Never tie tape tight: the knot stops the water.")
    return (
        tr(
            "Uncoil pipe and line in the sun and let them lie for an hour: warm, they "
            "lie flat and go on their fittings without force."
        ),
        tr(
            "Lay the main from the head to the headers, in the shade of a fence or "
            "edge where feet and mowers do not go. If you bury main or header, have "
            "buried power, gas, water and data lines located before you dig, and leave "
            "the trench open until you have flushed and walked the system."
        ),
        f"{zone_by_zone} {header}" if len(found.zones) > 1 else header,
        tr(
            "Flush main and header (see flushing), then punch the header at the places "
            "listed. Hold the punch square to the pipe, all holes on one line, and "
            "keep the plugs out of it."
        ),
        tr(
            "Roll the {kind} out along the row, do not drag it: a dragged tape is a "
            "cut tape. Lay it straight and without pull, emitters up, so that dirt "
            "settles away from them.",
            kind=kind,
        )
        if thin
        else tr(
            "Roll the {kind} out along the row, do not drag it over stones. Lay it "
            "straight and without pull, emitters up, so that dirt settles away from "
            "them.",
            kind=kind,
        ),
        tr(
            "Keep it {off_plants} off the stems, on the uphill side where the row "
            "stands on a cross slope. Where a row has several lines, share the bed's "
            "width evenly.",
            off_plants=tr(OFF_PLANTS[system]),
        ),
        tr(
            "Cut each piece as listed: {allowance} more than the row, to reach the "
            "take-off and to close the end. Leave that slack in a gentle bend, never "
            "stretched; it shrinks in the cold.",
            allowance=_ALLOWANCE[system],
        ),
        f"{anchors} {knot}" if thin else anchors,
        tr(
            "Join the lines to their take-offs with the water off, and leave every end "
            "open for flushing."
        ),
    )
