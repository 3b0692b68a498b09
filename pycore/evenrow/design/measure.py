"""The zones of candidates through the network solve, all of them together."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.design.assembly import before_regulator, loss_at
from evenrow.design.layout import ZoneLayout
from evenrow.design.model import Candidate, ZoneFlow, ZoneState
from evenrow.design.segments import bare_header, main_pipes
from evenrow.design.system import FieldHydraulics
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.many import ManySolution, System, solve_systems

FloatArray = NDArray[np.float64]

#: Curves with no more than this relative error are followed by exact solves of the emitters.
EXACT = 1e-5


class Case(NamedTuple):
    """A candidate for a field; all fields of one call share source, reserve and water.

    `only` is the one zone to solve, where a look at one is enough for now.
    """

    hydraulics: FieldHydraulics
    candidate: Candidate
    only: ZoneLayout | None = None

    @property
    def zones(self) -> tuple[ZoneLayout, ...]:
        """The zones to solve."""
        return self.candidate.layout.zones if self.only is None else (self.only,)


class Measured:
    """The zones of several cases as solved; what their emitters get is worked out when asked for.

    Parameters
    ----------
    cases : sequence of Case
        What was solved.
    solution : ManySolution
        Their zones, one case after the other.
    curves : sequence of LateralCurve
        Those that the solution was made with.
    """

    def __init__(
        self, cases: Sequence[Case], solution: ManySolution, curves: Sequence[LateralCurve]
    ) -> None:
        self.cases = cases
        self.solution = solution
        self._curves = curves
        counts = [len(case.zones) for case in cases]
        self.first = [0, *accumulate(counts)]
        self._states: dict[int, tuple[ZoneState, ...]] = {}

    def flows(self, number: int) -> tuple[ZoneFlow, ...]:
        """Return what the zones of a case take."""
        case = self.cases[number]
        hydraulics, candidate = case.hydraulics, case.candidate
        usable = hydraulics.reach.through(candidate.assembly)
        limit = hydraulics.field.source.max_flow * (1.0 + 1e-12)
        first = self.first[number]
        flows = self.solution.flow[first : self.first[number + 1]]
        flow = flows.tolist()
        before = before_regulator(hydraulics.field.source, candidate.assembly, flows).tolist()
        return tuple(
            ZoneFlow(
                layout=zone,
                flow=flow[i],
                usable=usable,
                beyond_source=flow[i] > limit,
                regulator_state=self.solution.regulators[first + i],
                regulator_head=before[i],
            )
            for i, zone in enumerate(case.zones)
        )

    @cached_property
    def _emitter_heads(self) -> tuple[FloatArray, FloatArray]:
        nearly = self.cases[0].hydraulics.tolerance > EXACT
        return _emitter_heads(self.solution, self._curves, self.first[-1], nearly)

    @cached_property
    def _speeds(self) -> FloatArray:
        return self.solution.speeds()

    def states(self, number: int) -> tuple[ZoneState, ...]:
        """Return the zones of a case with what their emitters get."""
        if number not in self._states:
            self._states[number] = self._state(number)
        return self._states[number]

    def _state(self, number: int) -> tuple[ZoneState, ...]:
        case = self.cases[number]
        hydraulics, candidate = case.hydraulics, case.candidate
        field = hydraulics.field
        emitter = field.line.device.emitter
        mine = slice(self.first[number], self.first[number + 1])
        lowest, highest = (heads[mine] for heads in self._emitter_heads)
        least, most = emitter.flow(lowest), emitter.flow(highest)
        spread = hydraulics.spread
        speeds = self._speeds[mine].tolist()
        heads_low, heads_high = lowest.tolist(), highest.tolist()
        flows_low, flows_high = least.tolist(), most.tolist()
        supply = field.supply(candidate.assembly.set_head)
        behind, valve = self.solution.header_head[mine].tolist(), candidate.valve
        found = []
        for i, zone in enumerate(self.flows(number)):
            count, level = hydraulics.emitters(zone.layout), hydraulics.lowest(zone.layout)
            mean = zone.flow / count
            found.append(
                ZoneState(
                    layout=zone.layout,
                    flow=zone.flow,
                    usable=zone.usable,
                    beyond_source=zone.beyond_source,
                    regulator_state=zone.regulator_state,
                    regulator_head=zone.regulator_head,
                    emitter_head_min=heads_low[i],
                    emitter_head_max=heads_high[i],
                    static_head_max=supply - level,
                    emitter_flow_min=flows_low[i],
                    emitter_flow_mean=mean,
                    emitter_flow_max=flows_high[i],
                    emitters=count,
                    eu=spread * flows_low[i] / mean if mean > 0.0 else 0.0,
                    header_velocity=speeds[i],
                    main_velocity=zone.flow / candidate.main.area,
                    valve_head=behind[i] + (loss_at((valve,), zone.flow) if valve else 0.0),
                )
            )
        return tuple(found)


def charge(cases: Sequence[Case]) -> None:
    """Count what the cases of one search will cost against its budget.

    Raises
    ------
    OutOfBudgetError
        It is more than the budget has left.
    """
    for case in cases:
        hydraulics = case.hydraulics
        each = 2 * int(hydraulics.counts.max())
        for zone in case.zones:
            hydraulics.budget.spend(each, hydraulics.outlets(zone).kinds.size + 40)
    if cases:
        cases[0].hydraulics.budget.spend(calls=1)


def measure(cases: Sequence[Case]) -> Measured:
    """Solve every zone of every case at its own operating point, filter dirty."""
    systems: list[System] = []
    curves: list[LateralCurve] = []
    place: dict[int, int] = {}  # of each curve: fields that differ in little share theirs
    indices: dict[int, NDArray[np.int64]] = {}
    for case in cases:
        hydraulics = case.hydraulics
        if id(hydraulics) not in indices:
            for curve in hydraulics.curves:
                if id(curve) not in place:
                    place[id(curve)] = len(curves)
                    curves.append(curve)
            indices[id(hydraulics)] = np.array([place[id(curve)] for curve in hydraulics.curves])
        systems += _systems(case, indices[id(hydraulics)])
    field = cases[0].hydraulics.field
    solution = solve_systems(field.source, systems, curves, field.line.viscosity)
    return Measured(cases, solution, curves)


def _systems(case: Case, places: NDArray[np.int64]) -> list[System]:
    """Return the zones of a case as the solver takes them; `places` of its curves."""
    hydraulics, candidate = case.hydraulics, case.candidate
    field = hydraulics.field
    assembly = candidate.assembly.components(dirty=True)
    systems = []
    for zone in case.zones:
        outlets = hydraulics.outlets(zone)
        systems.append(
            System(
                assembly=assembly,
                main=tuple(main_pipes(field, candidate, zone)),
                header=bare_header(field, candidate, zone, outlets.takeoffs),
                index=places[outlets.kinds],
            )
        )
    return systems


def _emitter_heads(
    solution: ManySolution, curves: Sequence[LateralCurve], systems: int, nearly: bool
) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and the highest head at an emitter of each system [m].

    `nearly` reads them off the curves instead of solving the laterals.

    Along a lateral every head rises with that at its start, so that of equal laterals those
    with the lowest and the highest start have the extremes.
    """
    lowest, highest = np.full(systems, np.inf), np.zeros(systems)
    of, which, low, high = solution.ranges()
    for curve in np.unique(which):
        mine = which == curve
        starts = np.concatenate((low[mine], high[mine]))
        if nearly:
            least, most = curves[curve].outlet_range(starts)
        else:
            least, most = _extremes(curves[curve], starts)
        np.minimum.at(lowest, of[mine], least[: least.size // 2])
        np.maximum.at(highest, of[mine], most[most.size // 2 :])
    return lowest, highest


def _extremes(curve: LateralCurve, inlets: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return least and largest emitter head for inlet heads; 0 where a line is dry."""
    least, most = np.zeros(inlets.size), np.zeros(inlets.size)
    wet = inlets > 0.0
    if wet.any():
        different, back = np.unique(inlets[wet], return_inverse=True)
        solved = curve.solved(different)
        least[wet], most[wet] = solved.min_head[back], solved.max_head[back]
    return least, most
