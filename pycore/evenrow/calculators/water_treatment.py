"""What is injected: how fast, how long and how much, with the arithmetic and the cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from evenrow.agronomy.injection import (
    chlorine_demand,
    hypochlorous_share,
    injection_rate,
    liquid_strength,
    stock_strength,
    titrated_rate,
)
from evenrow.agronomy.water_quality import MG_PER_L
from evenrow.calculators.lab_values import read_dose
from evenrow.calculators.result import Fact, Notice, Number, Section, Steps
from evenrow.calculators.water_hazard import Report
from evenrow.calculators.water_travel import travel_time
from evenrow.errors import InputError
from evenrow.units import UnitSystem, format_number, format_value
from evenrow.words import said, tr

#: How long chlorine or acid stays at work once it has arrived. [s] Common practice, no source.
HOLD = 3600.0
_ML_PER_MIN = 1e-6 / 60.0
_BALANCE = said("balance of mass: flow × dose / strength")
_NAMES = {
    "liquid": said("liquid chlorine"),
    "granular": said("chlorine solution"),
    "acid": said("acid"),
    "fertiliser": said("fertiliser solution"),
}


@dataclass(frozen=True)
class Plan:
    """What is injected. SI; `strength` and `dose` None for acid."""

    kind: str
    rate: float
    travel: float
    travel_rule: str
    arithmetic: tuple[str, ...]
    dose: float | None = None
    stock: float | None = None

    @property
    def time(self) -> float:
        """How long to inject [s]."""
        return self.travel + (0.0 if self.kind == "fertiliser" else HOLD)

    @property
    def total(self) -> float:
        """How much that takes [m3]."""
        return self.rate * self.time


def _wanted(inputs: Mapping[str, Any], name: str, label: str) -> float:
    value = inputs[name]
    if value is None:
        raise InputError(
            tr("{label} is missing", label=label), code="missing", field=f"chemical.{name}"
        )
    return float(value)


def _amount(value: float, digits: int = 4) -> str:
    return format_number(value, digits)


def _rate_lines(flow: float, dose: float, strength: float, system: UnitSystem) -> tuple[str, ...]:
    """Return the arithmetic of ``rate = flow × dose / strength``, line by line."""
    minute = flow * 60e3
    rate = injection_rate(flow, dose, strength)
    lines = (
        tr(
            "Flow: {flow} = {minute} L/min.",
            flow=format_value(flow, "flow", system, 4),
            minute=_amount(minute),
        ),
        tr(
            "Each minute the water must get {minute} L × {dose} mg/L = {mass} mg.",
            minute=_amount(minute),
            dose=_amount(dose / MG_PER_L),
            mass=_amount(minute * dose / MG_PER_L),
        ),
        tr(
            "A litre of what you inject holds {grams} g = {milligrams} mg.",
            grams=_amount(strength),
            milligrams=_amount(strength * 1e3),
        ),
        tr(
            "Rate: {mass} mg/min ÷ {strength} mg/mL = {rate} mL/min = {shown}.",
            mass=_amount(minute * dose / MG_PER_L),
            strength=_amount(strength),
            rate=_amount(rate / _ML_PER_MIN, 3),
            shown=format_value(rate, "emitter_flow", system, 3),
        ),
    )
    return lines


def plan_of(inputs: Mapping[str, Any], system: UnitSystem) -> Plan | None:
    """Return what is injected; None where nothing is.

    Raises
    ------
    InputError
        A figure of the chemical is missing.
    """
    chemical, flow = inputs["chemical"], inputs["flow"]
    kind = chemical["kind"]
    if kind == "none":
        return None
    time, rule = travel_time(inputs, system)
    if kind == "acid":
        acid = _wanted(chemical, "acid", tr("the acid of the titration"))
        sample = _wanted(chemical, "sample", tr("the water of the sample"))
        rate = titrated_rate(flow, acid, sample)
        each = acid / sample
        lines = (
            tr(
                "Each litre of water takes {acid} mL ÷ {sample} L = {each} mL of acid.",
                acid=_amount(acid * 1e6),
                sample=_amount(sample * 1e3),
                each=_amount(each * 1e3),
            ),
            tr(
                "Flow: {flow} = {minute} L/min.",
                flow=format_value(flow, "flow", system, 4),
                minute=_amount(flow * 60e3),
            ),
            tr(
                "Rate: {minute} L/min × {each} mL/L = {rate} mL/min = {shown}.",
                minute=_amount(flow * 60e3),
                each=_amount(each * 1e3),
                rate=_amount(rate / _ML_PER_MIN, 3),
                shown=format_value(rate, "emitter_flow", system, 3),
            ),
        )
        return Plan(kind, rate, time, rule, lines)
    first: tuple[str, ...]
    stock = None
    if kind == "liquid":
        dose = read_dose(chemical["chlorine"], "chemical.chlorine", tr("the chlorine wanted"))
        percent = _wanted(chemical, "percent", tr("the available chlorine"))
        strength = liquid_strength(percent)
        first = (
            tr(
                "Strength: {percent} % × 10 g/L for each per cent = {strength} g/L of "
                "available chlorine.",
                percent=_amount(percent * 100),
                strength=_amount(strength),
            ),
        )
    else:
        chlorine = kind == "granular"
        names = ("chlorine", "granules") if chlorine else ("nutrient_dose", "nutrient")
        dose = read_dose(
            chemical[names[0]],
            f"chemical.{names[0]}",
            tr("the chlorine wanted") if chlorine else tr("the nutrient wanted"),
        )
        share = _wanted(
            chemical,
            names[1],
            tr("the share of the chlorine") if chlorine else tr("the share of the nutrient"),
        )
        mass = _wanted(chemical, "mass", tr("what you dissolve"))
        stock = _wanted(chemical, "stock", tr("the volume of the solution"))
        strength = stock_strength(mass, share, stock)
        parts = {
            "mass": _amount(mass * 1e3),
            "share": _amount(share * 100),
            "stock": _amount(stock * 1e3),
            "strength": _amount(strength),
        }
        first = (
            tr("Strength: {mass} g × {share} % ÷ {stock} L = {strength} g/L of chlorine.", **parts)
            if chlorine
            else tr(
                "Strength: {mass} g × {share} % ÷ {stock} L = {strength} g/L of nutrient.", **parts
            ),
        )
    return Plan(
        kind,
        injection_rate(flow, dose, strength),
        time,
        rule,
        (*first, *_rate_lines(flow, dose, strength, system)),
        dose,
        stock,
    )


def _doing(plan: Plan, system: UnitSystem) -> Steps:
    """Return how to inject, each caution at its step."""
    name = tr(_NAMES[plan.kind])
    time = format_value(plan.time, "duration", system, 2)
    travel = format_value(plan.travel, "duration", system, 2)
    items = [
        tr(
            "First the backflow protection that your local code asks for, before the injector, "
            "and an injector that stops when the water stops. Without them, inject nothing."
        ),
        tr(
            "Read the label: it is law. It says whether this product may go into irrigation water, "
            "how strongly, and what to wear."
        ),
        tr(
            "Goggles, gloves, apron, and clean water within reach. Keep people and animals out "
            "of the field until it is flushed; post it at every tap: not for drinking."
        ),
    ]
    if plan.kind == "acid":
        items.append(tr("Pour acid into water, never water into acid: it would spit."))
    elif plan.kind == "fertiliser":
        items.append(tr("Dissolve it fully, let it settle and inject the clear part."))
    else:
        items.append(tr("Add chlorine to water, never water to chlorine; in the open air."))
        items.append(
            tr(
                "Inject it before the filter, so that the iron and slime that it loosens are "
                "caught there."
            )
        )
    if plan.kind in ("liquid", "granular", "acid"):
        items.append(
            tr(
                "NEVER let chlorine and acid meet, in a tank, a pump or a hose: the gas kills. "
                "Each has its own tank, pump and injection point, and water runs between them."
            )
        )
    items += [
        tr("Start the water and wait until every line runs at full pressure."),
        tr(
            "Inject {chemical} at {rate} for {time}.",
            chemical=name,
            rate=format_value(plan.rate, "emitter_flow", system, 3),
            time=time,
        ),
    ]
    if plan.kind in ("liquid", "granular"):
        items.append(
            tr(
                "After about {travel} a test strip must show 1 to 2 mg/L of free chlorine at "
                "the last emitter. If it does not, something on the way uses it up: dose more, "
                "as the label allows.",
                travel=travel,
            )
        )
    elif plan.kind == "acid":
        items.append(
            tr(
                "After about {travel} the pH at the last emitter must be what you titrated to. "
                "Acid eats brass, zinc and steel, and some pump seals: check before, not after.",
                travel=travel,
            )
        )
    items.append(
        tr(
            "Stop the injector, let the water run for {travel} more at least, then flush "
            "the lines from their ends.",
            travel=travel,
        )
        if plan.kind != "fertiliser"
        else tr(
            "Stop the injector, and let the water run for {travel} more at least, so that "
            "none is left in the lines to feed slime.",
            travel=travel,
        )
    )
    return Steps(name="injecting", title=tr("How to do it"), items=tuple(items))


def injection_section(plan: Plan, system: UnitSystem) -> Section:
    """Return how fast, how long and how much."""
    source = (
        tr(
            "titration, in proportion: University of California, Maintenance of Microirrigation "
            "Systems"
        )
        if plan.kind == "acid"
        else tr(_BALANCE)
    )
    return Section(
        title=tr("Injection"),
        items=(
            Number(
                name="injection_rate",
                label=tr("Rate of the {chemical}", chemical=tr(_NAMES[plan.kind])),
                value=plan.rate,
                kind="emitter_flow",
                rule=tr("Flow × dose / strength; worked out line by line below."),
                source=source,
            ),
            Number(
                name="travel_time",
                label=tr("Water reaches the last emitter after"),
                value=plan.travel,
                kind="duration",
                digits=2,
                rule=plan.travel_rule,
                source=tr("continuity; line solved by Darcy–Weisbach, Churchill (1977)"),
            ),
            Number(
                name="injection_time",
                label=tr("Inject for"),
                value=plan.time,
                kind="duration",
                digits=2,
                rule=tr("Until it has reached the last emitter.")
                if plan.kind == "fertiliser"
                else tr("Until it has reached the last emitter, and an hour more to act."),
                source=tr("common practice, no source"),
            ),
            Number(
                name="injected",
                label=tr("That takes"),
                value=plan.total,
                kind="volume",
                rule=tr("Rate × time."),
            ),
            Steps(name="arithmetic", title=tr("The arithmetic"), items=plan.arithmetic),
            _doing(plan, system),
        ),
    )


def chlorine_section(plan: Plan, report: Report) -> Section | None:
    """Return what the water does to the chlorine; None where it is not known or not chlorine."""
    if plan.kind not in ("liquid", "granular"):
        return None
    items: list[Number | Fact] = []
    if "ph" in report.readings:
        items.append(
            Number(
                name="hypochlorous",
                label=tr("Share of the chlorine that kills, at this pH"),
                value=hypochlorous_share(min(report.likely("ph"), 14.0)),
                kind="share",
                digits=2,
                rule=tr("1 / (1 + 10^(pH − 7.53)): hypochlorous acid in free chlorine."),
                source=tr("acidity constant of hypochlorous acid, textbook"),
            )
        )
    if demand := _demand(report):
        items.append(
            Fact(
                name="demand",
                label=tr("Used up by iron, manganese and sulphide"),
                text=tr("up to {demand} mg/L", demand=_amount(demand / MG_PER_L, 2)),
                rule=tr(
                    "0.63 mg for each mg of iron, 1.29 of manganese, 8.3 of hydrogen sulphide. "
                    "Slime takes more."
                ),
                source=tr("stoichiometry"),
            )
        )
    return Section(title=tr("What the water does to it"), items=tuple(items)) if items else None


def _demand(report: Report) -> float:
    return chlorine_demand(*(report.likely(n) for n in ("iron", "manganese", "sulphide")))


def injection_notices(plan: Plan, report: Report, system: UnitSystem) -> list[Notice]:
    """Return what may go wrong with this plan."""
    notices = []
    if plan.stock is not None and plan.total > plan.stock:
        notices.append(
            Notice(
                level="warning",
                text=tr(
                    "The solution lasts only {duration}: make more of it, or make it stronger.",
                    duration=format_value(plan.stock / plan.rate, "duration", system, 2),
                ),
            )
        )
    chlorine = plan.kind in ("liquid", "granular")
    if chlorine and plan.dose is not None and plan.dose < _demand(report):
        notices.append(
            Notice(
                level="warning",
                text=tr(
                    "Iron, manganese and sulphide in this water can use up all of that chlorine "
                    "before it reaches the emitters."
                ),
            )
        )
    return notices
