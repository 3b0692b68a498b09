"""Which coils to buy for the pieces: choices in order of their cost, each tried exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenrow.design.coil_mix import FloatArray, Mix, best_mix
from evenrow.design.cutting_bounds import Inequalities, IntArray, inequalities
from evenrow.design.packing import Budget, Filled, best_fit, fits

#: Nodes of the search over all choices of coils, and over one of them.
NODES = 16_000
NODES_EACH = 8_000
#: Nodes for a choice while the list is halved, and the length of a list that is not.
NODES_HALVING = 600
FEW_CHOICES = 3
#: Nodes for the pieces that a rounded mix of patterns leaves.
NODES_REST = 1_000
#: Choices of coils that are listed at a time.
CHOICES_MAX = 6_000


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Filled coils and the cost that no choice goes below."""

    filled: tuple[Filled, ...]
    bound: int


def _rule_of_thumb(
    lengths: Sequence[int],
    counts: Sequence[int],
    stock: Sequence[int],
    costs: Sequence[int],
    cap: int | None,
) -> tuple[int | None, list[Filled]]:
    """Return the cheapest of the best-fit plans, each coil changed for the cheapest that does."""
    best: tuple[int | None, list[Filled]] = (None, [])
    cheapest = {
        size: min(range(len(stock)), key=lambda i: (stock[i] < size, costs[i], stock[i]))
        for size in stock
    }
    for base in stock:
        filled = []
        cost = 0
        for _, pattern in best_fit(lengths, counts, stock, base):
            held = sum(length * n for length, n in zip(lengths, pattern, strict=True))
            fitting = next(size for size in stock if size >= held)
            place = cheapest[fitting]
            filled.append((stock[place], pattern))
            cost += costs[place]
        within = cap is None or sum(size for size, _ in filled) <= cap
        if within and (best[0] is None or cost < best[0]):
            best = (cost, filled)
    return best


def _rate(rules: Inequalities, costs: IntArray) -> FloatArray:
    """Return the least cost of one unit of each inequality's need."""
    with np.errstate(divide="ignore"):
        return np.asarray((costs[:, None] / rules.hold).min(axis=0))


def _least(rules: Inequalities, costs: IntArray) -> int:
    """Return a cost that no choice goes below."""
    return int(np.ceil((_rate(rules, costs) * rules.need).max() * (1.0 - 1e-12)))


def _choices(
    rules: Inequalities, costs: IntArray, holders: IntArray, below: int
) -> tuple[IntArray | None, int]:
    """Return the choices of coils that keep the rules and cost less, cheapest first.

    `holders` is how many of each coil can hold a piece at all: the pieces that fit.

    Returns
    -------
    (int array of shape (choices, coils) or None, int)
        None where there are too many; and a cost that no choice goes below.
    """
    rate = _rate(rules, costs)
    each = rate * rules.need
    leading = int(np.argmax(each))
    bound = _least(rules, costs)
    # What a choice may cost above the bound limits how many it holds of each coil that is
    # dearer than the best for its room.
    dearer = costs - rate[leading] * rules.hold[:, leading]
    base = int(np.argmin(dearer))
    spare = (below - each[leading]) * (1.0 + 1e-9) + 1.0
    with np.errstate(divide="ignore"):
        most = np.minimum(holders, np.floor(spare / np.maximum(dearer, 1e-9)))
    most = np.maximum(most, 0).astype(np.int64)
    most[base] = 0
    if float(np.prod(most + 1.0)) > CHOICES_MAX:
        return None, bound
    grid: IntArray = np.indices(tuple(most + 1)).reshape(costs.size, -1).T
    lacking = np.maximum(rules.need - grid @ rules.hold, 0)
    held = rules.hold[base]
    possible = np.all((lacking == 0) | (held > 0), axis=1)
    grid, lacking = grid[possible], lacking[possible]
    grid[:, base] = (-(-lacking // np.maximum(held, 1))).max(axis=1)
    found = []
    while grid.size:
        grid = grid[grid @ costs < below]
        found.append(grid.copy())
        grid[:, base] += 1
        if sum(len(part) for part in found) > CHOICES_MAX:
            return None, bound
    listed = np.concatenate(found)
    listed = listed[rules.kept_by(listed)]
    return listed[np.argsort(listed @ costs, kind="stable")], bound


def choose(
    lengths: Sequence[int],
    counts: Sequence[int],
    stock: Sequence[int],
    costs: Sequence[int],
    *,
    cap: int | None = None,
    nodes: int = NODES,
) -> Plan:
    """Return the cheapest choice of coils that holds all pieces, with its bound.

    Parameters
    ----------
    lengths, counts : sequence of int
        Distinct lengths, longest first, none longer than the longest coil, and how many.
    stock : sequence of int
        Lengths of coil, rising.
    costs : sequence of int
        Cost of each coil.
    cap : int or None
        Most length to buy.
    nodes : int
        Nodes of the search; with 0 the rule of thumb stands.

    Returns
    -------
    Plan
        `filled` is empty where no plan within `cap` was found.
    """
    cost, filled = _rule_of_thumb(lengths, counts, stock, costs, cap)
    if nodes == 0:
        return Plan(filled=tuple(filled), bound=0)
    rules = inequalities(lengths, counts, stock)
    prices = np.array(costs, dtype=np.int64)
    if cost is None or cost > _least(rules, prices):
        mix = best_mix(lengths, counts, stock, costs)
        if mix is not None:
            rules = rules.and_one(mix.hold, mix.need)
            other = _rounded(mix, lengths, counts, stock, costs)
            within = cap is None or sum(size for size, _ in other) <= cap
            if within and (cost is None or _cost(other, stock, costs) < cost):
                cost, filled = _cost(other, stock, costs), other
    ceiling = cost if cost is not None else sum(counts) * max(costs) + 1
    # Of too many choices, the cheaper half of the range is looked at.
    holders = np.array(
        [sum(n for length, n in zip(lengths, counts, strict=True) if length <= c) for c in stock]
    )
    below = ceiling
    listed, bound = _choices(rules, prices, holders, below)
    while listed is None and below > bound + 1:
        below = (bound + below) // 2
        listed, bound = _choices(rules, prices, holders, below)
    if listed is None:
        return Plan(filled=tuple(filled), bound=min(bound, ceiling))
    if cap is not None:
        listed = listed[listed @ np.array(stock, dtype=np.int64) <= cap]
    known = Plan(filled=tuple(filled), bound=below)
    return _try(listed, lengths, counts, stock, prices, known, nodes)


def _try(
    listed: IntArray,
    lengths: Sequence[int],
    counts: Sequence[int],
    stock: Sequence[int],
    prices: IntArray,
    known: Plan,
    nodes: int,
) -> Plan:
    """Return the cheapest choice found to hold all pieces, or the known plan; with the bound.

    First by halves, to have a good plan early; then from the cheapest, for the proof.
    """
    left = nodes

    def tried(choice: IntArray, most: int) -> tuple[list[Filled] | None, bool]:
        nonlocal left
        budget = Budget(nodes=max(0, min(left, most)))
        allowed = budget.nodes
        coils = [(size, int(n)) for size, n in zip(stock, choice, strict=True) if n]
        found = fits(lengths, counts, coils, budget)
        left -= allowed - max(budget.nodes, 0)
        return found, found is None and not budget.spent_out

    low, high = 0, len(listed) if len(listed) > FEW_CHOICES else 0
    best, end = known, len(listed)
    while low < high:
        middle = (low + high) // 2
        found, _ = tried(listed[middle], NODES_HALVING)
        if found is None:
            low = middle + 1
        else:
            high = end = middle
            best = Plan(filled=tuple(found), bound=int(listed[middle] @ prices))
    bound: int | None = None
    for choice in listed[:end]:
        this = int(choice @ prices)
        if left <= 0:
            bound = this if bound is None else bound
            break
        found, refuted = tried(choice, NODES_EACH)
        if found is not None:
            best = Plan(filled=tuple(found), bound=this)
            break
        if not refuted and bound is None:
            bound = this
    return best if bound is None else Plan(filled=best.filled, bound=min(bound, best.bound))


def _cost(filled: Sequence[Filled], stock: Sequence[int], costs: Sequence[int]) -> int:
    of = dict(zip(stock, costs, strict=True))
    return sum(of[size] for size, _ in filled)


def _rounded(
    mix: Mix,
    lengths: Sequence[int],
    counts: Sequence[int],
    stock: Sequence[int],
    costs: Sequence[int],
) -> list[Filled]:
    """Return the whole patterns of the mix, and a plan for the pieces they leave."""
    left = np.array(counts, dtype=np.int64)
    for _, pattern in mix.whole:
        left -= np.array(pattern, dtype=np.int64)
    kept = [kind for kind, n in enumerate(left) if n]
    if not kept:
        return list(mix.whole)
    rest = [int(left[kind]) for kind in kept]
    few = [lengths[kind] for kind in kept]
    if mix.whole:
        plan = choose(few, rest, stock, costs, nodes=NODES_REST).filled
    else:
        plan = tuple(_rule_of_thumb(few, rest, stock, costs, None)[1])
    found = list(mix.whole)
    for size, pattern in plan:
        spread = [0] * len(lengths)
        for kind, n in zip(kept, pattern, strict=True):
            spread[kind] = n
        found.append((size, tuple(spread)))
    return found
