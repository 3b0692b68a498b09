"""The head assembly: which parts, in which order, in which size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evenrow.catalogue import AssemblyPart, assembly_parts
from evenrow.errors import ImpossibleError
from evenrow.hydraulics.assembly import LossComponent, Regulator

#: Kinds of part by kind of source, in the order of the flow.
ORDER = {
    "hose-tap": ("timer", "backflow preventer", "filter", "regulator", "adapter"),
    "municipal": ("timer", "backflow preventer", "filter", "regulator", "adapter"),
    "pump": ("check valve", "filter", "regulator", "adapter"),
    "tank": ("tank adapter", "tank filter"),
}

#: Why each kind is there.
REASONS = {
    "timer": "opens and closes the water on time; first, so that all behind it rests without "
    "pressure",
    "backflow preventer": "keeps irrigation water out of the drinking water; before everything "
    "that could soil it",
    "check valve": "keeps the main from emptying back through the pump",
    "filter": "holds back what would plug an emitter; before the regulator, whose seat it guards",
    "regulator": "holds the pressure that the line is made for",
    "adapter": "joins the assembly to the main",
    "tank adapter": "takes the water from the tank above its sludge, and shuts it",
    "tank filter": "holds back what would plug an emitter at the small loss that a tank allows",
    "zone valve": "waters one zone at a time",
}

ORDER_SOURCE = "order of head assembly parts: common practice, no source"


@dataclass(frozen=True, kw_only=True)
class HeadAssembly:
    """The parts in the order of the flow."""

    parts: tuple[AssemblyPart, ...]

    @property
    def regulator(self) -> AssemblyPart | None:
        """The pressure regulator, if there is one."""
        return next((part for part in self.parts if part.set_head is not None), None)

    @property
    def set_head(self) -> float | None:
        """Setting of the regulator [m], if there is one."""
        return None if self.regulator is None else self.regulator.set_head

    @property
    def up_to_regulator(self) -> tuple[AssemblyPart, ...]:
        """The parts before the regulator and the regulator itself."""
        if self.regulator is None:
            return self.parts
        return self.parts[: self.parts.index(self.regulator) + 1]

    def components(self, *, dirty: bool) -> tuple[LossComponent | Regulator, ...]:
        """Return the parts as the network solve takes them.

        Parameters
        ----------
        dirty : bool
            With the filter as dirty as it may get before it is cleaned.
        """
        return tuple(_component(part, dirty) for part in self.parts)


def _component(part: AssemblyPart, dirty: bool) -> LossComponent | Regulator:
    if part.set_head is not None:
        return Regulator(
            name=part.kind,
            set_head=part.set_head,
            loss_nominal=part.loss,
            nominal_flow=part.flow,
            flow_min=part.flow_min,
            flow_max=part.flow_max,
        )
    extra = part.dirty if dirty else 0.0
    return LossComponent(
        name=part.kind, nominal_flow=part.flow, nominal_loss=part.loss + extra, exponent=2.0
    )


def smallest(kind: str, flow: float) -> AssemblyPart:
    """Return the smallest part of that kind whose range holds `flow`. [m3/s].

    Raises
    ------
    ImpossibleError
        The largest of its kind is too small.
    """
    sizes = [part for part in assembly_parts() if part.kind == kind]
    for part in sizes:
        if flow <= part.flow_max:
            return part
    raise ImpossibleError(
        f"no {kind} in the catalogue passes the flow of the largest zone",
        limit=f"flow of the {kind}",
        changes=("more zones", "two systems side by side"),
    )


def regulators(flows: Iterable[float], head_max: float, wanted: float) -> list[AssemblyPart]:
    """Return the regulators that hold every flow in their range, best set head first.

    Parameters
    ----------
    flows : iterable of float
        Flow of each zone. [m3/s]
    head_max : float
        Highest head that they may let through. [m]
    wanted : float
        Head at which the line is rated; set heads closest to it come first. [m]
    """
    low, high = min(flows := list(flows)), max(flows)
    found = [
        part
        for part in assembly_parts()
        if part.set_head is not None
        and part.set_head <= head_max
        and part.flow_min <= low
        and high <= part.flow_max
    ]
    return sorted(found, key=lambda part: (abs((part.set_head or 0.0) - wanted), part.flow_max))


def head_assembly(
    source_kind: str,
    flow: float,
    *,
    timer: bool,
    regulator: AssemblyPart | None,
    valves: bool,
) -> HeadAssembly:
    """Return the head assembly for the largest zone flow.

    Parameters
    ----------
    source_kind : str
        Key of `ORDER`.
    flow : float
        Largest flow of a zone. [m3/s]
    timer : bool
        Whether a timer is wanted.
    regulator : AssemblyPart or None
        The chosen regulator; None where the source never reaches the line's highest pressure.
    valves : bool
        Whether each zone has a valve of its own, which then takes the timer's part.
    """
    parts: list[AssemblyPart] = []
    for kind in ORDER[source_kind]:
        if kind == "timer" and (not timer or valves):
            continue
        if kind == "regulator":
            if regulator is not None:
                parts.append(regulator)
            continue
        parts.append(smallest(kind, flow))
    if regulator is not None and "regulator" not in ORDER[source_kind]:
        parts.append(regulator)
    return HeadAssembly(parts=tuple(parts))


def loss_at(parts: Sequence[AssemblyPart], flow: float, *, dirty: bool = True) -> float:
    """Return the loss of these parts at a flow [m3/s], by the square of the flow. [m]."""
    return float(
        sum(
            (part.loss + (part.dirty if dirty else 0.0)) * (flow / part.flow) ** 2 for part in parts
        )
    )
