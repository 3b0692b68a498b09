"""From a `Field` to a `Design`: the fewest zones that keep every limit, as solved.

The search goes through the regulator settings from the line's rating outwards, and for each
through the numbers of zones upwards, as long as they are fewer than the best so far; pipe
grows only where a limit asks for it.  What it returns has been solved, zone by zone, from the
source to every emitter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from evenrow.catalogue import pipes
from evenrow.design.assembly import (
    ORDER,
    largest_flow,
)
from evenrow.design.budget import Budget, OutOfBudgetError
from evenrow.design.build import build, enlarged
from evenrow.design.changes import nearest_changes
from evenrow.design.choices import BuildChoices
from evenrow.design.detail import solutions
from evenrow.design.field import Field
from evenrow.design.hours import window_shortfall
from evenrow.design.limits import shortfalls, source_shortfall
from evenrow.design.measure import Case, Measured, measure
from evenrow.design.model import Candidate, Design, Shortfall, ZoneFlow
from evenrow.design.parts import parts_of
from evenrow.design.rowcheck import row_shortfall
from evenrow.design.settings import set_heads
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import fewest_zones, group_runs, least_capacity
from evenrow.errors import ImpossibleError
from evenrow.units import format_value

#: Most zones of one design.
ZONES_MAX = 200
#: What a search may cost, see `Budget`: some ten seconds.
BUDGET = 20e6
#: Zones tried beyond the fewest that flow, parts and pipe allow, before giving up.
MORE_ZONES = 40
#: Numbers of zones solved together, as long as all their outlets are no more than this: for so
#: few, one solve of several costs hardly more than of one.
TRIALS_TOGETHER, OUTLETS_TOGETHER = 4, 600


@dataclass(frozen=True)
class _Failure:
    """The nearest the search came: the limits that the best candidate broke."""

    zones: int
    shortfall: Shortfall


def broken_limits(case: Case, measured: Measured, number: int) -> list[Shortfall]:
    """Return the limits that the most demanding failing zone breaks; empty if none does.

    What the source cannot feed is told without a look at the emitters.
    """
    field, candidate = case.hydraulics.field, case.candidate
    flows = case.hydraulics.row_flows(case.hydraulics.guess(candidate.assembly.set_head))

    def demand(zone: ZoneFlow) -> tuple[float, int]:
        return sum(flows[slice(*zone.layout.rows)]), zone.layout.number

    for flow in sorted(measured.flows(number), key=demand, reverse=True):
        short = source_shortfall(field, candidate, flow)
        if short is not None:
            return [short]
    for zone in sorted(measured.states(number), key=demand, reverse=True):
        broken = shortfalls(field, candidate, (zone,))
        if broken:
            return broken
    short = window_shortfall(field, measured.states(number))
    return [] if short is None else [short]


def _fit(
    case: Case, measured: Measured, number: int
) -> tuple[Case, Measured, int, list[Shortfall]]:
    """Give a measured case larger pipe as long as that may cure what it breaks.

    Larger pipe also passes more water, so that a later size may ask too much of the source
    where an earlier one does not: the sizes are taken one after another.
    """
    head = case.hydraulics.field.supply(case.candidate.assembly.set_head)
    while True:
        broken = broken_limits(case, measured, number)
        larger = enlarged(case.candidate, broken, head) if broken else None
        if larger is None:
            return case, measured, number, broken
        case = Case(case.hydraulics, larger)
        measured, number = measure([case]), 0


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


@dataclass(frozen=True)
class _Trial:
    """A number of zones with its candidate, or with why it cannot be built."""

    zones: int
    case: Case | None
    short: Shortfall | None


def _trials(
    hydraulics: FieldHydraulics, set_head: float | None, below: int
) -> Iterator[list[_Trial]]:
    """Yield candidates for rising numbers of zones, as many as are best solved together."""
    field = hydraulics.field
    least = fewest_zones(_least_flows(field), _capacity(hydraulics, set_head), field.crops)
    most = min(least + MORE_ZONES, len(field.rows), ZONES_MAX, below - 1)
    outlets = sum(row.lines * len(field.runs(row)) for row in field.rows)
    together = max(1, min(TRIALS_TOGETHER, OUTLETS_TOGETHER // outlets))
    for first in range(least, most + 1, together):
        trials = []
        for zones in range(first, min(first + together, most + 1)):
            found = hydraulics.partition(set_head, zones)
            try:
                case, short = Case(hydraulics, build(field, found, set_head)), None
            except ImpossibleError as error:
                case, short = None, Shortfall(limit=error.limit, text=error.message, cure="zones")
            trials.append(_Trial(zones, case, short))
        yield trials


def _settle(
    trials: list[_Trial], failures: list[_Failure]
) -> tuple[tuple[Case, Measured, int] | None, bool]:
    """Return the first candidate that keeps every limit, and whether to look no further.

    Adds what the others break to `failures`.
    """
    cases = [trial.case for trial in trials if trial.case is not None]
    measured = measure(cases) if cases else None
    number = -1
    for trial in trials:
        if trial.case is None or measured is None:
            if trial.short is not None:
                failures.append(_Failure(trial.zones, trial.short))
            continue
        number += 1
        case, fitted, at, broken = _fit(trial.case, measured, number)
        if not broken:
            return (case, fitted, at), True
        failures.append(_Failure(trial.zones, broken[0]))
        if any(short.cure == "" for short in broken):
            return None, True
    return None, False


def _search(hydraulics: FieldHydraulics) -> tuple[Case, Measured, int, list[_Failure]]:
    """Return the candidate with the fewest zones; the setting nearest the rating among equals."""
    field = hydraulics.field
    best: tuple[Case, Measured, int] | None = None
    below = len(field.rows) + 1
    failures: list[_Failure] = []
    for set_head in set_heads(field):
        hopeless = _hopeless(hydraulics, set_head)
        if hopeless is not None:
            failures.append(_Failure(0, hopeless))
            continue
        for trials in _trials(hydraulics, set_head, below):
            found, enough = _settle(trials, failures)
            if found is not None:
                best, below = found, len(found[0].candidate.layout.zones)
            if enough:
                break
    if best is None:
        raise _impossible(field, failures)
    return (*best, failures)


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


def _finished(case: Case, measured: Measured, number: int, failures: list[_Failure]) -> Design:
    hydraulics, candidate = case
    field = hydraulics.field
    zones = solutions(case, measured, number)
    return Design(
        field=field,
        candidate=candidate,
        zones=zones,
        parts=parts_of(
            candidate.layout,
            share=field.share,
            device=field.line.device,
            header=candidate.header,
            main=candidate.main,
            assembly=candidate.assembly.parts,
            valve=candidate.valve,
            choices=BuildChoices(timer=field.timer),
            tapers=candidate.tapers,
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
    case, *_ = _search(FieldHydraulics(field, budget))
    return len(case.candidate.layout.zones)


def one_fewer(found: Design) -> tuple[str, ...]:
    """Return changes that make it at least one zone fewer, each of them solved.

    Nothing for one zone, or where each crop group has only one.
    """
    zones = len(found.zones)
    if zones <= group_runs(found.field.crops):
        return ()
    return nearest_changes(found.field, "flow of the source", _zones_needed, below=zones)


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
        return _finished(*_search(FieldHydraulics(field, Budget(BUDGET))))
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
