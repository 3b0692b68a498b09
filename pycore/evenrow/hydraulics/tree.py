"""Headers that branch: a tree of pipes with laterals as pressure-dependent outlets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics._check import FloatArray, whole
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.friction import laminar_scale
from evenrow.hydraulics.header import Header, HeaderState, Laterals, TakeOffs
from evenrow.hydraulics.laws import friction_law
from evenrow.hydraulics.pipe import Pipe
from evenrow.words import tr

_MAX_NEWTON = 60
_MAX_SAFE = 200
_TOLERANCE = 1e-10  # [m] summed along a path
_BISECTIONS = 70
_NONE: FloatArray = np.zeros(0)


@dataclass(frozen=True)
class Branch:
    """A header that leaves the main, or another header beside one of its take-offs.

    Parameters
    ----------
    header : Header
        Its segments and take-offs; a take-off without a lateral (curve index -1) makes a
        plain junction or, at the end, a dead end.
    parent : int
        Number of the branch it leaves, lower than its own; -1 for the main.
    takeoff : int
        Take-off of that branch at which it leaves; not used if it leaves the main.
    lead : Pipe, optional
        Pipe from there to the place where its own header is fed.

    Raises
    ------
    InputError
        If a number is not whole or out of range.
    """

    header: Header
    parent: int = -1
    takeoff: int = 0
    lead: Pipe | None = None

    def __post_init__(self) -> None:
        whole("parent", self.parent, -1, 1_000_000)
        whole("takeoff", self.takeoff, 0, 1_000_000)


class _Nodes:
    """The nodes of a tree as they are found, each with the pipe that leads to it."""

    def __init__(self) -> None:
        self.parent: list[int] = []
        self.pipe: list[tuple[float, float, float, float, float]] = []

    def add(
        self, parent: int, length: float, diameter: float, roughness: float, rise: float, k: float
    ) -> int:
        """Add a node behind `parent` (-1: the main) and return its number."""
        local = k / (2.0 * G * (0.25 * math.pi * diameter**2) ** 2)
        self.parent.append(parent)
        self.pipe.append((max(length, 1e-6), diameter, roughness, rise, local))
        return len(self.parent) - 1


class TreeModel:
    """A tree of headers, ready to be solved for many inlet heads.

    Parameters
    ----------
    branches : sequence of Branch
        Each after the branch it leaves.
    laterals : Laterals
        Laterals of all take-offs, branch after branch.
    viscosity : float
        Kinematic viscosity [m2/s].

    Raises
    ------
    InputError
        If a branch leaves one that does not come before it, or the friction laws differ.
    """

    def __init__(self, branches: Sequence[Branch], laterals: Laterals, viscosity: float) -> None:
        if not branches:
            raise InputError("must hold at least one branch", code="empty", field="branches")
        nodes = _Nodes()
        places: list[list[int]] = []
        self.friction = friction_law(branches[0].header.friction)
        for number, branch in enumerate(branches):
            self._check(branches, number, branch)
            places.append(_lay(nodes, branch, places))
        self.parent = nodes.parent
        #: Node of each take-off, branch after branch.
        self.takeoffs: NDArray[np.int64] = np.concatenate([np.array(p) for p in places])
        self.count = int(self.takeoffs.size)
        length, diameter, roughness, rise, local = np.array(nodes.pipe).T
        self.rise, self.local = rise, local
        self.per_re = 4.0 / (math.pi * viscosity) / diameter
        self.scale = length * laminar_scale(diameter, viscosity)
        self.eps = np.broadcast_to(
            np.asarray(self.friction.parameter(diameter, roughness, viscosity)), rise.shape
        )
        self.above = np.array(self.parent)
        self.level = _along(self.parent, rise)
        self.dry_head = min(0.0, float(self.level.min()))
        loss = np.concatenate([b.header.takeoff_loss for b in branches])
        self.law = TakeOffs(laterals, loss)

    def _check(self, branches: Sequence[Branch], number: int, branch: Branch) -> None:
        """Refuse a branch that hangs on nothing, or that follows another friction law."""
        name = f"branches.{number}"
        if branch.parent >= number:
            raise InputError(
                "must leave the main or a branch before it",
                code="out_of_range",
                field=f"{name}.parent",
                given=branch.parent,
                accepted=f"-1 to {number - 1}",
            )
        if branch.parent >= 0:
            last = branches[branch.parent].header.count - 1
            whole(f"{name}.takeoff", branch.takeoff, 0, last)
        laws = [branch.header.friction] + ([branch.lead.friction] if branch.lead else [])
        if any(friction_law(law) is not self.friction for law in laws):
            raise InputError(
                "must be the same for all pipes of a tree",
                code="mixed",
                field=f"{name}.friction",
                accepted=self.friction.name,
            )

    def solve(self, inlet_head: float, near: HeaderState | None = None) -> HeaderState:
        """Return heads and flows for one head where the main meets the tree [m].

        Parameters
        ----------
        inlet_head : float
            Pressure head there [m].
        near : HeaderState, optional
            Solution for a head nearby, to start from.

        Returns
        -------
        HeaderState
            Arrays over all take-offs, branch after branch.

        Raises
        ------
        ConvergenceError
            If the tolerance of 1e-10 m cannot be reached.

        Notes
        -----
        Newton on the heads, with the flow of each pipe the sum of the outlets beyond it.
        Where that fails, the heads are first found as the least of the co-content, a convex
        function (Collins et al. 1978, Management Science 24, 747; from memory), by Newton
        with a line search, which cannot miss it.
        """
        if near is None or near.nodes is None:
            start = inlet_head - self.level
            start -= 0.2 * np.maximum(start, 0.0)
        else:
            start = near.nodes + near.response * (inlet_head - near.inlet)
        trial = self._newton(inlet_head, start)
        if trial.norm > self._tolerance(inlet_head):
            trial = self._newton(inlet_head, self._safe(inlet_head))
        if trial.norm > self._tolerance(inlet_head):
            raise ConvergenceError(
                tr(
                    "the headers did not reach their tolerance: {norm:.2g} m of head are left over",
                    norm=trial.norm,
                ),
                code="not_converged",
                hint=tr("report these headers with their inputs"),
            )
        heads, flows = trial.head[self.takeoffs], trial.flow
        return HeaderState(
            float(flows.sum()),
            trial.slope,
            heads,
            self.law.head_behind(heads, flows),
            flows,
            trial.pipe_flow[self.takeoffs],
            trial.norm,
            inlet_head,
            trial.response,
            trial.head,
        )

    def _tolerance(self, inlet_head: float) -> float:
        """Return the head that may be left over: fixed, or round-off where that is more."""
        size = abs(inlet_head) + float(np.abs(self.level).max()) + 1.0
        return max(_TOLERANCE, 1e-15 * size * math.sqrt(len(self.parent)))

    def _at_nodes(self, values: FloatArray) -> FloatArray:
        """Return values of take-offs as values of nodes (junctions have none)."""
        out = np.zeros(len(self.parent))
        out[self.takeoffs] = values
        return out

    def _loss(self, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return loss [m] of the pipes and its derivative for flows of any sign."""
        size = np.abs(flow)
        f_re, slope = self.friction.f_re_slope(size * self.per_re, self.eps)
        return (
            (self.scale * f_re + self.local * size) * flow,
            self.scale * slope + 2.0 * self.local * size,
        )

    def _drop(self, inlet_head: float, head: FloatArray) -> FloatArray:
        """Return the fall of total head along each pipe [m]."""
        upper = np.where(self.above < 0, inlet_head, head[self.above])
        return np.asarray(upper - head - self.rise)

    def _evaluate(self, inlet_head: float, head: FloatArray) -> _Trial:
        """Return flows by mass balance and what the heads miss."""
        flow, slope = self.law.flows_and_slopes(head[self.takeoffs])
        pipe_flow = self._at_nodes(flow)
        pipe_flow = _gather(self.parent, pipe_flow)
        loss, rate = self._loss(pipe_flow)
        missing = self._drop(inlet_head, head) - loss
        norm = float(np.abs(_along(self.parent, missing)).max())
        return _Trial(
            head, flow, self._at_nodes(slope), pipe_flow, missing, norm, 1.0 / rate, _NONE
        )

    def _newton(self, inlet_head: float, head: FloatArray) -> _Trial:
        """Iterate from `head` as far as it goes."""
        tolerance = self._tolerance(inlet_head)
        trial = self._evaluate(inlet_head, head)
        for _ in range(_MAX_NEWTON):
            if trial.norm <= tolerance:
                break
            # A pipe that misses head carries too little: its shortfall as node imbalances.
            push = trial.conductance * trial.missing
            step, _ = _eliminate(self.parent, trial.flow_slope, trial.conductance, push)
            new = self._evaluate(inlet_head, trial.head + step)
            for _ in range(8):
                if new.norm <= trial.norm:
                    break
                step = 0.5 * step
                new = self._evaluate(inlet_head, trial.head + step)
            if new.norm > trial.norm:
                break
            trial = new
        first = np.where(self.above < 0, trial.conductance, 0.0)
        trial.response, trial.slope = _eliminate(
            self.parent, trial.flow_slope, trial.conductance, None, first
        )
        return trial

    def _pipe_flows(self, drop: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the flows for given falls of head, and dQ/dH, by bisection."""
        size = np.abs(drop)
        low, high = np.zeros_like(size), size / (64.0 * self.scale) + 1e-30
        reach = np.maximum(self._loss(high)[0], 1e-300)
        while bool((reach < size).any()):  # a law below 64/Re at small flows
            high = np.where(reach < size, 4.0 * high, high)
            reach = self._loss(high)[0]
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            more = self._loss(middle)[0] < size
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        flow = 0.5 * (low + high)
        return np.copysign(flow, drop), 1.0 / self._loss(flow)[1]

    def _safe(self, inlet_head: float) -> FloatArray:
        """Return heads near the solution, found as the least of a convex function."""
        head: FloatArray = np.maximum(inlet_head - self.level, 0.0) * 0.5

        def left(at: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, float]:
            pipe, conductance = self._pipe_flows(self._drop(inlet_head, at))
            flow, slope = self.law.flows_and_slopes(at[self.takeoffs])
            balance = pipe - self._at_nodes(flow)
            for i, above in enumerate(self.parent):
                if above >= 0:
                    balance[above] -= pipe[i]
            return balance, conductance, self._at_nodes(slope), float(flow.sum())

        balance, conductance, slope, total = left(head)
        for _ in range(_MAX_SAFE):
            if float(np.abs(balance).max()) <= 1e-9 * total:
                break
            step, _ = _eliminate(self.parent, slope, conductance, None, balance)
            down = float(step @ balance)
            share = 1.0
            for _ in range(40):
                new = left(head + share * step)
                # The slope of a convex function along the step only rises.
                if float(step @ new[0]) >= -0.5 * down:
                    break
                share *= 0.5
            head = head + share * step
            balance, conductance, slope, total = new
        return head


@dataclass
class _Trial:
    """One evaluation of a tree; arrays by node, `flow` by take-off."""

    head: FloatArray
    flow: FloatArray
    flow_slope: FloatArray
    pipe_flow: FloatArray
    missing: FloatArray
    norm: float
    conductance: FloatArray
    response: FloatArray
    slope: float = 0.0


def _lay(nodes: _Nodes, branch: Branch, places: list[list[int]]) -> list[int]:
    """Add the nodes of a branch; return the node of each take-off."""
    root = places[branch.parent][branch.takeoff] if branch.parent >= 0 else -1
    lead = branch.lead
    if lead is not None:
        root = nodes.add(root, lead.length, lead.diameter, lead.roughness, lead.rise, lead.minor_k)
    header = branch.header
    pipes = np.stack(
        [np.asarray(v) for v in (header.length, header.diameter, header.roughness, header.rise)],
        axis=1,
    ).tolist()
    mine = [0] * header.count
    for side in (range(header.feed, header.count), range(header.feed - 1, -1, -1)):
        above = root
        for i in side:
            length, diameter, roughness, rise = pipes[i]
            above = mine[i] = nodes.add(above, length, diameter, roughness, rise, 0.0)
    return mine


def _along(parent: list[int], values: FloatArray) -> FloatArray:
    """Return the sum of values on the way from the root to each node."""
    total = values.tolist()
    for i, above in enumerate(parent):
        if above >= 0:
            total[i] += total[above]
    return np.array(total)


def _gather(parent: list[int], values: FloatArray) -> FloatArray:
    """Return the sum of values at and beyond each node."""
    total = values.tolist()
    for i in range(len(parent) - 1, -1, -1):
        if parent[i] >= 0:
            total[parent[i]] += total[i]
    return np.array(total)


def _eliminate(
    parent: list[int],
    slope: FloatArray,
    conductance: FloatArray,
    push: FloatArray | None,
    balance: FloatArray | None = None,
) -> tuple[FloatArray, float]:
    """Solve the linearised tree from its ends to the root and back.

    `push` is flow that each pipe should carry more, `balance` what each node gets too
    much. Plain numbers: a tree has no vector to work on, and a header few nodes.
    Returns head corrections and the derivative of the inlet flow by inlet head.
    """
    n = len(parent)
    g = conductance.tolist()
    take = slope.tolist()  # what a node and all beyond take per head
    extra = [0.0] * n if balance is None else balance.tolist()
    more = [0.0] * n if push is None else push.tolist()
    inlet = 0.0
    for i in range(n - 1, -1, -1):
        share = g[i] / (g[i] + take[i])
        extra[i] += more[i]
        above = parent[i]
        if above >= 0:
            take[above] += share * take[i]
            extra[above] += share * extra[i] - more[i]
        else:
            inlet += share * take[i]
    step = [0.0] * n
    for i, above in enumerate(parent):
        upper = step[above] if above >= 0 else 0.0
        step[i] = (extra[i] + g[i] * upper) / (g[i] + take[i])
    return np.array(step), inlet
