"""The words of a plan: what a person sees, the key of the zones, what is not to scale."""

from __future__ import annotations

from evenrow.figures.plan_model import Plan, PlanZone
from evenrow.figures.plan_scale import SAME, Scale
from evenrow.units import format_value
from evenrow.words import tr, tr_count

#: Zones that the key and the words list one by one.
ZONES_LISTED = 8


def _length(plan: Plan, value: float) -> str:
    return format_value(value, "length", plan.system)


def is_level(slope: float) -> bool:
    """Return whether a slope is too small to tell of."""
    return abs(slope) < 5e-5


def slope_words(slope: float) -> str:
    """Return ``falls 1.2 %``, ``climbs 1.2 %`` or ``level``."""
    if is_level(slope):
        return tr("level")
    steep = f"{abs(slope) * 100:.2g}\u00a0%"
    return tr("falls {slope}", slope=steep) if slope < 0 else tr("climbs {slope}", slope=steep)


def _slopes(slope: float) -> str:
    return tr("is level") if is_level(slope) else slope_words(slope)


def row_lengths(plan: Plan) -> str:
    """Return the length of the rows, or the shortest and the longest."""
    lengths = [row.length for row in plan.rows]
    short, long = (_length(plan, f(lengths)) for f in (min, max))
    return short if short == long else tr("{least} to {most}", least=short, most=long)


def zone_words(plan: Plan, zone: PlanZone) -> str:
    """Return what the key says of a zone: its rows and its note."""
    first, last = plan.rows[zone.rows[0]].number, plan.rows[zone.rows[1] - 1].number
    rows = (
        tr("row {row}", row=first) if first == last else tr("rows {rows}", rows=f"{first}–{last}")
    )
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
    return tr(
        "least pressure: row {row}, {length} from the header",
        row=row.number,
        length=_length(plan, far),
    )


def cup_words(plan: Plan) -> str:
    """Return what the small circles are, or nothing."""
    if not plan.cups:
        return ""
    return tr("cups for a check later: four lines of a zone, four places on each")


def notes(plan: Plan, scale: Scale) -> list[str]:
    """Return what is drawn other than it is."""
    said = [tr("Head assembly, main and fittings are not to scale.")]
    if scale.breaks:
        out = _length(plan, sum(b - a for a, b in scale.breaks))
        said.append(tr("Each row is drawn shortened: {out} are left out at the break.", out=out))
    elif not scale.equal:
        more = scale.across / scale.along
        said.append(
            tr(
                "Two scales: lengths along the header are drawn {more:.2g} times larger."
                if more > 1
                else "Two scales: lengths along the rows are drawn {more:.2g} times larger.",
                more=max(more, 1 / more),
            )
        )
    if scale.step > 1:
        said.append(
            tr(
                "Of {rows} rows one in {step} is drawn, and the outer ones of each zone.",
                rows=len(plan.rows),
                step=scale.step,
            )
        )
    return said


def description(plan: Plan, scale: Scale) -> str:
    """Return what a person sees on the plan, in sentences."""
    rows = len(plan.rows)
    lines = {len(row.lines) for row in plan.rows}
    apart = spacing(plan)
    said = [
        tr_count(
            rows,
            "{count} row of {length}, drawn from left to right.",
            "{count} rows of {length}, drawn from left to right, the first two {apart} apart.",
            length=row_lengths(plan),
            apart=_length(plan, apart or 0.0),
        )
    ]
    if max(lines) > 1:
        least, most = min(lines), max(lines)
        each = str(most) if least == most else tr("{least} to {most}", least=least, most=most)
        said.append(tr("Each has {each} lines.", each=each))
    share = plan.rows[0].header / plan.rows[0].length
    source, main = plan.source, _length(plan, plan.main_length)
    if share < SAME:
        where = tr(
            "The header stands at their left end; from the source ({source}) the main of {main} "
            "leads to it.",
            source=source,
            main=main,
        )
    elif share > 1 - SAME:
        where = tr(
            "The header stands at their right end; from the source ({source}) the main of {main} "
            "leads to it.",
            source=source,
            main=main,
        )
    else:
        where = tr(
            "The header crosses them at {share:.0%} from left; from the source ({source}) the main "
            "of {main} leads to it.",
            share=share,
            source=source,
            main=main,
        )
    said.append(where)
    if plan.assembly:
        said.append(
            tr(
                "Head assembly in the order of the flow: {assembly}.",
                assembly=", ".join(plan.assembly),
            )
        )
    said.append(
        tr(
            "The ground {row} along the rows to the right and {header} along the "
            "header, first row to last.",
            row=_slopes(plan.row_slope),
            header=_slopes(plan.header_slope),
        )
    )
    said += [
        tr("Zone {zone}: {words}.", zone=zone.number, words=zone_words(plan, zone))
        for zone in plan.zones[:ZONES_LISTED]
    ]
    if len(plan.zones) > ZONES_LISTED:
        said.append(tr("And {count} more zones.", count=len(plan.zones) - ZONES_LISTED))
    said += [
        tr("On the way of the header: {obstacle}.", obstacle=obstacle.label)
        for obstacle in plan.obstacles
    ]
    if plan.worst is not None:
        said.append(worst_words(plan).capitalize() + ".")
    if plan.cups:
        said.append(tr("Small circles are {cups}.", cups=cup_words(plan)))
    if plan.refs:
        said.append(tr("Numbers are lines of the parts list."))
    return " ".join([*said, *notes(plan, scale)])
