"""The limits of a design, and which of them a solved zone breaks."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.design.apart import apart
from evenrow.design.field import Field
from evenrow.design.model import Candidate, Shortfall, ZoneFlow, ZoneState
from evenrow.design.ratings import ratings
from evenrow.units import format_value
from evenrow.words import said, tr

#: Relative slack of limits: rounding, not water.
SLACK = 1e-9
#: Name of the limit that the source is.
FLOW = "flow of the source"
#: Name of the limit of what head parts and valves bear.
RATING = said("highest pressure of the parts")
#: Name of the limit of what zone valves need.
VALVE = said("lowest pressure of the zone valves")
_VELOCITY = {"header": "velocity in the header", "main": "velocity in the main"}
#: What a regulator does; `hydraulics.network` names the states.
REGULATOR_STATES = {
    "regulating": said("regulating"),
    "none": said("not there"),
    "open": said("open"),
    "below range": said("below range"),
    "above range": said("above range"),
}


def shortfalls(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> list[Shortfall]:
    """Return the limits that a solved candidate breaks, the worst zone of each.

    Each says in words which limit, where and by how much, and what may cure it.
    """
    return [short for check in _CHECKS if (short := check(field, candidate, zones)) is not None]


def source_shortfall(field: Field, candidate: Candidate, zone: ZoneFlow) -> Shortfall | None:
    """Return what the source or its regulator cannot do for a zone, or None."""
    regulated = candidate.assembly.set_head is not None
    words = None
    if zone.usable is not None and zone.flow > zone.usable * (1 + SLACK):
        sentence = (
            said(
                "zone {number} takes {flow} and the source can give {usable} at the pressure the "
                "regulator needs"
            )
            if regulated
            else said("zone {number} takes {flow} and the source can give {usable}")
        )
        flow, usable = apart(zone.flow, zone.usable, "flow", field.system)
        words = tr(sentence, number=zone.layout.number, flow=flow, usable=usable)
    elif zone.beyond_source:
        words = tr(
            "zone {number} asks for more than the source's curve reaches to",
            number=zone.layout.number,
        )
    elif regulated and zone.regulator_state != "regulating":
        words = tr(
            "the regulator of zone {number} is {state}",
            number=zone.layout.number,
            state=tr(REGULATOR_STATES.get(zone.regulator_state, zone.regulator_state)),
        )
    elif regulated and _thin(candidate, zone):
        wanted = _wanted(candidate)
        above = wanted - (candidate.assembly.set_head or 0.0)
        head, bound = apart(zone.regulator_head, wanted, "pressure", field.system)
        words = tr(
            "the regulator of zone {number} has {head} before it and wants {wanted}, {margin} more "
            "than it holds",
            number=zone.layout.number,
            head=head,
            wanted=bound,
            margin=format_value(above, "pressure", field.system),
        )
    if words is None:
        return None
    return Shortfall(limit=FLOW, text=words, cure="zones")


def _wanted(candidate: Candidate) -> float:
    """Return the head that the regulator wants before it [m], 0 where there is none."""
    regulator = candidate.assembly.regulator
    return 0.0 if regulator is None else (regulator.set_head or 0.0) + regulator.margin


def _thin(candidate: Candidate, zone: ZoneFlow) -> bool:
    """Return whether the regulator of a zone has less before it than it wants."""
    return zone.regulator_head < _wanted(candidate) * (1 - SLACK)


def _source(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = max(zones, key=lambda z: z.flow / max(z.usable, 1e-12) if z.usable is not None else 0.0)
    return source_shortfall(field, candidate, zone)


def _uniformity(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = min(zones, key=lambda z: z.eu)
    if zone.eu >= field.eu * (1 - SLACK):
        return None
    eu, wanted = apart(zone.eu, field.eu, "share", field.system)
    return Shortfall(
        limit="emission uniformity",
        text=tr(
            "zone {number} reaches an emission uniformity of {eu}, below the {wanted} wanted",
            number=zone.layout.number,
            eu=eu,
            wanted=wanted,
        ),
        cure="header",
    )


def _lowest(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = min(zones, key=lambda z: z.emitter_head_min)
    bound = field.line.device.emitter.head_min
    if zone.emitter_head_min >= bound * (1 - SLACK):
        return None
    low, least = apart(zone.emitter_head_min, bound, "pressure", field.system)
    return Shortfall(
        limit="lowest pressure of the line",
        text=tr(
            "the lowest pressure of zone {number} is {lowest}, below the {bound} that the line "
            "needs",
            number=zone.layout.number,
            lowest=low,
            bound=least,
        ),
        cure="main",
    )


def _highest(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    zone = max(zones, key=lambda z: max(z.emitter_head_max, z.static_head_max))
    highest = max(zone.emitter_head_max, zone.static_head_max)
    bound = field.line.device.emitter.head_max
    if highest <= bound * (1 + SLACK):
        return None
    high, most = apart(highest, bound, "pressure", field.system)
    return Shortfall(
        limit="highest pressure of the line",
        text=tr(
            "the highest pressure of zone {number} is {highest}, above the {bound} "
            "that the line bears",
            number=zone.layout.number,
            highest=high,
            bound=most,
        ),
        cure="",
    )


def _velocity(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    for cure in _VELOCITY:
        velocity = max(getattr(zone, f"{cure}_velocity") for zone in zones)
        if velocity > field.velocity * (1 + SLACK):
            speed, allowed = apart(velocity, field.velocity, "velocity", field.system)
            return Shortfall(
                limit=_VELOCITY[cure],
                text=tr(
                    "the water runs at {velocity} in the header, above the {allowed} allowed"
                    if cure == "header"
                    else "the water runs at {velocity} in the main, above the {allowed} allowed",
                    velocity=speed,
                    allowed=allowed,
                ),
                cure=cure,
            )
    return None


def _rating(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    for part in ratings(field, candidate):
        if part.bears is not None and part.standing > part.bears * (1 + SLACK):
            head, bound = apart(part.standing, part.bears, "pressure", field.system)
            return Shortfall(
                limit=RATING,
                text=tr(
                    "with the water standing still the {part} sees {head}, above the {bound} that "
                    "it bears",
                    part=tr(part.label),
                    head=head,
                    bound=bound,
                ),
                cure="",
            )
    return None


def _valve(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> Shortfall | None:
    valve = candidate.valve
    if valve is None:
        return None
    zone = min(zones, key=lambda z: z.valve_head)
    if zone.valve_head >= valve.head_min * (1 - SLACK):
        return None
    head, bound = apart(zone.valve_head, valve.head_min, "pressure", field.system)
    return Shortfall(
        limit=VALVE,
        text=tr(
            "the valve of zone {number} sees {head} while its zone runs, below the {bound} that it "
            "needs to open and close",
            number=zone.layout.number,
            head=head,
            bound=bound,
        ),
        cure="main",
    )


_CHECKS = (_source, _rating, _highest, _valve, _lowest, _uniformity, _velocity)
