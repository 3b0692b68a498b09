"""From an entry of the catalogue to what is bought; what the catalogue lacks has no price."""

from __future__ import annotations

from evenrow.catalogue import AssemblyPart, Device, PipeSize, controller, fitting
from evenrow.design.parts.model import Product
from evenrow.errors import InputError


def of_fitting(kind: str, fits: str = "", to: str = "", *, name: str = "") -> Product:
    """Return the fitting of that kind, or one named `name` without a price if there is none."""
    try:
        found = fitting(kind, fits, to)
    except InputError:
        label = f"{kind} for {name or fits}" if name or fits else kind
        return Product(code="", kind=kind, label=label)
    return Product(
        code=found.code,
        kind=kind,
        label=found.label,
        price=found.price,
        mass=found.mass,
        pack=found.pack,
        unit=found.unit,
        stocked=found.stocked,
    )


def of_controller(zones: int) -> Product:
    """Return the smallest controller for that many zone valves."""
    try:
        found = controller(zones)
    except InputError:
        label = f"controller for {zones} zone valves"
        return Product(code="", kind="controller", label=label)
    return Product(
        code=found.code,
        kind=found.kind,
        label=found.label,
        price=found.price,
        mass=found.mass,
        stocked=found.stocked,
    )


def of_part(part: AssemblyPart, more: str = "") -> Product:
    """Return a part of the head assembly or a valve; `more` is put behind its label."""
    return Product(
        code=part.code,
        kind=part.kind,
        label=part.label + more,
        price=part.price,
        mass=part.mass,
    )


def of_coil(entry: Device | PipeSize, length: float) -> Product:
    """Return a coil of a line or pipe in one of the lengths on sale [m]."""
    place = entry.coils.index(length)
    return Product(
        code=entry.code,
        kind="coil",
        label=entry.label,
        price=entry.prices[place] if entry.prices else None,
        mass=None if entry.mass is None else entry.mass * length,
        length=length,
    )
