"""Whole field: from the field as it is to everything that has to be built."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from evenrow.calculators.build_fields import build_choices
from evenrow.calculators.carries import FROM_WHOLE_FIELD
from evenrow.calculators.checks_log import read_log
from evenrow.calculators.instruction_sections import instruction_sections
from evenrow.calculators.later_sections import later_section
from evenrow.calculators.parts_section import parts_sections
from evenrow.calculators.ratings_section import surge_notices, valve_notices
from evenrow.calculators.result import Notice, Number, Result
from evenrow.calculators.spec import Calculator, Carry
from evenrow.calculators.upkeep_checks import checks_section
from evenrow.calculators.whole_field_form import FIELDS
from evenrow.calculators.whole_field_sections import (
    evenness_section,
    plan_section,
    pressure_section,
    short_section,
    sizes_section,
    zones_section,
)
from evenrow.catalogue import builtin, current
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import Expected
from evenrow.design.field import Field, field_of
from evenrow.design.line import spacing_note
from evenrow.design.model import Design
from evenrow.design.solve import design, one_fewer
from evenrow.design.steps import cautions, fineness_note
from evenrow.units import UnitSystem
from evenrow.words import said, tr, tr_count

_LOCAL_CODE = said(
    "With an injector your local code decides which backflow preventer is allowed, and who may "
    "fit and test it; the one listed here is only the class that most codes ask for."
)


def _verdict(found: Design) -> str:
    zones = len(found.zones)
    return tr_count(
        zones,
        "Water all rows at once. Even to {eu:.0%} ({wanted:.0%} wanted), the spread between new "
        "emitters included.",
        "Water in {count} zones, one after the other. Even to {eu:.0%} in the worst zone "
        "({wanted:.0%} wanted), the spread between new emitters included.",
        eu=found.worst.eu,
        wanted=found.field.eu,
    )


def catalogue_notice() -> Notice:
    """Return which catalogue an answer is made from, and what its figures are worth."""
    catalogue = current()
    text = tr("Made from: {catalogue}.", catalogue=catalogue.mark)
    if catalogue is builtin():
        generic = tr(
            "Its lines, pipes and parts are generic; their figures and prices are typical, "
            "invented for demonstration. Put the figures of what you buy over them before you buy."
        )
        text = f"{text} {generic}"
    return Notice(level="note", text=text)


def field_notices(field: Field) -> tuple[Notice, ...]:
    """Return what to mind about a field: its line, its filter, safety at its source."""
    device = field.line.device
    warnings = (
        spacing_note(device, field.line.spacing, field.system),
        fineness_note(device, field.source_kind),
    )
    injection = field.injection and field.source_kind != "tank"
    safety = (
        *((tr(_LOCAL_CODE),) if injection else ()),
        *cautions(field.source_kind, injection=injection),
    )
    return (
        *(Notice(level="warning", text=text) for text in warnings if text),
        *(Notice(level="caution", text=text) for text in safety),
    )


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer with a whole design; see `evenrow.design.solve.design`."""
    field = field_of(inputs, system)
    return result_of(
        design(field, build_choices(inputs["build"], timer=field.timer)), inputs, system
    )


def result_of(found: Design, inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Return the answer that a finished design makes, in words, tables and drawings.

    Parameters
    ----------
    found : Design
        The design of the field that `inputs` describe.
    inputs : mapping
        As `run` takes them.
    system : {"us", "metric"}
        Unit system.

    Returns
    -------
    Result
        The answer.
    """
    field = found.field
    expected = Expected(found)
    log = read_log(inputs["checks"]["log"], measure="DUlq", wanted=field.eu)
    return Result(
        headline=Number(
            name="zones",
            label=tr("Zones"),
            value=len(found.zones),
            kind="count",
            rule=tr(
                "Fewest zones that keep every limit; rows in order, crops apart, then "
                "the most even flow. Every zone is verified by the network solve."
            ),
            source=tr("linear partition, Bellman (1957)"),
        ),
        verdict=_verdict(found),
        sections=(
            short_section(found, one_fewer(found)),
            plan_section(found),
            zones_section(found),
            pressure_section(found),
            sizes_section(found),
            *parts_sections(found.parts, system),
            *instruction_sections(found, system, expected=expected),
            evenness_section(found),
            later_section(expected, system),
            *((checks_section(log, system),) if log.checks else ()),
        ),
        notices=(
            catalogue_notice(),
            *valve_notices(found),
            *surge_notices(found),
            *field_notices(field),
        ),
    )


CALCULATOR = Calculator(
    id="whole-field",
    title="Whole field",
    question="What do I build for this field?",
    fields=FIELDS,
    run=run,
    examples={demo(name)["name"]: partial(demo, name) for name in NAMES},
    carries=(
        Carry(to="options", label="Options", inputs={field.name: field.name for field in FIELDS}),
        *FROM_WHOLE_FIELD,
    ),
)
