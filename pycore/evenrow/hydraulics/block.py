"""Whole blocks and farms: the flow of every emitter, each distinct lateral solved few times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics._check import FloatArray, number
from evenrow.hydraulics._local import Exact, LocalLaterals, Profile, RoughLaterals, make_profile
from evenrow.hydraulics.assembly import Component
from evenrow.hydraulics.constants import VISCOSITY_20C
from evenrow.hydraulics.header import Header, HeaderModel, Laterals
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.network import (
    Meeting,
    Model,
    Supply,
    SystemSolution,
    checked_index,
    meet,
    report,
    tree_index,
)
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch, TreeModel
from evenrow.words import tr

#: Take-offs that a distinct lateral must have before interpolation takes fewer solves.
_SHARED = 14
_MAX_ROUNDS = 40
_CAREFUL = 8
#: Change of the inlet heads after which the tangents lead to the solution [part of head].
_CLOSE = 1e-6
_BALANCE = 1e-9
_MISSING = 1e-10  # [m]
_GAP = 1e-9  # [m] between head offered and head taken
_ROUGHLY = 1e-2  # [m] the same for the first guess


@dataclass(frozen=True)
class Zone:
    """What one valve opens: a main, and a header or a tree of them, with its laterals.

    Parameters
    ----------
    header : Header or sequence of Branch
        The header, or a tree of headers.
    lateral_index : array_like of int, or sequence of them
        Which lateral each take-off has, one number or shape (n,); for a tree a sequence
        of these, one for each branch. -1 stands for no lateral.
    main : sequence of Pipe
        Pipes from the head assembly to the header; may be empty.
    """

    header: Header | Sequence[Branch]
    lateral_index: Any
    main: Sequence[Pipe] = ()


@dataclass(frozen=True)
class BlockSolution:
    """A zone solved down to every emitter.

    Attributes
    ----------
    system : SystemSolution
        Source, assembly, main and headers; `outside_curves` is always False.
    laterals : tuple of Lateral
        The distinct laterals.
    lateral_index : numpy.ndarray of int
        Which of them each take-off has; -1 for none.
    emitter_flows : tuple of numpy.ndarray
        Flows of the emitters of each take-off from inlet to end [m3/s].
    error : float
        Bound of the interpolation error of an emitter's flow, relative to it, or to a
        thousandth of its line's mean where it gives less [-]; 0 where nothing was interpolated.
    balance : float
        Sum of all emitter flows against the flow of the source, relative [-].
    exact : bool
        True if every lateral was solved at its own inlet head.
    """

    system: SystemSolution
    laterals: tuple[Lateral, ...]
    lateral_index: NDArray[np.int64]
    emitter_flows: tuple[FloatArray, ...]
    error: float
    balance: float
    exact: bool

    @property
    def flows(self) -> FloatArray:
        """Flows of all emitters [m3/s], take-off after take-off."""
        return np.concatenate(self.emitter_flows)


def solve_block(
    source: SourceCurve,
    assembly: Sequence[Component],
    main: Sequence[Pipe],
    header: Header | Sequence[Branch],
    laterals: Sequence[Lateral],
    lateral_index: Any,
    viscosity: float = VISCOSITY_20C,
    tolerance: float = 1e-6,
) -> BlockSolution:
    """Find the flow of every emitter of a block at its meeting point with the source.

    Parameters
    ----------
    source : SourceCurve
        The source.
    assembly : sequence of LossComponent or Regulator
        Head assembly in the order of the water; may be empty.
    main : sequence of Pipe
        Pipes from the assembly to the header; may be empty.
    header : Header or sequence of Branch
        The header, or a tree of headers.
    laterals : sequence of Lateral
        The distinct laterals.
    lateral_index : array_like of int, or sequence of them
        Which lateral each take-off has; see `Zone`.
    viscosity : float
        Kinematic viscosity in the pipes of main and headers [m2/s].
    tolerance : float
        Largest interpolation error of an emitter's flow [-], 1e-10 to 1e-3.

    Returns
    -------
    BlockSolution
        Heads, flows and the error that interpolation may have left.

    Raises
    ------
    InputError
        If an argument does not fit.
    ConvergenceError
        If the solution is not found, or its mass balance is worse than 1e-9.

    Notes
    -----
    See `solve_zones`.
    """
    zone = Zone(header, lateral_index, main)
    return solve_zones(source, assembly, [zone], laterals, viscosity, tolerance)[0]


def solve_zones(
    source: SourceCurve,
    assembly: Sequence[Component],
    zones: Sequence[Zone],
    laterals: Sequence[Lateral],
    viscosity: float = VISCOSITY_20C,
    tolerance: float = 1e-6,
) -> tuple[BlockSolution, ...]:
    """Find the flow of every emitter of zones that run one at a time.

    Parameters
    ----------
    source, assembly, laterals, viscosity, tolerance
        As in `solve_block`.
    zones : sequence of Zone
        The zones; each is solved alone at the source, and all share the laterals.

    Returns
    -------
    tuple of BlockSolution
        One for each zone.

    Raises
    ------
    InputError
        If an argument does not fit.
    ConvergenceError
        If a solution is not found, or its mass balance is worse than 1e-9.

    Notes
    -----
    Headers are first solved with lumped laterals. A lateral with many take-offs is then
    solved at Chebyshev's points of the range of heads found, and polynomials lead between
    them; half of the points test the polynomial through the others. Where that test fails,
    as where emitters run dry, and for laterals with few take-offs, each is solved at its
    own head, and the header with their tangents, until the heads no longer move.

    As in general network engines pipes stay full: a lateral that falls away from its
    header draws water even at an inlet head below 0, which `outlet_heads` then shows.
    """
    nu = number("viscosity", viscosity, 1e-8, 1e-4, unit="m2/s")
    limit = number("tolerance", tolerance, 1e-10, 1e-3)
    if not zones:
        raise InputError("must hold at least one zone", code="empty", field="zones")
    lines = list(laterals)
    if not lines:
        raise InputError("must hold at least one lateral", code="empty", field="laterals")
    works = [_Work(source, assembly, zone, lines, nu) for zone in zones]
    high = max(1e-3, *(work.highest for work in works))
    table = None
    last: Meeting | None = None
    for work in works:
        rough = RoughLaterals(lines, work.index, high, table)
        table = rough.table
        # Zones of a farm are much alike: each starts where the last one ended.
        alike = last is not None and last.state.heads.size == work.index.size
        work.met = last if alike else None
        work.use(rough, _ROUGHLY)
        last = work.met
    _refine(works, lines, limit)
    return tuple(work.solution(tuple(lines)) for work in works)


@dataclass
class _Work:
    """One zone on its way to the solution."""

    source: SourceCurve
    assembly: Sequence[Component]
    zone: Zone
    lines: list[Lateral]
    viscosity: float
    met: Meeting | None = None
    exact: Exact | None = None
    flows: list[FloatArray] = field(default_factory=list)
    given: float = 0.0
    error: float = 0.0

    def __post_init__(self) -> None:
        zone = self.zone
        self.supply = Supply(self.source, tuple(self.assembly), tuple(zone.main), self.viscosity)
        header = zone.header
        if isinstance(header, Header):
            self.index = checked_index(
                "lateral_index", zone.lateral_index, header.count, len(self.lines), lowest=-1
            )
        else:
            self.index = tree_index("lateral_index", zone.lateral_index, header, len(self.lines))
        used = np.unique(self.index[self.index >= 0]).tolist()
        self.fall = min(0.0, *(float(self.lines[k].line.rise.min()) for k in used), 0.0)
        n = self.index.size
        nothing = LocalLaterals(np.zeros(n), np.ones(n), np.zeros((n, 1)))
        #: Highest head a lateral can see [m].
        self.highest = self.supply.still - self._model(nothing).dry_head + self.fall

    def _model(self, laterals: Laterals) -> HeaderModel | TreeModel:
        """Return the header or the tree with some laterals."""
        header = self.zone.header
        model: HeaderModel | TreeModel
        if isinstance(header, Header):
            model = HeaderModel(header, laterals, self.viscosity)
        else:
            model = TreeModel(header, laterals, self.viscosity)
        # Laterals that fall away still draw while the header has no pressure left.
        model.dry_head += self.fall
        return model

    def use(self, laterals: Laterals, tolerance: float = _GAP) -> None:
        """Solve with these laterals, from the last solution if there is one."""
        model: Model = self._model(laterals)
        if self.met is None:
            self.met = meet(self.supply, model, tolerance=tolerance)
        else:
            self.met = meet(self.supply, model, self.met.head, self.met.state, tolerance)

    @property
    def heads(self) -> FloatArray:
        """Inlet heads of the laterals [m]."""
        assert self.met is not None
        return self.met.state.inlet_heads

    def solution(self, laterals: tuple[Lateral, ...]) -> BlockSolution:
        """Gather the solution and check its mass balance."""
        assert self.met is not None
        total = self.met.state.total
        given = self.given
        balance = abs(given - total) / total if total > 0.0 else given
        if balance > _BALANCE:
            raise ConvergenceError(
                tr("the emitters give {balance:.2g} more or less than the source", balance=balance),
                code="balance",
                hint=tr("report this block with its inputs"),
            )
        system = report(self.supply, self.met, outside=False)
        return BlockSolution(
            system,
            laterals,
            self.index,
            tuple(self.flows),
            self.error,
            balance,
            exact=self.error == 0.0,
        )


def _refine(works: list[_Work], lines: list[Lateral], limit: float) -> None:
    """Solve all zones with exact laterals or profiles of them, to every emitter."""
    profiles: dict[int, Profile | None] = {}
    _prepare(works, lines, limit, profiles)
    for work in works:
        for turn in range(_MAX_ROUNDS):
            local, places, heads = _local_laws(work, lines, profiles, turn)
            work.use(local)
            if not _covered(work, profiles):
                _prepare([work], lines, limit, profiles)
                continue
            moved = np.abs(work.heads[places] - heads)
            if bool((moved <= _CLOSE * (np.abs(heads) + 1.0)).all()):
                break
        else:
            raise ConvergenceError(
                tr("the heads still move by {moved:.2g} m", moved=float(moved.max())),
                code="not_converged",
                hint=tr("report this block with its inputs"),
            )
        _fill(work, lines, profiles, places)


def _prepare(
    works: list[_Work], lines: list[Lateral], limit: float, profiles: dict[int, Profile | None]
) -> None:
    """Make or widen the profiles of the laterals that many take-offs share."""
    index = np.concatenate([work.index for work in works])
    heads = np.concatenate([work.heads for work in works])
    for kind, users in enumerate(np.bincount(index[index >= 0], minlength=len(lines)).tolist()):
        old = profiles.get(kind)
        if old is None and (users <= _SHARED or kind in profiles):
            continue
        mine = heads[index == kind]
        low, high = float(mine.min()), float(mine.max())
        if old is not None:
            if old.low <= low and high <= old.high:
                continue
            low, high = min(low, old.low), max(high, old.high)
        margin = 0.03 * (high - low) + 1e-3 * abs(high) + _ROUGHLY
        low, high = low - margin, high + margin
        # Next to no head the flow has no polynomial; solve such lines one by one.
        profiles[kind] = make_profile(lines[kind], low, high, limit) if low > 0.0 else None


def _covered(work: _Work, profiles: dict[int, Profile | None]) -> bool:
    """Return whether the heads of a zone lie within the profiles they were found with."""
    for kind, profile in profiles.items():
        mine = work.heads[work.index == kind]
        if (
            profile is not None
            and mine.size
            and not (profile.low <= mine.min() and mine.max() <= profile.high)
        ):
            return False
    return True


def _local_laws(
    work: _Work, lines: list[Lateral], profiles: dict[int, Profile | None], turn: int
) -> tuple[LocalLaterals, NDArray[np.int64], FloatArray]:
    """Return the laws near the present heads, and which take-offs were solved at which."""
    n = work.index.size
    middle, half = np.zeros(n), np.ones(n)
    coefficients: FloatArray = np.zeros((n, 2))
    single = work.index >= 0
    for kind, profile in profiles.items():
        if profile is None:
            continue
        where = work.index == kind
        single &= ~where
        terms = profile.degree + 1
        if coefficients.shape[1] < terms:
            coefficients = np.pad(coefficients, ((0, 0), (0, terms - coefficients.shape[1])))
        coefficients[where, :terms] = profile.coefficients()
        middle[where] = 0.5 * (profile.low + profile.high)
        half[where] = 0.5 * (profile.high - profile.low)
    places = np.flatnonzero(single)
    heads = work.heads[places]
    if places.size:
        if work.exact is None or len(work.exact.laterals) != places.size:
            work.exact = Exact([lines[k] for k in work.index[places].tolist()])
        elif turn >= _CAREFUL:  # a kink may throw the tangents to and fro
            heads = 0.5 * (heads + work.exact.heads)
        flow, slope = work.exact.solve(heads)
        middle[places], coefficients[places, 0], coefficients[places, 1] = heads, flow, slope
    return LocalLaterals(middle, half, coefficients), places, heads


def _fill(
    work: _Work, lines: list[Lateral], profiles: dict[int, Profile | None],
    places: NDArray[np.int64],
) -> None:  # fmt: skip
    """Set the emitter flows of a zone."""
    flows: list[FloatArray] = [np.empty(0)] * work.index.size
    for kind, profile in profiles.items():
        where = np.flatnonzero(work.index == kind)
        if profile is None or not where.size:
            continue
        work.error = max(work.error, profile.error)
        rows = profile.at(work.heads[where])
        work.given += float(rows.sum())
        for i, row in zip(where.tolist(), rows, strict=True):
            flows[i] = row
    if places.size and work.exact is not None:
        solved = work.exact.flows_at(work.heads[places], _MISSING)
        for i, row in zip(places.tolist(), solved, strict=True):
            flows[i] = row
            work.given += float(row.sum())
    work.flows = flows
