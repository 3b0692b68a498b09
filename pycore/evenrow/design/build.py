"""A candidate from a partition of the rows: parts by flow, pipes by velocity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from evenrow.catalogue import PipeSize, pipes
from evenrow.design.assembly import head_assembly, regulator_for, smallest
from evenrow.design.field import Field
from evenrow.design.model import Candidate, Growth, Shortfall
from evenrow.design.zones import Partition
from evenrow.errors import ImpossibleError
from evenrow.words import tr


def pipe_for(flow: float, velocity: float, head: float) -> PipeSize:
    """Return the smallest pipe that keeps a velocity [m/s] at a flow [m3/s] and bears a head [m].

    What it bears leaves room for surges, see `PipeSize.working_max`.

    Raises
    ------
    ImpossibleError
        The largest that bears the head is too small for the flow.
    """
    for size in pipes().values():
        if flow / size.area <= velocity and head <= size.working_max:
            return size
    raise ImpossibleError(
        tr("no pipe in the catalogue carries the flow of the largest zone at the velocity allowed"),
        limit="velocity in the pipe",
        field="limits.velocity",
        changes=(tr("more zones, with less flow each"),),
    )


def next_size(size: PipeSize, head: float) -> PipeSize | None:
    """Return the next larger pipe that bears a head [m], or None."""
    fitting = (p for p in pipes().values() if p.bore > size.bore and head <= p.working_max)
    return next(fitting, None)


def _at_least(size: PipeSize, least: PipeSize | None, head: float) -> PipeSize:
    """Return a pipe, or the one asked for if that is larger and bears the head [m]."""
    if least is None or least.bore <= size.bore or head > least.working_max:
        return size
    return least


def build(field: Field, found: Partition, set_head: float | None) -> Candidate:
    """Return the candidate for a partition, its pipes sized by velocity alone."""
    largest = max(found.flows)
    several = len(found.ranges) > 1
    tank = field.source_kind == "tank"
    head = field.standing(set_head)
    kind = "ball valve" if tank else "zone valve"
    valve = smallest(kind, largest, head) if several else None
    arm = largest / 2 if field.feed == "tee" else largest
    return Candidate(
        layout=field.header_line.layout(found.ranges, field.feed),
        header=_at_least(pipe_for(arm, field.velocity, head), field.least_header, head),
        main=_at_least(pipe_for(largest, field.velocity, head), field.least_main, head),
        assembly=head_assembly(
            field.source_kind,
            largest,
            timer=field.timer and not several,
            regulator=None if set_head is None else regulator_for(found.flows, set_head),
            standing=several or field.highest > 0.0,
            injection=field.injection,
            head=field.source.shutoff_head,
        ),
        valve=valve,
    )


def enlarged(candidate: Candidate, broken: Sequence[Shortfall], head: float) -> Candidate | None:
    """Return the candidate with the next larger pipe that may cure what is broken."""
    cures = {short.cure for short in broken}
    if "zones" in cures or "" in cures:
        return None
    header = next_size(candidate.header, head)
    if "header" in cures and header is not None:
        why = next(short.text for short in broken if short.cure == "header")
        grown = Growth(pipe="header", before=candidate.header, why=why)
        return replace(candidate, header=header, grown=(*candidate.grown, grown))
    # A header at its largest may still gain from a larger main.
    main = next_size(candidate.main, head)
    if main is None:
        return None
    grown = Growth(pipe="main", before=candidate.main, why=broken[0].text)
    return replace(candidate, main=main, grown=(*candidate.grown, grown))
