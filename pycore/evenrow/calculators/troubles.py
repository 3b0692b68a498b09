"""What to look at when something is plainly wrong: by what is seen, the likeliest first."""

from __future__ import annotations

from evenrow.calculators.result import Steps
from evenrow.calculators.spec import Choice
from evenrow.words import said, tr

#: What is seen: its label and the steps.
_TROUBLES = {
    "dry-end": (
        said("the far end is dry"),
        (
            said(
                "Walk the row with the water on. A wet spot, a hiss or a kink on the way: mend "
                "that first."
            ),
            said(
                "Open the end of the line. If dirty water comes, let it run until it is clear, and "
                "close it. If nothing comes, the line is shut or flattened further up."
            ),
            said(
                "Read the gauge at both ends of that line. Near end low as well: look at header, "
                "filter and regulator. Near end right and far end low: the line is too long, too "
                "thin or climbs too much; the run-length page says how far it may go."
            ),
            said(
                "Both ends right, and still dry: the emitters there are clogged. Cut one open; "
                "grit means filter, red means iron, white and hard means lime, slime means "
                "chlorine."
            ),
            said("Count how many zones run at once. Two valves open halve the water of each."),
        ),
    ),
    "burst": (
        said("tape or line burst"),
        (
            said("Shut the water off. Step back from a spraying joint: do not bend over it."),
            said(
                "Read the pressure behind the regulator with the water running, and again with the "
                "valve behind it just shut. Above what the tape is rated for: the regulator is "
                "missing, on backwards, worn, or too large for so small a flow."
            ),
            said(
                "Bursts at the low end of a slope: standing water adds its fall. Feed the rows "
                "from the high end, or set a regulator lower down."
            ),
            said(
                "Bursts at the moment it starts: water hammers. Open the valve slowly, fill the "
                "lines at low flow."
            ),
            said(
                "A slit along the line, or tooth marks: hoe, wire, mice or crickets, not pressure."
            ),
            said(
                "Cut out the bad piece square, join it with a coupling, flush before closing the "
                "end."
            ),
        ),
    ),
    "wet-spot": (
        said("one wet spot"),
        (
            said(
                "Look at that place with the water on: a joint, a hole, a missing plug, or an "
                "emitter that has come out."
            ),
            said(
                "On a slope: lines drain to their low end each time the water stops, and the same "
                "plants drink that. Water longer and less often, or run lines along the contour."
            ),
            said("Water runs back along a sagging line to its lowest point: stake it straight."),
            said(
                "Fill a cup at that emitter and at one further on. Far more there: it is torn or "
                "worn, put in a coupling."
            ),
            said(
                "Still wet a day after watering: the soil there takes in less. Shorter runs, twice."
            ),
        ),
    ),
    "no-water": (
        said("the timer runs but nothing comes"),
        (
            said("Open the tap, and every hand valve. Look for one shut."),
            said(
                "Open the valve by its own bleed screw or by hand. Water comes: battery, wire or "
                "coil is at fault, not the water. Switch the power off before you touch a wire; "
                "mains wiring is for an electrician."
            ),
            said(
                "No water by hand either: read the gauge before the filter. Nothing: the source "
                "is off or the pump has lost its prime. Pressure there: the filter is shut with "
                "dirt."
            ),
            said(
                "Release the pressure, then take out the filter screen. Clean it; never run "
                "without."
            ),
            said(
                "Look at the arrows on check valve, backflow preventer and regulator: one on "
                "backwards lets nothing through."
            ),
            said(
                "In cold weather: something is frozen. Let it thaw by itself, then look for cracks "
                "before turning on."
            ),
        ),
    ),
    "weak-zone": (
        said("one zone is weak, the others are not"),
        (
            said(
                "Only that zone: what all share (source, filter, regulator) is sound. Look "
                "behind its valve."
            ),
            said(
                "Read the gauge just behind the valve. Low: the valve is half open, its screen "
                "or diaphragm dirty, or a valve of another zone leaks open with it."
            ),
            said(
                "Right there and low in the rows: a leak or a crushed pipe in its header. Walk it; "
                "listen; look for green grass."
            ),
            said(
                "Compare its flow with what the design says. More than it says: a leak. Less: "
                "clogged, or lines shut."
            ),
            said(
                "Right since it was built: more or longer rows hang on it than the pipe carries; "
                "the whole-field page says what it should take."
            ),
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
    return Steps(
        name="trouble",
        title=tr("When {trouble}", trouble=tr(label)),
        items=tuple(tr(step) for step in steps),
    )
