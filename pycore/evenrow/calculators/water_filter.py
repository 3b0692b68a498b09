"""Water & filter: whether a water plugs emitters, and filter and treatment against it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import reduce
from typing import Any

from evenrow.agronomy.filtration import (
    FINENESS_SOURCE,
    RATE_SOURCES,
    RATES,
    STRICT_SHARE,
    filter_area,
    filter_kind,
    fineness,
    flushing_interval,
)
from evenrow.agronomy.water_quality import SLIGHT, TABLE_SOURCE
from evenrow.calculators.carries import FROM_WATER_FILTER
from evenrow.calculators.result import Fact, Named, Notice, Number, Result, Section
from evenrow.calculators.spec import Calculator
from evenrow.calculators.water_filter_form import FIELDS
from evenrow.calculators.water_hazard import Report, class_words, hazard_sections, read_report
from evenrow.calculators.water_treatment import (
    chlorine_section,
    injection_notices,
    injection_section,
    plan_of,
)
from evenrow.catalogue import device
from evenrow.errors import InputError
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

#: Three pounds a square inch, the low end of what is usual. [m]
_DIRTY = 3.0 * 0.70307
_KIND_WORDS = {
    "screen": said("screen filter"),
    "disc": said("disc filter"),
    "media": said("sand media filter"),
}
_UC = said(
    "University of California, Maintenance of Microirrigation Systems; the rest common practice"
)
_BACKFLOW = {
    "well": said(
        "keep what you inject out of the well: a check valve that drains and lets in air, and an "
        "injector that stops with the pump"
    ),
    "open": said(
        "keep what you inject out of the pond or stream: a check valve that drains and lets in "
        "air, and an injector that stops with the pump"
    ),
    "municipal": said(
        "injected chemicals make it a high hazard: a reduced-pressure backflow preventer is what "
        "most codes ask for"
    ),
    "tank": said(
        "an air gap where the tank is filled from drinking water; no pipe that joins them"
    ),
}


#: What Upkeep calls the classes of hazard, slight first.
HAZARDS = ("low", "moderate", "high")


def _headline(report: Report) -> tuple[Fact, str]:
    worst = report.worst
    if worst is None:
        return (
            Fact(
                name="hazard",
                label=tr("Clogging hazard"),
                text=Named(tr("not known"), "unknown"),
                rule=tr("Nothing of the report is filled in."),
                source=tr(TABLE_SOURCE),
            ),
            tr("Have the water tested; until then filter and flush as for dirty water."),
        )
    names = ", ".join(report.worst_names)
    surely = worst if report.surely is None else report.surely
    verdicts = (
        tr("No reading is a worry. Filter, and flush the lines now and then."),
        tr("It can be used with the care below; without it emitters will clog within seasons."),
        tr("Do not run drip on this water untreated."),
    )
    return (
        Fact(
            name="hazard",
            label=tr("Clogging hazard"),
            text=Named(class_words(surely, worst), HAZARDS[worst]),
            rule=tr("The worst class of what was tested; one bad constituent is enough to clog."),
            source=tr(TABLE_SOURCE),
        ),
        _verdict(verdicts[worst], names, worst, surely),
    )


def _verdict(verdict: str, names: str, worst: int, surely: int) -> str:
    """Return the verdict with what it rests on."""
    if worst == SLIGHT:
        return verdict
    if surely < worst:
        return tr(
            "The report leaves open how bad {names} is: have it tested more finely. Until "
            "then take it for the worst.",
            names=names,
        )
    return " ".join((tr("Because of {names}.", names=names), verdict))


def _mesh_words(passage: float, share: float = 1 / 7) -> str:
    mesh, opening, enough = fineness(passage, share)
    parts = {"mesh": mesh, "opening": opening * 1e6}
    if enough:
        return tr("{mesh} mesh, openings of {opening:.0f} µm", **parts)
    return tr(
        "finer than {mesh} mesh, openings of {opening:.0f} µm: ask the maker of the line", **parts
    )


def _size_words(kind: str, area: float, system: UnitSystem) -> str:
    """Return an area as something to look at."""
    if kind == "media":
        across = math.sqrt(4.0 * area / math.pi)
        return tr("a tank {size} across", size=format_value(across, "spacing", system, 2))
    across = math.sqrt(area / math.pi)
    size = format_value(across, "diameter", system, 2)
    return tr("a cylinder {size} across and {size} tall, all of it open", size=size)


def _kind_text(kind: str, suggested: str, reason: str) -> str:
    """Return the kind of filter, and why it or another suits."""
    name = tr(_KIND_WORDS[kind])
    if kind == suggested:
        return tr("{filter}: {reason}", filter=name, reason=reason)
    return tr(
        "{filter}; better here: {suggested}, as {reason}",
        filter=name,
        suggested=tr(_KIND_WORDS[suggested]),
        reason=reason,
    )


def _area_rule(size: str, *, higher: bool) -> str:
    if higher:
        return tr(
            "Flow over the higher rate of the range: {size}. Count the screen, not its openings.",
            size=size,
        )
    return tr(
        "Flow over the lower rate of the range: {size}. Count the screen, not its openings.",
        size=size,
    )


def _filter_section(
    inputs: Mapping[str, Any], report: Report, passage: float, system: UnitSystem
) -> Section:
    wanted, flow = inputs["filter"], inputs["flow"]
    suspended = report.hazard_of("suspended")
    suggested, reason = filter_kind(inputs["water"]["source"], suspended)
    kind = suggested if wanted["kind"] == "suggest" else wanted["kind"]
    rated = "media" if kind == "media" else "screen"
    cautious, bold = RATES[rated]
    rate = bold if suspended == SLIGHT else cautious
    needed = filter_area(flow, rate)
    area = wanted["area"] or needed
    dirty = _DIRTY if wanted["dirty"] is None else wanted["dirty"]
    rate_source = tr(RATE_SOURCES[rated])
    if kind == "disc":
        rate_source = tr(
            "{source} (none is published for discs: that of a screen is used)", source=rate_source
        )
    items: list[Number | Fact] = [
        Fact(
            name="filter_kind",
            label=tr("Kind of filter"),
            text=Named(_kind_text(kind, suggested, tr(reason)), kind),
            rule=tr("By where the water comes from and how much floats in it."),
            source=tr(_UC),
        ),
        Fact(
            name="fineness",
            label=tr("No coarser than"),
            text=_mesh_words(passage),
            rule=tr(
                "A seventh of the passage of {passage:.2g} mm. Behind a sand filter set a "
                "screen of this mesh, against sand that escapes.",
                passage=passage * 1e3,
            ),
            source=tr(FINENESS_SOURCE),
        ),
        Fact(
            name="fineness_strict",
            label=tr("Better, for water that is worse than slight"),
            text=_mesh_words(passage, STRICT_SHARE),
            rule=tr("A tenth of the passage: grains and slime bridge holes wider than themselves."),
            source=tr(FINENESS_SOURCE),
        ),
        Number(
            name="filter_area",
            label=tr("Filter surface needed"),
            value=needed,
            kind="area",
            rule=_area_rule(_size_words(kind, needed, system), higher=rate == bold),
            source=rate_source,
        ),
    ]
    if wanted["area"] is not None:
        items.append(
            Number(
                name="filter_use",
                label=tr("Yours is used to"),
                value=needed / wanted["area"],
                kind="share",
                digits=2,
                rule=tr("Surface needed over surface there; above 100 % it is too small."),
                source=rate_source,
            )
        )
    try:
        items.append(_interval(report, dirty, flow / area, passage, wanted["held"]))
    except InputError as error:
        if error.field != "rate":
            raise
        raise InputError(
            tr("so small a filter cannot pass that flow"),
            code="out_of_range",
            field="filter.area",
            given=format_value(area, "area", system),
            accepted=tr("about {area}", area=format_value(needed, "area", system, 2)),
        ) from None
    return Section(title=tr("The filter"), items=tuple(items))


def _interval(
    report: Report, dirty: float, rate: float, passage: float, held: float
) -> Number | Fact:
    """Return how long the filter runs between flushes."""
    label = tr("Flush the filter after about")
    if "suspended" not in report.readings:
        return Fact(
            name="flushing",
            label=label,
            text=tr("not known: have the suspended solids tested, and go by the gauges"),
        )
    time = flushing_interval(
        dirty, rate, fineness(passage)[1], min(report.likely("suspended"), 1e3), held
    )
    if not math.isfinite(time):
        return Fact(
            name="flushing", label=label, text=tr("never, if nothing is held; see the gauges")
        )
    return Number(
        name="flushing",
        label=label,
        value=time,
        kind="duration",
        digits=2,
        rule=tr(
            "An order of magnitude. A layer of grains as wide as the openings, thick enough to "
            "cost the loss allowed, over what arrives on each area. Time the first rise of the "
            "gauge and go by that."
        ),
        source=tr(
            "Kozeny (1927), Carman (1937), and a balance of mass; 40 % holes, grains of quartz"
        ),
    )


def _and(first: str, last: str) -> str:
    return tr("{first} and {last}", first=first, last=last)


def _notices(inputs: Mapping[str, Any], report: Report) -> list[Notice]:
    notices = []
    if report.untested:
        notices.append(
            Notice(
                level="note",
                text=tr(
                    "Not tested: {names}. Not tested is not clean.",
                    names=", ".join(report.untested),
                ),
            )
        )
    stricter = [f.label for f in report.findings if f.stricter > f.most]
    if stricter:
        notices.append(
            Notice(
                level="note",
                text=tr(
                    "A stricter table puts {names} a class higher: see Why.",
                    names=reduce(_and, stricter),
                ),
            )
        )
    return notices


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer whether the water clogs, what filter it wants and how to inject."""
    report = read_report(inputs["lab"])
    passage = inputs["passage"] or device(inputs["line"]["device"]).passage
    headline, verdict = _headline(report)
    notices = _notices(inputs, report)
    sections = [*hazard_sections(report), _filter_section(inputs, report, passage, system)]
    plan = plan_of(inputs, system)
    if plan is not None:
        sections.append(injection_section(plan, system))
        if (more := chlorine_section(plan, report)) is not None:
            sections.append(more)
        sections.append(
            Section(
                title=tr("Backflow"),
                items=(
                    Fact(
                        name="backflow",
                        label=tr("Backflow protection"),
                        text=tr(_BACKFLOW[inputs["water"]["source"]]),
                        rule=tr(
                            "Your local code decides, and may ask for a licensed fitter and a "
                            "yearly test. Before the injector, never behind it."
                        ),
                        source=tr("common practice; local codes"),
                    ),
                ),
            )
        )
        notices += injection_notices(plan, report, system)
    return Result(
        headline=headline, verdict=verdict, sections=tuple(sections), notices=tuple(notices)
    )


CALCULATOR = Calculator(
    id="water-filter",
    title="Water & filter",
    question="Will this water plug my emitters, and what do I do about it?",
    fields=FIELDS,
    run=run,
    examples={},
    carries=FROM_WATER_FILTER,
    cautions=(
        "NEVER mix chlorine and acid, nor inject both at one point or at one time: the gas kills.",
        "Always add acid or chlorine to water, never water to them. Goggles and gloves.",
        "The label of a product is law. Keep people and animals out while it runs, and until the "
        "lines are flushed.",
        "Nothing may be injected without the backflow protection that your local code asks for. "
        "Ask the water supplier.",
        "Release the pressure before you open a filter or a joint.",
    ),
)
