"""Which limit chose each pipe of a design, in words."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.catalogue import PipeSize, pipes
from evenrow.design.field import Field
from evenrow.design.model import Candidate, ZoneState
from evenrow.units import format_value
from evenrow.words import tr


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
        if len(steps) == 1:
            return tr("Grown, because with {pipe} {why}.", pipe=tr(before.label), why=why)
        return tr(
            "Grown, in {steps} steps from {first}, because with {pipe} {why}.",
            steps=len(steps),
            first=tr(steps[0][0].label),
            pipe=tr(before.label),
            why=why,
        )
    size = candidate.header if pipe == "header" else candidate.main
    if size == (field.least_header if pipe == "header" else field.least_main):
        return tr(
            "As asked for; the water runs at {velocity} in it, {allowed} is allowed.",
            velocity=_speed(field, velocity),
            allowed=_speed(field, field.velocity),
        )
    flow = format_value(velocity * size.area, "flow", field.system)
    speed, allowed = _speed(field, velocity), _speed(field, field.velocity)
    supply = field.standing(candidate.assembly.set_head)
    smaller = [p for p in pipes().values() if p.bore < size.bore]
    weak = [p for p in smaller if p.working_max < supply]
    strong = [p for p in smaller if p.working_max >= supply]
    if strong:
        before = strong[-1]
        faster = velocity * size.area / before.area
        if faster > field.velocity:
            return tr(
                "Chosen by velocity: at {flow} the water runs at {speed}; in {pipe} it would be "
                "{faster}, and {allowed} is allowed.",
                flow=flow,
                speed=speed,
                pipe=tr(before.label),
                faster=_speed(field, faster),
                allowed=allowed,
            )
        return tr(
            "Chosen by velocity, at the flow that was expected before the zone was solved. At "
            "{flow} the water runs at {speed}.",
            flow=flow,
            speed=speed,
        )
    if weak:
        return tr(
            "The smallest pipe of the catalogue that bears the {pressure} of the supply is enough. "
            "At {flow} the water runs at {speed}, {allowed} is allowed.",
            pressure=format_value(supply, "pressure", field.system),
            flow=flow,
            speed=speed,
            allowed=allowed,
        )
    return tr(
        "The smallest pipe of the catalogue is enough. At {flow} the water runs at {speed}, "
        "{allowed} is allowed.",
        flow=flow,
        speed=speed,
        allowed=allowed,
    )


def _speed(field: Field, velocity: float) -> str:
    return format_value(velocity, "velocity", field.system)
