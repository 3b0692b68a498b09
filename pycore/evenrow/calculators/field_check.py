"""Field check: from a few cups and a gauge to how even the watering is, and why not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from evenrow.agronomy.field_evaluation import (
    CV_CLASS_SOURCE,
    EU_CLASS_SOURCE,
    US_CLASS_SOURCE,
    causes,
    cv_class,
    eu_class,
    low_quarter,
    mean,
    pressure_low_quarter,
    us_class,
)
from evenrow.agronomy.sampling import (
    BAND_LIMIT,
    FEWEST,
    PLACES,
    USUAL,
    cups_needed,
    sample_rows,
    uniformity_band,
)
from evenrow.calculators.carries import FROM_FIELD_CHECK
from evenrow.calculators.field_check_design import against_design, cups_to_set, map_of
from evenrow.calculators.field_check_form import FIELDS, PLACE_LABELS
from evenrow.calculators.field_diagnosis import (
    Cups,
    cause_fact,
    cups_of,
    group_tables,
    level,
    reasoning,
)
from evenrow.calculators.result import Fact, Figure, Notice, Number, Result, Section, Steps, Table
from evenrow.calculators.spec import Calculator
from evenrow.calculators.troubles import SYMPTOM_LABELS, trouble_steps
from evenrow.errors import InputError
from evenrow.figures.bars import Mark, histogram
from evenrow.units import UnitSystem, format_value, system_unit, to_unit
from evenrow.words import said, tr, tr_count

#: Classes of the histogram.
_BINS = 8
_EU_SOURCE = said("Merriam and Keller (1978), Farm Irrigation System Evaluation: EU = 100 q25 / q")
_US_SOURCE = said(
    "ASAE EP458; Bralts and Kesner (1983), Trans. ASAE 26(5), 1369–1374 (from memory)"
)
_BAND_SOURCE = said("McKay (1932) as modified by Vangel (1996), The American Statistician 50(1)")
#: Few enough to be told, and variation to plan for where no cups were taken yet.
_USUAL_CV = 0.15
_MOST = 2000

_VERDICTS = {
    "excellent": said("Excellent. Nearly every plant gets its share."),
    "good": said("Good. Most plants get their share."),
    "fair": said("Fair. The driest quarter is short: look for the cause before it grows."),
    "poor": said("Poor. The driest quarter goes short by far: mend this before you water more."),
}


def _uniformity(cups: Cups, confidence: float, exponent: float) -> tuple[Section, float]:
    """Return the measures with their bands, and the coefficient of variation."""
    found = causes(cups.flows, None, exponent, 0.0, confidence)
    count = cups.flows.size
    low, high = uniformity_band(found.total, count, confidence)
    us = max(1.0 - found.total, 0.0)
    dulq, average = low_quarter(cups.flows), mean(cups.flows)
    percent = f"{confidence:.0%}".replace("%", " %")
    items: list[Number | Fact] = [
        Number(
            name="mean_flow",
            label=tr("Average flow"),
            value=average,
            kind="emitter_flow",
            rule=tr("Volume over time of each cup, averaged."),
        ),
        Number(
            name="low_flow",
            label=tr("Average of the lowest quarter"),
            value=dulq * average,
            kind="emitter_flow",
            rule=tr("A quarter of the cups, rounded to the nearest whole number."),
            source=tr(_EU_SOURCE),
        ),
        Number(
            name="statistical_uniformity",
            label=tr("Statistical uniformity"),
            value=us,
            kind="share",
            rule=tr(
                "1 − CV, CV the standard deviation (n − 1) over the mean. Class: {name} "
                "({source}).",
                name=us_class(us),
                source=tr(US_CLASS_SOURCE),
            ),
            source=tr(_US_SOURCE),
        ),
        Number(
            name="uniformity_low",
            label=tr("… of the whole zone: at least"),
            value=low,
            kind="share",
            rule=tr(
                "Lower end of the {percent} band: CV / √(((u + 2)/n − 1) CV² + u/(n − 1)), u a "
                "point of chi-square with n − 1 degrees of freedom. For cups taken at random, "
                "and a CV below a third.",
                percent=percent,
            ),
            source=tr(_BAND_SOURCE),
        ),
        Number(
            name="uniformity_high",
            label=tr("… and at most"),
            value=high,
            kind="share",
            rule=tr("Upper end of the same band."),
            source=tr(_BAND_SOURCE),
        ),
        Number(
            name="cv",
            label=tr("Coefficient of variation of the cups"),
            value=found.total,
            kind="share",
            rule=tr("Standard deviation over mean."),
            source=tr("definition"),
        ),
    ]
    if cups.measured.size >= 3 and cups.measured.max() > 0.0:
        items.append(
            Number(
                name="pressure_eu",
                label=tr("What the pressures alone would give (EU)"),
                value=pressure_low_quarter(cups.measured, exponent),
                kind="share",
                rule=tr("Lowest quarter over mean of hˣ, for emitters that are all alike."),
                source=tr(_EU_SOURCE),
            )
        )
    return Section(title=tr("How even"), items=tuple(items)), found.total


def _histogram(cups: Cups, dulq: float, system: UnitSystem) -> Figure:
    unit = system_unit("emitter_flow", system)
    flows = [to_unit(float(q), "emitter_flow", unit) for q in np.sort(cups.flows)]
    average = mean(flows)
    pad = max(0.02 * (flows[-1] - flows[0]), 0.01 * flows[-1])
    counts, edges = np.histogram(
        flows, bins=_BINS, range=(max(flows[0] - pad, 0.0), flows[-1] + pad)
    )
    marks = [
        Mark(label=tr("average {average:.3g} {unit}", average=average, unit=unit), x=average),
        Mark(
            label=tr("lowest quarter {low:.3g} {unit}", low=dulq * average, unit=unit),
            x=dulq * average,
        ),
        Mark(label=tr("good from {value:.3g}", value=0.8 * average), x=0.8 * average, limit=True),
        Mark(label=tr("fair from {value:.3g}", value=0.7 * average), x=0.7 * average, limit=True),
    ]
    words = tr(
        "Flows of {count} cups from {least:.3g} to {most:.3g} {unit}; average {average:.3g}, "
        "average of the lowest quarter {low:.3g}, which is good from {good:.3g} and fair from "
        "{fair:.3g}.",
        count=len(flows),
        least=flows[0],
        most=flows[-1],
        unit=unit,
        average=average,
        low=dulq * average,
        good=0.8 * average,
        fair=0.7 * average,
    )
    return Figure(
        name="cups_figure",
        title=tr("How the cups are spread"),
        svg=histogram(
            [float(edge) for edge in edges],
            [float(count) for count in counts],
            x_label=tr("flow of an emitter ({unit})", unit=unit),
            y_label=tr("cups"),
            marks=sorted(marks, key=lambda mark: mark.x),
            alternative=words,
        ),
        alternative=words,
    )


def _map(inputs: Mapping[str, Any], cv: float, system: UnitSystem) -> Section:
    """Return where to put how many cups."""
    zone, sure = inputs["zone"], inputs["sure"]
    confidence = int(sure["confidence"]) / 100
    needed = cups_needed(min(cv, 1.0), sure["half_width"], confidence, _MOST)
    if zone["rows"] is None:
        which = tr(
            "Take the first row of the zone, the row at one third, at two thirds, and the last."
        )
    else:
        which = tr(
            "Take rows {rows}, counted from where the water comes in.",
            rows=", ".join(str(row) for row in sample_rows(zone["rows"])),
        )
    along = [tr(PLACE_LABELS[place]) for place in PLACES]
    if zone["length"] is not None:
        along = [
            f"{label} ({format_value(share * zone['length'], 'length', system, 3)})"
            for label, share in zip(along, PLACES.values(), strict=True)
        ]
    return Section(
        title=tr("Where to put the cups"),
        items=(
            Number(
                name="cups_needed",
                label=tr(
                    "Cups for the uniformity to within ±{share}",
                    share=format_value(sure["half_width"], "share", system, 2),
                ),
                value=needed,
                kind="count",
                rule=_needed_rule(needed, confidence * 100, min(cv, 1.0), system),
                source=tr(_BAND_SOURCE),
            ),
            Steps(
                name="cup_map",
                title=tr("Sixteen cups: four rows, four places"),
                items=(
                    which,
                    tr(
                        "On each: {places}. The emitter nearest to the place, not the one that "
                        "looks best.",
                        places=", ".join(along),
                    ),
                    tr(
                        "Run the zone at its usual pressure until no air comes, then set the cups "
                        "and start the watch; stagger them by the time you take to walk."
                    ),
                    tr("Read the gauge at the near and the far end of each of these rows."),
                    tr(
                        "For the statistical uniformity take 18 emitters by lot instead (ASAE "
                        "EP458, from memory); for more certainty more rows, not more cups on a row."
                    ),
                ),
            ),
        ),
    )


def _needed_rule(needed: int, percent: float, cv: float, system: UnitSystem) -> str:
    """Say how the number of cups was found; no more than `_MOST` are looked at."""
    parts = {"percent": percent, "variation": format_value(cv, "share", system, 2)}
    if needed == _MOST:
        return tr(
            "Fewest whose {percent:.0f} % band is that narrow, for a variation of {variation}; no "
            "more than {most} are looked at.",
            most=_MOST,
            **parts,
        )
    return tr(
        "Fewest whose {percent:.0f} % band is that narrow, for a variation of {variation}.",
        **parts,
    )


def _notices(cups: Cups, cv: float) -> list[Notice]:
    notices = []
    dry = [cups.name(int(i)) for i in np.flatnonzero(cups.flows == 0.0)]
    if dry:
        notices.append(Notice(level="warning", text=tr("Dry: {cups}.", cups=", ".join(dry))))
    count = cups.flows.size
    if count < USUAL:
        notices.append(
            Notice(
                level="warning",
                text=tr(
                    "Only {count} cups: the band is wide. {usual} are usual.",
                    count=count,
                    usual=USUAL,
                ),
            )
        )
    if cv > BAND_LIMIT or dry:
        notices.append(
            Notice(
                level="note",
                text=tr(
                    "Dry cups or so wide a spread are far from a bell curve: take the band for a "
                    "rough guide only."
                ),
            )
        )
    return notices


def _left_out(rows: Sequence[Mapping[str, Any]]) -> tuple[Notice, ...]:
    """Return which cups have no volume yet."""
    empty = [str(number) for number, row in enumerate(rows, start=1) if row["volume"] is None]
    if not empty:
        return ()
    text = tr("Cups without a volume are left out: {cups}.", cups=", ".join(empty))
    return (Notice(level="note", text=text),)


def _without_cups(inputs: Mapping[str, Any], trouble: Steps, system: UnitSystem) -> Result:
    return Result(
        headline=Fact(
            name="trouble_seen",
            label=tr("Trouble"),
            text=tr(SYMPTOM_LABELS[inputs["symptom"]]),
            rule=tr("The likeliest and easiest to see comes first."),
            source=tr("common practice, no source"),
        ),
        verdict=tr(
            "First: {step} Then go down the list, and stop where you find it.",
            step=trouble.items[0],
        ),
        sections=(
            Section(title=tr("Trouble"), items=(trouble,)),
            _map(inputs, _USUAL_CV, system),
        ),
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer how even the cups are and why; see `evenrow.agronomy.field_evaluation`."""
    trouble = trouble_steps(inputs["symptom"])
    given = sum(row["volume"] is not None for row in inputs["cups"])
    if not inputs["cups"] and trouble is not None:
        return _without_cups(inputs, trouble, system)
    if inputs["cups"] and not given:
        return cups_to_set(inputs, _map(inputs, _USUAL_CV, system), system)
    if given < FEWEST:
        raise InputError(
            tr_count(
                given,
                "{count} cup cannot tell how even a zone is",
                "{count} cups cannot tell how even a zone is",
            )
            if given
            else tr("no cups cannot tell how even a zone is"),
            code="too_few",
            field="cups",
            accepted=tr("{fewest} cups at least; {usual} are usual", fewest=FEWEST, usual=USUAL),
            hint=tr("or no cups at all, and what you see under Trouble"),
        )
    cups, expected = cups_of(inputs), inputs["expected"]
    x, confidence = expected["exponent"], int(inputs["sure"]["confidence"]) / 100
    dulq = low_quarter(cups.flows)
    name = eu_class(dulq)
    even, cv = _uniformity(cups, confidence, x)
    heads = cups.measured if cups.measured.size and cups.measured.max() > 0.0 else None
    found = causes(cups.flows, heads, x, expected["cv"], confidence)
    why: list[Number | Fact | Table | Steps] = [*cause_fact(found, cups, dulq >= 0.9)]
    if (against := level(cups, expected)) is not None:
        ratio, fact = against
        why += [
            fact,
            Number(
                name="level_ratio",
                label=tr("Average over what it should be"),
                value=ratio,
                kind="share",
                rule=tr(
                    "Sound emitters at the pressures measured; without pressures, the flow "
                    "expected."
                ),
                source=tr("emitter law: Keller and Karmeli (1974), Trans. ASAE 17(4)"),
            ),
        ]
    pressure, made, rest = found.shares
    for key, label, share in (
        (
            "pressure_share",
            tr("Of the variance: pressure"),
            pressure if found.pressure is not None else None,
        ),
        ("made_share", tr("Of the variance: manufacture"), made),
        ("rest_share", tr("Of the variance: clogging, wear and the rest"), rest),
    ):
        why.append(Number(name=key, label=label, value=share, kind="share", digits=2))
    why += [
        Fact(
            name="cv_class",
            label=tr("New emitters that vary so much are called"),
            text=cv_class(expected["cv"], expected["kind"]),
            source=tr(CV_CLASS_SOURCE),
        ),
        reasoning(found, given, x),
    ]
    sections = [
        even,
        Section(title=tr("Why"), items=tuple(why)),
        Section(
            title=tr("The cups"),
            items=(map_of(cups), _histogram(cups, dulq, system), *group_tables(cups)),
        ),
        _map(inputs, cv, system),
    ]
    if (beside := against_design(cups, expected["cv"])) is not None:
        sections.insert(1, beside)
    if trouble is not None:
        sections.insert(0, Section(title=tr("Trouble"), items=(trouble,)))
    return Result(
        headline=Number(
            name="dulq",
            label=tr("Emission uniformity (EU, DUlq)"),
            value=dulq,
            kind="share",
            rule=tr(
                "Average of the lowest quarter of the cups over the average of all. Class: "
                "{name} ({source}).",
                name=tr(name),
                source=tr(EU_CLASS_SOURCE),
            ),
            source=tr(_EU_SOURCE),
        ),
        verdict=tr(_VERDICTS[name]),
        sections=tuple(sections),
        notices=(*_left_out(inputs["cups"]), *_notices(cups, cv)),
    )


CALCULATOR = Calculator(
    id="field-check",
    title="Field check",
    question="Is every plant still getting its share?",
    fields=FIELDS,
    run=run,
    examples={},
    carries=FROM_FIELD_CHECK,
    cautions=(
        "Release the pressure before you open a joint, a filter or the end of a line.",
        "Do not drink from irrigation lines, and keep out while anything is injected.",
    ),
)
