"""The same field built in many ways: lines, lines per row, header places and pipes compared."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

import numpy as np

from evenrow.catalogue import Device, PipeSize, current, devices
from evenrow.design.budget import Budget
from evenrow.design.build import next_size
from evenrow.design.choices import BuildChoices
from evenrow.design.field import ANY_PIPE, Field, best_share
from evenrow.design.hours import watering_times
from evenrow.design.line import Line, spacing_note
from evenrow.design.measure import Case, measure
from evenrow.design.model import Candidate
from evenrow.design.parts import RunPiece, price_of, run_pieces
from evenrow.design.reach import SourceReach
from evenrow.design.runs import SHARES
from evenrow.design.search import Found, Outcome, broken_limits, run_together, search
from evenrow.design.system import CurveStore, FieldHydraulics
from evenrow.design.taper import may_taper, with_tapers
from evenrow.errors import InputError
from evenrow.words import tr

#: Most lines on one row that are tried.
LINES_MAX = 4
#: Lines more or fewer on every row that are tried, and sizes of header above the least.
MORE_LINES = (1, -1)
LARGER_HEADERS = 2
#: A best place for the header nearer than this to one that is tried anyway is the same.
PLACE_APART = 0.05
#: Ground whose heights along a row differ by less than this share of the line's pressure is level
#: enough for the middle to be the best place.
LEVEL = 0.1
#: Digits of a fraction to which uniformities differ.
EU_DIGITS = 3
#: What all searches may cost, about, and how many times what is likely each of them.
WHOLE = 8e6
EACH = 6.0
LEAST_BUDGET = 1e6
#: Relative error of the curves of laterals: an option is solved again when it is chosen.
CURVE_TOLERANCE = 1e-4


@dataclass(frozen=True, kw_only=True)
class Way:
    """What one option changes: line, lines more on each row, place of the header, its feed."""

    line: Line
    more_lines: int
    place: str
    share: float
    feed: str


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to build the field, as solved.

    Parameters
    ----------
    number : int
        From 1, in the order of the ways.
    way : Way
        What it changes.
    header, main : PipeSize or None
        Its pipes; None where nothing keeps the limits.
    zones, eu, flow, hours, set_head
        Number of zones, lowest emission uniformity, largest flow [m3/s], time of all zones on the
        hottest day [s] and regulator setting [m].
    price : float
        Of everything that has a price, in the currency of the catalogue.
    unpriced : int
        Lines of the parts list without a price.
    least_header, least_main : str
        Codes of the pipes to be asked for as the least, `ANY_PIPE` where none has to be.
    short : str
        Why it keeps no limits, or "".
    frontier : bool
        Whether no other option costs less and waters more evenly.
    """

    number: int
    way: Way
    header: PipeSize | None = None
    main: PipeSize | None = None
    zones: int = 0
    eu: float = 0.0
    flow: float = 0.0
    hours: float = 0.0
    set_head: float | None = None
    price: float = 0.0
    unpriced: int = 0
    least_header: str = ANY_PIPE
    least_main: str = ANY_PIPE
    short: str = ""
    frontier: bool = False

    @property
    def works(self) -> bool:
        """Whether it keeps every limit."""
        return not self.short


@dataclass(frozen=True, kw_only=True)
class Options:
    """All options; the cheapest, the most even and the one that is the field as it is."""

    options: tuple[Option, ...]
    currency: str

    @property
    def working(self) -> tuple[Option, ...]:
        """Those that keep every limit."""
        return tuple(option for option in self.options if option.works)


def _spacing(device: Device, wanted: float) -> float:
    """Return the spacing wanted where the line is sold with it, else the nearest that is."""
    if not spacing_note(device, wanted, "metric"):
        return wanted
    return min(device.spacings, key=lambda spacing: abs(spacing - wanted))


def _lines(field: Field) -> Iterator[Line]:
    """Yield the field's own line, then every other of the catalogue."""
    yield field.line
    for code, device in devices().items():
        if code != field.line.device.code:
            yield replace(field.line, device=device, spacing=_spacing(device, field.line.spacing))


def _places(field: Field) -> dict[str, float]:
    """Return the places of the header that are tried, by their names in the form."""
    places = dict(SHARES)
    longest = max(row.length for row in field.rows)
    heights = field.ground.along_row(np.linspace(0.0, longest, 9))
    if float(np.ptp(heights)) < LEVEL * field.line.device.emitter.head_nominal:
        return places
    try:
        best = best_share(field.line, field.rows, field.ground)
    except InputError:
        return places
    if all(abs(best - share) > PLACE_APART for share in places.values()):
        places["best"] = best
    return places


def ways(field: Field) -> list[Way]:
    """Return the ways that are compared, that of the field itself first.

    Every line at every place with both feeds; and with a line more or fewer on each row as the
    field is fed now, where the header is now and in the middle.  A large field is built in fewer
    ways: with every line as it is now, then at other places. Only the field's own line is built
    at its best place: that of another line differs, and costs more to find than all the rest.
    """
    places = _places(field)
    own = next((name for name, share in places.items() if share == field.share), "best")
    places[own] = field.share
    # The field's own place first, then the best: a large field is not built at all of them.
    order = [own, *sorted((name for name in places if name != own), key="best".__ne__)]
    feeds = (field.feed, "tee" if field.feed == "end" else "end")
    counts = [row.lines for row in field.rows]
    more = [n for n in MORE_LINES if min(counts) + n >= 1 and max(counts) + n <= LINES_MAX]
    arranged = [
        *product([0], order, feeds),
        *product(more, list(dict.fromkeys([own, "middle"])), feeds[:1]),
    ]
    lines_tried = list(_lines(field))
    found = [
        Way(line=line, more_lines=more_lines, place=place, share=places[place], feed=feed)
        for more_lines, place, feed in arranged
        for line in lines_tried
        if place != "best" or line == field.line
    ]
    return found[: max(len(lines_tried), int(WHOLE / _cost(field)))]


def _cost(field: Field) -> float:
    """Return about what one way costs to solve, in the units of a `Budget`."""
    lengths = {row.length for row in field.rows}
    emitters = sum(field.line.emitters_on(length) for length in lengths)
    outlets = sum(row.lines for row in field.rows)
    return 120.0 * emitters + 10_000.0 * len(lengths) + 250.0 * outlets


def changed(field: Field, way: Way) -> Field:
    """Return the field built that way."""
    rows = field.rows
    if way.more_lines:
        rows = tuple(replace(row, lines=row.lines + way.more_lines) for row in rows)
    return replace(field, line=way.line, feed=way.feed, rows=rows).placed(way.share)


class _Variant(NamedTuple):
    """A candidate with the pipes that have to be asked for to get it."""

    found: Found
    least_header: str = ANY_PIPE
    least_main: str = ANY_PIPE


def _larger_pipes(candidate: Candidate, head: float) -> Iterator[tuple[Candidate, str, str]]:
    """Yield a candidate with larger headers, and with a larger main."""
    size: PipeSize | None = candidate.header
    for _ in range(LARGER_HEADERS):
        size = None if size is None else next_size(size, head)
        if size is not None:
            yield replace(candidate, header=size), size.code, ANY_PIPE
    size = next_size(candidate.main, head)
    if size is not None:
        yield replace(candidate, main=size), ANY_PIPE, size.code


def _with_larger(best: Sequence[Found]) -> list[_Variant]:
    """Return each candidate and, where they keep the limits too, those with larger pipe."""
    cases: list[Case] = []
    asked: list[tuple[str, str]] = []
    for found in best:
        hydraulics, candidate = found.case.hydraulics, found.case.candidate
        head = hydraulics.field.standing(candidate.assembly.set_head)
        for larger, header, main in _larger_pipes(candidate, head):
            cases.append(Case(hydraulics, larger))
            asked.append((header, main))
    measured = measure(cases) if cases else None
    kept: dict[int, list[_Variant]] = {}
    for number, case in enumerate(cases):
        if measured is not None and not broken_limits(case, measured, number):
            variant = _Variant(Found(case, measured, number), *asked[number])
            kept.setdefault(id(case.hydraulics), []).append(variant)
    return [
        variant
        for found in best
        for variant in (_Variant(found), *kept.get(id(found.case.hydraulics), ()))
    ]


def _priced(way: Way, variant: _Variant, choices: BuildChoices, runs: Sequence[RunPiece]) -> Option:
    """Return what a candidate comes to; `runs` are those of its layout."""
    found = variant.found
    hydraulics, candidate = found.case.hydraulics, found.case.candidate
    field = hydraulics.field
    price, unpriced = price_of(
        candidate.layout,
        share=field.share,
        device=field.line.device,
        header=candidate.header,
        main=candidate.main,
        assembly=candidate.assembly.parts,
        valve=candidate.valve,
        choices=choices,
        runs=runs,
    )
    # A header that is asked for by its size is not tapered below it.
    if variant.least_header == ANY_PIPE and may_taper(found.case, price):
        found, parts = with_tapers(found, choices)
        price, unpriced = parts.total, len(parts.unpriced)
    states = found.measured.states(found.number)
    return Option(
        number=0,
        way=way,
        header=candidate.header,
        main=candidate.main,
        zones=len(states),
        eu=min(zone.eu for zone in states),
        flow=max(zone.flow for zone in states),
        hours=sum(watering_times(field, states)),
        set_head=candidate.assembly.set_head,
        price=price,
        unpriced=unpriced,
        least_header=variant.least_header,
        least_main=variant.least_main,
    )


def mark_frontier(options: Sequence[Option]) -> list[Option]:
    """Return the options, those marked that no other beats in price and in uniformity.

    Uniformity counts as it is shown, to `EU_DIGITS`: less is no reason to pay more.
    """
    working = [option for option in options if option.works]
    best: set[int] = set()
    most = -1.0
    for option in sorted(working, key=lambda option: (option.price, -option.eu)):
        if round(option.eu, EU_DIGITS) > most:
            best.add(option.number)
            most = round(option.eu, EU_DIGITS)
    return [replace(option, frontier=option.number in best) for option in options]


def _why_not(outcome: Outcome | None) -> str:
    if outcome is None:
        return tr("it would take too long to work out")
    if not outcome.failures:
        return tr("no regulator setting suits this line here")
    return outcome.failures[-1].shortfall.text


def compare(field: Field, choices: BuildChoices | None = None) -> Options:
    """Build and solve the field in every way, and price each.

    Parameters
    ----------
    field : Field
        What the user has, with the way it is built now.
    choices : BuildChoices, optional
        What the builder chose.

    Returns
    -------
    Options
        Each with the fewest zones that `design` finds for it, and with larger header pipe where
        that keeps the limits too. Frontier: options that no other beats in price and uniformity.
    """
    reach = SourceReach(field.source, field.reserve)
    store = CurveStore()
    tried = ways(field)
    most = max(EACH * _cost(field), LEAST_BUDGET)
    hydraulics: list[FieldHydraulics | None] = []
    shorts: dict[int, str] = {}
    for number, way in enumerate(tried):
        try:
            hydraulics.append(
                FieldHydraulics(
                    changed(field, way), Budget(most), reach, CURVE_TOLERANCE, store=store
                )
            )
        except InputError as error:
            hydraulics.append(None)
            shorts[number] = error.message
    running = [(n, one) for n, one in enumerate(hydraulics) if one is not None]
    outcomes = run_together([search(one) for _, one in running])
    best: list[Found] = []
    way_of: dict[int, Way] = {}
    for (number, one), outcome in zip(running, outcomes, strict=True):
        if outcome is None or outcome.best is None:
            shorts[number] = _why_not(outcome)
        else:
            best.append(outcome.best)
            way_of[id(one)] = tried[number]
    chosen = choices or BuildChoices(timer=field.timer)
    runs = {
        id(one.case.hydraulics): run_pieces(
            one.case.candidate.layout, one.case.hydraulics.field.share
        )
        for one in best
    }
    found = [
        _priced(way_of[key], variant, chosen, runs[key])
        for variant in _with_larger(best)
        if (key := id(variant.found.case.hydraulics)) in runs
    ]
    found += [Option(number=0, way=tried[n], short=text) for n, text in sorted(shorts.items())]
    numbered = [replace(option, number=i) for i, option in enumerate(found, start=1)]
    return Options(options=tuple(mark_frontier(numbered)), currency=current().currency)
