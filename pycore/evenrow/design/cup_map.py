"""Where cups are set to check a design later, and what each should catch.

Four lines of a zone, four places on each: Merriam and Keller (1978), Farm Irrigation System
Evaluation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenrow.agronomy.sampling import PLACES, sample_rows
from evenrow.design.expected import Expected
from evenrow.design.field import Field
from evenrow.design.layout import ZoneLayout
from evenrow.design.marked_lines import lines_at
from evenrow.design.model import Design


@dataclass(frozen=True, kw_only=True)
class CupPlace:
    """An emitter under which a cup is set.

    Parameters
    ----------
    zone : int
        Number of its zone.
    index : int
        Index of its row in the field.
    row, line : int
        Number of that row, and of the line in it, from 1.
    away : int
        1 if the line runs toward the far end of the row, -1 toward the near end.
    place : str
        A key of `evenrow.agronomy.sampling.PLACES`.
    emitter : int
        Which emitter of the line, from 0 at the header.
    distance : float
        From the header to it, along the line [m].
    along : float
        From the near end of the row to it [m].
    """

    zone: int
    index: int
    row: int
    line: int
    away: int
    place: str
    emitter: int
    distance: float
    along: float


@dataclass(frozen=True)
class ExpectedCup:
    """A cup with what the solve of its zone has there, filter clean: head [m], flow [m3/s]."""

    at: CupPlace
    head: float
    flow: float


def cup_places(found: Design) -> tuple[CupPlace, ...]:
    """Return where to set cups in every zone of a design.

    Returns
    -------
    tuple of CupPlace
        In each zone the first line, those at one and two thirds, and the last, with the sides
        of a header in the middle in turn; on each the emitters nearest to its start, one and
        two thirds of the way, and its end. Fewer where there are not so many.
    """
    zones = found.candidate.layout.zones
    return tuple(cup for zone in zones for cup in _of_zone(found.field, zone))


def _of_zone(field: Field, zone: ZoneLayout) -> list[CupPlace]:
    first = zone.rows[0]
    rows = field.rows[slice(*zone.rows)]
    lines = [(first + i, line) for i, row in enumerate(rows) for line in range(1, row.lines + 1)]
    cups = []
    for turn, number in enumerate(sample_rows(len(lines))):
        index, line = lines[number - 1]
        row = field.rows[index]
        runs = field.runs(row)
        run = runs[turn % len(runs)]
        places = np.asarray(field.line.positions(run.length))
        wanted = {name: round(share * (places.size - 1)) for name, share in PLACES.items()}
        # Of few emitters one is at several places: it gets one cup.
        for emitter in dict.fromkeys(wanted.values()):
            distance = float(places[emitter])
            cups.append(
                CupPlace(
                    zone=zone.number,
                    index=index,
                    row=row.number,
                    line=line,
                    away=run.away,
                    place=next(name for name, each in wanted.items() if each == emitter),
                    emitter=emitter,
                    distance=distance,
                    along=field.share * row.length + run.away * distance,
                )
            )
    return cups


def expected_cups(expected: Expected) -> tuple[ExpectedCup, ...]:
    """Return what each cup of `cup_places` should show, filter clean."""
    cups = cup_places(expected.found)
    networks = {network.layout.number: network for network in expected.zones}
    running = dict(zip(networks, expected.clean, strict=True))
    outlets = {
        number: {(end.row, end.line, end.away): k for k, end in enumerate(network.ends)}
        for number, network in networks.items()
    }
    lines = list(dict.fromkeys((cup.zone, cup.row, cup.line, cup.away) for cup in cups))
    at = [outlets[zone][row, line, away] for zone, row, line, away in lines]
    solved = lines_at(
        expected.hydraulics.curves,
        [int(networks[line[0]].kinds[k]) for line, k in zip(lines, at, strict=True)],
        [float(running[line[0]].takeoff_heads[k]) for line, k in zip(lines, at, strict=True)],
    )
    known = dict(zip(lines, solved, strict=True))
    found = []
    for cup in cups:
        head, flow = known[cup.zone, cup.row, cup.line, cup.away]
        found.append(ExpectedCup(cup, float(head[cup.emitter]), float(flow[cup.emitter])))
    return tuple(found)
