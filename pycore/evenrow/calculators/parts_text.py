"""The parts list as files: a table for spreadsheets, and plain text to send to a seller."""

from __future__ import annotations

import csv
import io

from evenrow.design.parts import Part, PartsList
from evenrow.units import UnitSystem, format_value

#: First characters that make a spreadsheet take a text for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_HEAD = (
    "number",
    "group",
    "buy",
    "unit",
    "part",
    "each",
    "needed",
    "spare",
    "packs",
    "of",
    "price each",
    "price",
    "currency",
    "mass [kg]",
    "element",
    "where",
    "rule",
    "source",
)


def money(value: float | None) -> str:
    """Return a price with two decimals, a dash where unknown."""
    return "–" if value is None else f"{value:.2f}"


def _safe(value: str) -> str:
    """Return a text that no spreadsheet reads as a formula."""
    return "'" + value if value.startswith(_FORMULA) else value


def _each(part: Part, system: UnitSystem) -> str:
    return "" if part.length is None else format_value(part.length, "length", system, 4)


def where(part: Part) -> str:
    """Return in which zones a part goes: ``"zone 1: 5; zone 2: 7"``, "" where in no single one."""
    places: dict[int, int] = {}
    for use in part.uses:
        places[use.zone] = places.get(use.zone, 0) + use.count
    if set(places) <= {0}:
        return ""
    return "; ".join(
        f"zone {zone}: {count}" if zone else f"all zones: {count}"
        for zone, count in sorted(places.items())
    )


def parts_csv(parts: PartsList, system: UnitSystem) -> str:
    """Return the parts list as comma-separated values (RFC 4180), one line for each part.

    Parameters
    ----------
    parts : PartsList
        What to buy.
    system : {"us", "metric"}
        Units of the coil lengths.

    Returns
    -------
    str
        A heading and the lines, each ended by CR LF; a text that a spreadsheet could take for
        a formula is put behind an apostrophe. An unknown price or mass is an empty cell.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(_HEAD)
    for part in parts.parts:
        product = part.product
        row = (
            str(part.number),
            part.group,
            str(part.count),
            "coil" if part.length is not None else product.unit,
            part.label,
            _each(part, system),
            str(part.needed),
            str(part.spare),
            str(part.packs),
            str(product.pack),
            "" if product.price is None else f"{product.price:.2f}",
            "" if part.cost is None else f"{part.cost:.2f}",
            parts.currency,
            "" if part.mass is None else f"{part.mass:.3f}",
            part.element,
            where(part),
            part.rule,
            part.source,
        )
        writer.writerow([_safe(value) for value in row])
    return out.getvalue()


def amount(part: Part) -> str:
    """Return how much is needed and bought: ``"12 needed, 1 spare: 2 packs of 10"``."""
    coil = part.length is not None
    unit = "m" if part.product.unit == "metre" else ""
    wanted = [f"{part.needed}{' ' + unit if unit else ''} needed"] if part.needed else []
    wanted += [f"{part.spare} spare"] if part.spare else []
    if coil:
        return f"{part.count} coil" + ("s" if part.count != 1 else "")
    if part.product.pack == 1:
        return ", ".join(wanted)
    packs = "pack" if part.packs == 1 else "packs"
    return f"{', '.join(wanted)}: {part.packs} {packs} of {part.product.pack}"


def total_text(parts: PartsList) -> str:
    """Return the total with its currency, and how many lines have no price."""
    missing = len(parts.unpriced)
    if missing == len(parts.parts):
        return "no part has a price"
    lines = "line" if missing == 1 else "lines"
    more = f", and {missing} {lines} without a price" if missing else ""
    return f"{parts.currency} {parts.total:.2f}{more}"


def order_text(parts: PartsList, system: UnitSystem, title: str = "Parts") -> str:
    """Return the parts list as plain text to copy into a letter.

    Parameters
    ----------
    parts : PartsList
        What to buy.
    system : {"us", "metric"}
        Units of the coil lengths.
    title : str
        First line.
    """
    lines = [title]
    group = ""
    for part in parts.parts:
        if part.group != group:
            group = part.group
            lines += ["", group]
        each = f" of {_each(part, system)}" if part.length is not None else ""
        code = f" [{part.product.code}]" if part.product.code else ""
        unit = " m" if part.product.unit == "metre" else ""
        price = "" if part.cost is None else f", {parts.currency} {part.cost:.2f}"
        coils = f" coil{'s' if part.count != 1 else ''}" if each else ""
        packs = f" ({part.packs} × {part.product.pack})" if part.product.pack > 1 else ""
        lines.append(
            f"{part.number}. {part.count}{unit}{coils}{each}{packs}: {part.label}{code}{price}"
        )
    lines += ["", f"Total: {total_text(parts)}.", f"Prices from: {parts.catalogue}."]
    return "\n".join(lines) + "\n"
