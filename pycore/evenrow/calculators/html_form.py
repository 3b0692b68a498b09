"""The form of a calculator as HTML, filled from a document."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from html import escape
from itertools import groupby
from typing import Any

from evenrow import units
from evenrow.calculators.reading import example_document, start_rows
from evenrow.calculators.spec import PLAIN_KINDS, Calculator, Field
from evenrow.units import UnitSystem
from evenrow.words import said, tr

SYSTEMS: tuple[UnitSystem, ...] = ("us", "metric")
#: Kinds of number that carry no unit.
UNITLESS = ("count", "number")
#: A number alone, or a number with the unit text behind it.
_SPLIT = re.compile(r"\s*([-+−]?[0-9][0-9.,  ]*)\s*(\S.*)?", re.DOTALL)
#: On the button below a table, by whether it holds a row; the page's scripts say the same.
ADD_WORDS = {False: said("Add the first entry"), True: said("Add another")}
#: Longer texts get a box of several lines.
LONG_TEXT = 200


def escaped(value: object) -> str:
    """Return a value as text that is safe between tags and inside quoted attributes."""
    return escape(str(value), quote=True)


def _id(calculator: Calculator, name: str) -> str:
    return f"er-{calculator.id}-{name.replace('.', '-')}"


def _at(document: Mapping[str, Any], name: str) -> Any:
    """Return what stands at a dotted name in a document, or None."""
    value: Any = document
    for part in name.split("."):
        if not isinstance(value, Mapping) or part not in value:
            return None
        value = value[part]
    return value


def split_quantity(text: str, quantity: str, system: UnitSystem) -> tuple[str, str]:
    """Split what stands in a quantity field into what goes in the box and in the chooser.

    Parameters
    ----------
    text : str
        A quantity as people write it.
    quantity : str
        Quantity known to `evenrow.units`.
    system : {"us", "metric"}
        Says which unit the chooser shows when the text names none that it offers.

    Returns
    -------
    (str, str)
        Text of the box, unit of the chooser.  A unit that the chooser does not offer
        stays in the box.

    Examples
    --------
    >>> split_quantity("62 ft", "length", "metric")
    ('62', 'ft')
    """
    menu = units.menu(quantity)
    found = _SPLIT.fullmatch(text)
    if found and found[2] in menu:
        return found[1].strip(), found[2]
    return text.strip(), units.system_unit(quantity, system)


def _options(entries: Iterable[tuple[str, str]], chosen: str) -> str:
    return "".join(
        f'<option value="{escaped(value)}"{" selected" if value == chosen else ""}>'
        f"{escaped(label)}</option>"
        for value, label in entries
    )


def _keypad(field: Field) -> str:
    if field.kind == "text":
        return "text"
    if field.kind == "count":
        return "numeric"
    # Phone number pads have no minus sign, so fields that may go below zero get all keys.
    open_below = field.lo is None and field.above is None
    signed = open_below or (field.lo is not None and field.lo < 0)
    return "text" if signed else "decimal"


def _chooser(field: Field, name: str, unit: str) -> str:
    return (
        f'<select class="er-unit" data-unit-of="{escaped(name)}" '
        f'aria-label="{escaped(tr("Unit of {what}", what=tr(field.label)))}">'
        f"{_options(((u, tr(u)) for u in units.menu(field.kind)), unit)}</select>"
    )


def _control(field: Field, ident: str, name: str, value: Any, system: UnitSystem) -> str:
    text = "" if value is None else str(value)
    describedby = f"{ident}-help {ident}-error"
    if field.kind == "choice":
        entries = [(choice.value, tr(choice.label)) for choice in field.choices]
        if not field.required:
            entries.insert(0, ("", tr("no answer")))
        return (
            f'<select id="{ident}" name="{escaped(name)}" aria-describedby="{describedby}">'
            f"{_options(entries, text)}</select>"
        )
    if field.kind == "flag":
        yes = value is True or text.lower() in ("yes", "true")
        return (
            f'<input id="{ident}" name="{escaped(name)}" type="checkbox" value="yes"'
            f'{" checked" if yes else ""} aria-describedby="{describedby}">'
        )
    tail = (
        f' inputmode="{_keypad(field)}" autocomplete="off" autocapitalize="off" '
        f'spellcheck="false" aria-describedby="{describedby}"'
    )
    if field.kind == "text" and field.hi is not None and field.hi > LONG_TEXT:
        box = f'<textarea id="{ident}" name="{escaped(name)}" rows="3"{tail}>'
        return f"{box}{escaped(text)}</textarea>"
    chooser = ""
    if field.kind not in PLAIN_KINDS and field.kind not in UNITLESS:
        text, unit = split_quantity(text, field.kind, system)
        chooser = _chooser(field, name, unit)
    box = f'<input id="{ident}" name="{escaped(name)}" type="text" value="{escaped(text)}"{tail}>'
    return box + chooser


def _relevance(field: Field, document: Mapping[str, Any]) -> str:
    """Return the attributes of a field that only matters for some values of a choice."""
    if field.only_for is None:
        return ""
    name, values = field.only_for
    hidden = "" if _at(document, name) in values else " hidden"
    return (
        f' data-only-for="{escaped(name)}" data-only-values="{escaped(" ".join(values))}"{hidden}'
    )


def _field(
    field: Field, ident: str, name: str, value: Any, system: UnitSystem, relevance: str = ""
) -> str:
    """One field with label, help, control and the slot for its error."""
    data = [f'data-field="{escaped(name)}"', f'data-kind="{escaped(field.kind)}"']
    if field.assumed:
        data.append('data-assumed="yes"')
        value = field.default_for(system) if value is None else value
    data += [f'data-default-{s}="{escaped(field.default_for(s))}"' for s in SYSTEMS]
    if field.kind not in PLAIN_KINDS and field.kind not in UNITLESS:
        data += [f'data-unit-{s}="{escaped(units.system_unit(field.kind, s))}"' for s in SYSTEMS]
    optional = (
        ""
        if field.required
        else f' <span class="er-optional">{escaped(tr("may stay empty"))}</span>'
    )
    control = _control(field, ident, name, value, system)
    label = f'<label for="{ident}">{escaped(tr(field.label))}{optional}</label>'
    help_ = f'<p class="er-help" id="{ident}-help">{escaped(tr(field.help))}</p>'
    error = f'<p class="er-error" id="{ident}-error" hidden></p>'
    kind = " er-flag" if field.kind == "flag" else ""
    if "er-unit" in control:
        kind += " er-with-unit"
    return (
        f'<div class="er-field{kind}" {" ".join(data)}{relevance}>{label}{help_}'
        f'<div class="er-control">{control}</div>{error}</div>'
    )


def _row(
    calculator: Calculator,
    field: Field,
    index: int | str,
    row: Mapping[str, Any],
    system: UnitSystem,
) -> str:
    """One row of a table field: a card on phones, a line on wide screens.

    The template of a row has ``__row__`` for the index and ``__number__`` for what people
    count, which the page fills in.
    """
    cells = []
    for column in field.columns:
        name = f"{field.name}.{index}.{column.name}"
        value = row.get(column.name, column.default_for(system))
        cells.append(_field(column, _id(calculator, name), name, value, system))
    number = index + 1 if isinstance(index, int) else "__number__"
    called = tr("{table}, row {number}", table=tr(field.label), number=number)
    return (
        f'<div class="er-row" role="group" aria-label="{escaped(called)}">'
        f'<div class="er-cells">{"".join(cells)}</div>'
        '<button type="button" class="er-button er-remove er-js" hidden '
        f'aria-label="{escaped(tr("Remove row {number}", number=number))}">'
        f"{escaped(tr('Remove'))}</button></div>"
    )


def _table(
    calculator: Calculator, field: Field, document: Mapping[str, Any], system: UnitSystem
) -> str:
    ident = _id(calculator, field.name)
    rows = _at(document, field.name)
    rows = [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []
    start = {s: start_rows(field, s) for s in SYSTEMS}
    data = "".join(f" data-rows-{s}='{escaped(json.dumps(start[s]))}'" for s in SYSTEMS)
    body = "".join(_row(calculator, field, i, row, system) for i, row in enumerate(rows))
    fewest, most = field.row_limits
    add = escaped(tr(ADD_WORDS[bool(rows)]))
    return (
        f'<div class="er-table" role="group" aria-labelledby="{ident}-label" '
        f'aria-describedby="{ident}-help {ident}-error" data-table="{escaped(field.name)}" '
        f'data-fewest="{fewest}" data-most="{most}"{data}{_relevance(field, document)}>'
        f'<p class="er-table-label" id="{ident}-label">{escaped(tr(field.label))}</p>'
        f'<p class="er-help" id="{ident}-help">{escaped(tr(field.help))}</p>'
        f'<div class="er-rows">{body}</div>'
        f'<template class="er-row-template">{_row(calculator, field, "__row__", {}, system)}'
        "</template>"
        f'<button type="button" class="er-button er-add er-js" hidden>{add}</button>'
        f'<p class="er-error" id="{ident}-error" hidden></p></div>'
    )


def _group(
    calculator: Calculator,
    title: str,
    fields: list[Field],
    document: Mapping[str, Any],
    system: UnitSystem,
) -> str:
    body = "".join(
        _table(calculator, field, document, system)
        if field.kind == "table"
        else _field(
            field,
            _id(calculator, field.name),
            field.name,
            _at(document, field.name),
            system,
            _relevance(field, document),
        )
        for field in fields
    )
    if fields[0].folded:
        return (
            f'<details class="er-group"><summary>{escaped(tr(title or "More"))}</summary>'
            f'<div class="er-fields">{body}</div></details>'
        )
    legend = f"<legend>{escaped(tr(title))}</legend>" if title else ""
    return f'<fieldset class="er-group">{legend}<div class="er-fields">{body}</div></fieldset>'


#: Texts that every document may carry; see the document format.
NAME = Field(
    name="name",
    label="Name of this design",
    kind="text",
    hi=80,
    required=False,
    help="Goes into the file, the link and the print.",
)
ABOUT = Field(
    name="about",
    label="Notes",
    kind="text",
    hi=2000,
    required=False,
    help="Anything worth keeping with it: who measured, when, what was in the way.",
)


def _toolbar(calculator: Calculator, system: UnitSystem) -> str:
    """Return unit switch and examples; hidden until the scripts that they need show them."""
    switch = "".join(
        f'<label class="er-switch-part"><input type="radio" name="er-units" value="{s}"'
        f"{' checked' if s == system else ''}><span>{escaped(label)}</span></label>"
        for s, label in (("us", tr("US units")), ("metric", tr("Metric")))
    )
    examples = ""
    if calculator.examples:
        entries = [(name, tr(name)) for name in calculator.examples]
        examples = (
            f'<label class="er-examples"><span>{escaped(tr("Start from an example"))}</span>'
            f'<select class="er-example">{_options([("", tr("choose…")), *entries], "")}'
            "</select></label>"
        )
    return (
        '<div class="er-toolbar er-js" hidden>'
        f'<div class="er-switch" role="radiogroup" aria-label="{escaped(tr("Units"))}">'
        f"{switch}</div>"
        f"{examples}</div>"
    )


def form_html(calculator: Calculator, document: Mapping[str, Any]) -> str:
    """Return the form of a calculator, filled from a document.

    Parameters
    ----------
    calculator : Calculator
        Whose form.
    document : mapping
        What stands in the fields, as in a design file; ``units`` sets the unit system.

    Returns
    -------
    str
        A ``<form>``; controls that need scripts are hidden until the scripts show them.
    """
    system: UnitSystem = "us" if document.get("units") == "us" else "metric"
    groups = "".join(
        _group(calculator, key[0], list(fields), document, system)
        for key, fields in groupby(calculator.fields, key=lambda field: (field.group, field.folded))
    )
    naming = "".join(
        _field(field, _id(calculator, field.name), field.name, document.get(field.name), system)
        for field in (NAME, ABOUT)
    )
    docs = {name: example_document(calculator, name) for name in calculator.examples}
    # "<" is written as an escape so that no text can end the script element.
    data = json.dumps(docs, ensure_ascii=False).replace("<", "\\u003c")
    aim = tr("{calculator}: what you have", calculator=tr(calculator.title))
    without = tr(
        "Scripts are off in this browser: the answer below is for the values shown here. Live "
        "answers need scripts."
    )
    return (
        f'<form class="er-form" data-calculator="{escaped(calculator.id)}" '
        f'data-units="{system}" novalidate autocomplete="off" '
        f'aria-label="{escaped(aim)}">'
        f'<noscript><p class="er-notice er-note">{escaped(without)}</p></noscript>'
        f"{_toolbar(calculator, system)}{groups}"
        f'<details class="er-group"><summary>{escaped(tr("Name and notes"))}</summary>'
        f'<div class="er-fields">{naming}</div></details>'
        f'<script type="application/json" class="er-example-data">{data}</script>'
        "</form>"
    )
