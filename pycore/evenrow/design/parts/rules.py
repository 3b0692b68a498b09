"""How many of what: the rules by which fittings are counted from the layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil

from evenrow.agronomy.filtration import FINENESS_SOURCE, fineness
from evenrow.catalogue import AssemblyPart, Device, PipeSize
from evenrow.design.assembly import ORDER_SOURCE, REASONS
from evenrow.design.choices import BuildChoices
from evenrow.design.cutting import CuttingPlan
from evenrow.design.parts.model import ALL_ZONES, Arms, PipePiece, Product, RunPiece, Use, ZoneFeed
from evenrow.design.parts.products import of_controller, of_fitting, of_part
from evenrow.words import said, tr

#: One stake or anchor for each such length of line, and one at each end. [m]
ANCHOR_EVERY = 3.0
#: Wire to have over at each valve. [m]
WIRE_OVER = 1.0
PRACTICE = said("common practice, no source")
GEOMETRY = said("count from the layout")
#: Headings of the list; a part keeps them in English, and they are translated where shown.
HEAD, PIPE = said("Head assembly"), said("Header and main")
LINE, SPARES = said("Line"), said("Spares")


@dataclass(frozen=True, kw_only=True)
class Want:
    """Something that the design asks for, before equal products are put together."""

    group: str
    product: Product
    element: str
    rule: str
    source: str
    uses: tuple[Use, ...] = ()
    spare: int = 0
    cut: float | None = None


def _by_zone(element: str, zones: Iterable[int]) -> tuple[Use, ...]:
    counted = sorted(Counter(zones).items())
    return tuple(Use(element=element, zone=zone, count=n) for zone, n in counted)


def _shared(element: str, count: int) -> tuple[Use, ...]:
    return (Use(element=element, zone=ALL_ZONES, count=count),) if count else ()


def head_wants(
    assembly: Sequence[AssemblyPart], device: Device, main: PipeSize, choices: BuildChoices
) -> Iterator[Want]:
    """Yield the head assembly in the order of the flow."""
    mesh, opening, enough = fineness(device.passage)
    grain = (
        said("{part}, {opening} µm ({mesh} mesh)")
        if enough
        else said("{part}, {opening} µm ({mesh} mesh) or finer")
    )
    for place, part in enumerate(assembly, start=1):
        filters = "filter" in part.kind
        product, why = of_part(part), tr("It {does}.", does=tr(REASONS[part.kind]))
        source = ORDER_SOURCE
        if filters:
            label = tr(grain, part=product.label, opening=round(opening * 1e6), mesh=mesh)
            product, source = replace(product, label=label), FINENESS_SOURCE
        if part.kind == "adapter" and choices.elbowed:
            product = of_fitting("elbow thread adapter", main.code, part.size, name=main.label)
            elbow = tr("As an elbow, so that the pipe does not kink below a low tap.")
            why = f"{why} {elbow}"
            source = PRACTICE
        yield Want(
            group=HEAD,
            product=product,
            element=tr("head assembly, place {place}", place=place),
            rule=why,
            source=tr(source),
            uses=_shared(f"assembly {place}", 1),
        )


def line_wants(
    device: Device, runs: Sequence[RunPiece], plan: CuttingPlan, choices: BuildChoices
) -> Iterator[Want]:
    """Yield what each run of line takes beside the line."""
    zones = [run.zone for run in runs]
    tap = "take-off with valve" if choices.takeoff_valves else "take-off"
    stakes = Counter[int]()
    for run in runs:
        stakes[run.zone] += ceil(run.length / ANCHOR_EVERY) + 1

    def want(kind: str, element: str, uses: tuple[Use, ...], rule: str, source: str) -> Want:
        product = of_fitting(kind, device.code, name=device.label)
        return Want(
            group=LINE, product=product, element=element, rule=rule, source=tr(source), uses=uses
        )

    yield want(
        tap,
        tr("start of each run"),
        _by_zone("take-off", zones),
        tr("One for each run of line. With a small valve, to shut a single run.")
        if choices.takeoff_valves
        else tr("One for each run of line."),
        GEOMETRY,
    )
    yield want(
        "end cap",
        tr("end of each run"),
        _by_zone("line cap", zones),
        tr("One for each run of line; it comes off for flushing."),
        GEOMETRY,
    )
    yield want(
        "stake",
        tr("each run"),
        tuple(Use(element="anchor", zone=z, count=n) for z, n in sorted(stakes.items())),
        tr("One for each started 3 m (10 ft) of run and one more at its end."),
        PRACTICE,
    )
    if plan.couplings:
        cuts = Counter(number for coil in plan.coils for number, _ in coil.pieces)
        joints = [runs[n - 1].zone for n, count in cuts.items() for _ in range(count - 1)]
        yield want(
            "coupling",
            tr("runs longer than a coil"),
            _by_zone("line coupling", joints),
            tr("One where two cuts of a run join."),
            GEOMETRY,
        )


def pipe_wants(
    headers: Mapping[int, Arms],
    mains: Sequence[PipePiece],
    zones: Sequence[ZoneFeed],
    elbows: Mapping[str, int],
    plans: Sequence[tuple[PipeSize, CuttingPlan]],
    main: PipeSize,
    choices: BuildChoices,
) -> Iterator[Want]:
    """Yield the fittings of headers and main."""

    def want(
        kind: str, size: PipeSize, element: str, uses: tuple[Use, ...], rule: str, to: str = ""
    ) -> Iterator[Want]:
        if uses:
            product = of_fitting(kind, size.code, to, name=size.label)
            yield Want(
                group=PIPE,
                product=product,
                element=element,
                rule=rule,
                source=tr(GEOMETRY),
                uses=uses,
            )

    sizes = {size.code: size for size, _ in plans} | {main.code: main}
    arms = [(zone, arm) for zone, both in headers.items() for arm in both]
    for code in dict.fromkeys(arm[-1].size.code for _, arm in arms):
        yield from want(
            "flush valve" if choices.flush_valves else "end cap",
            sizes[code],
            tr("closed ends of headers"),
            _by_zone("header cap", (zone for zone, arm in arms if arm[-1].size.code == code)),
            tr("One flush valve at an end-fed header, two at a header fed by a tee.")
            if choices.flush_valves
            else tr("One cap at an end-fed header, two at a header fed by a tee."),
        )
    tees = tuple(Use(element="tee", zone=zone.number, count=1) for zone in zones if zone.tee)
    yield from want(
        "tee",
        main,
        tr("main"),
        tees + _shared("main tee", len(zones) - 1),
        tr("One for each header fed at its middle, and one where the main goes on past a zone."),
    )
    yield from want(
        "elbow",
        main,
        tr("main to header"),
        _by_zone("elbow", (zone.number for zone in zones if not zone.tee)),
        tr("One where the main turns into an end-fed header."),
    )
    for code, count in elbows.items():
        yield from want(
            "elbow",
            sizes[code],
            tr("obstacles and risers"),
            _shared("bend", count),
            tr(
                "One for each bend round an obstacle, and where a buried main goes "
                "down or comes up."
            ),
        )
    steps = [
        (zone, before, after)
        for zone, arm in arms
        for before, after in pairwise((main, *(piece.size for piece in arm)))
        if before != after
    ]
    for large, small in dict.fromkeys((before, after) for _, before, after in steps):
        yield from want(
            "reducer",
            large,
            tr("start of each header") if large == main else tr("taper of a header"),
            _by_zone("reducer", (z for z, a, b in steps if (a, b) == (large, small))),
            tr("One where the pipe changes its size, for each arm of a header."),
            to=small.code,
        )
    for size, plan in plans:
        yield from want(
            "coupling",
            size,
            tr("pipe longer than a coil"),
            _shared("pipe coupling", plan.couplings),
            tr("One where two cuts of a pipe join."),
        )
        if size.clamped:
            pieces = [(z, p) for z, arm in arms for p in arm if p.size == size]
            ends = Counter[int]()
            for zone, _ in pieces:
                ends[zone] += 2
            ends[ALL_ZONES] += 2 * (
                sum(1 for p in mains if p.size == size) + plan.couplings + elbows.get(size.code, 0)
            )
            yield from want(
                "clamp",
                size,
                tr("fittings of clamped pipe"),
                tuple(Use(element="clamp", zone=z, count=n) for z, n in sorted(ends.items()) if n),
                tr("One for each end of clamped pipe on a fitting, two at each coupling and bend."),
            )


def valve_wants(
    valve: AssemblyPart,
    zones: Sequence[ZoneFeed],
    main: PipeSize,
    main_length: float,
    choices: BuildChoices,
) -> Iterator[Want]:
    """Yield the valve of each zone, with what joins it to pipe and controller."""
    numbers = [zone.number for zone in zones]
    yield Want(
        group=PIPE,
        product=of_part(valve),
        element=tr("start of each header"),
        source=tr(GEOMETRY),
        rule=tr("One for each zone: it {waters}.", waters=tr(REASONS[valve.kind])),
        uses=_by_zone("valve", numbers),
    )
    yield Want(
        group=PIPE,
        product=of_fitting("thread adapter", main.code, valve.size, name=main.label),
        element=tr("threads of each valve"),
        source=tr(GEOMETRY),
        rule=tr("One on either side of each valve."),
        uses=_by_zone("valve thread", [n for n in numbers for _ in range(2)]),
    )
    if not choices.timer or valve.kind != "zone valve":
        return
    yield Want(
        group=PIPE,
        product=of_controller(len(zones)),
        element=tr("zone valves"),
        source=tr(GEOMETRY),
        rule=tr("One, because a timer is wanted and there are several zones."),
        uses=_shared("controller", 1),
    )
    yield Want(
        group=PIPE,
        product=of_fitting("valve wire"),
        element=tr("controller to valves"),
        rule=tr(
            "Along the main from a controller at the source, and 1 m (3 ft) more at each valve."
        ),
        source=tr(PRACTICE),
        uses=_shared("wire", ceil(main_length + WIRE_OVER * len(zones))),
    )
    yield Want(
        group=PIPE,
        product=of_fitting("wire joint"),
        element=tr("wires of each valve"),
        rule=tr("Two at each valve."),
        source=tr(PRACTICE),
        uses=_by_zone("wire joint", [n for n in numbers for _ in range(2)]),
    )


def spare_wants(
    device: Device, assembly: Sequence[AssemblyPart], runs: int, choices: BuildChoices
) -> Iterator[Want]:
    """Yield what to have over."""
    share = choices.spare_share
    few = max(1, ceil(share * runs - 1e-9)) if share > 0.0 else 0
    percent = f"{100 * share:.3g} %"

    def spare(product: Product, count: int, rule: str) -> Iterator[Want]:
        if count:
            yield Want(
                group=SPARES,
                product=product,
                element=tr("repairs"),
                rule=rule,
                source=tr(PRACTICE),
                spare=count,
            )

    def own(kind: str) -> Product:
        return of_fitting(kind, device.code, name=device.label)

    two = max(2, few) if few else 0
    tap = "take-off with valve" if choices.takeoff_valves else "take-off"
    yield from spare(own(tap), few, tr("{percent} over, at least one.", percent=percent))
    yield from spare(own("end cap"), few, tr("{percent} over, at least one.", percent=percent))
    if not choices.repair_kit:
        yield from spare(
            own("coupling"),
            two,
            tr("{percent} of the runs, at least two, for cuts.", percent=percent),
        )
    plugs = tr("{percent} of the take-offs, at least two, for holes gone wrong.", percent=percent)
    yield from spare(of_fitting("hole plug"), two, plugs)
    if choices.repair_kit:
        kit = tr("{percent} of the runs, at least two, ready for a cut line.", percent=percent)
        yield from spare(own("repair piece"), max(2, few), kit)
    for part in assembly:
        if "filter" in part.kind:
            element = of_fitting("filter element", part.code, name=part.label)
            yield from spare(element, 1, tr("One, so that the system never runs without."))
    seal = tr("One for the threads of the head assembly.")
    yield from spare(of_fitting("thread seal tape"), 1, seal)
