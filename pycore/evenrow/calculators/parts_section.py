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
from evenrow.design.parts import ALL_ZONES, CutList, Part, PartsList
from evenrow.units import UnitSystem, format_value

BOX = "☐"


def _group_table(group: str, parts: list[Part], currency: str) -> Table:
    return Table(
        name="parts_" + group.lower().replace(" ", "_"),
        title=group,
        columns=(
            Column(name="got", label="Got", kind="tick"),
            Column(name="number", label="No.", kind="count"),
            Column(name="count", label="Buy", kind="count"),
            Column(name="label", label="Part"),
            Column(name="length", label="Each", kind="length", digits=4),
            Column(name="needed", label="Cut from it", kind="length", digits=4),
            Column(name="price", label=f"Price ({currency})", kind="number"),
            Column(name="mass", label="Mass", kind="mass"),
            Column(name="rule", label="Why and how many", detail=True),
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
    stock = "" if part.product.stocked else " Not in stock."
    places = f" {where(part).capitalize()}." if where(part) else ""
    return (
        f"{amount(part).capitalize()}.{places} {part.rule}{stock} [{part.element}; {part.source}]"
    )


def _proof(plan: CuttingPlan, currency: str) -> str:
    joints = " without more joints" if plan.couplings else ""
    if plan.price is None:
        if plan.proven:
            return (
                f"No plan that buys as little has fewer coils{joints}; coils have no price in the "
                "catalogue."
            )
        return f"No plan{joints} can need fewer than {plan.bound:.0f} coils."
    if plan.proven:
        return f"No cheaper choice of coils exists{joints}."
    return f"No plan{joints} can cost less than {currency} {plan.bound:.2f}."


def _numbers(numbers: list[str]) -> str:
    """Return names in short: ``row 1–3, row 7``, ``header, zone 2``."""
    shown = []
    for prefix, group in groupby(numbers, key=lambda name: name.rpartition(" ")[0]):
        names = list(group)
        ends = [name.rpartition(" ")[2] for name in names]
        if prefix != "row" or not all(end.isdigit() for end in ends):
            shown += [f"{n} × {name}" if n > 1 else name for name, n in Counter(names).items()]
            continue
        rows = sorted({int(end) for end in ends})
        starts = [row for row in rows if row - 1 not in rows]
        stops = [row for row in rows if row + 1 not in rows]
        spans = (f"{a}–{b}" if b > a else f"{a}" for a, b in zip(starts, stops, strict=True))
        shown.append(("rows " if len(rows) > 1 else "row ") + ", ".join(spans))
    return "; ".join(shown)


def cuts_table(cuts: CutList, system: UnitSystem, currency: str) -> Table:
    """Return a cutting plan as a table: equal coils on one row, with what the cuts are for."""
    alike: dict[tuple[float, str, float], list[str]] = {}
    times = Counter[tuple[float, str, float]]()
    for coil in cuts.plan.coils:
        counted = Counter(format_value(length, "length", system, 4) for _, length in coil.pieces)
        words = ", ".join(f"{n} × {text}" for text, n in counted.items())
        key = (coil.length, words, round(coil.left, 4))
        times[key] += 1
        alike.setdefault(key, []).extend(cuts.names[number - 1] for number, _ in coil.pieces)
    return Table(
        name="cuts_" + cuts.title.partition(":")[0].lower().replace(" ", "_"),
        title=cuts.title,
        columns=(
            Column(name="coils", label="Coils", kind="count"),
            Column(name="length", label="Coil", kind="length", digits=4),
            Column(name="cuts", label="Cut"),
            Column(name="rows", label="For"),
            Column(name="left", label="Left over", kind="length"),
        ),
        rows=tuple(
            (times[key], key[0], key[1], _numbers(names), key[2]) for key, names in alike.items()
        ),
        note=_proof(cuts.plan, currency) + " What is left over is repair stock.",
    )


def _costs(parts: PartsList) -> tuple[Fact | Number | Table, ...]:
    rule = "Sum of all lines that have a price, packs and coils counted whole."
    facts = (
        Fact(
            name="parts_total",
            label="Price of all parts",
            text=total_text(parts),
            rule=rule,
            source=parts.catalogue,
        ),
        Number(
            name="parts_mass",
            label="Mass of all parts",
            value=parts.mass,
            kind="mass",
            rule="Sum of all lines whose mass is known.",
            source=parts.catalogue,
        ),
    )
    zones = Table(
        name="zone_prices",
        title="Price by zone",
        columns=(
            Column(name="zone", label="Zone"),
            Column(name="price", label=f"Price ({parts.currency})", kind="number"),
        ),
        rows=tuple(
            ("all zones" if zone == ALL_ZONES else f"zone {zone}", money(price))
            for zone, price in parts.by_zone.items()
        ),
        note="All zones share coils, main, head assembly, spares and what is left in packs.",
    )
    return (*facts, zones) if len(parts.by_zone) > 1 else facts


def _documents(parts: PartsList, system: UnitSystem) -> tuple[Document, ...]:
    return (
        Document(
            name="parts_order",
            title="Order as text",
            text=order_text(parts, system),
            filename="parts.txt",
            media_type="text/plain",
        ),
        Document(
            name="parts_csv",
            title="List for a spreadsheet",
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
        Section(title="Parts", items=(*tables, *_costs(parts), *_documents(parts, system))),
        Section(title="Cutting plan", items=plans),
    )
