"""Options: the same field built in other ways, what each costs and how evenly it waters."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.build_fields import build_choices
from evenrow.calculators.options_sections import (
    as_now,
    broken_table,
    by_worth,
    name_of,
    options_chart,
    options_csv,
    options_table,
    worth_showing,
)
from evenrow.calculators.parts_text import money
from evenrow.calculators.result import Fact, Notice, Number, Result, Section
from evenrow.calculators.spec import Calculator, Carry
from evenrow.calculators.whole_field import catalogue_notice, field_notices
from evenrow.calculators.whole_field_form import FIELDS
from evenrow.catalogue import current
from evenrow.design.field import Field, field_of
from evenrow.design.options import Option, Options, compare
from evenrow.errors import ImpossibleError
from evenrow.units import UnitSystem
from evenrow.words import said, tr, tr_count

_RULE = said(
    "Every line of the catalogue, each place of the header, both feeds, a line more or fewer on "
    "each row and larger header pipe, each designed as on the whole-field page and priced."
)
_FEWER_LINES = said(
    "A line fewer on each row costs less and still gives every emitter its share, but it wets a "
    "narrower strip: see whether the roots across the bed find it."
)


def _cost(found: Options, option: Option) -> str:
    return f"{found.currency} {money(option.price)}"


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"


def _verdict(found: Options, now: Option | None, cheapest: Option) -> str:
    """Say what the cheapest saves against the field as it is."""
    if now is None:
        return tr(
            "The field as it is keeps no limits; this way it costs {cost}.",
            cost=_cost(found, cheapest),
        )
    if cheapest.number == now.number:
        return tr(
            "The field as it is already is the cheapest, at {eu:.1%} uniformity.", eu=cheapest.eu
        )
    return tr(
        "{saved} less than the field as it is ({cost}), at {eu:.1%} uniformity instead of "
        "{now:.1%}.",
        saved=f"{found.currency} {money(now.price - cheapest.price)}",
        cost=_cost(found, now),
        eu=cheapest.eu,
        now=now.eu,
    )


def _short(field: Field, found: Options, now: Option | None, system: UnitSystem) -> Section:
    """Return the few options that most want to know of."""
    working = by_worth(found.working)
    same = [option for option in working if not option.way.more_lines]
    most_even = max(found.working, key=lambda o: (round(o.eu, 3), -o.price))
    fewest = min(found.working, key=lambda o: (o.zones, o.price))
    picked: list[tuple[str, str, Option]] = []
    if now is not None:
        picked.append(("now", tr("The field as it is"), now))
    if same:
        cheapest = min(same, key=lambda o: (o.unpriced, o.price))
        picked.append(("cheapest_same", tr("Cheapest with as many lines on each row"), cheapest))
    picked += [
        ("most_even", tr("Most even"), most_even),
        ("fewest_zones", tr("Fewest zones"), fewest),
    ]
    return Section(
        title=tr("In short"),
        items=(
            *(
                Fact(
                    name=name,
                    label=label,
                    text=tr_count(
                        o.zones,
                        "{cost}, {eu:.1%}, {count} zone: {name}",
                        "{cost}, {eu:.1%}, {count} zones: {name}",
                        cost=_cost(found, o),
                        eu=o.eu,
                        name=name_of(o, field, system),
                    ),
                )
                for name, label, o in picked
            ),
            Number(
                name="ways",
                label=tr("Ways that keep every limit"),
                value=len(found.working),
                kind="count",
                rule=tr(_RULE),
            ),
        ),
    )


def _notices(field: Field, found: Options) -> tuple[Notice, ...]:
    notices = [catalogue_notice()]
    if any(option.way.more_lines < 0 and option.frontier for option in found.working):
        notices.append(Notice(level="warning", text=tr(_FEWER_LINES)))
    unpriced = sum(1 for option in found.working if option.unpriced)
    if unpriced:
        notices.append(
            Notice(
                level="warning",
                text=tr(
                    "{unpriced} ways hold parts without a price, so that they look "
                    "cheaper than they are.",
                    unpriced=unpriced,
                ),
            )
        )
    notices += [notice for notice in field_notices(field) if notice.level == "caution"]
    return tuple(notices)


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer with every way to build a field; see `evenrow.design.options.compare`."""
    field = field_of(inputs, system)
    found = compare(field, build_choices(inputs["build"], timer=field.timer))
    if not found.working:
        raise ImpossibleError(
            tr(
                "none of {count} ways keeps every limit; as the field is, {short}",
                count=len(found.options),
                short=found.options[0].short,
            ),
            limit="every way",
            field="rows",
            changes=(
                tr("see the whole-field page: it looks for the nearest change that makes it work"),
            ),
        )
    now = next((option for option in found.working if as_now(field, option)), None)
    cheapest = min(found.working, key=lambda o: (o.unpriced, o.price, -o.eu))
    shown = worth_showing(field, found)
    broken = broken_table(field, found, system)
    return Result(
        headline=Fact(
            name="cheapest",
            label=tr("Cheapest that keeps every limit"),
            text=_cost(found, cheapest),
            rule=tr(_RULE),
            source=tr("prices: {catalogue}; not bettered: Pareto (1906)", catalogue=current().mark),
        ),
        verdict=f"{_capital(name_of(cheapest, field, system))}. {_verdict(found, now, cheapest)}",
        sections=(
            _short(field, found, now, system),
            Section(title=tr("Price and uniformity"), items=(options_chart(field, found, shown),)),
            Section(
                title=tr("All ways"),
                items=(
                    options_table(field, found, shown, inputs, system),
                    *((broken,) if broken else ()),
                    options_csv(field, found, system),
                ),
            ),
        ),
        notices=_notices(field, found),
    )


CALCULATOR = Calculator(
    id="options",
    title="Options",
    question="What else could I build, and what would it cost?",
    fields=FIELDS,
    run=run,
    examples={},
    carries=(
        Carry(
            to="whole-field",
            label="Whole field",
            inputs={field.name: field.name for field in FIELDS},
        ),
    ),
)
