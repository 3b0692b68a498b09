"""The words of a plan: what a person sees, the key of the zones, what is not to scale."""

from __future__ import annotations

from evenrow.figures.plan_model import Plan, PlanZone
from evenrow.figures.plan_scale import SAME, Scale
from evenrow.units import format_value

#: Zones that the key and the words list one by one.
ZONES_LISTED = 8


def _length(plan: Plan, value: float) -> str:
    return format_value(value, "length", plan.system)


def slope_words(slope: float) -> str:
    """Return ``falls 1.2 %``, ``climbs 1.2 %`` or ``level``."""
    if abs(slope) < 5e-5:
        return "level"
    return f"{'falls' if slope < 0 else 'climbs'} {abs(slope) * 100:.2g}\u00a0%"


def _slopes(slope: float) -> str:
    said = slope_words(slope)
    return "is level" if said == "level" else said


def row_lengths(plan: Plan) -> str:
    """Return the length of the rows, or the shortest and the longest."""
    lengths = [row.length for row in plan.rows]
    short, long = (_length(plan, f(lengths)) for f in (min, max))
    return short if short == long else f"{short} to {long}"


def zone_words(plan: Plan, zone: PlanZone) -> str:
    """Return what the key says of a zone: its rows and its note."""
    first, last = plan.rows[zone.rows[0]].number, plan.rows[zone.rows[1] - 1].number
    rows = f"row {first}" if first == last else f"rows {first}–{last}"
    return f"{rows}, {zone.note}" if zone.note else rows


def spacing(plan: Plan) -> float | None:
    """Return the distance of the first two rows [m], or None where there is one."""
    if len(plan.rows) < 2:
        return None
    return plan.rows[1].middle - plan.rows[0].middle


def worst_words(plan: Plan) -> str:
    """Return where the emitter with the lowest pressure is, or nothing."""
    if plan.worst is None:
        return ""
    row = plan.rows[plan.worst.row]
    far = abs(plan.worst.along - row.header)
    return f"least pressure: row {row.number}, {_length(plan, far)} from the header"


def notes(plan: Plan, scale: Scale) -> list[str]:
    """Return what is drawn other than it is."""
    said = ["Head assembly, main and fittings are not to scale."]
    if scale.breaks:
        out = _length(plan, sum(b - a for a, b in scale.breaks))
        said.append(f"Each row is drawn shortened: {out} are left out at the break.")
    elif not scale.equal:
        more = scale.across / scale.along
        way = "along the header" if more > 1 else "along the rows"
        said.append(f"Two scales: lengths {way} are drawn {max(more, 1 / more):.2g} times larger.")
    if scale.step > 1:
        said.append(
            f"Of {len(plan.rows)} rows one in {scale.step} is drawn, and the outer ones of each "
            "zone."
        )
    return said


def description(plan: Plan, scale: Scale) -> str:
    """Return what a person sees on the plan, in sentences."""
    rows = len(plan.rows)
    lines = {len(row.lines) for row in plan.rows}
    apart = spacing(plan)
    said = [
        f"{rows} {'row' if rows == 1 else 'rows'} of {row_lengths(plan)}, drawn from left to right"
        + (f", the first two {_length(plan, apart)} apart" if apart else "")
        + ".",
    ]
    if max(lines) > 1:
        each = str(max(lines)) if len(lines) == 1 else f"{min(lines)} to {max(lines)}"
        said.append(f"Each has {each} lines.")
    share = plan.rows[0].header / plan.rows[0].length
    where = "stands at their left end" if share < SAME else f"crosses them at {share:.0%} from left"
    where = "stands at their right end" if share > 1 - SAME else where
    said.append(
        f"The header {where}; from the source ({plan.source}) the main of "
        f"{_length(plan, plan.main_length)} leads to it."
    )
    if plan.assembly:
        said.append(f"Head assembly in the order of the flow: {', '.join(plan.assembly)}.")
    said.append(
        f"The ground {_slopes(plan.row_slope)} along the rows to the right and "
        f"{_slopes(plan.header_slope)} along the header, first row to last."
    )
    said += [f"Zone {zone.number}: {zone_words(plan, zone)}." for zone in plan.zones[:ZONES_LISTED]]
    if len(plan.zones) > ZONES_LISTED:
        said.append(f"And {len(plan.zones) - ZONES_LISTED} more zones.")
    said += [f"On the way of the header: {obstacle.label}." for obstacle in plan.obstacles]
    if plan.worst is not None:
        said.append(worst_words(plan).capitalize() + ".")
    if plan.refs:
        said.append("Numbers are lines of the parts list.")
    return " ".join([*said, *notes(plan, scale)])
