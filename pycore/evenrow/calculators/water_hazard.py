"""What a water report says about clogging: each line of it, and what to do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from evenrow.agronomy.water_quality import (
    BOUNDS,
    CLASS_NAMES,
    MG_PER_L,
    MODERATE,
    PER_ML,
    SEVERE,
    SLIGHT,
    STRICTER,
    dissolved_solids,
    hazard,
    iron_may_settle,
    lime_may_settle,
)
from evenrow.calculators.lab_values import Reading, read_reading
from evenrow.calculators.result import Column, Section, Steps, Table
from evenrow.calculators.water_filter_form import LAB_LABELS
from evenrow.errors import InputError, InputErrors
from evenrow.units import format_number
from evenrow.words import said, tr

_WHY = {
    "ph": said("alkaline water lets lime and iron settle, and weakens chlorine"),
    "suspended": said("sand and silt lodge in the passages; silt bakes where lines dry out"),
    "dissolved": said("salts are left behind where drops dry at the emitters"),
    "iron": said("settles as red ochre where air or chlorine reaches it, and feeds iron bacteria"),
    "manganese": said("settles black, more slowly than iron does"),
    "sulphide": said("feeds white slime, and makes black sludge with iron"),
    "hardness": said("lime settles as the water warms, or meets phosphate or lime in fertiliser"),
    "bacteria": said("slime grows in the lines and glues silt together"),
}


def class_words(least: int, most: int) -> str:
    """Return a class in words, or the two between which it lies."""
    if least == most:
        return tr(CLASS_NAMES[most])
    return tr("{least} to {most}", least=tr(CLASS_NAMES[least]), most=tr(CLASS_NAMES[most]))


@dataclass(frozen=True)
class Finding:
    """One line of the report with its class.

    Parameters
    ----------
    name : str
        Constituent, a key of `BOUNDS`.
    reading : Reading
        What the report says.
    least, most : int
        Class at least and at most; they differ where a "less" or a "more" leaves it open.
    stricter : int
        `most` by the stricter table.
    """

    name: str
    reading: Reading
    least: int
    most: int
    stricter: int

    @property
    def label(self) -> str:
        """What people call it."""
        return tr(LAB_LABELS[self.name])

    @property
    def words(self) -> str:
        """Its class in words."""
        return class_words(self.least, self.most)


@dataclass(frozen=True)
class Report:
    """The whole report, read."""

    readings: Mapping[str, Reading]
    findings: tuple[Finding, ...]

    @property
    def worst(self) -> int | None:
        """The highest class; None where nothing was tested that has classes."""
        return max((f.most for f in self.findings), default=None)

    @property
    def surely(self) -> int | None:
        """The class that it has at least, whatever a "less than" hides; None as `worst`."""
        return max((f.least for f in self.findings), default=None)

    @property
    def worst_names(self) -> tuple[str, ...]:
        """Labels of what is in the highest class."""
        return tuple(f.label for f in self.findings if f.most == self.worst)

    @property
    def untested(self) -> tuple[str, ...]:
        """Labels of what has classes and was not tested."""
        known = {f.name for f in self.findings}
        return tuple(tr(LAB_LABELS[name]) for name in BOUNDS if name not in known)

    def likely(self, name: str) -> float:
        """Return what to reckon with of a substance [kg/m3]; 0 where it was not tested."""
        return self.readings[name].likely if name in self.readings else 0.0

    def hazard_of(self, name: str) -> int:
        """Return the highest class of a constituent; slight where it was not tested."""
        return next((f.most for f in self.findings if f.name == name), SLIGHT)


def read_report(lab: Mapping[str, Any]) -> Report:
    """Read the lines of a report, each a text or None.

    Raises
    ------
    InputErrors
        With every line that cannot be read, at ``lab.…``.
    """
    readings: dict[str, Reading] = {}
    problems = []
    for name in LAB_LABELS:
        try:
            found = read_reading(lab.get(name), name, f"lab.{name}")
        except InputError as error:
            problems.append(error)
            continue
        if found is not None:
            readings[name] = found
    if problems:
        raise InputErrors(problems)
    if "ec" in readings and "dissolved" not in readings:
        ec = readings["ec"]
        low, high = (dissolved_solids(min(value, 100.0)) for value in (ec.low, ec.high))
        high = ec.high if ec.high > 100.0 else high
        readings["dissolved"] = Reading(low, high, f"{ec.text} (EC)")
    return Report(
        readings,
        tuple(_finding(name, readings[name]) for name in BOUNDS if name in readings),
    )


def _finding(name: str, reading: Reading) -> Finding:
    return Finding(
        name,
        reading,
        hazard(name, reading.low, above=reading.high == math.inf),
        hazard(name, reading.high, below=reading.below),
        hazard(name, reading.high, below=reading.below, stricter=True),
    )


def _bound(name: str, value: float) -> str:
    if name == "ph":
        return format_number(value, 2)
    if name == "bacteria":
        return f"{format_number(value / PER_ML, 5)} /mL"
    return f"{format_number(value / MG_PER_L, 4)} mg/L"


def hazard_table(report: Report) -> Table:
    """Return the report as a table, the worst first."""
    rows = []
    for f in sorted(report.findings, key=lambda f: -f.most):
        bounds = BOUNDS[f.name]
        why = tr("{why}. Bounds: {source}.", why=tr(_WHY[f.name]), source=tr(bounds.source))
        if f.stricter != f.most:
            lower = STRICTER[f.name]
            stricter = tr(
                "By a stricter table it is {hazard}: {source}.",
                hazard=tr(CLASS_NAMES[f.stricter]),
                source=tr(lower.source),
            )
            why = f"{why} {stricter}"
        rows.append(
            (
                f.label,
                f.reading.text,
                f.words,
                _bound(f.name, bounds.moderate),
                _bound(f.name, bounds.severe),
                f"{why[0].upper()}{why[1:]}",
            )
        )
    return Table(
        name="hazards",
        title=tr("Each line of the report"),
        columns=(
            Column(name="what", label=tr("What")),
            Column(name="reading", label=tr("Yours")),
            Column(name="class", label=tr("Hazard")),
            Column(name="slight", label=tr("Slight below")),
            Column(name="severe", label=tr("Severe above")),
            Column(name="why", label=tr("Why"), detail=True),
        ),
        rows=tuple(rows),
        note=tr("A “less than” counts as the worst it leaves open."),
    )


def _lime(report: Report) -> bool:
    settles = report.hazard_of("hardness") > SLIGHT and report.hazard_of("ph") > SLIGHT
    if "ph" in report.readings and "bicarbonate" in report.readings:
        return settles or lime_may_settle(report.likely("ph"), report.likely("bicarbonate"))
    return settles


def advice(report: Report) -> Steps:
    """Return what to do about the water, in the order of doing it."""
    items = []
    if report.hazard_of("suspended") >= MODERATE:
        items.append(
            tr(
                "Let the water settle in a pond or tank, take it from below the surface and "
                "above the sludge; behind a sandy well set a sand separator. Then filter."
            )
        )
    if report.hazard_of("iron") >= MODERATE or report.hazard_of("manganese") >= MODERATE:
        items.append(
            tr(
                "Iron and manganese: let them settle before the filter, by spraying the water "
                "into an open tank or by chlorine, with time to settle; or keep them dissolved "
                "with acid. Never let chlorine meet them behind the filter: the ochre would form "
                "in the lines."
            )
        )
        ph = report.likely("ph") if "ph" in report.readings else 7.0
        if iron_may_settle(ph, report.likely("iron")):
            items.append(
                tr(
                    "At 0.5 mg/L of iron or more and such a pH, ochre forms by itself (Schwankl, "
                    "University of California)."
                )
            )
    if report.hazard_of("sulphide") >= MODERATE:
        items.append(
            tr("Hydrogen sulphide: drive it out by spraying into an open tank, or chlorine.")
        )
    if _lime(report):
        items.append(
            tr(
                "Lime: bring the pH to 7 or below by acid now and then, by titration. Never put "
                "phosphate or calcium into this water without a jar test: mix a jar of it in the "
                "same strength and let it stand for a day."
            )
        )
    if report.hazard_of("dissolved") >= SEVERE:
        items.append(tr("So much salt also harms crops: ask an adviser about leaching and crops."))
    if report.hazard_of("bacteria") >= MODERATE or report.hazard_of("sulphide") >= MODERATE:
        items.append(tr("Slime: chlorinate, often and weakly rather than rarely and strongly."))
    items.append(
        tr(
            "Whatever the water: clean the filter by the gauges, and flush the lines from their "
            "ends at the start of the season and monthly, more often if what comes out is dirty."
        )
    )
    return Steps(name="advice", title=tr("What to do about it"), items=tuple(items))


def hazard_sections(report: Report) -> Sequence[Section]:
    """Return the part of the answer that is about the report."""
    items: list[Table | Steps] = [hazard_table(report)] if report.findings else []
    return (Section(title=tr("The water"), items=(*items, advice(report))),)
