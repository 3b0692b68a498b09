"""Tape or dripline: which line, how many per bed, and which emitters."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.carries import FROM_LINE_CHOICE
from evenrow.calculators.planting_fields import PLANTING_FIELDS, planting_of
from evenrow.calculators.result import Column, Fact, Notice, Number, Result, Section, Steps, Table
from evenrow.calculators.spec import Calculator
from evenrow.design.line_choice import choose_lines
from evenrow.design.line_words import laying_steps, rate_words, reasons, sold_words, summary
from evenrow.design.planting import Candidate, LineChoice, Planting
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr, tr_count

_LINE_CHOICE_SOURCE = said(
    "Schwartzman and Zur (1986), J. Irrig. Drain. Eng. 112(3): w = 1.82 V^0.22 (Ks/q)^−0.17, "
    "z = 2.54 V^0.63 (Ks/q)^0.45; USDA National Engineering Handbook, section 15, chapter 7: "
    "spacing at most 0.8 of the wetted diameter (from memory)"
)
_GEOMETRY = said("plane geometry: circles along a line, each part counted once")
_FRICTION_SOURCE = said("Darcy–Weisbach with the friction factor of Churchill (1977)")


def _laid(found: Candidate, system: UnitSystem) -> str:
    """Return how many of a line, of what emitter spacing: ``"3 tapes, emitters every 8 in"``."""
    wet, kind = found.wetting, found.device.kind
    spacing = sold_words(wet.spacing, system)
    if kind == "tape":
        return tr_count(
            wet.lines,
            "{count} tape, emitters every {spacing}",
            "{count} tapes, emitters every {spacing}",
            spacing=spacing,
        )
    return tr_count(
        wet.lines,
        "{count} dripline, emitters every {spacing}",
        "{count} driplines, emitters every {spacing}",
        spacing=spacing,
    )


def _headline(choice: LineChoice, system: UnitSystem) -> Fact:
    best = choice.best
    text = tr("none of these lines") if best is None else _laid(best, system)
    return Fact(
        name="choice",
        label=tr("For each row" if choice.planting.bed_width is None else "For each bed"),
        text=text,
        rule=tr(
            "Of the lines that stand the pressure, reach to the end of the row, wet the ground "
            "without gaps and do not make water run off: the one with fewest reservations; then "
            "tape for a season or dripline for years and bends; then a header at the end, fewest "
            "lines, most room to run, smallest."
        ),
        source=tr(_LINE_CHOICE_SOURCE),
    )


def _coverage(best: Candidate, planting: Planting, system: UnitSystem) -> Section:
    wet, row = best.wetting, planting.bed_width is None
    low, high = planting.soil.intake
    return Section(
        title=tr("What gets wet"),
        items=(
            Number(
                name="share",
                label=tr("Share of the root zone wetted" if row else "Share of the bed wetted"),
                value=wet.share,
                kind="share",
                digits=2,
                rule=tr(
                    "Lines times width of strip over width of the root zone, at most all of it. "
                    "Wanted: {wanted:.0f} %."
                    if row
                    else "Lines times width of strip over width of the bed, at most all of it. "
                    "Wanted: {wanted:.0f} %.",
                    wanted=planting.wanted * 100,
                ),
                source=tr(
                    "Keller and Karmeli (1974), Trans. ASAE 17(4), percentage wetted area "
                    "(from memory)"
                ),
            ),
            Number(
                name="wetted_width",
                label=tr("Width that one emitter wets"),
                value=wet.width,
                kind="spacing",
                digits=2,
                rule=tr(
                    "When the water is down at the roots of the crop, {depth} deep; no more than "
                    "the handbook has for a 1 gal/h emitter. Depth and width of dry, even soil: "
                    "yours may differ by half.",
                    depth=format_value(planting.crop.root_depth[0], "spacing", system, 2),
                ),
                source=tr(_LINE_CHOICE_SOURCE),
            ),
            Number(
                name="strip",
                label=tr("Strip along one line"),
                value=wet.strip,
                kind="spacing",
                digits=2,
                rule=tr(
                    "Mean width of the wetted circles that follow each other at the emitter "
                    "spacing."
                ),
                source=tr(_GEOMETRY),
            ),
            Number(
                name="spacing",
                label=tr("Emitter spacing"),
                value=wet.spacing,
                kind="spacing",
                digits=2,
                rule=tr(
                    "The widest it is sold with, up to 0.8 of the width that an emitter wets, and "
                    "up to 18 in or half the distance between plants. Sold as {spacing}.",
                    spacing=sold_words(wet.spacing, system),
                ),
                source=tr(
                    "National Engineering Handbook, section 15, chapter 7 (from memory); 18 in: "
                    "common practice, no source"
                ),
            ),
            Number(
                name="lines",
                label=tr("Lines on each row" if row else "Lines on each bed"),
                value=wet.lines,
                kind="count",
                rule=tr(
                    "Enough strips for the share wanted; one on each side where roots grow to "
                    "about 3 ft wide; on a bed never more than 24 in apart; at most 4."
                ),
                source=tr("common practice, no source; 24 in: a course on raised beds"),
            ),
            Fact(
                name="rate",
                label=tr("Watering of the strip"),
                text=tr(
                    "{rate}; {soil} takes in between {low} and {high}",
                    rate=rate_words(wet.rate, system),
                    soil=tr(planting.soil.label),
                    low=rate_words(low, system),
                    high=rate_words(high, system),
                ),
                rule=tr(
                    "Flow of an emitter over its share of the strip. Above the soil's intake "
                    "rate water runs off."
                ),
                source=tr("FAO Irrigation Water Management Training Manual 5 (1988), Annex 2"),
            ),
        ),
    )


def _running(best: Candidate) -> Section:
    return Section(
        title=tr("How it runs"),
        items=(
            Number(
                name="start_pressure",
                label=tr("Pressure at the start of the line"),
                value=best.head,
                kind="pressure",
                rule=tr(
                    "Regulator setting nearest to the rated pressure; without a regulator the "
                    "pressure at hand."
                ),
            ),
            Number(
                name="emitter_flow",
                label=tr("Flow of one emitter"),
                value=best.flow,
                kind="emitter_flow",
                rule=tr("By its law of flow at that pressure."),
            ),
            Number(
                name="longest_end",
                label=tr("Longest row, header at its end"),
                value=best.longest_end,
                kind="length",
                rule=tr(
                    "Longest run that keeps the emission uniformity wanted and the pressures of "
                    "the line, emitter by emitter."
                ),
                source=tr(_FRICTION_SOURCE),
            ),
            Number(
                name="longest_middle",
                label=tr("Longest row, header across its middle"),
                value=best.longest_middle,
                kind="length",
                rule=tr("Twice the shorter of the runs up and down the slope."),
                source=tr(_FRICTION_SOURCE),
            ),
        ),
    )


def _suiting(choice: LineChoice, system: UnitSystem) -> Table:
    rows = [
        (
            tr(found.device.label),
            _laid(found, system),
            found.wetting.share,
            found.longest_end,
            reasons(found, choice.planting, system) or None,
        )
        for found in choice.suitable
    ]
    return Table(
        name="suiting",
        title=tr("Lines that suit, best first"),
        columns=(
            Column(name="line", label=tr("Line")),
            Column(name="lay", label=tr("Lay")),
            Column(name="share", label=tr("Wetted"), kind="share", digits=2),
            Column(name="longest", label=tr("Longest run"), kind="length"),
            Column(name="mind", label=tr("What to mind")),
        ),
        rows=tuple(rows),
        note=tr("Longest run: header at the end of the row, at the line's own pressure."),
    )


def _ruled_out(choice: LineChoice, system: UnitSystem) -> Table:
    rows = [
        (tr(found.device.label), reasons(found, choice.planting, system))
        for found in choice.candidates
        if not found.suitable
    ]
    return Table(
        name="ruled_out",
        title=tr("Lines ruled out, and why"),
        columns=(Column(name="line", label=tr("Line")), Column(name="why", label=tr("Why not"))),
        rows=tuple(rows),
    )


def _tables(choice: LineChoice, system: UnitSystem) -> Section:
    both = _suiting(choice, system), _ruled_out(choice, system)
    return Section(title=tr("Every line, and why"), items=tuple(t for t in both if t.rows))


def _notices(choice: LineChoice, buried: bool) -> tuple[Notice, ...]:
    notices = []
    if choice.best is None:
        notices.append(Notice(level="warning", text=tr("None of the lines in the catalogue fits.")))
    bursting = sum(f.name == "bursts" for c in choice.candidates for f in c.refusals)
    if bursting:
        notices.append(
            Notice(
                level="warning",
                text=tr_count(
                    bursting,
                    "{count} line is ruled out by the pressure alone. A line that bursts or comes "
                    "off its fitting can hurt somebody: fit a pressure regulator, and look again.",
                    "{count} lines are ruled out by the pressure alone. A line that bursts or "
                    "comes off its fitting can hurt somebody: fit a pressure regulator, and look "
                    "again.",
                ),
            )
        )
    if buried and choice.planting.years:
        notices.append(
            Notice(
                level="warning",
                text=tr(
                    "Roots grow into emitters that stay buried for years: ask for a line that "
                    "is made for it, and never let it run dry for long while plants grow."
                ),
            )
        )
    if buried:
        notices.append(
            Notice(
                level="caution",
                text=tr(
                    "Before you dig, have buried cables and pipes marked, as your local rules ask."
                ),
            )
        )
    notices.append(
        Notice(
            level="note",
            text=tr(
                "The lines are typical of their kind, invented for demonstration, and how water "
                "spreads depends on your ground: try one line for a few hours and dig beside it "
                "before you buy for the whole field."
            ),
        )
    )
    return tuple(notices)


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer which line suits; see `evenrow.design.line_choice.choose_lines`."""
    planting, buried = planting_of(inputs), inputs["planting"]["buried"]
    choice = choose_lines(planting)
    best = choice.best
    sections = [_tables(choice, system)]
    if best is not None:
        steps = laying_steps(choice, system, buried=buried)
        lay = Steps(name="laying", title=tr("How to lay it"), items=steps)
        sections = [
            _coverage(best, planting, system),
            Section(title=tr("How to lay it"), items=(lay,)),
            *sections,
            _running(best),
        ]
    return Result(
        headline=_headline(choice, system),
        verdict=summary(choice, system),
        sections=tuple(sections),
        notices=_notices(choice, buried),
    )


CALCULATOR = Calculator(
    id="line-choice",
    title="Tape or dripline",
    question="Which line, how many per bed, and which emitters?",
    fields=PLANTING_FIELDS,
    run=run,
    examples={},
    carries=FROM_LINE_CHOICE,
)
