"""From an entry of the catalogue to what is bought; what the catalogue lacks has no price."""

from __future__ import annotations

from evenrow.catalogue import AssemblyPart, Device, PipeSize, controller, fitting
from evenrow.design.parts.model import Product
from evenrow.errors import InputError
from evenrow.words import said, tr

#: Trade names of the kinds, for what the catalogue lacks.
_NAMES = {
    "take-off": said("take-off"),
    "take-off with valve": said("take-off with valve"),
    "end cap": said("end cap"),
    "coupling": said("coupling"),
    "repair piece": said("repair piece"),
    "stake": said("stake"),
    "hole plug": said("hole plug"),
    "tee": said("tee"),
    "elbow": said("elbow"),
    "reducer": said("reducer"),
    "clamp": said("clamp"),
    "flush valve": said("flush valve"),
    "thread adapter": said("thread adapter"),
    "elbow thread adapter": said("elbow thread adapter"),
    "thread seal tape": said("thread seal tape"),
    "filter element": said("filter element"),
    "valve wire": said("valve wire"),
    "wire joint": said("wire joint"),
}


def of_fitting(kind: str, fits: str = "", to: str = "", *, name: str = "") -> Product:
    """Return the fitting of that kind, or one named `name` without a price if there is none."""
    try:
        found = fitting(kind, fits, to)
    except InputError:
        known, what = tr(_NAMES.get(kind, kind)), tr(name) or fits
        label = tr("{kind} for {what}", kind=known, what=what) if what else known
        return Product(code="", kind=kind, label=label)
    return Product(
        code=found.code,
        kind=kind,
        label=tr(found.label),
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
        label = tr("controller for {zones} zone valves", zones=zones)
        return Product(code="", kind="controller", label=label)
    return Product(
        code=found.code,
        kind=found.kind,
        label=tr(found.label),
        price=found.price,
        mass=found.mass,
        stocked=found.stocked,
    )


def of_part(part: AssemblyPart) -> Product:
    """Return a part of the head assembly or a valve."""
    return Product(
        code=part.code,
        kind=part.kind,
        label=tr(part.label),
        price=part.price,
        mass=part.mass,
    )


def of_coil(entry: Device | PipeSize, length: float) -> Product:
    """Return a coil of a line or pipe in one of the lengths on sale [m]."""
    place = entry.coils.index(length)
    return Product(
        code=entry.code,
        kind="coil",
        label=tr(entry.label),
        price=entry.prices[place] if entry.prices else None,
        mass=None if entry.mass is None else entry.mass * length,
        length=length,
    )
