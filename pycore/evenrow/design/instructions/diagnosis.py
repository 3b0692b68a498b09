"""What to think of when a measured figure is off (common practice, no source)."""

from __future__ import annotations

from evenrow.design.model import Design
from evenrow.words import tr


def diagnosis(found: Design) -> tuple[str, ...]:
    """Return the likely causes by what was measured, the most telling signs first."""
    regulated = found.candidate.assembly.regulator is not None
    tank = found.field.source_kind == "tank"
    source = (
        tr("the tank is low, or its outlet or valve is partly shut")
        if tank
        else tr(
            "the source gives less than when it was measured: other taps, time of day, "
            "a worn or sucking pump"
        )
    )
    steps = [
        tr(
            "More flow than expected, often with less pressure: water leaves where it "
            "should not. Look for a leak, an open end, a valve of another zone that "
            "does not shut."
        ),
        tr("Less flow and less pressure, before the filter too: {source}.", source=source),
        tr("Less flow, and much pressure lost across the filter: clean it."),
        tr(
            "Less flow, with the pressure right or higher at the header: emitters or "
            "lines are plugged or kinked, or the line is not of the flow you entered."
        ),
        tr(
            "Pressure right where the main comes in, low at the header end: a kink, a "
            "wrong size or dirt in the header."
        ),
        tr(
            "Right at the start of a row and low at its far end: a leak or kink in "
            "that line, or more line joined on than designed."
        ),
        tr(
            "Every cup off by the same share: pressure or the batch of line. Single "
            "cups off: dirt in that emitter; tap it, flush the line, measure again."
        ),
    ]
    if regulated:
        steps.insert(
            3,
            tr(
                "Pressure behind the regulator too high, or slowly climbing with the "
                "zone shut: its seat is dirty or worn. Low, with plenty before it: it "
                "is turned the wrong way round, or too little or too much water goes "
                "through it."
            ),
        )
    steps.append(
        tr("Put the measured figures down with the date: next year they are what to expect.")
    )
    return tuple(steps)
