"""How many of what: the rules by which fittings are counted from the layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from evenrow.agronomy.filtration import FINENESS_SOURCE, fineness
from evenrow.catalogue import AssemblyPart, Device, PipeSize
from evenrow.design.assembly import ORDER_SOURCE, REASONS
from evenrow.design.choices import BuildChoices
from evenrow.design.cutting import CuttingPlan
from evenrow.design.parts.model import ALL_ZONES, Arms, PipePiece, Product, RunPiece, Use, ZoneFeed
from evenrow.design.parts.products import of_controller, of_fitting, of_part

#: One stake or anchor for each such length of line, and one at each end. [m]
ANCHOR_EVERY = 3.0
#: Wire to have over at each valve. [m]
WIRE_OVER = 1.0
PRACTICE = "common practice, no source"
GEOMETRY = "count from the layout"
HEAD, PIPE, LINE, SPARES = "Head assembly", "Header and main", "Line", "Spares"


@dataclass(frozen=True, kw_only=True)
class Want:
    """Something that the design asks for, before equal products are put together."""

    group: str
    product: Product
    element: str
    rule: str
    source: str = GEOMETRY
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
    grain = f", {round(opening * 1e6)} µm ({mesh} mesh)" + ("" if enough else " or finer")
    for place, part in enumerate(assembly, start=1):
        filters = "filter" in part.kind
        product, why = of_part(part, grain if filters else ""), f"It {REASONS[part.kind]}."
        source = FINENESS_SOURCE if filters else ORDER_SOURCE
        if part.kind == "adapter" and choices.elbowed:
            product = of_fitting("elbow thread adapter", main.code, part.size, name=main.label)
            why += " As an elbow, so that the pipe does not kink below a low tap."
            source = PRACTICE
        yield Want(
            group=HEAD,
            product=product,
            element=f"head assembly, place {place}",
            rule=why,
            source=source,
            uses=_shared(f"assembly {place}", 1),
        )


def line_wants(
    device: Device, runs: Sequence[RunPiece], plan: CuttingPlan, choices: BuildChoices
) -> Iterator[Want]:
    """Yield what each run of line takes beside the line."""
    zones = [run.zone for run in runs]
    tap = "take-off with valve" if choices.takeoff_valves else "take-off"
    shut = " With a small valve, to shut a single run." if choices.takeoff_valves else ""
    stakes = Counter[int]()
    for run in runs:
        stakes[run.zone] += ceil(run.length / ANCHOR_EVERY) + 1

    def want(kind: str, element: str, uses: tuple[Use, ...], rule: str, source: str) -> Want:
        product = of_fitting(kind, device.code, name=device.label)
        return Want(
            group=LINE, product=product, element=element, rule=rule, source=source, uses=uses
        )

    yield want(
        tap,
        "start of each run",
        _by_zone("take-off", zones),
        "One for each run of line." + shut,
        GEOMETRY,
    )
    yield want(
        "end cap",
        "end of each run",
        _by_zone("line cap", zones),
        "One for each run of line; it comes off for flushing.",
        GEOMETRY,
    )
    yield want(
        "stake",
        "each run",
        tuple(Use(element="anchor", zone=z, count=n) for z, n in sorted(stakes.items())),
        "One for each started 3 m (10 ft) of run and one more at its end.",
        PRACTICE,
    )
    if plan.couplings:
        cuts = Counter(number for coil in plan.coils for number, _ in coil.pieces)
        joints = [runs[n - 1].zone for n, count in cuts.items() for _ in range(count - 1)]
        yield want(
            "coupling",
            "runs longer than a coil",
            _by_zone("line coupling", joints),
            "One where two cuts of a run join.",
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
            yield Want(group=PIPE, product=product, element=element, rule=rule, uses=uses)

    sizes = {size.code: size for size, _ in plans} | {main.code: main}
    arms = [(zone, arm) for zone, both in headers.items() for arm in both]
    end = "flush valve" if choices.flush_valves else "cap"
    for code in dict.fromkeys(arm[-1].size.code for _, arm in arms):
        yield from want(
            "flush valve" if choices.flush_valves else "end cap",
            sizes[code],
            "closed ends of headers",
            _by_zone("header cap", (zone for zone, arm in arms if arm[-1].size.code == code)),
            f"One {end} at an end-fed header, two at a header fed by a tee.",
        )
    tees = tuple(Use(element="tee", zone=zone.number, count=1) for zone in zones if zone.tee)
    yield from want(
        "tee",
        main,
        "main",
        tees + _shared("main tee", len(zones) - 1),
        "One for each header fed at its middle, and one where the main goes on past a zone.",
    )
    yield from want(
        "elbow",
        main,
        "main to header",
        _by_zone("elbow", (zone.number for zone in zones if not zone.tee)),
        "One where the main turns into an end-fed header.",
    )
    for code, count in elbows.items():
        yield from want(
            "elbow",
            sizes[code],
            "obstacles and risers",
            _shared("bend", count),
            "One for each bend round an obstacle, and where a buried main goes down or comes up.",
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
            "start of each header" if large == main else "taper of a header",
            _by_zone("reducer", (z for z, a, b in steps if (a, b) == (large, small))),
            "One where the pipe changes its size, for each arm of a header.",
            to=small.code,
        )
    for size, plan in plans:
        yield from want(
            "coupling",
            size,
            "pipe longer than a coil",
            _shared("pipe coupling", plan.couplings),
            "One where two cuts of a pipe join.",
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
                "fittings of clamped pipe",
                tuple(Use(element="clamp", zone=z, count=n) for z, n in sorted(ends.items()) if n),
                "One for each end of clamped pipe on a fitting, two at each coupling and bend.",
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
        element="start of each header",
        rule=f"One for each zone: it {REASONS[valve.kind]}.",
        uses=_by_zone("valve", numbers),
    )
    yield Want(
        group=PIPE,
        product=of_fitting("thread adapter", main.code, valve.size, name=main.label),
        element="threads of each valve",
        rule="One on either side of each valve.",
        uses=_by_zone("valve thread", [n for n in numbers for _ in range(2)]),
    )
    if not choices.timer or valve.kind != "zone valve":
        return
    yield Want(
        group=PIPE,
        product=of_controller(len(zones)),
        element="zone valves",
        rule="One, because a timer is wanted and there are several zones.",
        uses=_shared("controller", 1),
    )
    yield Want(
        group=PIPE,
        product=of_fitting("valve wire"),
        element="controller to valves",
        rule="Along the main from a controller at the source, and 1 m (3 ft) more at each valve.",
        source=PRACTICE,
        uses=_shared("wire", ceil(main_length + WIRE_OVER * len(zones))),
    )
    yield Want(
        group=PIPE,
        product=of_fitting("wire joint"),
        element="wires of each valve",
        rule="Two at each valve.",
        source=PRACTICE,
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
                element="repairs",
                rule=rule,
                source=PRACTICE,
                spare=count,
            )

    def own(kind: str) -> Product:
        return of_fitting(kind, device.code, name=device.label)

    two = max(2, few) if few else 0
    tap = "take-off with valve" if choices.takeoff_valves else "take-off"
    yield from spare(own(tap), few, f"{percent} over, at least one.")
    yield from spare(own("end cap"), few, f"{percent} over, at least one.")
    if not choices.repair_kit:
        yield from spare(own("coupling"), two, f"{percent} of the runs, at least two, for cuts.")
    plugs = f"{percent} of the take-offs, at least two, for holes gone wrong."
    yield from spare(of_fitting("hole plug"), two, plugs)
    if choices.repair_kit:
        kit = f"{percent} of the runs, at least two, ready for a cut line."
        yield from spare(own("repair piece"), max(2, few), kit)
    for part in assembly:
        if "filter" in part.kind:
            element = of_fitting("filter element", part.code, name=part.label)
            yield from spare(element, 1, "One, so that the system never runs without.")
    seal = "One for the threads of the head assembly."
    yield from spare(of_fitting("thread seal tape"), 1, seal)
