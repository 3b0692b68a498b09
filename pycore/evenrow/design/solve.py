"""From a `Field` to a `Design`: the fewest zones that keep every limit, as solved.

The search goes through the regulator settings from the line's rating outwards, and for each
through the numbers of zones upwards, as long as they are fewer than the best so far; pipe
grows only where a limit asks for it.  What it returns has been solved, zone by zone, from the
source to every emitter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from evenrow.catalogue import PipeSize, assembly_parts, pipes
from evenrow.design.assembly import (
    ORDER,
    head_assembly,
    largest_flow,
    regulator_for,
    smallest,
)
from evenrow.design.changes import nearest_changes
from evenrow.design.field import Field
from evenrow.design.model import Candidate, Design, Shortfall, ZoneSolution
from evenrow.design.parts import parts_list
from evenrow.design.rowcheck import row_shortfall
from evenrow.design.system import Budget, FieldHydraulics, OutOfBudgetError
from evenrow.design.zones import Partition, fewest_zones, group_runs, least_capacity
from evenrow.errors import ImpossibleError
from evenrow.units import format_value

#: Most zones of one design.
ZONES_MAX = 200
#: What a search may cost, see `Budget`: some ten seconds.
BUDGET = 20e6
#: Zones tried beyond the fewest that flow, parts and pipe allow, before giving up.
MORE_ZONES = 40


@dataclass(frozen=True)
class _Failure:
    """The nearest the search came: the limits that the best candidate broke."""

    zones: int
    shortfall: Shortfall


def set_heads(field: Field) -> list[float | None]:
    """Return the heads that a regulator at the source may hold, best first [m].

    None stands for no regulator: the source itself never reaches what the line bears.  Best is
    what leaves the line's rating at the middle of the header; a setting that would pass the
    line's highest pressure at its lowest emitter, with the water standing still, is left out.
    """
    emitter = field.line.device.emitter
    bound = emitter.head_max + field.lowest
    if field.source.shutoff_head <= bound:
        return [None]
    heads = {part.set_head for part in assembly_parts() if part.set_head is not None}
    fit = [head for head in heads if emitter.head_min + field.middle < head <= bound]
    return [*sorted(fit, key=lambda head: abs(head - field.middle - emitter.head_nominal))]


def pipe_for(flow: float, velocity: float, head: float) -> PipeSize:
    """Return the smallest pipe that keeps a velocity [m/s] at a flow [m3/s] and bears a head [m].

    Raises
    ------
    ImpossibleError
        The largest that bears the head is too small for the flow.
    """
    for size in pipes().values():
        if flow / size.area <= velocity and head <= size.head_max:
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
    several = len(found.ranges) > 1
    tank = field.source_kind == "tank"
    valve = smallest("ball valve" if tank else "zone valve", largest) if several else None
    head = field.supply(set_head)
    arm = largest / 2 if field.feed == "tee" else largest
    return Candidate(
        layout=field.header_line.layout(found.ranges, field.feed),
        header=pipe_for(arm, field.velocity, head),
        main=pipe_for(largest, field.velocity, head),
        assembly=head_assembly(
            field.source_kind,
            largest,
            timer=field.timer and not several,
            regulator=None if set_head is None else regulator_for(found.flows, set_head),
            standing=several or bool(field.levels.max() > 0.0),
            injection=field.injection,
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
    """Solve a candidate, giving it larger pipe as long as that may cure what is broken.

    Larger pipe also passes more water, so that a later size may ask too much of the source
    where an earlier one does not: the sizes are taken one after another.
    """
    head = hydraulics.field.supply(candidate.assembly.set_head)
    while True:
        zones, broken = hydraulics.solve(candidate)
        larger = _enlarge(candidate, broken, head) if broken else None
        if larger is None:
            return candidate, zones, broken
        candidate = larger


def _least_flows(field: Field) -> list[float]:
    """Return a flow of each row that no design which keeps its limits can go below [m3/s].

    Every emitter then has at least the lowest pressure of the line.
    """
    emitter = field.line.device.emitter
    each = float(emitter.flow(emitter.head_min))
    return [
        each * row.lines * sum(field.line.emitters_on(run.length) for run in field.runs(row))
        for row in field.rows
    ]


def _capacity(hydraulics: FieldHydraulics, set_head: float | None) -> float:
    """Return a flow that no zone can go above: source, parts and the velocity in the main."""
    field = hydraulics.field
    head = field.supply(set_head)
    strong = [size.area for size in pipes().values() if head <= size.head_max]
    pipe = max(strong, default=0.0) * field.velocity
    kinds = [kind for kind in ORDER[field.source_kind] if kind not in ("timer", "regulator")]
    return min(hydraulics.usable(set_head), pipe, *(largest_flow(kind) for kind in kinds))


def _hopeless(hydraulics: FieldHydraulics, set_head: float | None) -> Shortfall | None:
    """Return what rules out this setting whatever the zones are, or None."""
    short = row_shortfall(hydraulics, set_head)
    if short is not None:
        return short
    field = hydraulics.field
    head = field.supply(set_head)
    if head > max(size.head_max for size in pipes().values()):
        return Shortfall(
            limit="pressure of the pipe",
            text=f"main and header would see {format_value(head, 'pressure', field.system)}, more "
            "than any pipe in the catalogue bears",
            cure="",
        )
    flows = _least_flows(field)
    largest = max(range(len(flows)), key=flows.__getitem__)
    capacity = _capacity(hydraulics, set_head)
    if flows[largest] <= capacity:
        least = fewest_zones(flows, capacity, field.crops)
        if least <= ZONES_MAX:
            return None
        return Shortfall(
            limit="flow of the source",
            text=f"at least {least} zones would be needed, more than the {ZONES_MAX} of one design",
            cure="",
        )
    return Shortfall(
        limit="flow of the source",
        text=f"row {largest + 1} alone takes at least "
        f"{format_value(flows[largest], 'flow', field.system)}, and source, parts and main pass "
        f"at most {format_value(capacity, 'flow', field.system)} at the pressure that it needs",
        cure="",
    )


def _partitions(
    hydraulics: FieldHydraulics, set_head: float | None
) -> Iterator[tuple[int, Partition]]:
    """Yield the most even partition for each number of zones worth trying."""
    field = hydraulics.field
    least = fewest_zones(_least_flows(field), _capacity(hydraulics, set_head), field.crops)
    most = min(least + MORE_ZONES, len(field.rows), ZONES_MAX)
    for zones in range(least, most + 1):
        yield zones, hydraulics.partition(set_head, zones)


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
    if zones == 1:
        return "The source carries all rows at once."
    if zones == group_runs(field.crops):
        return "Each crop is a zone of its own."
    fewer = [f for f in failures if f.zones == zones - 1]
    if fewer:
        return f"With {zones - 1}: {fewer[-1].shortfall.text}."
    set_head = candidate.assembly.set_head
    largest = least_capacity(_least_flows(field), zones - 1, field.crops)
    at = "" if set_head is None else " at the pressure of the regulator"
    return (
        f"With {zones - 1}, the largest zone would take at least "
        f"{format_value(largest, 'flow', field.system)}, even at the lowest pressure of the "
        f"line, and the source can give at most "
        f"{format_value(hydraulics.usable(set_head), 'flow', field.system)}{at}."
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
            place="middle" if 0.0 < field.share < 1.0 else "end",
            device=field.line.device,
            header=candidate.header,
            main=candidate.main,
            assembly=candidate.assembly.parts,
            valve=candidate.valve,
            timer=field.timer,
        ),
        why_zones=_why(hydraulics, candidate, len(zones), failures),
        sizing=(
            "Grown from the smallest bore that keeps the velocity limit until the uniformity "
            "wanted is kept.",
            "Grown from the smallest bore that keeps the velocity limit until enough pressure is "
            "left.",
        ),
    )


def _zones_needed(field: Field, budget: Budget) -> int:
    return len(_search(FieldHydraulics(field, budget)).zones)


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
        return _search(FieldHydraulics(field, Budget(BUDGET)))
    except OutOfBudgetError:
        raise ImpossibleError(
            "the field is too large to search through as one design",
            limit="size of the field",
            field="rows",
            changes=("split it into several designs, each with its own part of the rows",),
        ) from None
    except ImpossibleError as error:
        raise ImpossibleError(
            error.message,
            limit=error.limit,
            field=error.field,
            changes=nearest_changes(field, error.limit, _zones_needed),
        ) from None
