"""What to look at when something is plainly wrong: by what is seen, the likeliest first."""

from __future__ import annotations

from evenrow.calculators.result import Steps
from evenrow.calculators.spec import Choice

#: What is seen: its label and the steps.
_TROUBLES = {
    "dry-end": (
        "the far end is dry",
        (
            "Walk the row with the water on. A wet spot, a hiss or a kink on the way: mend that "
            "first.",
            "Open the end of the line. If dirty water comes, let it run until it is clear, and "
            "close it. If nothing comes, the line is shut or flattened further up.",
            "Read the gauge at both ends of that line. Near end low as well: look at header, "
            "filter and regulator. Near end right and far end low: the line is too long, too thin "
            "or climbs too much; the run-length page says how far it may go.",
            "Both ends right, and still dry: the emitters there are clogged. Cut one open; grit "
            "means filter, red means iron, white and hard means lime, slime means chlorine.",
            "Count how many zones run at once. Two valves open halve the water of each.",
        ),
    ),
    "burst": (
        "tape or line burst",
        (
            "Shut the water off. Step back from a spraying joint: do not bend over it.",
            "Read the pressure behind the regulator with the water running, and again with the "
            "valve behind it just shut. Above what the tape is rated for: the regulator is "
            "missing, on backwards, worn, or too large for so small a flow.",
            "Bursts at the low end of a slope: standing water adds its fall. Feed the rows from "
            "the high end, or set a regulator lower down.",
            "Bursts at the moment it starts: water hammers. Open the valve slowly, fill the lines "
            "at low flow.",
            "A slit along the line, or tooth marks: hoe, wire, mice or crickets, not pressure.",
            "Cut out the bad piece square, join it with a coupling, flush before closing the end.",
        ),
    ),
    "wet-spot": (
        "one wet spot",
        (
            "Look at that place with the water on: a joint, a hole, a missing plug, or an emitter "
            "that has come out.",
            "On a slope: lines drain to their low end each time the water stops, and the same "
            "plants drink that. Water longer and less often, or run lines along the contour.",
            "Water runs back along a sagging line to its lowest point: stake it straight.",
            "Fill a cup at that emitter and at one further on. Far more there: it is torn or worn, "
            "put in a coupling.",
            "Still wet a day after watering: the soil there takes in less. Shorter runs, twice.",
        ),
    ),
    "no-water": (
        "the timer runs but nothing comes",
        (
            "Open the tap, and every hand valve. Look for one shut.",
            "Open the valve by its own bleed screw or by hand. Water comes: battery, wire or coil "
            "is at fault, not the water. Switch the power off before you touch a wire; mains "
            "wiring is for an electrician.",
            "No water by hand either: read the gauge before the filter. Nothing: the source is off "
            "or the pump has lost its prime. Pressure there: the filter is shut with dirt.",
            "Release the pressure, then take out the filter screen. Clean it; never run without.",
            "Look at the arrows on check valve, backflow preventer and regulator: one on backwards "
            "lets nothing through.",
            "In cold weather: something is frozen. Let it thaw by itself, then look for cracks "
            "before turning on.",
        ),
    ),
    "weak-zone": (
        "one zone is weak, the others are not",
        (
            "Only that zone: what all share (source, filter, regulator) is sound. Look behind its "
            "valve.",
            "Read the gauge just behind the valve. Low: the valve is half open, its screen "
            "or diaphragm dirty, or a valve of another zone leaks open with it.",
            "Right there and low in the rows: a leak or a crushed pipe in its header. Walk it; "
            "listen; look for green grass.",
            "Compare its flow with what the design says. More than it says: a leak. Less: clogged, "
            "or lines shut.",
            "Right since it was built: more or longer rows hang on it than the pipe carries; the "
            "whole-field page says what it should take.",
        ),
    ),
}

SYMPTOMS = (
    Choice(value="none", label="nothing in particular"),
    *(Choice(value=value, label=label) for value, (label, _) in _TROUBLES.items()),
)
SYMPTOM_LABELS = {choice.value: choice.label for choice in SYMPTOMS}


def trouble_steps(symptom: str) -> Steps | None:
    """Return what to look at, in order, for a symptom; None for ``"none"``."""
    if symptom not in _TROUBLES:
        return None
    label, steps = _TROUBLES[symptom]
    return Steps(name="trouble", title=f"When {label}", items=steps)
