"""Putting the head together, and the cautions that go with the source."""

from __future__ import annotations

from evenrow.agronomy.filtration import fineness
from evenrow.catalogue import Device
from evenrow.design.assembly import REASONS, TIMED
from evenrow.design.detail import MAIN_END
from evenrow.design.model import Design
from evenrow.units import format_value
from evenrow.words import said, tr

_DRINKING = said(
    "A system fed from drinking water needs the backflow preventer that your local "
    "code asks for; in many places a licensed person must fit or test it. With an "
    "injector for fertiliser or chemicals a higher class is asked for."
)

_STANDING = said(
    "A backflow preventer that stands under pressure all day, with valves behind "
    "it, or below the field, must be of a kind made for that. Ordinary hose and "
    "vacuum types are not: ask your water supplier which your code accepts."
)

_PUMP = (
    said(
        "Pump wiring near water can kill: leave it to a licensed electrician, behind a "
        "residual-current (ground-fault) breaker."
    ),
    said("Never run a pump against a shut valve for long: pressure and heat can burst the pipe."),
)

_CAUTIONS = {
    "hose-tap": (_DRINKING, _STANDING),
    "municipal": (_DRINKING, _STANDING),
    "pump": _PUMP,
    "pond-pump": _PUMP,
    "tank": (
        said(
            "A full tank is heavy: each 1,000 L weighs a tonne (265 gal, 2,200 lb). "
            "Stand it on a base made for it, braced against tipping, and covered "
            "against children and mosquitoes."
        ),
        said("Never join a rain tank to drinking-water pipes without an air gap."),
    ),
}

_INJECTION = (
    said(
        "Wear eye protection and gloves with fertiliser, acid or chlorine. Never let "
        "acid and chlorine meet, in a bucket or in the line: the gas can kill. Pour "
        "acid into water, never water into acid."
    ),
    said(
        "Follow the label, and your local code for the backflow preventer and for "
        "stopping the injector when the water stops."
    ),
)

_ALWAYS = (
    said("Release the pressure before you open a joint, a filter or an end cap."),
    said("Before you dig, have buried power, gas, water and data lines located."),
)


def cautions(source_kind: str, *, injection: bool = False) -> tuple[str, ...]:
    """Return the safety notes for a field on that kind of source.

    Parameters
    ----------
    source_kind : str
        As of `Field`: ``"hose-tap"``, ``"municipal"``, ``"pump"``, ``"pond-pump"``, ``"tank"``.
    injection : bool
        Whether fertiliser or chemicals are fed into the water.
    """
    notes = (*_CAUTIONS[source_kind], *(_INJECTION if injection else ()), *_ALWAYS)
    return tuple(tr(note) for note in notes)


def fineness_note(device: Device, source_kind: str) -> str:
    """Return what the emitters' narrowest passage asks of the filter, where that is much."""
    mesh, opening, enough = fineness(device.passage)
    if source_kind == "pond-pump":
        return tr(
            "Open water carries algae and silt: before you trust a screen or disc "
            "filter of {mesh} mesh alone, have the water looked at; it may need a "
            "media filter first.",
            mesh=mesh,
        )
    if enough:
        return ""
    return tr(
        "The emitters' narrowest passage is {passage:.2g} mm. Filters of {opening} "
        "µm ({mesh} mesh) are about the finest sold for drip: clean it often.",
        passage=device.passage * 1e3,
        opening=round(opening * 1e6),
        mesh=mesh,
    )


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"


def assembly_names(found: Design) -> tuple[str, ...]:
    """Return the parts of the head assembly in the order of the flow."""
    parts = [_capital(tr(part.label)) for part in found.candidate.assembly.parts]
    valve = found.candidate.valve
    if valve is not None:
        parts.append(
            tr("{valve}, one at the start of each header", valve=_capital(tr(valve.label)))
        )
    return tuple(parts)


def assembly_steps(found: Design) -> tuple[str, ...]:
    """Return the head assembly in the order of the flow, with what each part is for."""
    parts = [
        f"{_capital(tr(part.label))}: {tr(REASONS[part.kind])}."
        for part in found.candidate.assembly.parts
    ]
    valve = found.candidate.valve
    if valve is not None:
        parts.append(
            tr(
                "{valve}, one at the start of each header: it {waters}.",
                valve=_capital(tr(valve.label)),
                waters=tr(REASONS[valve.kind]),
            )
        )
    return tuple(parts)


def _bearing(found: Design) -> list[str]:
    """Return which pressures the parts of the head and the valves have to stand and to work at."""
    field, candidate = found.field, found.candidate

    def words(head: float) -> str:
        return format_value(head, "pressure", field.system)

    if field.source_kind == "tank":
        return []
    still, steps = words(field.source.shutoff_head), []
    if candidate.assembly.regulator is not None:
        steps.append(
            tr(
                "With the water shut behind them, all parts up to the regulator stand "
                "under {still}: take none that is made for less, the regulator itself "
                "included.",
                still=still,
            )
        )
    elif field.source_kind in TIMED:
        bears = words(field.line.device.emitter.head_max)
        steps.append(
            tr(
                "There is no regulator, because the {still} measured are no more than "
                "the line bears ({bears}). Read the gauge again at night, when "
                "supplies stand highest: if the line could see more, a regulator "
                "belongs behind the filter.",
                still=still,
                bears=bears,
            )
        )
    if candidate.valve is not None:
        least = min(
            station.head
            for zone in found.zones
            for station in zone.stations
            if station.name == MAIN_END
        )
        steps.append(
            tr(
                "The zone valves work on as little as {least}: take ones whose sheet "
                "says that they open and shut from there. Many are made for more, and "
                "then stay open or shut.",
                least=words(least),
            )
        )
    return steps


def joining_steps(found: Design) -> tuple[str, ...]:
    """Return how the parts of the head are joined (common practice, no source)."""
    kinds = {part.kind for part in found.candidate.assembly.parts}
    tank = found.field.source_kind == "tank"
    hose = any("hose" in part.label for part in found.candidate.assembly.parts)
    steps = [
        tr(
            "Lay the parts out in this order first. Every arrow on a part points the "
            "way the water goes, from the source to the field."
        )
    ]
    steps.append(
        tr(
            "A hose thread seals by the washer in its swivel, without tape. Wrap other "
            "male threads three times with thread tape, the way the nut turns."
        )
        if hose
        else tr("Wrap male threads three times with thread tape, the way the nut turns.")
    )
    steps.append(
        tr(
            "Turn plastic threads hand-tight, then at most a quarter turn more: a "
            "wrench cracks them."
        )
    )
    if any("filter" in kind for kind in kinds):
        port = tr("a stub for a clear tube") if tank else tr("a gauge port")
        steps.append(
            tr(
                "Fit a tee with {port} on either side of the filter and one behind the "
                "regulator: without them nobody can see when the filter is dirty.",
                port=port,
            )
            if "regulator" in kinds
            else tr(
                "Fit a tee with {port} on either side of the filter: without them nobody can "
                "see when the filter is dirty.",
                port=port,
            )
        )
        steps.append(
            tr(
                "Leave room to take out the filter's screen or discs, and hold the "
                "head on a post or wall bracket: the source's thread is not made to "
                "carry it."
            )
        )
    steps += _bearing(found)
    if found.field.injection:
        steps.append(
            tr(
                "Set the injector behind the backflow preventer, never before it, and "
                "its tank where a spill cannot reach well, pond or drain. Read the "
                "cautions before you fill it."
            )
        )
    if tank:
        steps.append(
            tr("Shut the tank's valve before you fill the tank, and open it slowly the first time.")
        )
    else:
        steps.append(tr("Open the water slowly the first time and look at each joint for drips."))
    return tuple(steps)
