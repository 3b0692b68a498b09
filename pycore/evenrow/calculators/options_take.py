"""From an option to what the whole-field form has to hold for it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from evenrow.design.field import ANY_PIPE, Field
from evenrow.design.options import Option
from evenrow.units import UnitSystem, format_value, parse, to_unit


def spacing_text(spacing: float, system: UnitSystem) -> str:
    """Return an emitter spacing [m] as text that reads as exactly that spacing."""
    text = format_value(spacing, "spacing", system, 6).replace("\N{NO-BREAK SPACE}", " ")
    if math.isclose(parse(text, "spacing"), spacing, rel_tol=1e-12):
        return text
    # Inches of a metric spacing would be rounded, and a row might gain or lose an emitter.
    return f"{to_unit(spacing, 'spacing', 'cm'):.12g} cm"


def changed_values(
    option: Option, field: Field, inputs: Mapping[str, Any], system: UnitSystem
) -> dict[str, str]:
    """Return the texts that an option puts into the form, by dotted name.

    Parameters
    ----------
    option : Option
        One that works.
    field : Field
        The field as it is.
    inputs : mapping
        The form as read, from which `field` was made.
    system : {"us", "metric"}
        Units of the texts.

    Returns
    -------
    dict
        Only what differs from the form; "" empties a field. Own figures of the line are
        emptied with another line, whose figures they are not.
    """
    way, header = option.way, inputs["header"]
    values: dict[str, str] = {}
    if way.line.device.code != field.line.device.code:
        values["line.device"] = way.line.device.code
        own = inputs["line"].get("own") or {}
        values |= {f"line.own.{name}": "" for name, value in own.items() if value is not None}
    if way.line.spacing != field.line.spacing:
        values["line.spacing"] = spacing_text(way.line.spacing, system)
    if way.more_lines:
        for number, group in enumerate(inputs["rows"]):
            values[f"rows.{number}.lines"] = str(group["lines"] + way.more_lines)
    stays = way.line == field.line and way.share == field.share
    if way.place != header["place"] and not stays:
        values["header.place"] = way.place
    if way.feed != header["feed"]:
        values["header.feed"] = way.feed
    for name, least in (("header", option.least_header), ("main", option.least_main)):
        if least not in (ANY_PIPE, inputs[name]["least"]):
            values[f"{name}.least"] = least
    return values
