"""Plan against list: every element of the plan is on the list, and the other way round."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise

from evenrow.catalogue import AssemblyPart, PipeSize
from evenrow.design.parts.model import ALL_ZONES, Arms, PartsList, PipePiece, RunPiece, ZoneFeed

#: Elements that a plan does not draw one by one: what holds, joins and spares.
NOT_DRAWN = frozenset(
    (
        "anchor",
        "clamp",
        "line coupling",
        "pipe coupling",
        "valve thread",
        "controller",
        "wire",
        "wire joint",
    )
)
#: Elements that are cut from coils: the plan draws pieces, the list counts coils.
CUT = frozenset(("line", "header", "main"))


def plan_elements(
    *,
    runs: Sequence[RunPiece],
    headers: Mapping[int, Arms],
    zones: Sequence[ZoneFeed],
    main: PipeSize,
    elbows: Mapping[str, int],
    assembly: Sequence[AssemblyPart],
    valve: AssemblyPart | None,
) -> Counter[tuple[str, int]]:
    """Return how many elements of each kind (element, zone) a plan of this layout shows.

    Parameters
    ----------
    runs, headers, zones, main, elbows, assembly, valve
        As `evenrow.design.parts.parts_list`.
    """
    found = Counter[tuple[str, int]]()
    for run in runs:
        found["take-off", run.zone] += 1
        found["line cap", run.zone] += 1
    for zone, arms in headers.items():
        found["header cap", zone] += len(arms)
        for arm in arms:
            sizes = [main, *(piece.size for piece in arm)]
            found["reducer", zone] += sum(a != b for a, b in pairwise(sizes))
    for feed in zones:
        found["tee" if feed.tee else "elbow", feed.number] += 1
        found["valve", feed.number] += valve is not None
    found["main tee", ALL_ZONES] = len(zones) - 1
    found["bend", ALL_ZONES] = sum(elbows.values())
    for place, _ in enumerate(assembly, start=1):
        found[f"assembly {place}", ALL_ZONES] = 1
    return +found


def faults(
    parts: PartsList,
    elements: Mapping[tuple[str, int], int],
    *,
    runs: Sequence[RunPiece],
    headers: Mapping[int, Arms],
    mains: Sequence[PipePiece],
    allowance: float,
) -> tuple[str, ...]:
    """Return in what list and plan differ; nothing where they agree.

    Parameters
    ----------
    parts : PartsList
        The list.
    elements : mapping of (element, zone) to int
        From `plan_elements`.
    runs, headers, mains
        As `evenrow.design.parts.parts_list`: their lengths must be those cut.
    allowance : float
        Extra line at each run. [m]
    """
    listed = Counter[tuple[str, int]]()
    for _, use in parts.used():
        if use.element not in NOT_DRAWN | CUT:
            listed[use.element, use.zone] += use.count
    wrong = [
        f"{element}, zone {zone}: {elements.get((element, zone), 0)} on the plan, "
        f"{listed[element, zone]} on the list"
        for element, zone in sorted(set(elements) | set(listed))
        if elements.get((element, zone), 0) != listed[element, zone]
    ]
    pieces = [piece for arms in headers.values() for arm in arms for piece in arm] + list(mains)
    laid = {
        "line": sum(run.length for run in runs) + allowance * len(runs),
        "pipe": sum(piece.length for piece in pieces),
    }
    cut = {"line": parts.line_plan.cut, "pipe": sum(cuts.plan.cut for cuts in parts.cuts[1:])}
    for what, length in laid.items():
        # A cut is no finer than a micrometre.
        if abs(length - cut[what]) > 1e-5 * max(1, len(runs) + len(pieces)):
            wrong.append(f"{what}: {length:.4f} m on the plan, {cut[what]:.4f} m cut")
    if [part.number for part in parts.parts] != list(range(1, len(parts.parts) + 1)):
        wrong.append("the lines are not numbered from 1")
    return tuple(wrong)
