"""Which limit chose each pipe of a design, in words."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.catalogue import PipeSize, pipes
from evenrow.design.field import Field
from evenrow.design.model import Candidate, ZoneState
from evenrow.units import format_value


def header_reason(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> str:
    """Return which limit chose the header pipe.

    Parameters
    ----------
    field : Field
        What the user has.
    candidate : Candidate
        The way it is built.
    zones : sequence of ZoneState
        Its zones as solved.
    """
    velocity = max(zone.header_velocity for zone in zones)
    return _reason(field, candidate, "header", velocity)


def main_reason(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> str:
    """Return which limit chose the main; arguments as of `header_reason`."""
    return _reason(field, candidate, "main", max(zone.main_velocity for zone in zones))


def _steps(candidate: Candidate, pipe: str) -> list[tuple[PipeSize, str]]:
    return [(step.before, step.why) for step in candidate.grown if step.pipe == pipe]


def _reason(field: Field, candidate: Candidate, pipe: str, velocity: float) -> str:
    """Say by what a pipe grew, or what the next smaller one would break."""
    steps = _steps(candidate, pipe)
    if steps:
        before, why = steps[-1]
        more = "" if len(steps) == 1 else f", in {len(steps)} steps from {steps[0][0].label}"
        return f"Grown{more}, because with {before.label} {why}."
    size = candidate.header if pipe == "header" else candidate.main
    if size == (field.least_header if pipe == "header" else field.least_main):
        return (
            f"As asked for; the water runs at {_speed(field, velocity)} in it, "
            f"{_speed(field, field.velocity)} is allowed."
        )
    flow = format_value(velocity * size.area, "flow", field.system)
    runs = f"At {flow} the water runs at {_speed(field, velocity)}"
    supply = field.supply(candidate.assembly.set_head)
    smaller = [p for p in pipes().values() if p.bore < size.bore]
    weak = [p for p in smaller if p.head_max < supply]
    strong = [p for p in smaller if p.head_max >= supply]
    if strong:
        before = strong[-1]
        faster = velocity * size.area / before.area
        if faster > field.velocity:
            return (
                f"Chosen by velocity: {_lower(runs)}; in {before.label} it would be "
                f"{_speed(field, faster)}, and {_speed(field, field.velocity)} is allowed."
            )
        return (
            f"Chosen by velocity, at the flow that was expected before the zone was solved. {runs}."
        )
    why = "The smallest pipe of the catalogue"
    if weak:
        why += f" that bears the {format_value(supply, 'pressure', field.system)} of the supply"
    return f"{why} is enough. {runs}, {_speed(field, field.velocity)} is allowed."


def _lower(text: str) -> str:
    return f"{text[0].lower()}{text[1:]}"


def _speed(field: Field, velocity: float) -> str:
    return format_value(velocity, "velocity", field.system)
