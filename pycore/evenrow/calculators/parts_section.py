"""The parts list and its cutting plans as sections of a result."""

from __future__ import annotations

from collections import Counter

from evenrow.calculators.result import Column, Section, Table
from evenrow.design.cutting import CuttingPlan
from evenrow.design.parts import Part, PartsList
from evenrow.units import UnitSystem, format_value

_COLUMNS = (
    Column(name="count", label="Buy", kind="count"),
    Column(name="label", label="Part"),
    Column(name="length", label="Each", kind="length"),
    Column(name="needed", label="Needed", kind="length"),
    Column(name="rule", label="Why and how many", detail=True),
)


def _group_table(group: str, parts: list[Part]) -> Table:
    return Table(
        name="parts_" + group.lower().replace(" ", "_"),
        title=group,
        columns=_COLUMNS,
        rows=tuple(
            (p.count, p.label, p.length, p.needed, f"{p.rule} [{p.element}; {p.source}]")
            for p in parts
        ),
    )


def cuts_table(name: str, title: str, plan: CuttingPlan, system: UnitSystem) -> Table:
    """Return a cutting plan as a table: equal coils on one row."""

    def words(pieces: tuple[tuple[int, float], ...]) -> str:
        counted = Counter(format_value(length, "length", system, 4) for _, length in pieces)
        return ", ".join(f"{n} × {text}" for text, n in counted.items())

    alike = Counter((words(coil.pieces), round(coil.left, 4)) for coil in plan.coils)
    proof = (
        "No plan with fewer coils of this length exists without more joints."
        if plan.proven
        else f"No plan without more joints can need fewer than {plan.bound} coils of this length."
    )
    return Table(
        name=name,
        title=title,
        columns=(
            Column(name="coils", label="Coils", kind="count"),
            Column(name="length", label="Coil", kind="length"),
            Column(name="cuts", label="Cut"),
            Column(name="left", label="Left over", kind="length"),
        ),
        rows=tuple((count, plan.coil_length, cuts, left) for (cuts, left), count in alike.items()),
        note=proof + " What is left over is repair stock.",
    )


def parts_sections(parts: PartsList, system: UnitSystem) -> tuple[Section, ...]:
    """Return the list by group, then the cutting plans."""
    groups: dict[str, list[Part]] = {}
    for part in parts.parts:
        groups.setdefault(part.group, []).append(part)
    plans = [cuts_table("cuts_line", "Line", parts.line_plan, system)]
    plans += [
        cuts_table("cuts_" + what.replace(" ", "_"), what.capitalize(), plan, system)
        for what, plan in parts.pipe_plans
    ]
    return (
        Section(title="Parts", items=tuple(_group_table(g, p) for g, p in groups.items())),
        Section(title="Cutting plan", items=tuple(plans)),
    )
