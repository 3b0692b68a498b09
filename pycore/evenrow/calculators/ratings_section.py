"""What the parts of a design have to bear and need, beside what they are made for."""

from __future__ import annotations

from evenrow.calculators.result import Column, Notice, Table
from evenrow.design.assembly import PUMPS, TIMED, smallest
from evenrow.design.model import Design
from evenrow.design.ratings import ratings
from evenrow.units import format_value
from evenrow.words import tr


def _regulator_note(found: Design) -> str:
    regulator = found.candidate.assembly.regulator
    if regulator is None:
        return ""
    system = found.field.system
    least = min(found.zones, key=lambda zone: zone.regulator_head)
    return tr(
        "The regulator has {head} or more before it while a zone runs, filter dirty; it wants "
        "{wanted}, {margin} above its setting (common practice, no source).",
        head=format_value(least.regulator_head, "pressure", system),
        wanted=format_value((regulator.set_head or 0.0) + regulator.margin, "pressure", system),
        margin=format_value(regulator.margin, "pressure", system),
    )


def _valve_note(found: Design) -> str:
    valve = found.candidate.valve
    if valve is None or valve.head_min == 0.0:
        return ""
    system = found.field.system
    least = min(found.zones, key=lambda zone: zone.valve_head)
    return tr(
        "The zone valves see {head} or more while their zones run; they need {bound} to open and "
        "close (a figure of the valve).",
        head=format_value(least.valve_head, "pressure", system),
        bound=format_value(valve.head_min, "pressure", system),
    )


def valve_notices(found: Design) -> tuple[Notice, ...]:
    """Return which zones take too little for the valve that the largest of them needs."""
    valve = found.candidate.valve
    small = [] if valve is None else [z for z in found.zones if z.flow < valve.flow_min]
    if valve is None or not small:
        return ()
    least = min(small, key=lambda zone: zone.flow)
    text = tr(
        "Zone {number} takes {flow}, less than the {bound} from which a {valve} closes surely: put "
        "a {other} there, or ask for a valve made for so little.",
        number=least.layout.number,
        flow=format_value(least.flow, "flow", found.field.system),
        bound=format_value(valve.flow_min, "flow", found.field.system),
        valve=tr(valve.label),
        other=tr(smallest(valve.kind, least.flow).label),
    )
    return (Notice(level="warning", text=text),)


def ratings_table(found: Design) -> Table:
    """Return what each part sees with the water standing still and what it bears.

    Parameters
    ----------
    found : Design
        The design.
    """
    kind = found.field.source_kind
    notes = (
        tr("The source stands highest at night, when nobody draws water: measure it then.")
        if kind in TIMED
        else tr("A pump gives most pressure while nothing flows.")
        if kind in PUMPS
        else "",
        tr("What the parts bear is a figure of each part."),
        _regulator_note(found),
        _valve_note(found),
    )
    return Table(
        name="ratings",
        title=tr("What the parts bear, and what they see with the water standing still"),
        columns=(
            Column(name="part", label=tr("Part")),
            Column(name="standing", label=tr("Sees"), kind="pressure"),
            Column(name="bears", label=tr("Bears"), kind="pressure"),
        ),
        rows=tuple(
            (tr(one.label), one.standing, one.bears)
            for one in ratings(found.field, found.candidate)
        ),
        note=" ".join(note for note in notes if note),
    )
