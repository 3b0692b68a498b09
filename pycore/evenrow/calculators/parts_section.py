"""The parts list and its cutting plans as sections of a result."""

from __future__ import annotations

from collections import Counter
from itertools import groupby

from evenrow.calculators.parts_text import (
    amount,
    money,
    order_text,
    parts_csv,
    total_text,
    where,
)
from evenrow.calculators.result import (
    Column,
    Document,
    Fact,
    Number,
    RowMark,
    Section,
    Table,
)
from evenrow.design.cutting import CuttingPlan
from evenrow.design.parts import ALL_ZONES, CutFor, CutList, Part, PartsList
from evenrow.units import UnitSystem, format_value
from evenrow.words import tr

BOX = "☐"


def _group_table(group: str, parts: list[Part], currency: str) -> Table:
    return Table(
        name="parts_" + group.lower().replace(" ", "_"),
        title=tr(group),
        columns=(
            Column(name="got", label=tr("Got"), kind="tick"),
            Column(name="number", label=tr("No."), kind="count"),
            Column(name="count", label=tr("Buy"), kind="count"),
            Column(name="label", label=tr("Part")),
            Column(name="length", label=tr("Each"), kind="length", digits=4),
            Column(name="needed", label=tr("Cut from it"), kind="length", digits=4),
            Column(name="price", label=tr("Price ({currency})", currency=currency), kind="number"),
            Column(name="mass", label=tr("Mass"), kind="mass"),
            Column(name="rule", label=tr("Why and how many"), detail=True),
        ),
        rows=tuple(
            (
                BOX,
                part.number,
                part.count,
                part.label + (f" ({amount(part)})" if part.product.pack > 1 else ""),
                part.length,
                part.cut,
                money(part.cost),
                part.mass,
                _why(part),
            )
            for part in parts
        ),
        marks=tuple(RowMark(part=part.number) for part in parts),
    )


def _why(part: Part) -> str:
    sentences = [f"{amount(part).capitalize()}."]
    if where(part):
        sentences.append(f"{where(part).capitalize()}.")
    sentences.append(part.rule)
    if not part.product.stocked:
        sentences.append(tr("Not in stock."))
    return f"{' '.join(sentences)} [{part.element}; {part.source}]"


def _proof(plan: CuttingPlan, currency: str) -> str:
    joints = bool(plan.couplings)
    if plan.price is None:
        if plan.proven:
            return (
                tr(
                    "No plan that buys as little has fewer coils without more joints; "
                    "coils have no price in the catalogue."
                )
                if joints
                else tr(
                    "No plan that buys as little has fewer coils; coils have no price "
                    "in the catalogue."
                )
            )
        return tr(
            "No plan without more joints can need fewer than {bound:.0f} coils."
            if joints
            else "No plan can need fewer than {bound:.0f} coils.",
            bound=plan.bound,
        )
    if plan.proven:
        return (
            tr("No cheaper choice of coils exists without more joints.")
            if joints
            else tr("No cheaper choice of coils exists.")
        )
    return tr(
        "No plan without more joints can cost less than {currency} {bound:.2f}."
        if joints
        else "No plan can cost less than {currency} {bound:.2f}.",
        currency=currency,
        bound=plan.bound,
    )


def _names(pieces: list[CutFor]) -> str:
    """Return what pieces are for, in short: ``rows 1–3, 7``, ``2 × header, zone 2``."""
    shown = []
    for what, group in groupby(pieces, key=lambda piece: piece.what):
        numbers = Counter(piece.number for piece in group)
        if what != "row":
            names = (
                (tr("main") if what == "main" else tr("header, zone {zone}", zone=number), n)
                for number, n in numbers.items()
            )
            shown += [f"{n} × {name}" if n > 1 else name for name, n in names]
            continue
        rows = sorted(numbers)
        starts = [row for row in rows if row - 1 not in numbers]
        stops = [row for row in rows if row + 1 not in numbers]
        spans = (f"{a}–{b}" if b > a else f"{a}" for a, b in zip(starts, stops, strict=True))
        listed = ", ".join(spans)
        shown.append(
            tr("rows {rows}", rows=listed) if len(rows) > 1 else tr("row {row}", row=listed)
        )
    return "; ".join(shown)


def cuts_table(cuts: CutList, system: UnitSystem, currency: str) -> Table:
    """Return a cutting plan as a table: equal coils on one row, with what the cuts are for."""
    alike: dict[tuple[float, str, float], list[CutFor]] = {}
    times = Counter[tuple[float, str, float]]()
    for coil in cuts.plan.coils:
        counted = Counter(format_value(length, "length", system, 4) for _, length in coil.pieces)
        words = ", ".join(f"{n} × {text}" for text, n in counted.items())
        key = (coil.length, words, round(coil.left, 4))
        times[key] += 1
        alike.setdefault(key, []).extend(cuts.names[number - 1] for number, _ in coil.pieces)
    return Table(
        name=cuts.name,
        title=cuts.title,
        columns=(
            Column(name="coils", label=tr("Coils"), kind="count"),
            Column(name="length", label=tr("Coil"), kind="length", digits=4),
            Column(name="cuts", label=tr("Cut")),
            Column(name="rows", label=tr("For")),
            Column(name="left", label=tr("Left over"), kind="length"),
        ),
        rows=tuple(
            (times[key], key[0], key[1], _names(names), key[2]) for key, names in alike.items()
        ),
        note=f"{_proof(cuts.plan, currency)} {tr('What is left over is repair stock.')}",
    )


def _costs(parts: PartsList) -> tuple[Fact | Number | Table, ...]:
    rule = tr("Sum of all lines that have a price, packs and coils counted whole.")
    facts = (
        Fact(
            name="parts_total",
            label=tr("Price of all parts"),
            text=total_text(parts),
            rule=rule,
            source=parts.catalogue,
        ),
        Number(
            name="parts_mass",
            label=tr("Mass of all parts"),
            value=parts.mass,
            kind="mass",
            rule=tr("Sum of all lines whose mass is known."),
            source=parts.catalogue,
        ),
    )
    zones = Table(
        name="zone_prices",
        title=tr("Price by zone"),
        columns=(
            Column(name="zone", label=tr("Zone")),
            Column(
                name="price", label=tr("Price ({currency})", currency=parts.currency), kind="number"
            ),
        ),
        rows=tuple(
            (tr("all zones") if zone == ALL_ZONES else tr("zone {zone}", zone=zone), money(price))
            for zone, price in parts.by_zone.items()
        ),
        note=tr("All zones share coils, main, head assembly, spares and what is left in packs."),
    )
    return (*facts, zones) if len(parts.by_zone) > 1 else facts


def _documents(parts: PartsList, system: UnitSystem) -> tuple[Document, ...]:
    return (
        Document(
            name="parts_order",
            title=tr("Order as text"),
            text=order_text(parts, system),
            filename="parts.txt",
            media_type="text/plain",
        ),
        Document(
            name="parts_csv",
            title=tr("List for a spreadsheet"),
            text=parts_csv(parts, system),
            filename="parts.csv",
            media_type="text/csv",
        ),
    )


def parts_sections(parts: PartsList, system: UnitSystem) -> tuple[Section, ...]:
    """Return the list by group with its price and its files, then the cutting plans."""
    groups: dict[str, list[Part]] = {}
    for part in parts.parts:
        groups.setdefault(part.group, []).append(part)
    tables = tuple(_group_table(g, p, parts.currency) for g, p in groups.items())
    plans = tuple(cuts_table(cuts, system, parts.currency) for cuts in parts.cuts)
    return (
        Section(title=tr("Parts"), items=(*tables, *_costs(parts), *_documents(parts, system))),
        Section(title=tr("Cutting plan"), items=plans),
    )
