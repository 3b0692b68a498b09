"""Water & filter: whether a water plugs emitters, and filter and treatment against it."""

from __future__ import annotations

import math
from collections.abc import Mapping
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
from evenrow.agronomy.water_quality import CLASS_NAMES, SLIGHT, TABLE_SOURCE
from evenrow.calculators.result import Fact, Notice, Number, Result, Section
from evenrow.calculators.spec import Calculator
from evenrow.calculators.water_filter_form import FIELDS
from evenrow.calculators.water_hazard import Report, hazard_sections, read_report
from evenrow.calculators.water_treatment import (
    chlorine_section,
    injection_notices,
    injection_section,
    plan_of,
)
from evenrow.catalogue import device
from evenrow.units import UnitSystem, format_value

#: Three pounds a square inch, the low end of what is usual. [m]
_DIRTY = 3.0 * 0.70307
_KIND_WORDS = {"screen": "screen filter", "disc": "disc filter", "media": "sand media filter"}
_UC = "University of California, Maintenance of Microirrigation Systems; the rest common practice"
_BACKFLOW = {
    "well": "keep what you inject out of the well: a check valve that drains and lets in air, and "
    "an injector that stops with the pump",
    "open": "keep what you inject out of the pond or stream: a check valve that drains and lets in "
    "air, and an injector that stops with the pump",
    "municipal": "injected chemicals make it a high hazard: a reduced-pressure backflow preventer "
    "is what most codes ask for",
    "tank": "an air gap where the tank is filled from drinking water; no pipe that joins them",
}


def _headline(report: Report) -> tuple[Fact, str]:
    worst = report.worst
    if worst is None:
        return (
            Fact(
                name="hazard",
                label="Clogging hazard",
                text="not known",
                rule="Nothing of the report is filled in.",
                source=TABLE_SOURCE,
            ),
            "Have the water tested; until then filter and flush as for dirty water.",
        )
    names = ", ".join(report.worst_names)
    surely = worst if report.surely is None else report.surely
    verdicts = (
        "No reading is a worry. Filter, and flush the lines now and then.",
        "It can be used with the care below; without it emitters will clog within seasons.",
        "Do not run drip on this water untreated.",
    )
    return (
        Fact(
            name="hazard",
            label="Clogging hazard",
            text=CLASS_NAMES[worst]
            if surely == worst
            else f"{CLASS_NAMES[surely]} to {CLASS_NAMES[worst]}",
            rule="The worst class of what was tested; one bad constituent is enough to clog.",
            source=TABLE_SOURCE,
        ),
        _verdict(verdicts[worst], names, worst, surely),
    )


def _verdict(verdict: str, names: str, worst: int, surely: int) -> str:
    """Return the verdict with what it rests on."""
    if worst == SLIGHT:
        return verdict
    if surely < worst:
        return (
            f"The report leaves open how bad {names} is: have it tested more finely. Until then "
            "take it for the worst."
        )
    return f"Because of {names}. {verdict}"


def _mesh_words(passage: float, share: float = 1 / 7) -> str:
    mesh, opening, enough = fineness(passage, share)
    words = f"{mesh} mesh, openings of {opening * 1e6:.0f} µm"
    return words if enough else f"finer than {words}: ask the maker of the line"


def _size_words(kind: str, area: float, system: UnitSystem) -> str:
    """Return an area as something to look at."""
    if kind == "media":
        across = math.sqrt(4.0 * area / math.pi)
        return f"a tank {format_value(across, 'spacing', system, 2)} across"
    across = math.sqrt(area / math.pi)
    size = format_value(across, "diameter", system, 2)
    return f"a cylinder {size} across and {size} tall, all of it open"


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
    own = "" if kind == suggested else f"; better here: {_KIND_WORDS[suggested]}, as {reason}"
    rate_source = RATE_SOURCES[rated]
    if kind == "disc":
        rate_source += " (none is published for discs: that of a screen is used)"
    items: list[Number | Fact] = [
        Fact(
            name="filter_kind",
            label="Kind of filter",
            text=f"{_KIND_WORDS[kind]}{own or f': {reason}'}",
            rule="By where the water comes from and how much floats in it.",
            source=_UC,
        ),
        Fact(
            name="fineness",
            label="No coarser than",
            text=_mesh_words(passage),
            rule=f"A seventh of the passage of {passage * 1e3:.2g} mm. Behind a sand filter set a "
            "screen of this mesh, against sand that escapes.",
            source=FINENESS_SOURCE,
        ),
        Fact(
            name="fineness_strict",
            label="Better, for water that is worse than slight",
            text=_mesh_words(passage, STRICT_SHARE),
            rule="A tenth of the passage: grains and slime bridge holes wider than themselves.",
            source=FINENESS_SOURCE,
        ),
        Number(
            name="filter_area",
            label="Filter surface needed",
            value=needed,
            kind="area",
            rule="Flow over "
            + ("the higher" if rate == bold else "the lower")
            + f" rate of the range: {_size_words(kind, needed, system)}. Count the screen, "
            "not its openings.",
            source=rate_source,
        ),
    ]
    if wanted["area"] is not None:
        items.append(
            Number(
                name="filter_use",
                label="Yours is used to",
                value=needed / wanted["area"],
                kind="share",
                digits=2,
                rule="Surface needed over surface there; above 100 % it is too small.",
                source=rate_source,
            )
        )
    items.append(_interval(report, dirty, flow / area, passage, wanted["held"]))
    return Section(title="The filter", items=tuple(items))


def _interval(
    report: Report, dirty: float, rate: float, passage: float, held: float
) -> Number | Fact:
    """Return how long the filter runs between flushes."""
    label = "Flush the filter after about"
    if "suspended" not in report.readings:
        return Fact(
            name="flushing",
            label=label,
            text="not known: have the suspended solids tested, and go by the gauges",
        )
    time = flushing_interval(
        dirty, rate, fineness(passage)[1], min(report.likely("suspended"), 1e3), held
    )
    if not math.isfinite(time):
        return Fact(name="flushing", label=label, text="never, if nothing is held; see the gauges")
    return Number(
        name="flushing",
        label=label,
        value=time,
        kind="duration",
        digits=2,
        rule="An order of magnitude. A layer of grains as wide as the openings, thick enough to "
        "cost the loss allowed, over what arrives on each area. Time the first rise of the gauge "
        "and go by that.",
        source="Kozeny (1927), Carman (1937), and a balance of mass; 40 % holes, grains of quartz",
    )


def _notices(inputs: Mapping[str, Any], report: Report) -> list[Notice]:
    notices = []
    if report.untested:
        notices.append(
            Notice(
                level="note",
                text=f"Not tested: {', '.join(report.untested)}. Not tested is not clean.",
            )
        )
    stricter = [f.label for f in report.findings if f.stricter > f.most]
    if stricter:
        notices.append(
            Notice(
                level="note",
                text=f"A stricter table puts {' and '.join(stricter)} a class higher: see Why.",
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
                title="Backflow",
                items=(
                    Fact(
                        name="backflow",
                        label="Backflow protection",
                        text=_BACKFLOW[inputs["water"]["source"]],
                        rule="Your local code decides, and may ask for a licensed fitter and a "
                        "yearly test. Before the injector, never behind it.",
                        source="common practice; local codes",
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
