"""The head assembly: which parts, in which order, in which size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from evenrow.catalogue import AssemblyPart, assembly_parts
from evenrow.errors import ImpossibleError
from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.source import SourceCurve
from evenrow.words import said, tr

#: Kinds of part by kind of source, in the order of the flow.
ORDER = {
    "hose-tap": ("timer", "backflow preventer", "filter", "regulator", "adapter"),
    "municipal": ("timer", "backflow preventer", "filter", "regulator", "adapter"),
    "pump": ("check valve", "filter", "regulator", "adapter"),
    "pond-pump": ("check valve", "filter", "regulator", "adapter"),
    "tank": ("tank adapter", "tank filter"),
}
#: Kinds of source on which a timer is offered.
TIMED = ("hose-tap", "municipal")
#: Kinds of source that a pump curve describes.
PUMPS = ("pump", "pond-pump")
#: What stands in place of a part where an injector is wanted: a higher class of backflow
#: protection, behind which the injector follows.
WITH_INJECTOR = {
    "backflow preventer": "reduced-pressure backflow preventer",
    "standing backflow preventer": "reduced-pressure backflow preventer",
    "check valve": "check valve for injection",
}

#: Why each kind is there.
REASONS = {
    said("timer"): said(
        "opens and closes the water on time; first, so that all behind it rests without pressure"
    ),
    said("backflow preventer"): said(
        "keeps irrigation water out of the drinking water; before everything that could soil it"
    ),
    said("standing backflow preventer"): said(
        "keeps irrigation water out of the drinking water where it stands under "
        "pressure all day, with valves behind it or outlets above it"
    ),
    said("reduced-pressure backflow preventer"): said(
        "keeps what is injected out of the drinking water even if a valve in it fails; "
        "the class that most codes ask for with an injector"
    ),
    said("check valve for injection"): said(
        "keeps what is injected out of the well or pond; it drains and lets air in "
        "when the pump stops"
    ),
    said("injector"): said(
        "takes fertiliser in; behind the backflow protection, and before the filter, "
        "which holds back what has not dissolved"
    ),
    said("check valve"): said("keeps the main from emptying back through the pump"),
    said("filter"): said(
        "holds back what would plug an emitter; before the regulator, whose seat it guards"
    ),
    said("regulator"): said("holds the pressure that the line is made for"),
    said("adapter"): said("joins the assembly to the main"),
    said("tank adapter"): said("takes the water from the tank above its sludge, and shuts it"),
    said("tank filter"): said(
        "holds back what would plug an emitter at the small loss that a tank allows"
    ),
    said("zone valve"): said("waters one zone at a time"),
    said("ball valve"): said(
        "waters one zone at a time, by hand; a tank's pressure opens no other valve"
    ),
}

ORDER_SOURCE = said("order of head assembly parts: common practice, no source")


@dataclass(frozen=True, kw_only=True)
class HeadAssembly:
    """The parts in the order of the flow."""

    parts: tuple[AssemblyPart, ...]

    @cached_property
    def regulator(self) -> AssemblyPart | None:
        """The pressure regulator, if there is one."""
        return next((part for part in self.parts if part.set_head is not None), None)

    @cached_property
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
        return _components(self.parts, dirty)


@cache
def _components(
    parts: tuple[AssemblyPart, ...], dirty: bool
) -> tuple[LossComponent | Regulator, ...]:
    return tuple(_component(part, dirty) for part in parts)


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


def largest_flow(kind: str) -> float:
    """Return the largest flow that any part of that kind passes [m3/s]."""
    return max(part.flow_max for part in assembly_parts() if part.kind == kind)


def smallest(kind: str, flow: float, head: float = 0.0) -> AssemblyPart:
    """Return the smallest part of that kind that passes `flow` [m3/s] and bears `head` [m].

    If none bears the head, it is the smallest that passes the flow: the limits of a design
    then name it.

    Raises
    ------
    ImpossibleError
        The largest of its kind is too small.
    """
    wide = [part for part in assembly_parts() if part.kind == kind and flow <= part.flow_max]
    if wide:
        return next((part for part in wide if part.bears(head)), wide[0])
    raise ImpossibleError(
        tr("no {kind} in the catalogue passes the flow of the largest zone", kind=tr(kind)),
        limit=f"flow of the {kind}",
        changes=(tr("more zones"), tr("two systems side by side")),
    )


def regulator_for(flows: Iterable[float], set_head: float) -> AssemblyPart:
    """Return the smallest regulator of that setting that holds every zone's flow in its range.

    Parameters
    ----------
    flows : iterable of float
        Flow of each zone. [m3/s]
    set_head : float
        Setting, one of the catalogue's. [m]

    Raises
    ------
    ImpossibleError
        No regulator of that setting holds both the smallest and the largest flow.
    """
    low, high = min(flows := list(flows)), max(flows)
    for part in assembly_parts():
        if part.set_head == set_head and part.flow_min <= low and high <= part.flow_max:
            return part
    raise ImpossibleError(
        tr("no regulator in the catalogue of that setting holds the flows of all zones"),
        limit="flow range of the regulator",
        changes=(tr("another number of zones"),),
    )


def nearest_setting(head: float, head_max: float) -> float | None:
    """Return the regulator setting nearest `head` that does not pass `head_max` [m]."""
    heads = {part.set_head for part in assembly_parts() if part.set_head is not None}
    return min((h for h in heads if h <= head_max), key=lambda h: abs(h - head), default=None)


def _kinds(
    source_kind: str, *, timer: bool, regulated: bool, standing: bool, injection: bool
) -> list[str]:
    kinds = []
    for kind in ORDER[source_kind]:
        if kind == "timer" and not timer:
            continue
        if kind == "regulator":
            continue
        if kind == "backflow preventer" and standing:
            kind = "standing backflow preventer"
        if injection and kind in WITH_INJECTOR:
            kinds += [WITH_INJECTOR[kind], "injector"]
        else:
            kinds.append(kind)
    if regulated:
        # Before the adapter, behind the filter that guards its seat; on a tank it comes last.
        kinds.insert(-1 if kinds[-1] == "adapter" else len(kinds), "regulator")
    return kinds


def head_assembly(
    source_kind: str,
    flow: float,
    *,
    timer: bool,
    regulator: AssemblyPart | None,
    standing: bool,
    injection: bool = False,
    head: float = 0.0,
) -> HeadAssembly:
    """Return the head assembly for the largest zone flow, all its parts of one thread.

    Parameters
    ----------
    source_kind : str
        Key of `ORDER`.
    flow : float
        Largest flow of a zone. [m3/s]
    timer : bool
        Whether a timer stands first.
    regulator : AssemblyPart or None
        The chosen regulator; None where the source never reaches the line's highest pressure.
    standing : bool
        Whether the backflow preventer stands under pressure all day or below outlets: with
        zone valves behind it, or a field above it.
    injection : bool
        Whether an injector for fertiliser is wanted; a raised tank has none, it is dosed itself.
    head : float
        What the parts have to bear, see `smallest`. [m]

    Raises
    ------
    ImpossibleError
        The largest size of some part is too small.
    """
    kinds = _kinds(
        source_kind,
        timer=timer,
        regulated=regulator is not None,
        standing=standing,
        injection=injection,
    )
    needed = [smallest(kind, flow, head) for kind in kinds if kind != "regulator"]
    sizes = list(dict.fromkeys(part.size for part in assembly_parts()))
    wanted = [part.size for part in needed] + ([regulator.size] if regulator else [])
    size = max(wanted, key=sizes.index)
    parts = []
    for kind in kinds:
        if kind == "regulator" and regulator is not None:
            # As chosen: a larger one may not hold the smallest flow.
            parts.append(regulator)
        else:
            parts.append(_in_size(size, smallest(kind, flow, head), head))
    return HeadAssembly(parts=tuple(parts))


def _in_size(size: str, chosen: AssemblyPart, head: float) -> AssemblyPart:
    """Return the part of the kind chosen in another size, or that chosen where none will do."""
    same = (
        part
        for part in assembly_parts()
        if part.kind == chosen.kind and part.size == size and part.bears(head) >= chosen.bears(head)
    )
    return next(same, chosen)


def loss_at(parts: Sequence[AssemblyPart], flow: float, *, dirty: bool = True) -> float:
    """Return the loss of these parts at a flow [m3/s], by the square of the flow [m]."""
    return float(
        sum(
            (part.loss + (part.dirty if dirty else 0.0)) * (flow / part.flow) ** 2 for part in parts
        )
    )


def before_regulator(
    source: SourceCurve, assembly: HeadAssembly, flows: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the heads before the regulator, filter dirty [m].

    Parameters
    ----------
    source : SourceCurve
        The source.
    assembly : HeadAssembly
        Its parts; without a regulator all of them count.
    flows : ndarray
        Flows, shape (n,). [m3/s]

    Returns
    -------
    ndarray
        Shape (n,).
    """
    parts = assembly.up_to_regulator
    before = parts if assembly.regulator is None else parts[:-1]
    return np.asarray(source.head(flows)[0] - loss_at(before, 1.0) * flows**2)
