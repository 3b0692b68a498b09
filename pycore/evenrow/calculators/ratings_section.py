"""What the parts of a design have to bear and need, beside what they are made for."""

from __future__ import annotations

from evenrow.calculators.result import Column, Notice, Number, Table
from evenrow.catalogue.types import SURGE_SHARE, SURGE_VELOCITY
from evenrow.design.assembly import PUMPS, TIMED, smallest
from evenrow.design.model import Design
from evenrow.design.ratings import Rating, closing_time, ratings
from evenrow.units import format_value
from evenrow.words import said, tr

_PIPES = {
    "main": said("main, {share:.0%} of its rating"),
    "header": said("header, {share:.0%} of its rating"),
}


def _label(one: Rating) -> str:
    return tr(_PIPES[one.pipe], share=SURGE_SHARE) if one.pipe else tr(one.label)


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


def surge_notices(found: Design) -> tuple[Notice, ...]:
    """Return that water runs faster than the room left for surges is meant for."""
    fastest = max(max(zone.main_velocity, zone.header_velocity) for zone in found.zones)
    # Limits are typed in round figures: 1.5 m/s or 5 ft/s, 1.52 m/s.
    if fastest <= SURGE_VELOCITY * (1.0 + 1e-3):
        return ()
    text = tr(
        "The water runs at up to {velocity} in main or header. Up to {bound} the part of the "
        "pipes' rating that is left free covers surges; beyond it have them worked out.",
        velocity=format_value(fastest, "velocity", found.field.system),
        bound=format_value(SURGE_VELOCITY, "velocity", found.field.system, 2),
    )
    return (Notice(level="warning", text=text),)


def closing_numbers(found: Design) -> tuple[Number, ...]:
    """Return how slowly zone valves have to close, nothing where there are none."""
    seconds = closing_time(found.field, found.candidate, found.zones)
    if seconds is None:
        return ()
    return (
        Number(
            name="closing_time",
            label=tr("Zone valves close in no less than"),
            value=seconds,
            kind="duration",
            digits=2,
            rule=tr(
                "Velocity in the main times its length, by the pressure between what stands in it "
                "and its rating: stopped faster, its water adds more than that. Close by hand more "
                "slowly; ask how long an electric valve takes."
            ),
            source=tr(
                "0.07 psi for each ft/s and ft in a second: Clark and Haman, University of Florida "
                "AE066 (from memory)"
            ),
        ),
    )


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
        tr(
            "Pipe works at {share:.0%} of its rating at the most: the rest is for surges, which "
            "are not worked out (NRCS conservation practice standard 430 and ASABE S376, from "
            "memory).",
            share=SURGE_SHARE,
        ),
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
            (_label(one), one.standing, one.bears) for one in ratings(found.field, found.candidate)
        ),
        note=" ".join(note for note in notes if note),
    )
