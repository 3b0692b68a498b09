"""From a `Field` to a `Design`: the fewest zones that keep every limit, as solved.

The search takes one zone after another, and for each number of zones the regulator
settings from the line's rating outwards; pipe grows only where a limit asks for it.  What
it returns has been solved, zone by zone, from the source to every emitter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import pi

from evenrow.catalogue import AssemblyPart, PipeSize, assembly_parts, devices, pipes
from evenrow.design.assembly import head_assembly, regulators, smallest
from evenrow.design.field import Field
from evenrow.design.layout import layout
from evenrow.design.model import Candidate, Design, Shortfall, ZoneSolution
from evenrow.design.parts import parts_list
from evenrow.design.system import FieldHydraulics, shortfalls
from evenrow.design.zones import Partition, fewest_zones, partition
from evenrow.errors import EvenrowError, ImpossibleError
from evenrow.hydraulics.run_length import RunLimits, longest_run
from evenrow.units import format_value

#: Zones tried beyond the fewest that the flow allows, before giving up.
MORE_ZONES = 10
#: Lines lose pressure on the way to them, so that a zone takes somewhat less than its
#: rows would at the regulator's setting. A zone is not tried if even this share is too much.
HOPEFUL = 0.8
#: Regulator settings within these shares of the line's rating are tried first.
BAND = (0.66, 1.7)
#: Changes listed with an impossible field.
CHANGES_MAX = 3


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


def _pipe_head(field: Field, regulator: AssemblyPart | None) -> float:
    """Return the highest head that header and main can see. [m]."""
    if regulator is not None and regulator.set_head is not None:
        return regulator.set_head
    return field.source.shutoff_head


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
    head = _pipe_head(field, regulator)
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
    """Solve a candidate, giving it larger pipe as long as that may cure what is broken."""
    field = hydraulics.field
    head = _pipe_head(field, candidate.assembly.regulator)
    while True:
        zones = hydraulics.solve(candidate)
        broken = shortfalls(field, candidate, zones)
        larger = _enlarge(candidate, broken, head) if broken else None
        if larger is None:
            return candidate, zones, broken
        candidate = larger


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
            if broken[0].cure == "":
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
    last = failures[-1]
    return ImpossibleError(last.shortfall.text, limit=last.shortfall.limit, field="rows")


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
    regulator = candidate.assembly.regulator
    set_head = None if regulator is None else regulator.set_head
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


def _longest_hint(field: Field) -> str:
    """Return how long a run may be on this ground at the line's rating, in words."""
    emitter = field.line.device.emitter
    _, slope = field.runs(field.rows[0])[0]
    found = longest_run(
        emitter,
        field.line.spacing,
        field.line.device.diameter,
        emitter.head_nominal,
        slope=slope,
        limits=RunLimits(eu=field.eu, head_max=emitter.head_max, head_min=emitter.head_min),
        viscosity=field.line.viscosity,
        first_spacing=field.line.spacing / 2,
    )
    longest = format_value(found.count * field.line.spacing, "length", field.system)
    return f"rows no longer than {longest} with this line"


def _variants(field: Field) -> Iterator[tuple[str, Field]]:
    """Yield changed fields in the order in which they are easiest to carry out."""
    if field.place == "end":
        yield "feed the rows from the middle", replace(field, place="middle")
    if field.feed == "end":
        yield "feed each header at a tee in its middle", replace(field, feed="tee")
    for code, device in devices().items():
        if code != field.line.device.code:
            line = replace(field.line, device=device)
            yield f"use {device.label}", replace(field, line=line)
    for eu in (0.8, 0.75, 0.7):
        if eu < field.eu:
            yield f"accept an emission uniformity of {eu:.0%}", replace(field, eu=eu)


def _changes(field: Field) -> list[str]:
    """Return the nearest changes that work, each verified by a whole design."""
    found = []
    for words, changed in _variants(field):
        try:
            zones = len(_search(FieldHydraulics(changed)).zones)
        except EvenrowError:
            continue
        found.append(f"{words} (solved: {zones} zone{'s' if zones > 1 else ''})")
        if len(found) == CHANGES_MAX:
            break
    return found


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
        changes = _changes(field) or [_longest_hint(field)]
        raise ImpossibleError(
            error.message, limit=error.limit, field=error.field, changes=changes
        ) from None
