"""The limits of a design, and which of them a solved zone breaks."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.design.field import Field
from evenrow.design.model import Candidate, Shortfall, ZoneFlow, ZoneState
from evenrow.units import format_value

#: Relative slack of limits: rounding, not water.
SLACK = 1e-9
#: Name of the limit that the source is.
FLOW = "flow of the source"


def shortfalls(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> list[Shortfall]:
    """Return the limits that a solved candidate breaks, the worst zone of each.

    Each says in words which limit, where and by how much, and what may cure it.
    """
    return [short for check in _CHECKS if (short := check(field, candidate, zones)) is not None]


def _words(field: Field, value: float, quantity: str) -> str:
    return format_value(value, quantity, field.system)


def source_shortfall(field: Field, candidate: Candidate, zone: ZoneFlow) -> Shortfall | None:
    """Return what the source or its regulator cannot do for a zone, or None."""
    regulated = candidate.assembly.set_head is not None
    words = None
    if zone.usable is not None and zone.flow > zone.usable * (1 + SLACK):
        at = " at the pressure the regulator needs" if regulated else ""
        words = (
            f"zone {zone.layout.number} takes {_words(field, zone.flow, 'flow')} and the source "
            f"can give {_words(field, zone.usable, 'flow')}{at}"
        )
    elif zone.beyond_source:
        words = f"zone {zone.layout.number} asks for more than the source's curve reaches to"
    elif regulated and zone.regulator_state != "regulating":
        words = f"the regulator of zone {zone.layout.number} is {zone.regulator_state}"
    if words is None:
        return None
    return Shortfall(limit=FLOW, text=words, cure="zones")


def _source(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = max(zones, key=lambda z: z.flow / max(z.usable, 1e-12) if z.usable is not None else 0.0)
    return source_shortfall(field, candidate, zone)


def _uniformity(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = min(zones, key=lambda z: z.eu)
    if zone.eu >= field.eu * (1 - SLACK):
        return None
    return Shortfall(
        limit="emission uniformity",
        text=f"zone {zone.layout.number} reaches an emission uniformity of {zone.eu:.1%}, "
        f"below the {field.eu:.0%} wanted",
        cure="header",
    )


def _lowest(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = min(zones, key=lambda z: z.emitter_head_min)
    bound = field.line.device.emitter.head_min
    if zone.emitter_head_min >= bound * (1 - SLACK):
        return None
    return Shortfall(
        limit="lowest pressure of the line",
        text=f"the lowest pressure of zone {zone.layout.number} is "
        f"{_words(field, zone.emitter_head_min, 'pressure')}, below the "
        f"{_words(field, bound, 'pressure')} that the line needs",
        cure="main",
    )


def _highest(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = max(zones, key=lambda z: max(z.emitter_head_max, z.static_head_max))
    highest = max(zone.emitter_head_max, zone.static_head_max)
    bound = field.line.device.emitter.head_max
    if highest <= bound * (1 + SLACK):
        return None
    return Shortfall(
        limit="highest pressure of the line",
        text=f"the highest pressure of zone {zone.layout.number} is "
        f"{_words(field, highest, 'pressure')}, above the "
        f"{_words(field, bound, 'pressure')} that the line bears",
        cure="",
    )


def _velocity(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    for cure in ("header", "main"):
        velocity = max(getattr(zone, f"{cure}_velocity") for zone in zones)
        if velocity > field.velocity * (1 + SLACK):
            return Shortfall(
                limit=f"velocity in the {cure}",
                text=f"the water runs at {_words(field, velocity, 'velocity')} in the {cure}, "
                f"above the {_words(field, field.velocity, 'velocity')} allowed",
                cure=cure,
            )
    return None


_CHECKS = (_source, _highest, _lowest, _uniformity, _velocity)
