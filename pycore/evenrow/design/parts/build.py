"""The parts list from plain values: coils by the cutting plans, fittings by the rules."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TypedDict, Unpack

from evenrow.catalogue import AssemblyPart, Device, PipeSize, current
from evenrow.design.choices import BuildChoices
from evenrow.design.cutting import CuttingPlan, cutting_plan
from evenrow.design.parts.model import (
    ALL_ZONES,
    Arms,
    CutFor,
    CutList,
    Part,
    PartsList,
    PipePiece,
    Product,
    RunPiece,
    Use,
    ZoneFeed,
)
from evenrow.design.parts.products import of_coil, of_fitting
from evenrow.design.parts.rules import (
    GEOMETRY,
    LINE,
    PIPE,
    Want,
    head_wants,
    line_wants,
    pipe_wants,
    spare_wants,
    valve_wants,
)
from evenrow.errors import InputError
from evenrow.words import language, said, tr

#: Extra line at each run to reach the take-off and to close the end. [m]
LINE_ALLOWANCE = 0.3048

#: What pieces are cut for: the elements of `CutList`, as they begin a title.
ROWS, HEADERS, MAIN, HEADERS_AND_MAIN = "rows", "headers", "main", "headers and main"
_ELEMENTS = {
    ROWS: said("rows"),
    HEADERS: said("headers"),
    MAIN: said("main"),
    HEADERS_AND_MAIN: said("headers and main"),
}
_TITLES = {
    HEADERS: said("Headers: {pipe}"),
    MAIN: said("Main: {pipe}"),
    HEADERS_AND_MAIN: said("Headers and main: {pipe}"),
}
_RULES = {
    ROWS: said("All runs, each with 1 ft (0.3 m) more to reach the take-off and to close the end."),
    HEADERS: said(
        "Headers from the first to the last line of each zone, 1 ft (0.3 m) past each end."
    ),
    MAIN: said("Main from the source to the farthest zone's header."),
    HEADERS_AND_MAIN: said(
        "Headers from the first to the last line of each zone, 1 ft (0.3 m) past each end; main "
        "from the source to the farthest zone's header."
    ),
}


def _coils(entry: Device | PipeSize, cuts: CutList, group: str, use: str) -> Iterable[Want]:
    plan = cuts.plan
    rule = tr(_RULES[cuts.element])
    if plan.proven and plan.price is not None:
        how = tr("Coils by the cutting plan (proven cheapest).")
    elif plan.proven:
        how = tr("Coils by the cutting plan (proven fewest).")
    else:
        how = tr("Coils by the cutting plan (not proven best; the bound stands with the plan).")
    cut: dict[float, float] = dict.fromkeys((length for length, _ in plan.by_length), 0.0)
    for coil in plan.coils:
        cut[coil.length] += sum(length for _, length in coil.pieces)
    for length, count in plan.by_length:
        yield Want(
            group=group,
            product=of_coil(entry, length),
            element=tr(_ELEMENTS[cuts.element]),
            rule=f"{rule} {how}",
            source=tr(GEOMETRY),
            uses=(Use(element=use, zone=ALL_ZONES, count=count),),
            cut=cut[length],
        )


def _plan(entry: Device | PipeSize, lengths: Sequence[float], *, couplings: bool) -> CuttingPlan:
    joint = of_fitting("coupling", entry.code).price
    return _planned(tuple(lengths), entry.coils, entry.prices, couplings, joint)


@lru_cache(maxsize=512)
def _planned(
    lengths: tuple[float, ...],
    coils: tuple[float, ...],
    prices: tuple[float, ...],
    couplings: bool,
    joint: float | None,
) -> CuttingPlan:
    """Return the plan, kept for the next design with the same pieces: options share most."""
    return cutting_plan(lengths, coils, prices=prices, couplings=couplings, joint_price=joint)


def _line_cuts(device: Device, runs: Sequence[RunPiece], choices: BuildChoices) -> CutList:
    lengths = [run.length + LINE_ALLOWANCE for run in runs]
    try:
        plan = _plan(device, lengths, couplings=choices.couplings)
    except InputError as error:
        if choices.couplings or max(lengths) <= max(device.coils):
            raise
        raise InputError(
            tr("the longest run is longer than any coil, and no run may be joined"),
            code="out_of_range",
            field="build.couplings",
            given=f"{max(lengths):.4g} m",
            accepted=tr("runs up to {length:.4g} m", length=max(device.coils) - LINE_ALLOWANCE),
            hint=tr("allow couplings, or lay the header across the middle"),
        ) from error
    names = tuple(CutFor(what="row", number=run.row) for run in runs)
    return CutList(element=ROWS, name="cuts_line", title=tr("Line"), plan=plan, names=names)


@lru_cache(maxsize=128)
def _line_side(
    device: Device, runs: tuple[RunPiece, ...], choices: BuildChoices, spoken: str
) -> tuple[CutList, tuple[Want, ...]]:
    """Return the cuts of the line and what it asks for, kept for designs with the same runs.

    `spoken` is the language in use: its sentences are kept with them.
    """
    line = _line_cuts(device, runs, choices)
    coils = _coils(device, line, LINE, "line")
    return line, (*coils, *line_wants(device, runs, line.plan, choices))


def _pipe_cuts(
    headers: Mapping[int, Arms], mains: Sequence[PipePiece]
) -> list[tuple[PipeSize, CutList]]:
    """Return a cutting plan for each size of pipe, headers' sizes first."""
    pieces = [
        (p, CutFor(what="header", number=z))
        for z, arms in headers.items()
        for arm in arms
        for p in arm
    ]
    pieces += [(piece, CutFor(what="main")) for piece in mains]
    found = []
    for size in dict.fromkeys(piece.size for piece, _ in pieces):
        here = [(piece.length, name) for piece, name in pieces if piece.size == size]
        kinds = {name.what == "main" for _, name in here}
        element = HEADERS_AND_MAIN if len(kinds) == 2 else MAIN if True in kinds else HEADERS
        plan = _plan(size, [length for length, _ in here], couplings=True)
        cuts = CutList(
            element=element,
            name="cuts_" + element.replace(" ", "_"),
            title=tr(_TITLES[element], pipe=tr(size.label)),
            plan=plan,
            names=tuple(name for _, name in here),
        )
        found.append((size, cuts))
    return found


def _line_of(want: Want) -> tuple[str, str, float | None]:
    """Return what makes products equal, so that they stand on one line."""
    return want.product.code, want.product.label, want.product.length


def _together(wants: Iterable[Want]) -> tuple[Part, ...]:
    """Put equal products on one line, in the order in which they were first asked for."""
    lines: dict[tuple[str, str, float | None], Want] = {}
    for want in wants:
        key = _line_of(want)
        # A coil is a line for each plan: its rule and its cuts are those of the plan.
        known = lines.get(key)
        if known is None:
            lines[key] = want
            continue
        elements = dict.fromkeys([known.element, want.element])
        lines[key] = replace(
            known,
            uses=known.uses + want.uses,
            spare=known.spare + want.spare,
            element=known.element if want.group != known.group else _both(list(elements)),
            rule=" ".join(dict.fromkeys([known.rule, _spares_rule(want)])),
            source="; ".join(dict.fromkeys([known.source, want.source])),
        )
    return tuple(
        Part(
            number=number,
            group=want.group,
            product=want.product,
            needed=sum(use.count for use in want.uses),
            element=want.element,
            rule=want.rule,
            source=want.source,
            uses=want.uses,
            spare=want.spare,
            cut=want.cut,
        )
        for number, want in enumerate(lines.values(), start=1)
    )


def _both(elements: Sequence[str]) -> str:
    if len(elements) == 1:
        return elements[0]
    return tr("{first} and {second}", first=elements[0], second=elements[1])


def _spares_rule(want: Want) -> str:
    return tr("Spare: {rule}", rule=want.rule) if want.spare else want.rule


class OffLayout(TypedDict):
    """What is read off a layout and its pipes; see `Needs`."""

    runs: Sequence[RunPiece]
    headers: Mapping[int, Arms]
    mains: Sequence[PipePiece]
    zones: Sequence[ZoneFeed]
    main: PipeSize
    elbows: Mapping[str, int]


class Needs(OffLayout):
    """What a parts list is made from.

    Parameters
    ----------
    runs : sequence of RunPiece
        Every run of line.
    headers : mapping of int to arms
        For each zone its one or two arms, each the pieces of pipe from the feed outwards.
    mains : sequence of PipePiece
        The pieces of main between its tees, of one size; none where there is no main.
    zones : sequence of ZoneFeed
        How each zone is fed.
    main : PipeSize
        Pipe of the main, also of its fittings where it has no length.
    elbows : mapping of str to int
        Further elbows, of obstacles and risers, by code of the pipe.
    assembly : sequence of AssemblyPart
        The head assembly in the order of the flow.
    valve : AssemblyPart or None
        Valve of each zone, where there are several.
    device : Device
        The tape or dripline.
    choices : BuildChoices
        What the builder chose.
    """

    assembly: Sequence[AssemblyPart]
    valve: AssemblyPart | None
    device: Device
    choices: BuildChoices


def parts_list(**needs: Unpack[Needs]) -> PartsList:
    """Return everything to buy.

    Parameters
    ----------
    needs
        As `Needs`.

    Raises
    ------
    InputError
        A run longer than any coil where none may be joined; a length not above zero.
    """
    wants, cuts = _wanted(**needs)
    catalogue = current()
    return PartsList(
        parts=_together(wants), cuts=cuts, currency=catalogue.currency, catalogue=catalogue.mark
    )


def parts_price(**needs: Unpack[Needs]) -> tuple[float, int]:
    """Return the total of `parts_list` and how many of its lines have no price, without the list.

    Parameters, Raises
    ------------------
    As `parts_list`.
    """
    wants, _ = _wanted(**needs)
    pieces: dict[tuple[str, str, float | None], int] = {}
    products: dict[tuple[str, str, float | None], Product] = {}
    for want in wants:
        key = _line_of(want)
        products[key] = want.product
        pieces[key] = pieces.get(key, 0) + want.spare + sum(use.count for use in want.uses)
    total, unpriced = 0.0, 0
    for key, product in products.items():
        if product.price is None:
            unpriced += 1
        else:
            total += -(-pieces[key] // product.pack) * product.pack * product.price
    return total, unpriced


def _wanted(
    *,
    runs: Sequence[RunPiece],
    headers: Mapping[int, Arms],
    mains: Sequence[PipePiece],
    zones: Sequence[ZoneFeed],
    main: PipeSize,
    elbows: Mapping[str, int],
    assembly: Sequence[AssemblyPart],
    valve: AssemblyPart | None,
    device: Device,
    choices: BuildChoices,
) -> tuple[list[Want], tuple[CutList, ...]]:
    """Return what is asked for, part by part, and the cutting plans, that of the line first."""
    line, line_side = _line_side(device, tuple(runs), choices, language())
    pipes = _pipe_cuts(headers, mains)
    plans = [(size, cuts.plan) for size, cuts in pipes]
    length = sum(piece.length for piece in mains)
    wants = [
        *head_wants(assembly, device, main, choices),
        *(
            want
            for size, cuts in pipes
            for want in _coils(size, cuts, PIPE, "main" if cuts.element == MAIN else "header")
        ),
        *pipe_wants(headers, mains, zones, elbows, plans, main, choices),
        *(valve_wants(valve, zones, main, length, choices) if valve is not None else ()),
        *line_side,
        *spare_wants(device, assembly, len(runs), choices),
    ]
    return wants, (line, *(cuts for _, cuts in pipes))
