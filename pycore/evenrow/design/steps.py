"""What to do, in order: put the head together, flush, close the ends; and the cautions."""

from __future__ import annotations

from evenrow.catalogue import Device
from evenrow.design.assembly import REASONS, fineness
from evenrow.design.model import Design

_DRINKING = (
    "A system fed from drinking water needs the backflow preventer that your local code asks "
    "for; in many places a licensed person must fit or test it. With an injector for "
    "fertiliser or chemicals a higher class is asked for."
)

_STANDING = (
    "A backflow preventer that stands under pressure all day, with valves behind it, or below "
    "the field, must be of a kind made for that. Ordinary hose and vacuum types are not: ask "
    "your water supplier which your code accepts."
)

_PUMP = (
    "Pump wiring near water can kill: leave it to a licensed electrician, behind a "
    "residual-current (ground-fault) breaker.",
    "Never run a pump against a shut valve for long: pressure and heat can burst the pipe.",
)

_CAUTIONS = {
    "hose-tap": (_DRINKING, _STANDING),
    "municipal": (_DRINKING, _STANDING),
    "pump": _PUMP,
    "pond-pump": _PUMP,
    "tank": (
        "A full tank is heavy: each 1,000 L weighs a tonne (265 gal, 2,200 lb). Stand it on a "
        "base made for it, braced against tipping, and covered against children and mosquitoes.",
        "Never join a rain tank to drinking-water pipes without an air gap.",
    ),
}

_ALWAYS = (
    "Release the pressure before you open a joint, a filter or an end cap.",
    "Before you dig, have buried power, gas, water and data lines located.",
)


def cautions(source_kind: str) -> tuple[str, ...]:
    """Return the safety notes for a field on that kind of source."""
    return (*_CAUTIONS[source_kind], *_ALWAYS)


def fineness_note(device: Device, source_kind: str) -> str:
    """Return what the emitters' narrowest passage asks of the filter, where that is much."""
    mesh, opening, enough = fineness(device.passage)
    if source_kind == "pond-pump":
        return (
            f"Open water carries algae and silt: before you trust a screen or disc filter of "
            f"{mesh} mesh alone, have the water looked at; it may need a media filter first."
        )
    if enough:
        return ""
    return (
        f"The emitters' narrowest passage is {device.passage * 1e3:.2g} mm. Filters of "
        f"{round(opening * 1e6)} µm ({mesh} mesh) are about the finest sold for drip: clean it "
        "often."
    )


def assembly_steps(found: Design) -> tuple[str, ...]:
    """Return the head assembly in the order of the flow, with what each part is for."""
    parts = [
        f"{part.label[0].upper()}{part.label[1:]}: {REASONS[part.kind]}."
        for part in found.candidate.assembly.parts
    ]
    valve = found.candidate.valve
    if valve is not None:
        parts.append(
            f"{valve.label[0].upper()}{valve.label[1:]}, one at the start of each header: it "
            f"{REASONS[valve.kind]}."
        )
    return tuple(parts)


def flushing_steps(found: Design) -> tuple[str, ...]:
    """Return the order of flushing and re-capping for this design.

    Closing the ends nearest the source first, where not every end runs, is common
    practice (no source).
    """
    zones = len(found.zones)
    each = "Do this zone by zone. " if zones > 1 else ""
    kind = found.field.line.device.kind
    return (
        "Flush the main first: open it at its far end, let it run clear, close it.",
        f"{each}Flush the header through its open end before the lines are joined to it, "
        "then cap it.",
        f"Join the {kind} with every end open and let each end run clear for a minute.",
        "If not every end runs, close the ends nearest the source first and go outwards: "
        "the water then reaches the next ones.",
        "Close the remaining ends, the farthest last.",
        "Walk every line: no hiss, no wet spot at a joint, every emitter dripping.",
        "Measure flow and pressures and compare them with the table of what you should measure.",
        "Clean the filter: the first hours bring the dirt of building.",
    )
