"""What can be told of a field and a regulator setting before any zone is solved."""

from __future__ import annotations

from evenrow.catalogue import assembly_parts, pipes
from evenrow.catalogue.types import SURGE_SHARE
from evenrow.design.apart import apart
from evenrow.design.assembly import ORDER, largest_flow
from evenrow.design.field import Field
from evenrow.design.limits import FLOW, VALVE
from evenrow.design.model import Shortfall
from evenrow.design.rowcheck import row_shortfall
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import fewest_zones
from evenrow.units import format_value
from evenrow.words import tr

#: Most zones of one design.
ZONES_MAX = 200


def least_flows(field: Field) -> list[float]:
    """Return a flow of each row that no design which keeps its limits can go below [m3/s].

    Every emitter then has at least the lowest pressure of the line.
    """
    emitter = field.line.device.emitter
    each = float(emitter.flow(emitter.head_min))
    known: dict[float, int] = {}
    for row in field.rows:
        if row.length not in known:
            runs = field.runs(row)
            known[row.length] = sum(field.line.emitters_on(run.length) for run in runs)
    return [each * row.lines * known[row.length] for row in field.rows]


def capacity_of(hydraulics: FieldHydraulics, set_head: float | None) -> float:
    """Return a flow that no zone can go above: source, parts and the velocity in the main."""
    field = hydraulics.field
    head = field.standing(set_head)
    strong = [size.area for size in pipes().values() if head <= size.working_max]
    pipe = max(strong, default=0.0) * field.velocity
    kinds = [kind for kind in ORDER[field.source_kind] if kind not in ("timer", "regulator")]
    return min(hydraulics.usable(set_head), pipe, *(largest_flow(kind) for kind in kinds))


def least_zones(hydraulics: FieldHydraulics, set_head: float | None) -> int:
    """Return a number of zones that no design goes below; more than there are rows if none can."""
    flows = least_flows(hydraulics.field)
    capacity = capacity_of(hydraulics, set_head)
    if max(flows) > capacity:
        return len(flows) + 1
    return fewest_zones(flows, capacity, hydraulics.field.crops)


def _no_valve(field: Field, set_head: float | None) -> Shortfall | None:
    """Return that no zone valve works at what is left for the zones at best, or None."""
    kind = "ball valve" if field.source_kind == "tank" else "zone valve"
    least = min((part.head_min for part in assembly_parts() if part.kind == kind), default=0.0)
    head = field.standing(set_head)
    if head >= least:
        return None
    seen, bound = apart(head, least, "pressure", field.system)
    return Shortfall(
        limit=VALVE,
        text=tr(
            "zone valves need {bound} to open and close, and see {head} at the most: valves made "
            "for less would do",
            bound=bound,
            head=seen,
        ),
        cure="",
    )


def hopeless(hydraulics: FieldHydraulics, set_head: float | None) -> Shortfall | None:
    """Return what rules out this setting whatever the zones are, or None."""
    short = row_shortfall(hydraulics, set_head)
    if short is not None:
        return short
    field = hydraulics.field
    head = field.standing(set_head)
    if head > max(size.working_max for size in pipes().values()):
        return Shortfall(
            limit="pressure of the pipe",
            text=tr(
                "main and header would see {head}, more than the {share:.0%} of its rating that "
                "any pipe in the catalogue may work at",
                head=format_value(head, "pressure", field.system),
                share=SURGE_SHARE,
            ),
            cure="",
        )
    flows = least_flows(field)
    largest = max(range(len(flows)), key=flows.__getitem__)
    capacity = capacity_of(hydraulics, set_head)
    if flows[largest] <= capacity:
        least = fewest_zones(flows, capacity, field.crops)
        if least <= ZONES_MAX:
            return None if least == 1 else _no_valve(field, set_head)
        return Shortfall(
            limit=FLOW,
            text=tr(
                "at least {least} zones would be needed, more than the {zones_max} of one design",
                least=least,
                zones_max=ZONES_MAX,
            ),
            cure="",
        )
    takes, passes = apart(flows[largest], capacity, "flow", field.system)
    return Shortfall(
        limit=FLOW,
        text=tr(
            "row {largest} alone takes at least {flows}, and source, parts and main "
            "pass at most {capacity} at the pressure that it needs",
            largest=largest + 1,
            flows=takes,
            capacity=passes,
        ),
        cure="",
    )
