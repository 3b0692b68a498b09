"""What a finished design hands on to its later years: where cups go, how long water takes."""

from __future__ import annotations

import math
from itertools import groupby

from evenrow.agronomy.sampling import PLACES
from evenrow.calculators.field_check_form import PLACE_LABELS
from evenrow.calculators.result import Column, Named, Number, Section, Table
from evenrow.design.cup_map import CupPlace, ExpectedCup, expected_cups
from evenrow.design.expected import Expected
from evenrow.design.instructions.naming import tape_measure
from evenrow.design.travel import travel_times
from evenrow.units import UnitSystem
from evenrow.words import said, tr

_CUPS_SOURCE = said("Merriam and Keller (1978), Farm Irrigation System Evaluation")


def later_section(expected: Expected, system: UnitSystem) -> Section:
    """Return where to check a design later, and what its upkeep and treatment ask for.

    Parameters
    ----------
    expected : Expected
        The zones of the design as they run.
    system : {"us", "metric"}
        Units of the sentences.
    """
    found = expected.found
    cups = expected_cups(expected)
    weakest = found.worst.layout
    ends = [network.ends for network in expected.zones]
    emitter = found.field.line.device.emitter
    return Section(
        title=tr("Check and treat it later"),
        items=(
            _map(cups, system),
            _one_by_one([cup for cup in cups if cup.at.zone == weakest.number], system),
            Number(
                name="check_flow",
                label=tr("Rated flow of an emitter"),
                value=emitter.flow_nominal,
                kind="emitter_flow",
                rule=tr("What cups are held against."),
                source=found.field.line.device.source,
            ),
            Number(
                name="check_pressure",
                label=tr("… at this pressure"),
                value=emitter.head_nominal,
                kind="pressure",
                source=found.field.line.device.source,
            ),
            Number(
                name="check_exponent",
                label=tr("Emitter exponent"),
                value=0.0 if emitter.compensating else emitter.exponent,
                kind="number",
                digits=2,
                source=found.field.line.device.source,
            ),
            Number(
                name="check_cv",
                label=tr("Spread of new emitters (CV)"),
                value=emitter.cv,
                kind="share",
                source=found.field.line.device.source,
            ),
            Number(
                name="design_dulq",
                label=tr("Uniformity to expect of cups (DUlq)"),
                value=found.worst.dulq,
                kind="share",
                rule=tr(
                    "Lowest quarter over mean of all emitters of that zone as solved; the spread "
                    "between new emitters takes a little more off."
                ),
                source=tr(_CUPS_SOURCE),
            ),
            Number(
                name="check_rows",
                label=tr("Rows of zone {zone}, the one to check", zone=weakest.number),
                value=weakest.rows[1] - weakest.rows[0],
                kind="count",
                rule=tr("The zone that waters least evenly by the design."),
            ),
            Number(
                name="check_length",
                label=tr("Its longest line"),
                value=max(end.length for end in ends[weakest.number - 1]),
                kind="length",
                rule=tr("From header to closed end."),
            ),
            _travel(expected),
            Number(
                name="passage",
                label=tr("Narrowest passage of the emitters"),
                value=found.field.line.device.passage,
                kind="thickness",
                rule=tr("It decides how fine the filter has to be."),
                source=found.field.line.device.source,
            ),
            Number(
                name="line_length",
                label=tr("All lines together"),
                value=sum(end.length for zone in ends for end in zone),
                kind="length",
            ),
            Number(
                name="line_ends",
                label=tr("Ends of lines"),
                value=sum(len(zone) for zone in ends),
                kind="count",
            ),
        ),
    )


def _travel(expected: Expected) -> Number:
    longest = max(travel_times(expected))
    return Number(
        name="travel_time",
        label=tr("Water from the head to the last emitter"),
        value=longest if math.isfinite(longest) else None,
        kind="duration",
        digits=2,
        rule=tr(
            "Volume over flow of each piece of main, header and line, every pipe full; the longest "
            "of all lines of all zones. What is injected takes so long to arrive, and to leave."
        ),
        source=tr("network solve, filter clean"),
    )


def _line(cup: CupPlace, several: bool) -> str:
    """Return the name of a line: its row, with the line in it where there are several."""
    if several:
        return tr("{row}, line {line}", row=cup.row, line=cup.line)
    return str(cup.row)


def _several(cups: list[ExpectedCup]) -> bool:
    return any(cup.at.line > 1 for cup in cups)


def _map(cups: tuple[ExpectedCup, ...], system: UnitSystem) -> Table:
    """Return for each zone which lines to take, and where along them."""
    rows = []
    for zone, group in groupby(cups, key=lambda cup: cup.at.zone):
        mine = list(group)
        lines = dict.fromkeys(_line(cup.at, _several(mine)) for cup in mine)
        flows = [cup.flow for cup in mine]
        rows.append(
            (zone, "; ".join(lines), _distances(mine, system), len(mine), sum(flows) / len(flows))
        )
    return Table(
        name="cup_map",
        title=tr("Where cups go, zone by zone"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="rows", label=tr("Rows")),
            Column(name="places", label=tr("From the header, along the line")),
            Column(name="cups", label=tr("Cups"), kind="count"),
            Column(name="flow", label=tr("Mean of them"), kind="emitter_flow"),
        ),
        rows=tuple(rows),
        note=tr(
            "Four lines of a zone, four places on each, marked on the plan. The emitter nearest to "
            "the place, not the one that looks best. {source}.",
            source=tr(_CUPS_SOURCE),
        ),
    )


def _distances(cups: list[ExpectedCup], system: UnitSystem) -> str:
    """Return how far from the header the cups stand, or by which rule where lines differ."""
    places = {
        name: {tape_measure(c.at.distance, system) for c in cups if c.at.place == name}
        for name in PLACES
    }
    texts = [
        next(iter(places[name])) if len(places[name]) == 1 else tr(PLACE_LABELS[name])
        for name in PLACES
        if places[name]
    ]
    return "; ".join(texts)


def _one_by_one(cups: list[ExpectedCup], system: UnitSystem) -> Table:
    several = _several(cups)
    return Table(
        name="cup_list",
        title=tr("Zone {zone}, cup by cup", zone=cups[0].at.zone),
        columns=(
            Column(name="row", label=tr("Row")),
            Column(name="place", label=tr("Place")),
            Column(name="distance", label=tr("From the header")),
            Column(name="flow", label=tr("Should give"), kind="emitter_flow"),
            Column(name="pressure", label=tr("Pressure"), kind="pressure"),
        ),
        rows=tuple(
            (
                _line(cup.at, several),
                Named(tr(PLACE_LABELS[cup.at.place]), cup.at.place),
                tape_measure(cup.at.distance, system),
                cup.flow,
                cup.head,
            )
            for cup in cups
        ),
        note=tr("The zone that waters least evenly. “Field check” takes this list along."),
        folded=True,
    )
