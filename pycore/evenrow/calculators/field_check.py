"""Field check: from a few cups and a gauge to how even the watering is, and why not."""

from __future__ import annotations

from collections.abc import Mapping
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

#: Classes of the histogram.
_BINS = 8
_EU_SOURCE = "Merriam and Keller (1978), Farm Irrigation System Evaluation: EU = 100 q25 / q"
_US_SOURCE = "ASAE EP458; Bralts and Kesner (1983), Trans. ASAE 26(5), 1369–1374 (from memory)"
_BAND_SOURCE = "McKay (1932) as modified by Vangel (1996), The American Statistician 50(1)"
#: Few enough to be told, and variation to plan for where no cups were taken yet.
_USUAL_CV = 0.15
_MOST = 2000

_VERDICTS = {
    "excellent": "Nearly every plant gets its share.",
    "good": "Most plants get their share.",
    "fair": "The driest quarter is short: look for the cause before it grows.",
    "poor": "The driest quarter goes short by far: mend this before you water more.",
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
            label="Average flow",
            value=average,
            kind="emitter_flow",
            rule="Volume over time of each cup, averaged.",
        ),
        Number(
            name="low_flow",
            label="Average of the lowest quarter",
            value=dulq * average,
            kind="emitter_flow",
            rule="A quarter of the cups, rounded to the nearest whole number.",
            source=_EU_SOURCE,
        ),
        Number(
            name="statistical_uniformity",
            label="Statistical uniformity",
            value=us,
            kind="share",
            rule=f"1 − CV, CV the standard deviation (n − 1) over the mean. Class: {us_class(us)} "
            f"({US_CLASS_SOURCE}).",
            source=_US_SOURCE,
        ),
        Number(
            name="uniformity_low",
            label="… of the whole zone: at least",
            value=low,
            kind="share",
            rule=f"Lower end of the {percent} band: CV / √(((u + 2)/n − 1) CV² + u/(n − 1)), u a "
            "point of chi-square with n − 1 degrees of freedom. For cups taken at random, and a "
            "CV below a third.",
            source=_BAND_SOURCE,
        ),
        Number(
            name="uniformity_high",
            label="… and at most",
            value=high,
            kind="share",
            rule="Upper end of the same band.",
            source=_BAND_SOURCE,
        ),
        Number(
            name="cv",
            label="Coefficient of variation of the cups",
            value=found.total,
            kind="share",
            rule="Standard deviation over mean.",
            source="definition",
        ),
    ]
    if cups.measured.size >= 3 and cups.measured.max() > 0.0:
        items.append(
            Number(
                name="pressure_eu",
                label="What the pressures alone would give (EU)",
                value=pressure_low_quarter(cups.measured, exponent),
                kind="share",
                rule="Lowest quarter over mean of hˣ, for emitters that are all alike.",
                source=_EU_SOURCE,
            )
        )
    return Section(title="How even", items=tuple(items)), found.total


def _histogram(cups: Cups, dulq: float, system: UnitSystem) -> Figure:
    unit = system_unit("emitter_flow", system)
    flows = [to_unit(float(q), "emitter_flow", unit) for q in np.sort(cups.flows)]
    average = mean(flows)
    pad = max(0.02 * (flows[-1] - flows[0]), 0.01 * flows[-1])
    counts, edges = np.histogram(
        flows, bins=_BINS, range=(max(flows[0] - pad, 0.0), flows[-1] + pad)
    )
    marks = [
        Mark(label=f"average {average:.3g} {unit}", x=average),
        Mark(label=f"lowest quarter {dulq * average:.3g} {unit}", x=dulq * average),
        Mark(label=f"good from {0.8 * average:.3g}", x=0.8 * average, limit=True),
        Mark(label=f"fair from {0.7 * average:.3g}", x=0.7 * average, limit=True),
    ]
    words = (
        f"Flows of {len(flows)} cups from {flows[0]:.3g} to {flows[-1]:.3g} {unit}; average "
        f"{average:.3g}, average of the lowest quarter {dulq * average:.3g}, which is good from "
        f"{0.8 * average:.3g} and fair from {0.7 * average:.3g}."
    )
    return Figure(
        name="cups_figure",
        title="How the cups are spread",
        svg=histogram(
            [float(edge) for edge in edges],
            [float(count) for count in counts],
            x_label=f"flow of an emitter ({unit})",
            y_label="cups",
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
        which = "the first row of the zone, the row at one third, at two thirds, and the last"
    else:
        which = "rows " + ", ".join(str(row) for row in sample_rows(zone["rows"]))
        which += ", counted from where the water comes in"
    along = [PLACE_LABELS[place] for place in PLACES]
    if zone["length"] is not None:
        along = [
            f"{PLACE_LABELS[place]} ({format_value(share * zone['length'], 'length', system, 3)})"
            for place, share in PLACES.items()
        ]
    return Section(
        title="Where to put the cups",
        items=(
            Number(
                name="cups_needed",
                label="Cups for the uniformity to within "
                f"±{format_value(sure['half_width'], 'share', system, 2)}",
                value=needed,
                kind="count",
                rule=f"Fewest whose {confidence * 100:.0f} % band is that narrow, for a "
                f"variation of {format_value(min(cv, 1.0), 'share', system, 2)}"
                + (f"; no more than {_MOST} are looked at." if needed == _MOST else "."),
                source=_BAND_SOURCE,
            ),
            Steps(
                name="cup_map",
                title="Sixteen cups: four rows, four places",
                items=(
                    f"Take {which}.",
                    f"On each: {', '.join(along)}. The emitter nearest to the place, not the one "
                    "that looks best.",
                    "Run the zone at its usual pressure until no air comes, then set the cups and "
                    "start the watch; stagger them by the time you take to walk.",
                    "Read the gauge at the near and the far end of each of these rows.",
                    "For the statistical uniformity take 18 emitters by lot instead (ASAE EP458, "
                    "from memory); for more certainty more rows, not more cups on a row.",
                ),
            ),
        ),
    )


def _notices(cups: Cups, cv: float) -> list[Notice]:
    notices = []
    dry = [cups.name(int(i)) for i in np.flatnonzero(cups.flows == 0.0)]
    if dry:
        notices.append(Notice(level="warning", text=f"Dry: {', '.join(dry)}."))
    count = cups.flows.size
    if count < USUAL:
        notices.append(
            Notice(
                level="warning",
                text=f"Only {count} cups: the band is wide. {USUAL} are usual.",
            )
        )
    if cv > BAND_LIMIT or dry:
        notices.append(
            Notice(
                level="note",
                text="Dry cups or so wide a spread are far from a bell curve: take the band for a "
                "rough guide only.",
            )
        )
    return notices


def _without_cups(inputs: Mapping[str, Any], trouble: Steps, system: UnitSystem) -> Result:
    return Result(
        headline=Fact(
            name="trouble_seen",
            label="Trouble",
            text=SYMPTOM_LABELS[inputs["symptom"]],
            rule="The likeliest and easiest to see comes first.",
            source="common practice, no source",
        ),
        verdict=f"First: {trouble.items[0]} Then go down the list, and stop where you find it.",
        sections=(
            Section(title="Trouble", items=(trouble,)),
            _map(inputs, _USUAL_CV, system),
        ),
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer how even the cups are and why; see `evenrow.agronomy.field_evaluation`."""
    trouble = trouble_steps(inputs["symptom"])
    given = len(inputs["cups"])
    if not given and trouble is not None:
        return _without_cups(inputs, trouble, system)
    if given < FEWEST:
        raise InputError(
            f"{given or 'no'} cup{'' if given == 1 else 's'} cannot tell how even a zone is",
            code="too_few",
            field="cups",
            accepted=f"{FEWEST} cups at least; {USUAL} are usual",
            hint="or no cups at all, and what you see under Trouble",
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
                label="Average over what it should be",
                value=ratio,
                kind="share",
                rule="Sound emitters at the pressures measured; without pressures, the flow "
                "expected.",
                source="emitter law: Keller and Karmeli (1974), Trans. ASAE 17(4)",
            ),
        ]
    pressure, made, rest = found.shares
    for key, label, share in (
        (
            "pressure_share",
            "Of the variance: pressure",
            pressure if found.pressure is not None else None,
        ),
        ("made_share", "Of the variance: manufacture", made),
        ("rest_share", "Of the variance: clogging, wear and the rest", rest),
    ):
        why.append(Number(name=key, label=label, value=share, kind="share", digits=2))
    why += [
        Fact(
            name="cv_class",
            label="New emitters that vary so much are called",
            text=cv_class(expected["cv"], expected["kind"]),
            source=CV_CLASS_SOURCE,
        ),
        reasoning(found, given, x),
    ]
    sections = [
        even,
        Section(title="Why", items=tuple(why)),
        Section(title="The cups", items=(_histogram(cups, dulq, system), *group_tables(cups))),
        _map(inputs, cv, system),
    ]
    if trouble is not None:
        sections.insert(0, Section(title="Trouble", items=(trouble,)))
    return Result(
        headline=Number(
            name="dulq",
            label="Emission uniformity (EU, DUlq)",
            value=dulq,
            kind="share",
            rule="Average of the lowest quarter of the cups over the average of all. "
            f"Class: {name} ({EU_CLASS_SOURCE}).",
            source=_EU_SOURCE,
        ),
        verdict=f"{name.capitalize()}. {_VERDICTS[name]}",
        sections=tuple(sections),
        notices=tuple(_notices(cups, cv)),
    )


CALCULATOR = Calculator(
    id="field-check",
    title="Field check",
    question="Is every plant still getting its share?",
    fields=FIELDS,
    run=run,
    examples={},
    cautions=(
        "Release the pressure before you open a joint, a filter or the end of a line.",
        "Do not drink from irrigation lines, and keep out while anything is injected.",
    ),
)
