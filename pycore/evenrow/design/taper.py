"""Headers that go on in a smaller pipe at their outer take-offs, where that costs less."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from evenrow.catalogue import PipeSize, pipes
from evenrow.design.choices import BuildChoices
from evenrow.design.layout import ZoneLayout
from evenrow.design.limits import shortfalls
from evenrow.design.measure import Case, measure
from evenrow.design.model import Candidate, Taper
from evenrow.design.parts import PartsList, parts_of
from evenrow.design.search import Found

#: Shares of the take-offs of each arm that are tried in the smaller pipe.
SHARES = (0.75, 0.5, 0.25)
#: What a taper has to save of the price of everything: a reducer is one more joint to leak.
WORTH = 0.01


def smaller_pipe(size: PipeSize, head: float) -> PipeSize | None:
    """Return the next smaller pipe that bears a head [m], or None."""
    fitting = [p for p in pipes().values() if p.bore < size.bore and head <= p.working_max]
    return fitting[-1] if fitting else None


def _taper(zone: ZoneLayout, size: PipeSize, share: float) -> Taper | None:
    """Return the taper of a zone at a share of each arm's take-offs, or None if it has none."""
    near = int(np.searchsorted(zone.takeoffs, zone.feed - 1e-9))
    outer = (int(share * near), int(share * (len(zone.takeoffs) - near)))
    return Taper(size=size, takeoffs=outer) if any(outer) else None


def _tapers(candidate: Candidate, size: PipeSize, share: float) -> dict[int, Taper]:
    found = ((zone.number, _taper(zone, size, share)) for zone in candidate.layout.zones)
    return {number: taper for number, taper in found if taper is not None}


def parts_for(case: Case, choices: BuildChoices, tapers: Mapping[int, Taper]) -> PartsList:
    """Return the parts of a candidate with these tapers."""
    field, candidate = case.hydraulics.field, case.candidate
    return parts_of(
        candidate.layout,
        share=field.share,
        device=field.line.device,
        header=candidate.header,
        main=candidate.main,
        assembly=candidate.assembly.parts,
        valve=candidate.valve,
        choices=choices,
        tapers=tapers,
    )


def with_tapers(found: Found, choices: BuildChoices) -> tuple[Found, PartsList]:
    """Return a candidate with tapered headers where these pay, and its parts.

    In each zone as many of the outer take-offs as keep every limit get the next smaller pipe;
    the whole is taken if it costs less than without by `WORTH` of the price.

    Parameters
    ----------
    found : Found
        A candidate that keeps every limit.
    choices : BuildChoices
        What the builder chose of the parts.
    """
    case = found.case
    field, candidate = case.hydraulics.field, case.candidate
    plain = parts_for(case, choices, {})
    small = _small(case)
    if small is None or not may_taper(case, plain.total):
        return found, plain
    tried = [_tapers(candidate, small, share) for share in SHARES]
    cases = [Case(case.hydraulics, replace(candidate, tapers=tapers)) for tapers in tried if tapers]
    if not cases:
        return found, plain
    measured = measure(cases)
    kept: dict[int, Taper] = {}
    for number, one in enumerate(cases):
        for state in measured.states(number):
            zone = state.layout.number
            taper = one.candidate.tapers.get(zone)
            if taper is None or zone in kept:
                continue
            if not shortfalls(field, one.candidate, (state,)):
                kept[zone] = taper
    if not kept:
        return found, plain
    parts = parts_for(case, choices, kept)
    if len(parts.unpriced) > len(plain.unpriced) or parts.total > (1.0 - WORTH) * plain.total:
        return found, plain
    final = Case(case.hydraulics, replace(candidate, tapers=kept))
    return Found(final, measure([final]), 0), parts


def _small(case: Case) -> PipeSize | None:
    """Return the pipe that outer take-offs may have, none smaller than the least asked for."""
    field, candidate = case.hydraulics.field, case.candidate
    small = smaller_pipe(candidate.header, field.standing(candidate.assembly.set_head))
    least = field.least_header
    return None if small is None or (least is not None and small.bore < least.bore) else small


def may_taper(case: Case, price: float) -> bool:
    """Return whether a smaller pipe could save enough of a price if all headers were of it."""
    small = _small(case)
    if small is None:
        return False
    length = sum(zone.header_length for zone in case.candidate.layout.zones)
    return length * (_per_metre(case.candidate.header) - _per_metre(small)) > WORTH * price


def _per_metre(size: PipeSize) -> float:
    """Return the least price of a metre, 0 where unknown."""
    each = zip(size.prices, size.coils, strict=False)
    return min((price / length for price, length in each), default=0.0)
