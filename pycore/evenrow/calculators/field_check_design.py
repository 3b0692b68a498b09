"""A field check beside its design: cups to set, and what each caught against it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from evenrow.agronomy.field_evaluation import low_quarter, mean, variation
from evenrow.agronomy.sampling import PLACES, variation_band
from evenrow.calculators.field_check_form import PLACE_LABELS
from evenrow.calculators.field_diagnosis import NEAR_ENOUGH, Cups
from evenrow.calculators.result import Column, Fact, Figure, Number, Result, Section, Table
from evenrow.figures.cup_map import MapCup, cup_map
from evenrow.units import UnitSystem, format_value, to_unit
from evenrow.words import tr

#: A cup below this share of what the design has there is named: twice what counts as right.
_FAR_OFF = 1.0 - 2.0 * NEAR_ENOUGH
_NAMED = 6
_DESIGN = "network solve of the design, filter clean"


def cups_to_set(inputs: Mapping[str, Any], where: Section, system: UnitSystem) -> Result:
    """Return what to do with cups of which none was measured yet.

    Parameters
    ----------
    inputs : mapping
        Read form; its cups have no volumes.
    where : Section
        Where cups go in any zone.
    system : {"us", "metric"}
        Units of what is written.
    """
    rows = inputs["cups"]
    known = all(row["expected"] is not None for row in rows)
    time = format_value(inputs["cup_time"], "duration", system)
    table = Table(
        name="to_set",
        title=tr("Cups under emitters for {time}", time=time),
        columns=(
            Column(name="cup", label=tr("Cup"), kind="count"),
            Column(name="row", label=tr("Row")),
            Column(name="place", label=tr("Place")),
            Column(name="should", label=tr("Should catch")),
            Column(name="caught", label=tr("Caught")),
        ),
        rows=tuple(
            (
                number,
                row["row"] or None,
                tr(PLACE_LABELS[row["place"]]),
                None
                if row["expected"] is None
                else _millilitres(row["expected"] * (row["time"] or inputs["cup_time"])),
                "",
            )
            for number, row in enumerate(rows, start=1)
        ),
        note=tr("Write in what each caught, and the answer follows.")
        + (
            " " + tr("Should catch: by the design, for new emitters and a clean filter.")
            if known
            else ""
        ),
    )
    return Result(
        headline=Fact(
            name="to_measure",
            label=tr("Cups to set"),
            text=str(len(rows)),
            rule=tr("Every row of the table that has no volume yet."),
        ),
        verdict=tr(
            "Set these {count} cups, take them away after {time}, and write down what each caught.",
            count=len(rows),
            time=time,
        ),
        sections=(
            Section(
                title=tr("The cups to set"),
                items=(
                    _map_figure(
                        [MapCup(row=_row(r["row"] or ""), place=PLACES[r["place"]]) for r in rows],
                        tr("Where the cups go: the table below says it in words."),
                    ),
                    table,
                ),
            ),
            where,
        ),
    )


def _millilitres(volume: float) -> str:
    return f"{round(to_unit(volume, 'volume', 'mL'))}\N{NO-BREAK SPACE}mL"


def map_of(cups: Cups) -> Figure:
    """Return the map of the cups with what each gave, as a share of their average."""
    average, low = mean(cups.flows), set(cups.low)
    # Where all are alike none is the lowest.
    low = set() if len(low) == cups.flows.size else low
    shares = [f"{round(100 * float(flow) / average)} %" for flow in cups.flows]
    told = "; ".join(f"{cups.name(i)}: {share}" for i, share in enumerate(shares))
    words = tr("Each cup as a share of the average. {cups}.", cups=told)
    marks = [
        MapCup(row=_row(row), place=PLACES[place], said=share, low=i in low)
        for i, (row, place, share) in enumerate(zip(cups.rows, cups.places, shares, strict=True))
    ]
    return _map_figure(marks, words)


def _row(name: str) -> str:
    return tr("row {row}", row=name) if name else ""


def _map_figure(marks: list[MapCup], words: str) -> Figure:
    return Figure(
        name="cups_map",
        title=tr("Where the cups stand"),
        svg=cup_map(marks, alternative=words),
        alternative=words,
    )


def against_design(cups: Cups, new: float) -> Section | None:
    """Return what each cup caught against what the design has there; None where it tells of none.

    Parameters
    ----------
    cups : Cups
        As measured.
    new : float
        Coefficient of variation of new emitters [-].
    """
    if not cups.designed or cups.flows.size < 2:
        return None
    ratios = cups.flows / cups.expected
    order = np.argsort(ratios, kind="stable")
    by_design, apart = variation(cups.expected), variation(ratios)
    table = Table(
        name="against",
        title=tr("Each cup, the lowest first"),
        columns=(
            Column(name="cup", label=tr("Cup")),
            Column(name="flow", label=tr("Gives"), kind="emitter_flow"),
            Column(name="should", label=tr("Should give"), kind="emitter_flow"),
            Column(name="share", label=tr("Of it"), kind="share"),
        ),
        rows=tuple(
            (cups.name(int(i)), float(cups.flows[i]), float(cups.expected[i]), float(ratios[i]))
            for i in order
        ),
        note=tr("Should give: {source}.", source=tr(_DESIGN)),
        folded=True,
    )
    return Section(
        title=tr("Against the design"),
        items=(
            Number(
                name="design_ratio",
                label=tr("Average over that of the design"),
                value=mean(cups.flows) / mean(cups.expected),
                kind="share",
                rule=tr("Average of the cups over the average of what they should give."),
                source=tr(_DESIGN),
            ),
            Number(
                name="design_dulq",
                label=tr("Uniformity of these cups by the design"),
                value=low_quarter(cups.expected),
                kind="share",
                rule=tr("Lowest quarter over mean, for emitters that are all alike."),
                source=tr(_DESIGN),
            ),
            Number(
                name="design_cv",
                label=tr("Spread that the design itself has (CV)"),
                value=by_design,
                kind="share",
                rule=tr("Pressure lost along lines and header, and slope."),
                source=tr(_DESIGN),
            ),
            Number(
                name="apart_cv",
                label=tr("Spread of the cups against the design (CV)"),
                value=apart,
                kind="share",
                rule=tr("Of what each caught over what it should."),
                source=tr("definition"),
            ),
            Fact(
                name="design_says",
                label=tr("So"),
                text=_so(cups, ratios, apart, new),
                rule=tr(
                    "The average tells of pressure or of clogging everywhere; single cups far "
                    "below, of what is wrong there; a spread against the design that is surely (95 "
                    "of 100) more than that of new emitters, of clogging or wear."
                ),
                source=tr("common practice, no source"),
            ),
            table,
        ),
    )


def _so(cups: Cups, ratios: np.ndarray[Any, np.dtype[np.float64]], apart: float, new: float) -> str:
    """Return in a sentence what the comparison says."""
    low = [int(i) for i in np.argsort(ratios, kind="stable") if ratios[i] < _FAR_OFF]
    average = mean(cups.flows) / mean(cups.expected)
    if low and len(low) <= max(1, math.floor(cups.flows.size / 4)):
        names = ", ".join(cups.name(i) for i in low[:_NAMED])
        return tr(
            "most are as designed, but far below it are {names}: look there first, at the emitter "
            "and its line",
            names=names,
        )
    if average < 1.0 - NEAR_ENOUGH:
        return tr(
            "all give less than designed: read the gauge at the header against the design. Low "
            "there: filter, regulator or source. Right there: the emitters clog everywhere"
        )
    if average > 1.0 + NEAR_ENOUGH:
        return tr(
            "they give more than designed: pressure above the design, worn emitters, or another "
            "line than the one drawn"
        )
    if variation_band(min(apart, 1.0), cups.flows.size)[0] > new:
        return tr(
            "the average is right, but they spread more than new emitters do, and not by the "
            "design: clogging or wear of some of them"
        )
    return tr(
        "as designed: the average is right, and they spread no more than new emitters may by chance"
    )
