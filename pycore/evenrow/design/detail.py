"""The zones of a finished design, down to every emitter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from evenrow.design.field import Field
from evenrow.design.measure import Case, Measured
from evenrow.design.model import Station, ZoneSolution, ZoneState
from evenrow.design.segments import TAKEOFF_K
from evenrow.design.system import Outlets
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.laws import local_loss_factor
from evenrow.hydraulics.network import SystemSolution
from evenrow.hydraulics.uniformity import distribution_uniformity_lq, flow_variation
from evenrow.words import said

FloatArray = NDArray[np.float64]

#: Heads that differ by less are equal [m].
TIE = 1e-8


def solutions(case: Case, measured: Measured, number: int) -> tuple[ZoneSolution, ...]:
    """Return the zones of case `number` of what was measured, with all their emitters."""
    hydraulics, candidate = case.hydraulics, case.candidate
    field = hydraulics.field
    zones = candidate.layout.zones
    outlets = [hydraulics.outlets(zone) for zone in zones]
    first = measured.first[number]
    systems = [measured.solution.one(first + i) for i in range(len(zones))]
    heads = [np.asarray(system.outlet_heads) for system in systems]
    emitters = _emitters(hydraulics.curves, [one.kinds for one in outlets], heads)
    return tuple(
        _solution(field, state, one, system, *them)
        for state, one, system, them in zip(
            measured.states(number), outlets, systems, emitters, strict=True
        )
    )


def first_lowest(heads: FloatArray) -> int:
    """Return the index of the first head that is the lowest but for round-off.

    A field fed in its middle has two lines with the least pressure: the first is meant, whatever
    the last digits say.
    """
    return int(np.argmax(heads.ravel() <= heads.min() + TIE))


def _emitters(
    curves: Sequence[LateralCurve], kinds: Sequence[NDArray[np.int64]], heads: Sequence[FloatArray]
) -> list[tuple[FloatArray, int]]:
    """Return for each zone the flows of all emitters, and the outlet with the lowest head.

    Each distinct lateral is solved once for each distinct head at its start.
    """
    flows: list[list[FloatArray]] = [[] for _ in kinds]
    lowest = [np.full(one.size, np.inf) for one in kinds]
    for kind, curve in enumerate(curves):
        mine = [np.flatnonzero(one == kind) for one in kinds]
        inlets = np.concatenate([head[at] for head, at in zip(heads, mine, strict=True)])
        different, back = np.unique(np.maximum(inlets, 0.0), return_inverse=True)
        flow, low = _solved(curve, different)
        start = 0
        for zone, at in enumerate(mine):
            here = back[start : start + at.size]
            start += at.size
            flows[zone].append(flow[here].ravel())
            lowest[zone][at] = low[here]
    return [
        (np.concatenate(flow), first_lowest(low)) for flow, low in zip(flows, lowest, strict=True)
    ]


def _solved(curve: LateralCurve, inlets: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the emitter flows and the lowest head for inlet heads, none where they are dry."""
    flow, low = np.zeros((inlets.size, curve.lateral.count)), np.zeros(inlets.size)
    wet = inlets > 0.0
    if wet.any():
        solved = curve.solved(inlets[wet])
        flow[wet], low[wet] = solved.flow, solved.min_head
    return flow, low


#: Where the pressure of the zone valves is read.
MAIN_END = said("end of the main")
_AFTER = {
    "timer": said("after the timer"),
    "backflow preventer": said("after the backflow preventer"),
    "standing backflow preventer": said("after the standing backflow preventer"),
    "reduced-pressure backflow preventer": said("after the reduced-pressure backflow preventer"),
    "check valve for injection": said("after the check valve for injection"),
    "check valve": said("after the check valve"),
    "injector": said("after the injector"),
    "filter": said("after the filter"),
    "tank filter": said("after the tank filter"),
    "regulator": said("after the regulator"),
    "adapter": said("after the adapter"),
    "tank adapter": said("after the tank adapter"),
    "zone valve": said("after the zone valve"),
    "ball valve": said("after the ball valve"),
}


def _solution(
    field: Field,
    state: ZoneState,
    outlets: Outlets,
    system: SystemSolution,
    flows: FloatArray,
    driest: int,
) -> ZoneSolution:
    loss = float(local_loss_factor(TAKEOFF_K, field.line.device.diameter))
    starts = np.asarray(system.outlet_heads) - loss * np.asarray(system.outlet_flows) ** 2
    flowing = system.state == "flowing" and float(flows.max()) > 0.0
    known = {f.name: getattr(state, f.name) for f in fields(ZoneState)}
    return ZoneSolution(
        **known,
        stations=_stations(field, system, float(starts[driest]), state.emitter_head_min),
        row_heads=tuple(
            float(starts[outlets.rows == row].mean()) for row in range(*state.layout.rows)
        ),
        dulq=float(distribution_uniformity_lq(flows)) if flowing else 0.0,
        flow_variation=float(flow_variation(flows)) if flowing else 1.0,
        system=system,
    )


def _stations(
    field: Field, system: SystemSolution, inlet: float, lowest: float
) -> tuple[Station, ...]:
    """Return the heads from the source to the emitter with the lowest, by way of its line."""
    stations = [
        Station(name=said("source, standing still"), head=field.source.shutoff_head),
        Station(name=said("source, running"), head=system.source_head),
    ]
    stations += [
        Station(name=_AFTER[name], head=float(head))
        for name, head in zip(system.names, system.component_heads, strict=True)
    ]
    mains = [MAIN_END, _AFTER["zone valve"]][: len(system.main_heads)]
    stations += [
        Station(name=name, head=float(head))
        for name, head in zip(mains, system.main_heads, strict=True)
    ]
    stations += [
        Station(name=said("start of the line with the lowest emitter"), head=inlet),
        Station(name=said("emitter with the lowest pressure"), head=lowest),
    ]
    return tuple(stations)
