"""Cutting plans: pieces out of coils, with the proof or the bound beside the plan."""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import ceil

from evenrow.errors import InputError

#: Nodes of the search before the best plan so far is taken with its bound.
SEARCH_NODES = 20_000
#: Cuts up to which the search is tried; above, best-fit stands with its bound.
SEARCH_PIECES = 120
#: Most cuts of one plan.
CUTS_MAX = 50_000
#: How much more than the least length may be bought to have fewer coils.
MORE_BOUGHT = 0.10
#: Lengths closer than this are equal: a cut is no finer. [m]
TOLERANCE = 1e-6


@dataclass(frozen=True, kw_only=True)
class Coil:
    """One coil: the pieces cut from it, as (piece number, length), and what is left [m]."""

    length: float
    pieces: tuple[tuple[int, float], ...]

    @property
    def left(self) -> float:
        """Length left over [m]."""
        return self.length - sum(length for _, length in self.pieces)


@dataclass(frozen=True, kw_only=True)
class CuttingPlan:
    """The coils to buy with their cuts.

    `bound` is a number of coils of this length that no plan with these joints can go below; the
    plan is proven best when it needs no more. `couplings` counts the joints, one where two cuts
    of a piece longer than a coil meet.
    """

    coil_length: float
    coils: tuple[Coil, ...]
    bound: int
    couplings: int

    @property
    def proven(self) -> bool:
        """Whether no plan with fewer coils of this length, and no more joints, exists."""
        return len(self.coils) == self.bound

    @property
    def bought(self) -> float:
        """Length bought [m]."""
        return self.coil_length * len(self.coils)

    @property
    def left(self) -> tuple[float, ...]:
        """Off-cuts longer than nothing, longest first: repair stock [m]."""
        return tuple(sorted((c.left for c in self.coils if c.left > TOLERANCE), reverse=True))


def lower_bound(pieces: Sequence[float], coil: float) -> int:
    """Return a number of coils that no cutting plan without further joints can go below.

    The bound L2 of Martello and Toth (1990), *Knapsack Problems*, section 8.3: for each
    threshold, pieces too large to share a coil count whole and the rest by their length.
    """
    rising = sorted(pieces)
    sums = [0.0, *accumulate(rising)]

    def place(length: float) -> int:
        return bisect_right(rising, length + TOLERANCE)

    best = ceil(sums[-1] / coil - TOLERANCE)
    half = place(coil / 2)
    for small in {0.0, *rising[:half]}:
        too_large = max(place(coil - small), half)
        large = len(rising) - too_large
        room = (too_large - half) * coil - (sums[too_large] - sums[half])
        rest = sums[half] - sums[bisect_left(rising, small)]
        more = max(0, ceil((rest - room) / coil - TOLERANCE))
        best = max(best, large + too_large - half + more)
    return best


def _best_fit(pieces: Sequence[tuple[int, float]], coil: float) -> list[list[tuple[int, float]]]:
    """Longest piece first, each into the fullest coil that still holds it."""
    coils: list[list[tuple[int, float]]] = []
    room: list[tuple[float, int]] = []  # what is left in each coil, least first
    for piece in pieces:
        fits = bisect_left(room, (piece[1] - TOLERANCE, -1))
        if fits < len(room):
            left, place = room.pop(fits)
            coils[place].append(piece)
        else:
            left, place = coil, len(coils)
            coils.append([piece])
        insort(room, (left - piece[1], place))
    return coils


def _search(
    pieces: Sequence[tuple[int, float]], coil: float, count: int
) -> list[list[tuple[int, float]]] | None:
    """Look for a plan with `count` coils by depth-first search, within `SEARCH_NODES`."""
    room = [coil] * count
    place = [0] * len(pieces)
    spare = coil * count - sum(length for _, length in pieces)
    nodes = 0

    def descend(index: int, spare_left: float) -> bool:
        nonlocal nodes
        if index == len(pieces):
            return True
        nodes += 1
        if nodes > SEARCH_NODES:
            return False
        length = pieces[index][1]
        same = index > 0 and abs(pieces[index - 1][1] - length) < TOLERANCE
        tried: set[float] = set()
        # Equal pieces go into coils in rising order: other orders are the same plan.
        for i in range(place[index - 1] if same else 0, count):
            free = round(room[i], 6)
            if room[i] + TOLERANCE < length or free in tried:
                continue
            tried.add(free)
            room[i] -= length
            place[index] = i
            smallest = pieces[-1][1]
            lost = room[i] if room[i] + TOLERANCE < smallest else 0.0
            if lost <= spare_left + TOLERANCE and descend(index + 1, spare_left - lost):
                return True
            room[i] += length
        return False

    if not descend(0, spare):
        return None
    coils: list[list[tuple[int, float]]] = [[] for _ in range(count)]
    for piece, i in zip(pieces, place, strict=True):
        coils[i].append(piece)
    return coils


def _split_long(
    pieces: Sequence[float], coil: float, couplings: bool
) -> tuple[list[tuple[int, float]], int]:
    """Return the cuts as (piece number, length) and how many couplings join them."""
    total = sum(max(1, ceil(length / coil - TOLERANCE)) for length in pieces)
    if total > CUTS_MAX:
        raise InputError(
            "there are too many pieces to cut for one plan",
            code="out_of_range",
            field="rows",
            given=total,
            accepted=f"up to {CUTS_MAX} pieces of a coil or less",
            hint="split the field into several designs",
        )
    cuts: list[tuple[int, float]] = []
    joined = 0
    for number, length in enumerate(pieces, start=1):
        if length <= coil + TOLERANCE:
            cuts.append((number, min(length, coil)))
            continue
        if not couplings:
            raise InputError(
                "a piece is longer than the coil",
                code="out_of_range",
                given=f"{length:.4g} m",
                accepted=f"up to {coil:.4g} m",
                hint="a longer coil, or allow couplings",
            )
        whole = int((length - TOLERANCE) // coil)
        cuts += [(number, coil)] * whole
        cuts.append((number, length - whole * coil))
        joined += whole
    return cuts, joined


def cutting_plan(
    pieces: Sequence[float], coil_length: float, *, couplings: bool = True
) -> CuttingPlan:
    """Plan the cuts of `pieces` from coils of one length with the fewest coils.

    Parameters
    ----------
    pieces : sequence of float
        Lengths to cut, each > 0. [m]
    coil_length : float
        Length of a coil, > 0. [m]
    couplings : bool
        Whether a piece longer than a coil may be joined from several.

    Returns
    -------
    CuttingPlan
        Best-fit decreasing, bettered by search until it meets its lower bound; `proven`
        says whether it does.

    Raises
    ------
    InputError
        A length not above zero, or a piece longer than a coil without couplings.

    References
    ----------
    S. Martello, P. Toth (1990), *Knapsack Problems*, chapter 8 (bin packing).
    """
    if coil_length <= 0.0 or any(piece <= 0.0 for piece in pieces):
        raise InputError("lengths to cut must be above zero", code="out_of_range", accepted="> 0")
    cuts, joined = _split_long(pieces, coil_length, couplings)
    cuts.sort(key=lambda cut: (-cut[1], cut[0]))
    bound = lower_bound([length for _, length in cuts], coil_length) if cuts else 0
    coils = _best_fit(cuts, coil_length)
    while len(coils) > bound and len(cuts) <= SEARCH_PIECES:
        fewer = _search(cuts, coil_length, len(coils) - 1)
        if fewer is None:
            break
        coils = fewer
    return CuttingPlan(
        coil_length=coil_length,
        coils=tuple(Coil(length=coil_length, pieces=tuple(coil)) for coil in coils),
        bound=bound,
        couplings=joined,
    )


def choose_coil(
    pieces: Sequence[float], coils: Sequence[float], *, couplings: bool = True
) -> CuttingPlan:
    """Return the plan with the fewest coils that buys hardly more than the least length.

    Of the coil lengths on sale, those whose plans buy at most `MORE_BOUGHT` above the least
    are compared: nobody carries forty short coils to save a few metres.
    """
    longest = max(pieces, default=0.0)
    usable = [c for c in coils if couplings or c + TOLERANCE >= longest] or [max(coils)]
    plans = [cutting_plan(pieces, coil, couplings=couplings) for coil in usable]
    bound = min(plan.bought for plan in plans) * (1.0 + MORE_BOUGHT) + TOLERANCE
    close = [plan for plan in plans if plan.bought <= bound]
    return min(close, key=lambda plan: (len(plan.coils), plan.couplings, plan.bought))
