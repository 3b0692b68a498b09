"""From a `Field` to a `Design`: the fewest zones that keep every limit, as solved.

The search goes through the regulator settings from the line's rating outwards, and for each
through the numbers of zones, as long as they are fewer than the best so far; pipe grows only
where a limit asks for it.  What it returns has been solved, zone by zone, from the source to
every emitter.
"""

from __future__ import annotations

from evenrow.design.apart import apart
from evenrow.design.bounds import ZONES_MAX, least_flows
from evenrow.design.budget import Budget, OutOfBudgetError
from evenrow.design.changes import nearest_changes
from evenrow.design.choices import BuildChoices
from evenrow.design.detail import solutions
from evenrow.design.field import Field
from evenrow.design.limits import FLOW
from evenrow.design.model import Candidate, Design
from evenrow.design.search import Failure, Found, run, search
from evenrow.design.sizing import header_reason, main_reason
from evenrow.design.system import FieldHydraulics
from evenrow.design.taper import with_tapers
from evenrow.design.zones import group_runs, least_capacity
from evenrow.errors import ImpossibleError
from evenrow.words import tr

__all__ = ["BUDGET", "ZONES_MAX", "design", "finished", "one_fewer"]

#: What a search may cost, see `Budget`: some ten seconds.
BUDGET = 20e6


def _impossible(field: Field, failures: list[Failure]) -> ImpossibleError:
    if not failures:
        return ImpossibleError(
            tr("no regulator setting in the catalogue suits this line on this ground"),
            limit="highest pressure of the line",
            field="line.device",
        )
    # Settings come nearest the rating first; what that one broke last is the clearest reason.
    first = failures[0]
    short = first.shortfall if first.zones == 0 else failures[-1].shortfall
    return ImpossibleError(short.text, limit=short.limit, field="rows")


def _why(
    hydraulics: FieldHydraulics, candidate: Candidate, zones: int, failures: list[Failure]
) -> str:
    """Say why there are this many zones and not one fewer."""
    field = hydraulics.field
    if zones == 1:
        return tr("The source carries all rows at once.")
    if zones == group_runs(field.crops):
        return tr("Each crop is a zone of its own.")
    fewer = [f for f in failures if f.zones == zones - 1]
    if fewer:
        return tr("With {zones}: {text}.", zones=zones - 1, text=fewer[-1].shortfall.text)
    set_head = candidate.assembly.set_head
    largest, usable = apart(
        least_capacity(least_flows(field), zones - 1, field.crops),
        hydraulics.usable(set_head),
        "flow",
        field.system,
    )
    return tr(
        "With {zones}, the largest zone would take at least {largest}, even at the lowest pressure "
        "of the line, and the source can give at most {usable}."
        if set_head is None
        else "With {zones}, the largest zone would take at least {largest}, even at the lowest "
        "pressure of the line, and the source can give at most {usable} at the pressure of the "
        "regulator.",
        zones=zones - 1,
        largest=largest,
        usable=usable,
    )


def _best(field: Field, budget: Budget, below: int | None = None) -> tuple[Found, list[Failure]]:
    """Return the best candidate, and what others failed by; raises where there is none.

    With `below`, one with fewer zones than that.
    """
    outcome = run(search(FieldHydraulics(field, budget), below))
    if outcome.best is None:
        raise _impossible(field, outcome.failures)
    return outcome.best, outcome.failures


def finished(found: Found, failures: list[Failure], choices: BuildChoices | None = None) -> Design:
    """Return the design that a candidate makes: every emitter, the parts and the reasons."""
    field = found.case.hydraulics.field
    found, parts = with_tapers(found, choices or BuildChoices(timer=field.timer))
    case, measured, number = found
    hydraulics, candidate = case.hydraulics, case.candidate
    zones = solutions(case, measured, number)
    return Design(
        field=field,
        candidate=candidate,
        zones=zones,
        parts=parts,
        why_zones=_why(hydraulics, candidate, len(zones), failures),
        sizing=(header_reason(field, candidate, zones), main_reason(field, candidate, zones)),
        hydraulics=hydraulics,
    )


def _zones_needed(field: Field, budget: Budget, below: int | None = None) -> int:
    found, _ = _best(field, budget, below)
    return len(found.case.candidate.layout.zones)


def one_fewer(found: Design) -> tuple[str, ...]:
    """Return changes that make it at least one zone fewer, each of them solved.

    Nothing for one zone, or where each crop group has only one.
    """
    zones = len(found.zones)
    if zones <= group_runs(found.field.crops):
        return ()
    return nearest_changes(found.field, FLOW, _zones_needed, below=zones)


def design(field: Field, choices: BuildChoices | None = None) -> Design:
    """Design everything that has to be built for a field.

    Parameters
    ----------
    field : Field
        What the user has.
    choices : BuildChoices, optional
        What the builder chose of the parts.

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
        return finished(*_best(field, Budget(BUDGET)), choices)
    except OutOfBudgetError:
        raise ImpossibleError(
            tr("the field is too large to search through as one design"),
            limit="size of the field",
            field="rows",
            changes=(tr("split it into several designs, each with its own part of the rows"),),
        ) from None
    except ImpossibleError as error:
        raise ImpossibleError(
            error.message,
            limit=error.limit,
            field=error.field,
            changes=nearest_changes(field, error.limit, _zones_needed),
        ) from None
