"""Cutting plans: pieces out of coils, with the proof or the bound beside the plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor

from evenrow.design.coil_choice import Plan, choose
from evenrow.errors import InputError
from evenrow.words import tr

#: Most cuts of one plan.
CUTS_MAX = 50_000
#: How much more than the least length may be bought to have fewer coils, prices unknown.
MORE_BOUGHT = 0.10
#: How many joints more than needed are made for a better plan: each is work, and may leak.
MORE_JOINTS = 1
#: Lengths closer than this are equal: a cut is no finer. [m]
TOLERANCE = 1e-6
#: Prices are compared to this.
PRICE_STEP = 1e-4
#: Weights of what comes first in a comparison against what comes second.
_FIRST_OF_PRICE = 10**6
_FIRST_OF_COILS = 10**12


@dataclass(frozen=True, kw_only=True)
class Coil:
    """One coil: the pieces cut from it, as (piece number, length), and what is left [m]."""

    length: float
    pieces: tuple[tuple[int, float], ...]

    @property
    def left(self) -> float:
        """Length left over [m]."""
        return max(0.0, self.length - sum(length for _, length in self.pieces))


@dataclass(frozen=True, kw_only=True)
class CuttingPlan:
    """The coils to buy with their cuts.

    Parameters
    ----------
    coils : tuple of Coil
        Longest first.
    price : float or None
        Price of the coils and of the joints counted in, None where coils have no price.
    bound : float
        What no plan of this kind goes below: a price, or where there is none a number of
        coils.
    couplings : int
        Joints, one where two cuts of a piece longer than a coil meet.
    """

    coils: tuple[Coil, ...]
    price: float | None
    bound: float
    couplings: int

    @property
    def proven(self) -> bool:
        """Whether no plan costs less (prices unknown: has fewer coils)."""
        reached = len(self.coils) if self.price is None else self.price
        return reached <= self.bound + PRICE_STEP

    @cached_property
    def bought(self) -> float:
        """Length bought [m]."""
        return sum(coil.length for coil in self.coils)

    @cached_property
    def cut(self) -> float:
        """Length of all cuts [m]."""
        return sum(length for coil in self.coils for _, length in coil.pieces)

    @cached_property
    def by_length(self) -> tuple[tuple[float, int], ...]:
        """Each length of coil with how many to buy, longest first."""
        return tuple(Counter(coil.length for coil in self.coils).items())

    @property
    def left(self) -> tuple[float, ...]:
        """Off-cuts longer than nothing, longest first: repair stock [m]."""
        return tuple(sorted((c.left for c in self.coils if c.left > TOLERANCE), reverse=True))


def _whole(length: float) -> int:
    """Return a length in whole micrometres; a third of a coil is cut three times from it."""
    return floor(length / TOLERANCE + 1e-3)


def _split_long(
    pieces: Sequence[float], coil: float, couplings: bool
) -> tuple[list[tuple[int, float]], int]:
    """Return the cuts as (piece number, length) and how many couplings join them."""
    total = sum(max(1, ceil((length - TOLERANCE) / coil)) for length in pieces)
    if total > CUTS_MAX:
        raise InputError(
            tr("there are too many pieces to cut for one plan"),
            code="out_of_range",
            field="rows",
            given=total,
            accepted=tr("up to {cuts_max} pieces of a coil or less", cuts_max=CUTS_MAX),
            hint=tr("split the field into several designs"),
        )
    cuts: list[tuple[int, float]] = []
    joined = 0
    for number, length in enumerate(pieces, start=1):
        if length <= coil + TOLERANCE:
            cuts.append((number, min(length, coil)))
            continue
        if not couplings:
            raise InputError(
                tr("a piece is longer than the coil"),
                code="out_of_range",
                given=f"{length:.4g} m",
                accepted=tr("up to {coil:.4g} m", coil=coil),
                hint=tr("a longer coil, or allow couplings"),
            )
        whole = int((length - TOLERANCE) // coil)
        cuts += [(number, coil)] * whole
        cuts.append((number, length - whole * coil))
        joined += whole
    return cuts, joined


@dataclass(frozen=True, kw_only=True)
class _Way:
    """One way to join what is longer than a coil, as whole numbers for the search."""

    cuts: list[tuple[int, float]]
    joints: int

    @cached_property
    def kinds(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        counted = sorted(Counter(_whole(length) for _, length in self.cuts).items(), reverse=True)
        return tuple(length for length, _ in counted), tuple(count for _, count in counted)

    def coils(self, plan: Plan, stock: dict[int, float]) -> tuple[Coil, ...]:
        """Deal the numbered cuts out to the coils, equal ones in their order."""
        lengths, _ = self.kinds
        waiting: dict[int, list[tuple[int, float]]] = {length: [] for length in lengths}
        for number, length in sorted(self.cuts, reverse=True):
            waiting[_whole(length)].append((number, length))
        return tuple(
            Coil(
                length=stock[size],
                pieces=tuple(
                    waiting[length].pop()
                    for length, count in zip(lengths, pattern, strict=True)
                    for _ in range(count)
                ),
            )
            for size, pattern in sorted(plan.filled, reverse=True)
        )


def _ways(pieces: Sequence[float], stock: Sequence[float], couplings: bool) -> list[_Way]:
    """Return the ways to join what is longer than a coil, fewest joints first."""
    cuts, joints = _split_long(pieces, stock[-1], couplings)
    ways = [_Way(cuts=cuts, joints=joints)]
    for length in reversed(stock[:-1]):
        more = sum(max(0, ceil((piece - TOLERANCE) / length) - 1) for piece in pieces)
        if not couplings or more > joints + MORE_JOINTS:
            break
        if more > ways[-1].joints:
            ways.append(_Way(cuts=_split_long(pieces, length, couplings)[0], joints=more))
    return ways


def cutting_plan(
    pieces: Sequence[float],
    coils: Sequence[float],
    *,
    prices: Sequence[float] = (),
    couplings: bool = True,
    joint_price: float | None = None,
) -> CuttingPlan:
    """Plan the cuts of `pieces` from coils of any mix of the lengths on sale.

    With prices the cheapest plan is sought.  Without, the plan with the fewest coils among
    those that buy at most `MORE_BOUGHT` more than the least length: nobody carries forty
    short coils to save a few metres, nor buys a whole large coil for its first end.

    Parameters
    ----------
    pieces : sequence of float
        Lengths to cut, each > 0. [m]
    coils : sequence of float
        Lengths on sale, each > 0. [m]
    prices : sequence of float
        Price of each of those, >= 0; empty where unknown.
    couplings : bool
        Whether a piece longer than a coil may be joined from several.
    joint_price : float or None
        What a joint costs. Where it is known, plans from shorter coils with more joints
        compete; otherwise only what is longer than the longest coil is joined.

    Returns
    -------
    CuttingPlan
        Exact where the search ends within its budget, which counts nodes and not time;
        otherwise with the bound that it reached.  It does not depend on the order of the
        pieces but for their numbers.

    Raises
    ------
    InputError
        A length not above zero, prices that do not match, too many pieces, or a piece longer
        than every coil without couplings.

    References
    ----------
    See `evenrow.design.packing.fits` and `evenrow.design.cutting_bounds.inequalities`.
    """
    if not coils or min(coils) <= 0.0 or any(piece <= 0.0 for piece in pieces):
        raise InputError(
            tr("lengths to cut must be above zero"), code="out_of_range", accepted="> 0"
        )
    if len(prices) not in (0, len(coils)) or any(price < 0.0 for price in prices):
        raise InputError(
            tr("each coil on sale has one price"),
            code="out_of_range",
            accepted=tr("one for each, or none"),
        )
    on_sale = sorted(zip(coils, prices or [0.0] * len(coils), strict=True))
    stock = {_whole(length): length for length, _ in on_sale}
    if not pieces:
        return CuttingPlan(coils=(), price=0.0 if prices else None, bound=0.0, couplings=0)
    several = couplings and (not prices or joint_price is not None)
    ways = _ways(pieces, [length for length, _ in on_sale], couplings)
    if not several:
        ways = ways[:1]
    if prices:
        cheapest: dict[int, float] = {}
        for length, price in on_sale:
            cheapest[_whole(length)] = min(price, cheapest.get(_whole(length), price))
        return _cheapest(ways, stock, cheapest, joint_price or 0.0)
    return _fewest(ways, stock)


def _cheapest(
    ways: Sequence[_Way], stock: dict[int, float], prices: dict[int, float], joint_price: float
) -> CuttingPlan:
    costs = [round(prices[size] / PRICE_STEP) * _FIRST_OF_PRICE + 1 for size in stock]
    found = []
    for way in ways:
        plan = choose(*way.kinds, list(stock), costs)
        joined = way.joints * joint_price
        price = sum(prices[size] for size, _ in plan.filled) + joined
        bound = plan.bound // _FIRST_OF_PRICE * PRICE_STEP + joined
        found.append((round(price, 6), way.joints, len(plan.filled), bound, way, plan))
    price, joints, _, _, way, plan = min(found, key=lambda entry: entry[:3])
    bound = min(entry[3] for entry in found)
    return CuttingPlan(
        coils=way.coils(plan, stock), price=price, bound=min(bound, price), couplings=joints
    )


def _fewest(ways: Sequence[_Way], stock: dict[int, float]) -> CuttingPlan:
    sizes = list(stock)
    cap = None
    if len(sizes) > 1:
        shortest = [choose(*way.kinds, sizes, sizes, nodes=0) for way in ways]
        least = min(sum(size for size, _ in plan.filled) for plan in shortest)
        cap = floor(least * (1.0 + MORE_BOUGHT))
    costs = [_FIRST_OF_COILS + size // 1000 for size in sizes]
    found = []
    for way in ways:
        plan = choose(*way.kinds, sizes, costs, cap=cap)
        if plan.filled:
            length = sum(size for size, _ in plan.filled)
            found.append((len(plan.filled), way.joints, length, way, plan))
    count, joints, _, way, plan = min(found, key=lambda entry: entry[:3])
    bound = min(plan.bound // _FIRST_OF_COILS for *_, plan in found)
    return CuttingPlan(
        coils=way.coils(plan, stock),
        price=None,
        bound=float(min(bound, count)),
        couplings=joints,
    )
