"""The search for the fewest zones, written so that many searches can be solved together.

A search is a generator: it yields the cases that it wants solved and is sent the zones as
measured. `run` drives one, `run_together` many in step, all their cases in one solve.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from evenrow.design.bounds import ZONES_MAX, capacity_of, hopeless, least_zones
from evenrow.design.budget import OutOfBudgetError
from evenrow.design.build import build, enlarged
from evenrow.design.hours import window_shortfall
from evenrow.design.layout import ZoneLayout
from evenrow.design.limits import FLOW, shortfalls, source_shortfall
from evenrow.design.measure import Case, Measured, charge, measure
from evenrow.design.model import Shortfall
from evenrow.design.settings import set_heads
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import fewest_zones
from evenrow.errors import ImpossibleError

#: Zones tried beyond the fewest that flow, parts and pipe allow, before giving up.
MORE_ZONES = 40
#: Share of the rows' flow at the regulator's pressure that headers usually leave of it.
LIKELY = 0.95


class Found(NamedTuple):
    """A case as measured: number `number` of what was measured together."""

    case: Case
    measured: Measured
    number: int


class Answer(NamedTuple):
    """What is sent to a search: what was measured, and where its own cases begin there."""

    measured: Measured
    first: int


@dataclass(frozen=True)
class Failure:
    """What a number of zones came to; 0 zones where the setting as a whole is ruled out."""

    zones: int
    shortfall: Shortfall
    set_head: float | None = None


@dataclass(frozen=True)
class Outcome:
    """The best that a search found, if anything, and what the others failed by."""

    best: Found | None
    failures: list[Failure] = field(default_factory=list)


Fitting = Generator[Sequence[Case], Answer, tuple[Found, list[Shortfall]]]
Slimming = Generator[Sequence[Case], Answer, Found]
Trying = Generator[Sequence[Case], Answer, dict[int, Found]]
Setting = Generator[Sequence[Case], Answer, Found | None]
Search = Generator[Sequence[Case], Answer, Outcome]


def _demand(case: Case, zone: ZoneLayout) -> tuple[float, int]:
    """Return what a zone is likely to take, for sorting the most demanding first."""
    flows = case.hydraulics.row_flows(case.hydraulics.guess(case.candidate.assembly.set_head))
    return sum(flows[slice(*zone.rows)]), zone.number


def _source_limits(case: Case, measured: Measured, number: int) -> list[Shortfall]:
    """Return what the source cannot do for the most demanding zone that asks too much of it."""
    zones = measured.flows(number)
    for zone in sorted(zones, key=lambda zone: _demand(case, zone.layout), reverse=True):
        short = source_shortfall(case.hydraulics.field, case.candidate, zone)
        if short is not None:
            return [short]
    return []


def broken_limits(case: Case, measured: Measured, number: int) -> list[Shortfall]:
    """Return the limits that the most demanding failing zone breaks; empty if none does.

    What the source cannot feed is told without a look at the emitters.
    """
    broken = _source_limits(case, measured, number)
    if broken:
        return broken
    field, candidate = case.hydraulics.field, case.candidate
    states = measured.states(number)
    for zone in sorted(states, key=lambda zone: _demand(case, zone.layout), reverse=True):
        broken = shortfalls(field, candidate, (zone,))
        if broken:
            return broken
    short = window_shortfall(field, states)
    return [] if short is None else [short]


def _fit(found: Found) -> Fitting:
    """Give a measured case larger pipe as long as that may cure what it breaks.

    Larger pipe also passes more water, so that a later size may ask too much of the source
    where an earlier one does not: the sizes are taken one after another.
    """
    while True:
        case = found.case
        broken = broken_limits(*found)
        head = case.hydraulics.field.standing(case.candidate.assembly.set_head)
        larger = enlarged(case.candidate, broken, head) if broken else None
        if larger is None:
            return found if broken else (yield from _without_vain_steps(found)), broken
        grown = Case(case.hydraulics, larger)
        answer = yield [grown]
        found = Found(grown, *answer)


def _without_vain_steps(found: Found) -> Slimming:
    """Take back the steps of the header that cured nothing, where the main was what lacked.

    The header grows before the main, so that a main too small takes it through every size.
    """
    case = found.case
    steps = [step for step in case.candidate.grown if step.pipe == "header"]
    others = tuple(step for step in case.candidate.grown if step.pipe != "header")
    if not steps or not others:
        return found
    smaller = [
        Case(
            case.hydraulics,
            replace(case.candidate, header=step.before, grown=(*steps[:number], *others)),
        )
        for number, step in enumerate(steps)
    ]
    answer = yield smaller
    why = ""
    for number, one in enumerate(smaller):
        place = answer.first + number
        broken = broken_limits(one, answer.measured, place)
        if not broken:
            kept = one.candidate.grown
            if number:
                kept = (*steps[: number - 1], replace(steps[number - 1], why=why), *others)
            slim = Case(case.hydraulics, replace(one.candidate, grown=kept))
            return Found(slim, answer.measured, place)
        why = broken[0].text
    return found


def _probe(case: Case) -> Case:
    """Return the same case with its most demanding zone alone."""
    hardest = max(case.candidate.layout.zones, key=lambda zone: _demand(case, zone))
    return Case(case.hydraulics, case.candidate, hardest)


def _try(
    hydraulics: FieldHydraulics,
    set_head: float | None,
    counts: range,
    likely: int,
    failures: list[Failure],
) -> Trying:
    """Return those of the numbers of zones that keep every limit, and note what others break."""
    cases: dict[int, Case] = {}
    for zones in counts:
        partition = hydraulics.partition(set_head, zones)
        try:
            cases[zones] = Case(hydraulics, build(hydraulics.field, partition, set_head))
        except ImpossibleError as error:
            short = Shortfall(limit=error.limit, text=error.message, cure="zones")
            failures.append(Failure(zones, short))
    if not cases:
        return {}
    # Fewer zones than likely ask too much of the source more often than not: a look at the most
    # demanding one then tells.
    asked = {n: _probe(case) if n < likely else case for n, case in cases.items()}
    answer = yield list(asked.values())
    kept: dict[int, Found] = {}
    for place, (zones, case) in enumerate(cases.items()):
        found = Found(asked[zones], answer.measured, answer.first + place)
        if zones < likely:
            broken = _source_limits(*found)
            if broken:
                failures.append(Failure(zones, broken[0], set_head))
                continue
            found = Found(case, *(yield [case]))
        found, broken = yield from _fit(found)
        if broken:
            failures.append(Failure(zones, broken[0], set_head))
        else:
            kept[zones] = found
    return kept


def _too_much(failures: Sequence[Failure], set_head: float | None, zones: int) -> bool:
    """Return whether a source that failed before fails here without a look.

    At a higher setting the same rows take more and the source brings less; in fewer zones the
    largest takes more.
    """
    return any(
        failure.shortfall.limit == FLOW
        and failure.set_head is not None
        and set_head is not None
        and failure.set_head <= set_head
        and failure.zones >= zones
        for failure in failures
    )


def _at_setting(
    hydraulics: FieldHydraulics, set_head: float | None, below: int, failures: list[Failure]
) -> Setting:
    """Return the fewest zones below `below` that keep every limit at a regulator setting.

    Starts where the flows at that pressure would fill the source, and goes down as long as
    fewer zones do, or up until some do: zones that ask too much of the source do so with
    fewer of them too.
    """
    rows = hydraulics.field.rows
    crops = hydraulics.field.crops
    capacity = capacity_of(hydraulics, set_head)
    least = least_zones(hydraulics, set_head)
    most = min(least + MORE_ZONES, len(rows), ZONES_MAX, below - 1)
    if most < least:
        return None
    flows = [LIKELY * flow for flow in hydraulics.row_flows(hydraulics.guess(set_head))]
    likely = fewest_zones(flows, capacity, crops) if max(flows) <= capacity else least
    high = min(max(likely, least), most)
    # Where another setting has found something, this one seldom needs fewer zones still.
    low = high if below <= len(rows) else max(least, high - 1)
    kept = yield from _try(hydraulics, set_head, range(low, high + 1), likely, failures)
    while not kept and high < most and failures[-1].shortfall.cure != "":
        low, high = high + 1, min(high + 2, most)
        kept = yield from _try(hydraulics, set_head, range(low, high + 1), likely, failures)
    if not kept:
        return None
    fewest = min(kept)
    best = kept[fewest]
    while fewest == low and least < low:
        high, low = low - 1, max(least, low - 2)
        kept = yield from _try(hydraulics, set_head, range(low, high + 1), likely, failures)
        if not kept:
            break
        fewest = min(kept)
        best = kept[fewest]
    return best


def search(hydraulics: FieldHydraulics, below: int | None = None) -> Search:
    """Look for the fewest zones; the setting nearest the line's rating among equals.

    With `below`, only fewer zones than that are of interest.
    """
    best: Found | None = None
    below = len(hydraulics.field.rows) + 1 if below is None else below
    failures: list[Failure] = []
    for set_head in set_heads(hydraulics.field):
        if below <= len(hydraulics.field.rows) and (
            _too_much(failures, set_head, below - 1) or least_zones(hydraulics, set_head) >= below
        ):
            continue
        short = hopeless(hydraulics, set_head)
        if short is not None:
            failures.append(Failure(0, short))
            continue
        found = yield from _at_setting(hydraulics, set_head, below, failures)
        if found is not None:
            best, below = found, len(found.case.candidate.layout.zones)
    return Outcome(best, failures)


def run(searching: Search) -> Outcome:
    """Drive one search to its end.

    Raises
    ------
    OutOfBudgetError
        It would cost more than its budget.
    """
    try:
        cases = next(searching)
        while True:
            charge(cases)
            cases = searching.send(Answer(measure(cases), 0))
    except StopIteration as end:
        outcome: Outcome = end.value
        return outcome


def run_together(searches: Sequence[Search]) -> list[Outcome | None]:
    """Drive many searches in step; None for one that ran out of its budget.

    All fields share source, reserve and water.
    """
    outcomes: list[Outcome | None] = [None] * len(searches)
    asked: dict[int, Sequence[Case]] = {}

    def step(number: int, answer: Answer | None) -> None:
        searching = searches[number]
        try:
            cases = next(searching) if answer is None else searching.send(answer)
            charge(cases)
            asked[number] = cases
        except StopIteration as end:
            outcomes[number] = end.value
        except OutOfBudgetError:
            pass

    for number in range(len(searches)):
        step(number, None)
    while asked:
        asking = dict(asked)
        asked.clear()
        measured = measure([case for cases in asking.values() for case in cases])
        first = 0
        for number, cases in asking.items():
            step(number, Answer(measured, first))
            first += len(cases)
    return outcomes
