"""From a `Field` to a `Design`: the fewest zones that keep every limit, as solved.

The search takes one zone after another, and for each number of zones the regulator
settings from the line's rating outwards; pipe grows only where a limit asks for it.  What
it returns has been solved, zone by zone, from the source to every emitter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import pi

from evenrow.catalogue import PipeSize, assembly_parts, pipes
from evenrow.design.assembly import head_assembly, regulators, smallest
from evenrow.design.changes import nearest_changes
from evenrow.design.field import Field
from evenrow.design.layout import layout
from evenrow.design.model import Candidate, Design, Shortfall, ZoneSolution
from evenrow.design.parts import parts_list
from evenrow.design.rowcheck import row_shortfall
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import Partition, fewest_zones, partition
from evenrow.errors import ImpossibleError
from evenrow.units import format_value

#: Zones tried beyond the fewest that the flow allows, before giving up.
MORE_ZONES = 10
#: Lines lose pressure on the way to them, so that a zone takes somewhat less than its
#: rows would at the regulator's setting. A zone is not tried if even this share is too much.
HOPEFUL = 0.8
#: Regulator settings within these shares of the line's rating are tried first.
BAND = (0.66, 1.7)


@dataclass(frozen=True)
class _Failure:
    """The nearest the search came: the limits that the best candidate broke."""

    zones: int
    shortfall: Shortfall


def set_heads(field: Field) -> list[float | None]:
    """Return the heads at which the lines may be run, best first. [m].

    None stands for no regulator: the source itself never reaches what the line bears.
    Settings come in order of their distance from the line's rating; those that would pass
    the line's highest pressure on a falling row, standing still, are left out.
    """
    emitter = field.line.device.emitter
    still = field.source.shutoff_head - min(field.rise, 0.0) + _deepest_fall(field)
    if still <= emitter.head_max:
        return [None]
    bound = emitter.head_max - _deepest_fall(field) + min(field.rise, 0.0)
    heads = {part.set_head for part in assembly_parts() if part.set_head is not None}
    fit = sorted(
        (head for head in heads if emitter.head_min < head <= bound),
        key=lambda head: abs(head - emitter.head_nominal),
    )
    low, high = BAND[0] * emitter.head_nominal, BAND[1] * emitter.head_nominal
    return [*(h for h in fit if low <= h <= high), *(h for h in fit if not low <= h <= high)]


def _deepest_fall(field: Field) -> float:
    """Return how far the lowest emitter lies below the first row's take-off, at least 0. [m]."""
    along = min(field.header_slope * row.position for row in field.rows)
    down = min(slope * length for row in field.rows for length, slope in field.runs(row))
    return max(0.0, -(along + min(down, 0.0)))


def pipe_for(flow: float, velocity: float, head: float) -> PipeSize:
    """Return the smallest pipe that keeps a velocity [m/s] at a flow [m3/s] and bears a head [m].

    Raises
    ------
    ImpossibleError
        The largest pipe is too small, or none bears the head.
    """
    for size in pipes().values():
        if flow / (pi / 4 * size.bore**2) <= velocity and head <= size.head_max:
            return size
    raise ImpossibleError(
        "no pipe in the catalogue carries the flow of the largest zone at the velocity allowed",
        limit="velocity in the pipe",
        field="limits.velocity",
        changes=("more zones, with less flow each",),
    )


def _larger(size: PipeSize, head: float) -> PipeSize | None:
    fitting = (p for p in pipes().values() if p.bore > size.bore and head <= p.head_max)
    return next(fitting, None)


def _build(field: Field, found: Partition, set_head: float | None) -> Candidate:
    """Return the candidate for a partition, its pipes sized by velocity alone."""
    largest = max(found.flows)
    regulator = None
    if set_head is not None:
        fitting = [p for p in regulators(found.flows, set_head, set_head) if p.set_head == set_head]
        if not fitting:
            raise ImpossibleError(
                "no regulator in the catalogue of that setting holds the flows of all zones",
                limit="flow range of the regulator",
                changes=("another number of zones",),
            )
        regulator = fitting[0]
    valve = smallest("zone valve", largest) if len(found.ranges) > 1 else None
    head = field.source.shutoff_head if set_head is None else set_head
    arm = largest / 2 if field.feed == "tee" else largest
    return Candidate(
        layout=layout(field.rows, found.ranges, main_length=field.main_length, feed=field.feed),
        header=pipe_for(arm, field.velocity, head),
        main=pipe_for(largest, field.velocity, head),
        assembly=head_assembly(
            field.source_kind,
            largest,
            timer=field.timer,
            regulator=regulator,
            valves=valve is not None,
        ),
        valve=valve,
    )


def _enlarge(candidate: Candidate, broken: list[Shortfall], head: float) -> Candidate | None:
    """Return the candidate with the next larger pipe that may cure what is broken."""
    cures = {short.cure for short in broken}
    if "zones" in cures or "" in cures:
        return None
    header = _larger(candidate.header, head)
    if "header" in cures and header is not None:
        return replace(candidate, header=header)
    # A header at its largest may still gain from a larger main.
    main = _larger(candidate.main, head)
    return None if main is None else replace(candidate, main=main)


def _fit(
    hydraulics: FieldHydraulics, candidate: Candidate
) -> tuple[Candidate, tuple[ZoneSolution, ...], list[Shortfall]]:
    """Solve a candidate, giving it larger pipe where that cures what is broken.

    Whether it can is tried once with the largest pipe; only then is the smallest looked for.
    """
    head = hydraulics.supply_head(candidate.assembly)
    zones, broken = hydraulics.solve(candidate)
    if not broken or _enlarge(candidate, broken, head) is None:
        return candidate, zones, broken
    largest = [size for size in pipes().values() if head <= size.head_max][-1]
    roomy = replace(candidate, header=largest, main=largest)
    zones, still = hydraulics.solve(roomy)
    if still:
        return roomy, zones, still
    larger: Candidate | None = candidate
    while broken and larger is not None:
        candidate = larger
        zones, broken = hydraulics.solve(candidate)
        larger = _enlarge(candidate, broken, head)
    return candidate, zones, broken


def _hopeless(hydraulics: FieldHydraulics, set_head: float | None) -> Shortfall | None:
    """Return what rules out this setting whatever the zones are, or None."""
    short = row_shortfall(hydraulics, set_head)
    if short is not None:
        return short
    field = hydraulics.field
    flows = hydraulics.row_flows(hydraulics.guess(set_head))
    largest = max(range(len(flows)), key=flows.__getitem__)
    usable = hydraulics.usable(set_head)
    if HOPEFUL * flows[largest] <= usable:
        return None
    return Shortfall(
        limit="flow of the source",
        text=f"row {largest + 1} alone takes {format_value(flows[largest], 'flow', field.system)}, "
        f"and the source can give {format_value(usable, 'flow', field.system)} at the pressure "
        "that it needs",
        cure="",
    )


def _partitions(
    hydraulics: FieldHydraulics, set_head: float | None
) -> Iterator[tuple[int, Partition]]:
    """Yield the most even partition for each number of zones worth trying."""
    field = hydraulics.field
    flows = hydraulics.row_flows(hydraulics.guess(set_head))
    total = sum(flows)
    usable = hydraulics.usable(set_head)
    least = fewest_zones(flows, max(usable / HOPEFUL, max(flows)), field.crops)
    for zones in range(least, min(least + MORE_ZONES, len(flows)) + 1):
        yield zones, partition(flows, total, field.crops, zones=zones)


def _search(hydraulics: FieldHydraulics) -> Design:
    """Return the design with the fewest zones; the setting nearest the rating among equals."""
    field = hydraulics.field
    best: Design | None = None
    failures: list[_Failure] = []
    for set_head in set_heads(field):
        hopeless = _hopeless(hydraulics, set_head)
        if hopeless is not None:
            failures.append(_Failure(0, hopeless))
            continue
        for zones, found in _partitions(hydraulics, set_head):
            if best is not None and zones >= len(best.zones):
                break
            try:
                candidate, solved, broken = _fit(hydraulics, _build(field, found, set_head))
            except ImpossibleError as error:
                short = Shortfall(limit=error.limit, text=error.message, cure="zones")
                failures.append(_Failure(zones, short))
                continue
            if not broken:
                best = _finished(hydraulics, candidate, solved, failures)
                break
            failures.append(_Failure(zones, broken[0]))
            if any(short.cure == "" for short in broken):
                break
    if best is None:
        raise _impossible(field, failures)
    return best


def _impossible(field: Field, failures: list[_Failure]) -> ImpossibleError:
    if not failures:
        return ImpossibleError(
            "no regulator setting in the catalogue suits this line on this ground",
            limit="highest pressure of the line",
            field="line.device",
        )
    # Settings come nearest the rating first; what that one broke last is the clearest reason.
    first = failures[0]
    short = first.shortfall if first.zones == 0 else failures[-1].shortfall
    return ImpossibleError(short.text, limit=short.limit, field="rows")


def _why(
    hydraulics: FieldHydraulics, candidate: Candidate, zones: int, failures: list[_Failure]
) -> str:
    """Say why there are this many zones and not one fewer."""
    field = hydraulics.field
    crops = 1 + sum(a != b for a, b in zip(field.crops, field.crops[1:], strict=False))
    if zones == 1:
        return "The source carries all rows at once."
    if zones == crops:
        return "Each crop is a zone of its own."
    fewer = [f for f in failures if f.zones == zones - 1]
    if fewer:
        return f"With {zones - 1}: {fewer[-1].shortfall.text}."
    set_head = candidate.assembly.set_head
    flows = hydraulics.row_flows(hydraulics.guess(set_head))
    largest = max(partition(flows, sum(flows), field.crops, zones=zones - 1).flows)
    usable = hydraulics.usable(set_head)
    return (
        f"With {zones - 1}, the largest zone would take about "
        f"{format_value(largest, 'flow', field.system)}, and the source can give at most "
        f"{format_value(usable, 'flow', field.system)} at the pressure of the regulator."
    )


def _finished(
    hydraulics: FieldHydraulics,
    candidate: Candidate,
    zones: tuple[ZoneSolution, ...],
    failures: list[_Failure],
) -> Design:
    field = hydraulics.field
    return Design(
        field=field,
        candidate=candidate,
        zones=zones,
        parts=parts_list(
            candidate.layout,
            place=field.place,
            device=field.line.device,
            header=candidate.header,
            main=candidate.main,
            assembly=candidate.assembly.parts,
            valve=candidate.valve,
            timer=field.timer,
        ),
        why_zones=_why(hydraulics, candidate, len(zones), failures),
        sizing=(
            "Smallest stock bore that keeps the velocity limit and the uniformity wanted.",
            "Smallest stock bore that keeps the velocity limit and leaves enough pressure.",
        ),
    )


def _zones_needed(field: Field) -> int:
    return len(_search(FieldHydraulics(field)).zones)


def design(field: Field) -> Design:
    """Design everything that has to be built for a field.

    Parameters
    ----------
    field : Field
        What the user has.

    Returns
    -------
    Design
        Fewest zones, then the regulator setting nearest the line's rating, then the most even
        flow; every zone solved from the source to the emitters with the filter dirty.

    Raises
    ------
    ImpossibleError
        No design keeps every limit: says which fails and by how much, and lists the nearest
        changes that work, each of them solved.
    """
    try:
        return _search(FieldHydraulics(field))
    except ImpossibleError as error:
        raise ImpossibleError(
            error.message,
            limit=error.limit,
            field=error.field,
            changes=nearest_changes(field, error.limit, _zones_needed),
        ) from None
