"""The parts list: every line traced to what asked for it and to the rule that counted it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from evenrow.catalogue import AssemblyPart, Device, PipeSize
from evenrow.design.assembly import FINENESS_SOURCE, ORDER_SOURCE, REASONS, fineness
from evenrow.design.cutting import CuttingPlan, choose_coil
from evenrow.design.field import Row
from evenrow.design.layout import Layout

#: Extra line at each run to reach the take-off and to close the end. [m]
LINE_ALLOWANCE = 0.3048
#: One stake or anchor for each such length of line, and one at each end. [m]
ANCHOR_EVERY = 3.0
#: Share of small fittings to have over.
SPARE_SHARE = 0.05
PRACTICE = "common practice, no source"
GEOMETRY = "count from the layout"


_LINE_RULE = "All runs, each with 1 ft (0.3 m) more to reach the take-off and to close the end."


@dataclass(frozen=True, kw_only=True)
class Part:
    """One line of the parts list.

    Parameters
    ----------
    group : str
        Heading on the list: ``"Line"``, ``"Header and main"``, ``"Head assembly"``, ``"Spares"``.
    label : str
        Generic description.
    count : int
        Pieces, or coils of `length` each.
    length : float or None
        Length of one coil, where sold by length. [m]
    needed : float or None
        Length that the layout takes, where sold by length. [m]
    element : str
        Part of the design that asked for it.
    rule, source : str
        How it was counted, and where that rule comes from.
    """

    group: str
    label: str
    count: int
    element: str
    rule: str
    source: str
    length: float | None = None
    needed: float | None = None


@dataclass(frozen=True, kw_only=True)
class PartsList:
    """The lines of the list and the cutting plans behind the coils.

    `pipe_plans` names what each plan is for: one plan where header and main are one pipe.
    """

    parts: tuple[Part, ...]
    line_plan: CuttingPlan
    pipe_plans: tuple[tuple[str, CuttingPlan], ...]


def run_lengths(rows: Sequence[Row], place: str) -> list[float]:
    """Return the length of every run of line in the field, row by row [m]."""
    return [
        length
        for row in rows
        for _ in range(row.lines)
        for length in ([row.length / 2] * 2 if place == "middle" else [row.length])
    ]


def _coils(plan: CuttingPlan, group: str, label: str, element: str, rule: str) -> Part:
    proof = "proven fewest" if plan.proven else f"at least {plan.bound} needed"
    return Part(
        group=group,
        label=label,
        count=len(plan.coils),
        length=plan.coil_length,
        needed=plan.bought - sum(plan.left),
        element=element,
        rule=f"{rule} Coils by the cutting plan ({proof}).",
        source=GEOMETRY,
    )


def _piece(
    group: str, label: str, count: int, element: str, rule: str, source: str = GEOMETRY
) -> list[Part]:
    """Return a part counted from the layout, or nothing where none is needed."""
    if count == 0:
        return []
    return [Part(group=group, label=label, count=count, element=element, rule=rule, source=source)]


def _line_parts(device: Device, runs: Sequence[float], plan: CuttingPlan) -> list[Part]:
    group, kind = "Line", device.kind
    return [
        _coils(plan, group, device.label, "rows", _LINE_RULE),
        *_piece(
            group,
            f"take-off, header to {kind}",
            len(runs),
            "start of each run",
            "One for each run of line.",
        ),
        *_piece(
            group,
            f"end cap for {kind}",
            len(runs),
            "end of each run",
            "One for each run of line; it comes off for flushing.",
        ),
        *_piece(
            group,
            f"stake or anchor for {kind}",
            sum(ceil(length / ANCHOR_EVERY) + 1 for length in runs),
            "each run",
            "One for each started 3 m (10 ft) of run and one more at its end.",
            PRACTICE,
        ),
        *_piece(
            group,
            f"coupling for {kind}",
            plan.couplings,
            "runs longer than a coil",
            "One where two cuts join.",
        ),
    ]


def _pipe_plans(
    layout: Layout, header: PipeSize, main: PipeSize
) -> tuple[tuple[str, PipeSize, CuttingPlan], ...]:
    """Return the cutting plans of header and main, together where they are one pipe."""
    headers = [zone.header_length for zone in layout.zones]
    mains = [layout.main_total] if layout.main_total > 0.0 else []
    if header == main and mains:
        return (("headers and main", header, choose_coil(headers + mains, header.coils)),)
    plans = [("headers", header, choose_coil(headers, header.coils))]
    if mains:
        plans.append(("main", main, choose_coil(mains, main.coils)))
    return tuple(plans)


_PIPE_RULES = {
    "headers": "From the first to the last line of each zone, plus 1 ft (0.3 m) past each closed "
    "end.",
    "main": "From the source to the farthest zone's header.",
    "headers and main": "Headers from the first to the last line of each zone, plus 1 ft (0.3 m) "
    "past each closed end; main from the source to the farthest header.",
}


def _clamps(
    layout: Layout,
    header: PipeSize,
    main: PipeSize,
    plans: Sequence[tuple[str, PipeSize, CuttingPlan]],
) -> int:
    """Return how many ends of clamped pipe sit on fittings."""
    count = sum(2 * plan.couplings for _, size, plan in plans if size.clamped)
    zones = layout.zones
    if header.clamped:
        # Each arm of a header: its start and its cap.
        count += sum(2 * zone.header_ends for zone in zones)
    if main.clamped:
        # The adapter, a tee or elbow at each zone, and the tee where the main goes on.
        count += 1 + len(zones) + 2 * (len(zones) - 1)
    return count


def _head_parts(assembly: Sequence[AssemblyPart], device: Device) -> list[Part]:
    mesh, opening, enough = fineness(device.passage)
    grain = f", {round(opening * 1e6)} µm ({mesh} mesh)" + ("" if enough else " or finer")
    parts = []
    for place, part in enumerate(assembly, start=1):
        filters = "filter" in part.kind
        parts.append(
            Part(
                group="Head assembly",
                label=part.label + (grain if filters else ""),
                count=1,
                element=f"head assembly, place {place}",
                rule=f"It {REASONS[part.kind]}.",
                source=FINENESS_SOURCE if filters else ORDER_SOURCE,
            )
        )
    return parts


def _pipe_parts(
    layout: Layout,
    header: PipeSize,
    main: PipeSize,
    plans: Sequence[tuple[str, PipeSize, CuttingPlan]],
    valve: AssemblyPart | None,
    controller: bool,
) -> list[Part]:
    group = "Header and main"
    zones = layout.zones
    parts = [_coils(plan, group, size.label, what, _PIPE_RULES[what]) for what, size, plan in plans]
    parts += _piece(
        group,
        f"end cap for {header.label}",
        sum(zone.header_ends for zone in zones),
        "closed ends of headers",
        "One at an end-fed header, two at a header fed by a tee.",
    )
    parts += _piece(
        group,
        f"tee for {main.label}",
        sum(1 for zone in zones if zone.tee) + len(zones) - 1,
        "main",
        "One for each header fed at its middle, and one where the main goes on past a zone.",
    )
    parts += _piece(
        group,
        f"elbow for {main.label}",
        sum(1 for zone in zones if not zone.tee),
        "main to header",
        "One where the main turns into an end-fed header.",
    )
    parts += _piece(
        group,
        "coupling for header and main pipe",
        sum(plan.couplings for _, _, plan in plans),
        "pipe longer than a coil",
        "One where two cuts join.",
    )
    if header != main:
        parts += _piece(
            group,
            "reducer, main to header pipe",
            sum(zone.header_ends for zone in zones),
            "start of each header",
            "One for each arm of a header, because main and header differ in size.",
        )
    parts += _piece(
        group,
        "clamp for pipe or hose",
        _clamps(layout, header, main, plans),
        "fittings of clamped pipe",
        "One for each end of clamped pipe on a fitting.",
    )
    if valve is not None:
        parts += _piece(
            group,
            valve.label,
            len(zones),
            "start of each header",
            f"One for each zone: it {REASONS[valve.kind]}.",
        )
        if controller:
            parts += _piece(
                group,
                f"controller for {len(zones)} zone valves",
                1,
                "zone valves",
                "One, because a timer is wanted and there are several zones.",
            )
    return parts


def _spares(kind: str, runs: int) -> list[Part]:
    def spare(label: str, count: int, rule: str) -> Part:
        return _piece("Spares", label, count, "repairs", rule, PRACTICE)[0]

    few = max(1, ceil(SPARE_SHARE * runs))
    return [
        spare(f"take-off, header to {kind}", few, "5 % over, at least one."),
        spare(f"end cap for {kind}", few, "5 % over, at least one."),
        spare(f"coupling for {kind}", max(2, few), "5 % of the runs, at least two, for cuts."),
        spare(
            "hole plug", max(2, few), "5 % of the take-offs, at least two, for holes gone wrong."
        ),
        spare("filter element", 1, "One, so that the system never runs without."),
        spare("roll of thread seal tape", 1, "One for the threads of the head assembly."),
    ]


def parts_list(
    layout: Layout,
    *,
    place: str,
    device: Device,
    header: PipeSize,
    main: PipeSize,
    assembly: Sequence[AssemblyPart],
    valve: AssemblyPart | None,
    timer: bool,
) -> PartsList:
    """Return everything to buy for a layout.

    Parameters
    ----------
    layout : Layout
        Rows, zones, headers and main.
    place : str
        Header at the ``"end"`` or across the ``"middle"`` of the rows.
    device : Device
        The tape or dripline.
    header, main : PipeSize
        Pipe of the headers and of the main.
    assembly : sequence of AssemblyPart
        The head assembly in the order of the flow.
    valve : AssemblyPart or None
        Valve of each zone, where there are several.
    timer : bool
        Whether watering shall start by itself: zone valves then need a controller.
    """
    runs = run_lengths(layout.rows, place)
    line_plan = choose_coil([length + LINE_ALLOWANCE for length in runs], device.coils)
    plans = _pipe_plans(layout, header, main)
    parts = [
        *_head_parts(assembly, device),
        *_pipe_parts(layout, header, main, plans, valve, timer),
        *_line_parts(device, runs, line_plan),
        *_spares(device.kind, len(runs)),
    ]
    return PartsList(
        parts=tuple(parts),
        line_plan=line_plan,
        pipe_plans=tuple((what, plan) for what, _, plan in plans),
    )
