"""What is done at each job of the year, and why, in the units of the reader."""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.agronomy.upkeep import FLUSH_LEAST, FLUSH_VELOCITY, MIDDLE_WALL, THIN_WALL
from evenrow.calculators.upkeep_asked import Asked
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

#: Loss over a filter, above that when clean, at which it is cleaned [m]: 5 psi, common practice,
#: no source.
FILTER_DIRTY = 3.515
#: Least pressure that a change in pressure is looked into from, as a share: common practice, no
#: source.
CHANGED = 0.10

#: How much a water clogs, in words.
HAZARD_WORDS = {"low": said("low"), "moderate": said("moderate"), "high": said("high")}

#: Cautions that stand at their steps.
LABEL = said(
    "Never mix chlorine and acid, nor either with fertiliser: the gas can kill. Separate "
    "vessels, different days; pour the chemical into water, never water into it; gloves and "
    "goggles; a backflow preventer of the class that your code asks for. The label is the law."
)
AIR = said(
    "Compressed air can throw caps and fittings and burst lines: it can blind. Only for those "
    "who know it, with goggles, nobody at the ends"
)
ELECTRIC = said("Switch the pump off at its isolator, and lock it, before you touch it.")


@dataclass(frozen=True, kw_only=True)
class Words:
    """A job in words: its `name` as an order, `how` it is done, and `why`."""

    name: str
    how: str
    why: str


def words(asked: Asked, system: UnitSystem) -> dict[str, Words]:
    """Return what each job is, by its code; jobs that a system does not have are among them."""
    found = {**_starting(asked), **_running(asked, system), **_treating(), **_ending(asked, system)}
    return {code: Words(name=w[0], how=w[1], why=w[2]) for code, w in found.items()}


def _starting(asked: Asked) -> dict[str, tuple[str, str, str]]:
    plant = asked.plant
    if plant.one_season:
        lay = tr("lay new tape")
    else:
        lay = tr("lay the tape") if plant.tape else tr("lay the dripline")
    return {
        "inspect": (
            tr("look over the head assembly"),
            tr(
                "Look for cracks from frost, worn gaskets and torn filter screens. Replace rubber "
                "gaskets and diaphragms every second year."
            ),
            tr("A part ordered now is there when water is wanted."),
        ),
        "backflow": (
            tr("have the backflow preventer tested"),
            tr(
                "Where your code asks for it, by a licensed tester. Close its drains and test "
                "cocks first, and open its valves slowly."
            ),
            tr("It keeps what is in the lines out of the drinking water."),
        ),
        "pump": (
            tr("get the pump ready"),
            tr(
                "{caution} Close its drains, clean strainer and foot valve, fill it with "
                "water, look at its seal. Electrical work is for licensed persons.",
                caution=tr(ELECTRIC),
            ),
            tr("A pump that runs dry is ruined in minutes."),
        ),
        "tank": (
            tr("clean the tank"),
            tr(
                "Let mud out at the drain, rinse, close every gap against light and mosquitoes. Do "
                "not climb into a closed tank: its air can kill."
            ),
            tr("Light grows algae, and mud goes through to the emitters."),
        ),
        "lay": (
            lay,
            tr("Flat, emitters up, ends open for the first flushing.")
            if plant.one_season
            else tr(
                "Flat, emitters up, ends open for the first flushing. Mend or leave out what was "
                "marked when rolled."
            ),
            tr("It lies in place before plants cover it."),
        ),
        "open": (
            tr("flush main, header and lines, close the ends"),
            tr(
                "In the order of the water: main first, then header, then lines, a few ends at a "
                "time, until each runs clear. Then close the ends."
            ),
            tr("What settled or crept in over the winter must not go into the emitters."),
        ),
        "compare": (
            tr("check against the commissioning numbers"),
            tr(
                "Run each zone: pressure at the head and at the far ends, flow at the meter. More "
                "than about 10 % off: find out why."
            ),
            tr("Those numbers are what the system gave when it was good."),
        ),
    }


def _running(asked: Asked, system: UnitSystem) -> dict[str, tuple[str, str, str]]:
    plant = asked.plant
    clean = {
        "screen": tr(
            "Take the screen out with the pressure off, wash and brush it, look for holes."
        ),
        "disc": tr("Take the discs out with the pressure off, spread and rinse them."),
        "media": tr("Backwash until it runs clear; look for sand in the lines behind it."),
    }[asked.filter_kind]
    speed = format_value(FLUSH_VELOCITY, "velocity", system, 2)
    return {
        "filter": (
            tr("clean the filter"),
            tr(
                "{clean} At once, whatever the date, when the loss over it is {pressure} above "
                "that when clean.",
                clean=clean,
                pressure=format_value(FILTER_DIRTY, "pressure", system, 2),
            ),
            tr("By the interval that you gave.")
            if plant.filter_hours is not None
            else tr(
                "By the hazard of clogging: {hazard}. If it is clean each time, look less "
                "often. If the loss is too high before, more often.",
                hazard=tr(HAZARD_WORDS[plant.hazard]),
            ),
        ),
        "walk": (
            tr("walk the rows while they run"),
            tr(
                "Look for dry or spraying emitters, leaks, kinks, cuts. Mark them with a flag and "
                "mend them the same day."
            ),
            tr("A leak takes water from every plant behind it."),
        ),
        "flush": (
            tr("flush header and lines"),
            tr(
                "Header first, then a few ends at a time, each at {speed} or more until it "
                "runs clear. Still dirty after {minutes} minutes: flush more often; clear "
                "at once twice running: less often.",
                speed=speed,
                minutes=round(FLUSH_LEAST / 60),
            ),
            tr(
                "Fine silt passes any filter and settles where water is slow. Hazard of "
                "clogging: {hazard}; water for {hours} a week.",
                hazard=tr(HAZARD_WORDS[plant.hazard]),
                hours=format_value(plant.hours * 3600.0, "hours", system, 3),
            ),
        ),
        "pressures": (
            tr("check pressures and flow"),
            tr(
                "At the head before and behind the filter, behind the regulator, at the far ends; "
                "the meter over ten minutes. Changed by {percent:.0f} % or more: look for the "
                "reason.",
                percent=CHANGED * 100,
            ),
            tr("Flow up and pressure down is a leak; flow down and pressure up is clogging."),
        ),
        "timer": (
            tr("set the timer for the weather to come"),
            tr(
                "Hours by crop and month; look at the clock, at the battery and at the rain sensor."
            ),
            tr("What was right in spring is too little in summer and too much in autumn."),
        ),
        "injector": (
            tr("check the injector"),
            tr(
                "Rate against a measuring cup and a watch, strainer, check valve, hoses. Rinse the "
                "lines with clear water after each dose of fertiliser."
            ),
            tr(
                "Fertiliser that stays in the lines feeds slime, and a worn check valve lets it "
                "back."
            ),
        ),
        "cups": (
            tr("check the field with cups"),
            tr(
                "Sixteen cups or more over near, middle and far, always the same emitters. Put the "
                "result in the table of checks."
            ),
            tr("Clogging shows in cups long before it shows in plants."),
        ),
        "animals": (
            tr("look for rodents and insects"),
            tr(
                "Gnawed lines, ants at the emitters, nests at ends and valves. Short growth along "
                "the rows and traps keep most away; poison only as its label and your law allow."
            ),
            tr("One night of gnawing empties a row."),
        ),
        "suction": (
            tr("clean strainer and foot valve"),
            tr("{caution} Lift the suction end well off the bottom.", caution=tr(ELECTRIC)),
            tr("A pump that sucks hard gives less, and air."),
        ),
    }


def _treating() -> dict[str, tuple[str, str, str]]:
    return {
        "chlorine": (
            tr("dose chlorine (never with acid)"),
            tr(
                "{caution} Until a test strip shows it at the last emitter, then hold for an "
                "hour, then flush.",
                caution=tr(LABEL),
            ),
            tr("It kills the slime that glues silt together."),
        ),
        "acid": (
            tr("dose acid (never with chlorine)"),
            tr(
                "{caution} By titration of your own water, until the far end has the acid water; "
                "hold for an hour, then flush.",
                caution=tr(LABEL),
            ),
            tr("It dissolves lime before the passages close."),
        ),
    }


def _ending(asked: Asked, system: UnitSystem) -> dict[str, tuple[str, str, str]]:
    plant = asked.plant
    wall = format_value(plant.wall, "thickness", system, 2)
    if plant.one_season:
        age = tr("Tape this thin is for one season: new tape next year.")
    elif plant.tape and plant.wall < MIDDLE_WALL:
        age = tr(
            "Tape like this does for one to three seasons: new tape if you mended more than "
            "about one place in 100 m (330 ft), or if the cups say so."
        )
    else:
        age = tr(
            "A line like this does for many years: replace it by what the cups say, not by its "
            "age, or where it has gone brittle."
        )
    return {
        "last-flush": (
            tr("flush everything once more"),
            tr(
                "After the last watering: main, header, every line, until it runs clear. If you "
                "treat the water, give the last dose first."
            ),
            tr("What stays in over the winter dries hard."),
        ),
        "winterise": (
            tr("make it proof against frost"),
            tr("In the order of the steps below: water off, ends open, drain, take parts indoors."),
            tr("Water that freezes splits filter, valves, pump and backflow preventer first."),
        ),
        "rest": (
            tr("run each zone for ten minutes"),
            tr("With the ends closed; look at the ends as you go."),
            tr("Emitters that dry out crust over, and ants and roots move in."),
        ),
        "pull": (
            tr("pull the tape up"),
            tr(
                "Roll it up clean, and ask where it is taken for recycling. Do not burn it or "
                "plough it in."
            ),
            tr(
                "With a wall of {wall}, below {least}, it does not bear being laid twice.",
                wall=wall,
                least=format_value(THIN_WALL, "thickness", system, 2),
            ),
        ),
        "roll": (
            tr("roll the tape up") if plant.tape else tr("roll the dripline up"),
            tr(
                "Dry, on a drum, no kinks; a label with row, length and what to mend. Dark, and "
                "out of reach of mice."
            ),
            tr("Sun, mice and ploughs end more line than water does."),
        ),
        "line-age": (
            tr("decide on new line"),
            age,
            tr(
                "Wall {wall}; cups measured over the years tell it better than the calendar.",
                wall=wall,
            ),
        ),
        "stock": (
            tr("count the repair stock"),
            tr("Against the table below; order what is missing."),
            tr("A leak is mended the same day or not at all."),
        ),
    }


def spring_steps(asked: Asked) -> tuple[str, ...]:
    """Return the start of a season, in the order it is done (common practice, no source)."""
    plant = asked.plant
    steps = [
        tr(
            "Before water: look over the head assembly, filter element in, drains and test cocks "
            "closed, gauges and timer back."
        ),
    ]
    if plant.pumped:
        steps.append(
            tr("Pump: {caution} Fill it, then let it be switched on again.", caution=tr(ELECTRIC))
        )
    if plant.source == "tank":
        steps.append(tr("Tank: cleaned and filled. Do not climb into a closed tank."))
    steps += [
        tr(
            "Open the supply slowly, so that the water does not strike the backflow preventer and "
            "the pipe."
        ),
        tr("Have the backflow preventer tested where your code asks for it, by a licensed tester."),
        tr("Main: flush it through its end, with the header shut off or taken off, until clear."),
        tr("Header: open its end, flush it until clear, close it."),
        tr(
            "Lines: {ends} ends at a time, each until it runs clear. If not every end "
            "runs, close those nearest the source first.",
            ends=asked.together,
        ),
        tr("Close the ends. Every emitter drips after a few minutes."),
        tr(
            "Compare pressures and flow with the commissioning numbers, and put them down with the "
            "date."
        ),
        tr("Set the timer for the month."),
    ]
    return tuple(steps)


def winter_steps(asked: Asked, system: UnitSystem) -> tuple[str, ...]:
    """Return how a system is made proof against frost (common practice, no source)."""
    plant = asked.plant
    limit = format_value(asked.device.emitter.head_max, "pressure", system, 2)
    steps = [
        tr("Flush main, header and lines once more, until clear.")
        if plant.treatment == "none"
        else tr(
            "Flush main, header and lines once more, until clear. Give the last dose before, and "
            "rinse injector and tanks; chemicals frost-free."
        )
    ]
    off = tr("Shut the supply at a valve that frost does not reach; timer off, its battery out.")
    steps.append(f"{tr(ELECTRIC)} {off}" if plant.pumped else off)
    steps += [
        tr(
            "Open every line end, the header end and each low point, and let it all run out. Lift "
            "the lines where they sag."
        ),
        tr(
            "What does not run out may be blown out. {caution}; from behind the backflow "
            "preventer and the filter, never through them or a pump; less than the line "
            "bears ({limit}), ends open, short pushes.",
            caution=tr(AIR),
            limit=limit,
        ),
        {
            "screen": tr(
                "Filter: pressure off, open it, wash the screen, store it dry; drain open."
            ),
            "disc": tr(
                "Filter: pressure off, open it, rinse the discs, store them dry; drain open."
            ),
            "media": tr(
                "Filter: backwash, pressure off, then drain the vessel; lid and drain open."
            ),
        }[asked.filter_kind],
        tr("Regulator, gauges and timer: off and indoors."),
        tr(
            "Backflow preventer: drain it by its test cocks, leave its valves half open, and "
            "wrap it, or take it in, as its instructions and your code say. Where these ask for "
            "a licensed person, leave it to one."
        ),
    ]
    if plant.pumped:
        steps.append(tr("Pump: drain casing and suction pipe, foot valve out, or keep it warm."))
    if plant.source == "tank":
        steps.append(
            tr("Tank: empty it, or leave its outlet drained, so that ice cannot split it.")
        )
    steps.append(
        tr(
            "Cover the open ends with gauze against mice and insects, and hang a note at the tap: "
            "ends are open."
        )
    )
    return tuple(steps)
