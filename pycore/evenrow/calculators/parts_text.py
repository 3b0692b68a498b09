"""The parts list as files: a table for spreadsheets, and plain text to send to a seller."""

from __future__ import annotations

import csv
import io

from evenrow.design.parts import Part, PartsList
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr, tr_count

#: First characters that make a spreadsheet take a text for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
#: How products are counted, beside coils.
_UNITS = {"piece": said("piece"), "metre": said("metre")}
_HEAD = (
    said("number"),
    said("group"),
    said("buy"),
    said("unit"),
    said("part"),
    said("each"),
    said("needed"),
    said("spare"),
    said("packs"),
    said("of"),
    said("price each"),
    said("price"),
    said("currency"),
    said("mass [kg]"),
    said("element"),
    said("where"),
    said("rule"),
    said("source"),
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
        tr("zone {zone}: {count}", zone=zone, count=count)
        if zone
        else tr("all zones: {count}", count=count)
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
    writer.writerow([tr(name) for name in _HEAD])
    for part in parts.parts:
        product = part.product
        row = (
            str(part.number),
            tr(part.group),
            str(part.count),
            tr("coil") if part.length is not None else tr(_UNITS.get(product.unit, product.unit)),
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
    if part.length is not None:
        return tr_count(part.count, "{count} coil", "{count} coils")
    wanted = []
    if part.needed:
        metres = part.product.unit == "metre"
        needed = said("{count} m needed") if metres else said("{count} needed")
        wanted.append(tr_count(part.needed, needed, needed))
    if part.spare:
        wanted.append(tr("{count} spare", count=part.spare))
    listed = ", ".join(wanted)
    if part.product.pack == 1:
        return listed
    return tr_count(
        part.packs,
        "{wanted}: {count} pack of {pack}",
        "{wanted}: {count} packs of {pack}",
        wanted=listed,
        pack=part.product.pack,
    )


def total_text(parts: PartsList) -> str:
    """Return the total with its currency, and how many lines have no price."""
    missing = len(parts.unpriced)
    if missing == len(parts.parts):
        return tr("no part has a price")
    total = f"{parts.currency} {parts.total:.2f}"
    if not missing:
        return total
    return tr_count(
        missing,
        "{total}, and {count} line without a price",
        "{total}, and {count} lines without a price",
        total=total,
    )


def _bought(part: Part, system: UnitSystem) -> str:
    """Return how much to buy, as an order says it: ``"2 coils of 300 m"``, ``"20 (2 × 10)"``."""
    if part.length is not None:
        count = tr_count(
            part.count,
            "{count} coil of {length}",
            "{count} coils of {length}",
            length=_each(part, system),
        )
    else:
        count = f"{part.count} m" if part.product.unit == "metre" else f"{part.count}"
    return f"{count} ({part.packs} × {part.product.pack})" if part.product.pack > 1 else count


def order_text(parts: PartsList, system: UnitSystem, title: str = "") -> str:
    """Return the parts list as plain text to copy into a letter.

    Parameters
    ----------
    parts : PartsList
        What to buy.
    system : {"us", "metric"}
        Units of the coil lengths.
    title : str
        First line; "" for "Parts".
    """
    lines = [title or tr("Parts")]
    group = ""
    for part in parts.parts:
        if part.group != group:
            group = part.group
            lines += ["", tr(group)]
        code = f" [{part.product.code}]" if part.product.code else ""
        price = "" if part.cost is None else f", {parts.currency} {part.cost:.2f}"
        lines.append(f"{part.number}. {_bought(part, system)}: {part.label}{code}{price}")
    lines += [
        "",
        tr("Total: {total}.", total=total_text(parts)),
        tr("Prices from: {catalogue}.", catalogue=parts.catalogue),
    ]
    return "\n".join(lines) + "\n"
