"""The whole system: source, head assembly, main and header with its laterals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics.assembly import Component, LossComponent, Regulator, through
from evenrow.hydraulics.constants import VISCOSITY_20C
from evenrow.hydraulics.curve import LateralCurve
from evenrow.hydraulics.header import CurveLaterals, Header, HeaderModel, HeaderState
from evenrow.hydraulics.pipe import Pipe, PipeRun
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch, TreeModel
from evenrow.words import tr

__all__ = [
    "Header",
    "LossComponent",
    "Regulator",
    "SystemSolution",
    "TreeSolution",
    "solve_system",
    "solve_tree",
]

#: States of a solved system.
FLOWING: Final = "flowing"
NO_FLOW: Final = "no flow"

_TOLERANCE = 1e-9  # [m] between head offered and head taken at the header
_MAX_STEPS = 120


@dataclass(frozen=True)
class SystemSolution:
    """Heads and flows of a solved system.

    Attributes
    ----------
    state : str
        "flowing", or "no flow" if the source can feed no outlet.
    source_flow, source_head : float
        Flow [m3/s] and pressure head [m] at the source.
    names : tuple of str
        Names of the components of the assembly, in order.
    component_heads : numpy.ndarray
        Pressure head after each of them [m].
    regulator : str
        "none", "open", "regulating", "below range" or "above range".
    main_heads : numpy.ndarray
        Pressure head at the far end of each pipe of the main [m].
    header_head : float
        Pressure head where the main meets the header [m].
    outlet_heads : numpy.ndarray
        Pressure head at the inlet of each lateral, behind its take-off [m].
    outlet_flows : numpy.ndarray
        Flow into each lateral [m3/s].
    takeoff_heads, segment_flows : numpy.ndarray
        Head in the header at each take-off [m] and flow in its segment [m3/s].
    residual : float
        Largest head equation left over [m].
    beyond_source : bool
        True if the flow lies beyond the last known point of the source curve.
    outside_curves : bool
        True if a lateral that flows has a head outside the range of its curve.
    """

    state: str
    source_flow: float
    source_head: float
    names: tuple[str, ...]
    component_heads: FloatArray
    regulator: str
    main_heads: FloatArray
    header_head: float
    outlet_heads: FloatArray
    outlet_flows: FloatArray
    takeoff_heads: FloatArray
    segment_flows: FloatArray
    residual: float
    beyond_source: bool
    outside_curves: bool


@dataclass(frozen=True)
class Supply:
    """Everything before the header, as a falling function of flow."""

    source: SourceCurve
    assembly: Sequence[Component]
    main: Sequence[Pipe]
    viscosity: float

    @cached_property
    def _pipes(self) -> PipeRun | None:
        """Return the pipes of the main as one, or None without a main."""
        return PipeRun(self.main, self.viscosity) if self.main else None

    def follow(self, flow: float) -> tuple[list[float], list[float], float, str]:
        """Return heads after the components and the pipes, slope and regulator state."""
        start, rate = self.source.head(flow)
        heads, slope, state = through(self.assembly, float(start), float(rate), flow)
        head = heads[-1] if heads else float(start)
        mains: list[float] = []
        if self._pipes is not None:
            losses, rises = self._pipes.losses(flow)
            mains = (head - losses.cumsum()).tolist()
            slope -= float(rises.sum())
        return heads, mains, slope, state

    @cached_property
    def still(self) -> float:
        """Return the head offered while nothing flows [m]; pipes then lose their rise only."""
        start, rate = (float(value) for value in self.source.head(0.0))
        heads, _, _ = through(self.assembly, start, rate, 0.0)
        return (heads[-1] if heads else start) - sum(pipe.rise for pipe in self.main)

    def offered(self, flow: float) -> tuple[float, float]:
        """Return the head offered at the header for a flow, and its slope."""
        heads, mains, slope, _ = self.follow(flow)
        if mains:
            return mains[-1], slope
        return (heads[-1] if heads else float(self.source.head(flow)[0])), slope


def solve_system(
    source: SourceCurve,
    assembly: Sequence[Component],
    main: Sequence[Pipe],
    header: Header,
    curves: Sequence[LateralCurve],
    curve_index: ArrayLike,
    viscosity: float = VISCOSITY_20C,
) -> SystemSolution:
    """Find the flow at which the source and the system agree.

    Parameters
    ----------
    source : SourceCurve
        The source.
    assembly : sequence of LossComponent or Regulator
        Head assembly in the order of the water; may be empty.
    main : sequence of Pipe
        Pipes from the assembly to the header; may be empty.
    header : Header
        The header.
    curves : sequence of LateralCurve
        One curve for each distinct lateral.
    curve_index : array_like of int
        Which curve each take-off has, shape (n,); one number serves for all.
    viscosity : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    SystemSolution
        The meeting point, with "no flow" as its state if the source can feed nothing.

    Raises
    ------
    InputError
        If an argument does not fit.
    ConvergenceError
        If the head residual of 1e-9 m cannot be reached.

    Notes
    -----
    The flow the header takes rises with its inlet head and the head the source offers
    falls with flow, so there is one meeting point; it is found by Newton kept within a
    bracket, which a steep header or a steep source cannot upset.
    """
    nu = number("viscosity", viscosity, 1e-8, 1e-4, unit="m2/s")
    index = checked_index("curve_index", curve_index, header.count, len(curves))
    supply = Supply(source, tuple(assembly), tuple(main), nu)
    laterals = CurveLaterals(curves, index)
    met = meet(supply, HeaderModel(header, laterals, nu))
    return report(supply, met, laterals.outside(met.state))


@dataclass(frozen=True)
class TreeSolution:
    """A solved tree of headers.

    Attributes
    ----------
    system : SystemSolution
        Heads and flows; the arrays by take-off hold branch after branch.
    takeoffs : tuple of slice
        Where the take-offs of each branch stand in these arrays.
    """

    system: SystemSolution
    takeoffs: tuple[slice, ...]


def solve_tree(
    source: SourceCurve,
    assembly: Sequence[Component],
    main: Sequence[Pipe],
    branches: Sequence[Branch],
    curves: Sequence[LateralCurve],
    curve_index: Sequence[ArrayLike],
    viscosity: float = VISCOSITY_20C,
) -> TreeSolution:
    """Find the meeting point of a source and headers that branch.

    Parameters
    ----------
    source : SourceCurve
        The source.
    assembly : sequence of LossComponent or Regulator
        Head assembly in the order of the water; may be empty.
    main : sequence of Pipe
        Pipes from the assembly to where the first branches leave; may be empty.
    branches : sequence of Branch
        The headers, each after the one it leaves; several may leave the main.
    curves : sequence of LateralCurve
        One curve for each distinct lateral.
    curve_index : sequence of array_like of int
        For each branch which curve each take-off has, shape (n,) or one number; -1 for
        a take-off without a lateral.
    viscosity : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    TreeSolution
        The meeting point, with "no flow" as its state if the source can feed nothing.

    Raises
    ------
    InputError
        If an argument does not fit.
    ConvergenceError
        If the head residual of 1e-9 m cannot be reached.

    Notes
    -----
    As `solve_system`, the tree in the place of the header.
    """
    nu = number("viscosity", viscosity, 1e-8, 1e-4, unit="m2/s")
    laterals = CurveLaterals(curves, tree_index("curve_index", curve_index, branches, len(curves)))
    supply = Supply(source, tuple(assembly), tuple(main), nu)
    met = meet(supply, TreeModel(branches, laterals, nu))
    counts = [branch.header.count for branch in branches]
    ends = np.cumsum(counts).tolist()
    return TreeSolution(
        report(supply, met, laterals.outside(met.state)),
        tuple(slice(end - n, end) for end, n in zip(ends, counts, strict=True)),
    )


class Model(Protocol):
    """What takes the water: a header or a tree of them."""

    @property
    def dry_head(self) -> float:
        """Inlet head at or below which no take-off gets any pressure [m]."""

    def solve(self, inlet_head: float, near: HeaderState | None = None) -> HeaderState:
        """Return heads and flows for an inlet head [m]."""


@dataclass(frozen=True)
class Meeting:
    """The head [m] at which supply and header agree, the header there, and the gap [m]."""

    head: float
    state: HeaderState
    gap: float


def meet(
    supply: Supply,
    model: Model,
    start: float | None = None,
    state: HeaderState | None = None,
    tolerance: float = _TOLERANCE,
) -> Meeting:
    """Return where supply and model agree, or the still state if nothing can flow.

    `start` and `state` are an inlet head and a solution near it, if known; `tolerance` is
    what may be left over [m].
    """
    still = supply.still
    if still <= model.dry_head:
        return Meeting(still, model.solve(still), 0.0)
    # A little above what can be offered: a regulator offers the upper end itself.
    low, high = model.dry_head, still + 1e-6
    head = 0.5 * (max(low, 0.0) + high)
    if start is not None and low < start < high:
        head = start
    for _ in range(_MAX_STEPS):
        state = model.solve(head, state)
        offered, slope = supply.offered(state.total)
        gap = offered - head
        # A bracket as narrow as round-off is an answer too (a source steep beyond digits).
        if abs(gap) <= tolerance or high - low <= 1e-15 * max(abs(high), 1.0):
            return Meeting(head, state, gap)
        low, high = (head, high) if gap > 0.0 else (low, head)
        step = gap / (1.0 - min(slope, 0.0) * state.slope)
        new = head + step
        head = new if low < new < high else 0.5 * (low + high)
    raise ConvergenceError(
        tr("source and system did not meet: {gap:.2g} m of head are left over", gap=gap),
        code="not_converged",
        hint=tr("report this system with its inputs"),
    )


def report(supply: Supply, met: Meeting, outside: bool) -> SystemSolution:
    """Gather the solution."""
    state = met.state
    flow = state.total
    heads, mains, _, regulator = supply.follow(flow)
    return SystemSolution(
        state=FLOWING if flow > 0.0 else NO_FLOW,
        source_flow=flow,
        source_head=float(supply.source.head(flow)[0]),
        names=tuple(part.name for part in supply.assembly),
        component_heads=np.array(heads),
        regulator=regulator,
        main_heads=np.array(mains),
        header_head=met.head,
        outlet_heads=state.inlet_heads,
        outlet_flows=state.flows,
        takeoff_heads=state.heads,
        segment_flows=state.segment_flows,
        residual=max(abs(met.gap), state.residual),
        beyond_source=bool(flow > supply.source.max_flow * (1.0 + 1e-12)),
        outside_curves=outside,
    )


def checked_index(
    name: str, value: ArrayLike, count: int, curves: int, lowest: int = 0
) -> NDArray[np.int64]:
    """Return the checked curve of each take-off."""
    if curves == 0:
        raise InputError("must hold at least one curve", code="empty", field="curves")
    got = array(name, value, lowest, curves - 1)
    if got.shape not in ((), (1,), (count,)):
        raise InputError(
            "must be one number or one for each take-off",
            code="length",
            field=name,
            given=got.shape,
            accepted=f"1 or {count} numbers",
        )
    index = got.astype(np.int64)
    if not bool((index == got).all()):
        raise InputError("must be whole numbers", code="not_whole", field=name)
    return np.array(np.broadcast_to(index, (count,)))


def tree_index(
    name: str, value: Sequence[Any], branches: Sequence[Branch], kinds: int
) -> NDArray[np.int64]:
    """Return the checked lateral of each take-off of a tree, branch after branch."""
    given = len(value) if isinstance(value, Sequence | np.ndarray) else 0
    if given != len(branches) or not branches:
        raise InputError(
            "must hold one entry for each branch",
            code="length",
            field=name,
            given=given,
            accepted=f"{max(len(branches), 1)} entries",
        )
    return np.concatenate(
        [
            checked_index(f"{name}.{i}", got, branch.header.count, kinds, lowest=-1)
            for i, (got, branch) in enumerate(zip(value, branches, strict=True))
        ]
    )
