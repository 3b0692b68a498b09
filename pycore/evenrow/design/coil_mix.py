"""The best mix of cutting patterns where fractions of a coil are allowed: bound and first guess.

Delayed column generation: a linear program over patterns, of which only those that can better
it are ever made, each by a knapsack over the coil's length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenrow.design.cutting_bounds import IntArray
from evenrow.design.packing import Filled

FloatArray = NDArray[np.float64]

#: Cells into which the longest coil is divided; pieces are rounded down, which keeps the bound.
CELLS = 1500
#: Distinct lengths up to which the program is solved, and most of its steps.
KINDS_MAX = 24
STEPS_MAX = 120
_TINY = 1e-9
#: Value of one coil in the whole numbers of the inequality.
_SCALE = 10**9


@dataclass(frozen=True, kw_only=True)
class Mix:
    """What the linear program knows.

    `hold` (for each coil) and `need` are an inequality as in
    `evenrow.design.cutting_bounds.Inequalities`, or None where not one step was made;
    `whole` are the patterns that its mix takes at least once, as often as it takes them whole.
    """

    hold: IntArray
    need: int
    whole: tuple[Filled, ...]


class _Knapsack:
    """The most valuable pattern of every room at once."""

    def __init__(self, lengths: Sequence[int], counts: Sequence[int], coils: Sequence[int]) -> None:
        cell = max(1, max(coils) // CELLS)
        self.rooms = [coil // cell for coil in coils]
        self.lots: list[tuple[int, int, int]] = []  # (kind, pieces, cells)
        for kind, (length, count) in enumerate(zip(lengths, counts, strict=True)):
            left, step = min(count, max(coils) // length), 1
            while left:
                step = min(step, left)
                self.lots.append((kind, step, step * (length // cell)))
                left -= step
                step *= 2

    def best(self, values: FloatArray) -> tuple[FloatArray, list[IntArray]]:
        """Return the highest value in each coil and a pattern that has it."""
        worth = np.zeros(max(self.rooms) + 1)
        took = []
        for kind, pieces, cells in self.lots:
            if cells >= worth.size:
                took.append(np.zeros(0, dtype=bool))
                continue
            with_it = worth[: worth.size - cells] + pieces * values[kind]
            better = with_it > worth[cells:] + _TINY
            worth[cells:][better] = with_it[better]
            took.append(better)
        patterns: list[IntArray] = []
        for room in self.rooms:
            pattern: IntArray = np.zeros(values.size, dtype=np.int64)
            left = room
            for (kind, pieces, cells), better in zip(reversed(self.lots), took[::-1], strict=True):
                if 0 <= left - cells < better.size and better[left - cells]:
                    pattern[kind] += pieces
                    left -= cells
            patterns.append(pattern)
        return worth[self.rooms], patterns


def best_mix(
    lengths: Sequence[int], counts: Sequence[int], coils: Sequence[int], costs: Sequence[int]
) -> Mix | None:
    """Solve the linear program over cutting patterns, or return None for too many lengths.

    Parameters
    ----------
    lengths, counts : sequence of int
        Distinct lengths, longest first, none longer than the longest coil, and how many.
    coils, costs : sequence of int
        Stock of coils and the cost of each.

    References
    ----------
    P. C. Gilmore, R. E. Gomory (1961), "A linear programming approach to the cutting-stock
    problem", *Operations Research* 9, 849-859; A. A. Farley (1990), "A note on bounding a
    class of linear programming problems", *Operations Research* 38, 922-923 (the bound holds
    at every step).
    """
    kinds = len(lengths)
    if kinds > KINDS_MAX:
        return None
    need = np.array(counts, dtype=np.float64)
    price = np.array(costs, dtype=np.float64) / max(costs)
    knapsack = _Knapsack(lengths, counts, coils)
    # Start: each length for itself, from the coil that is cheapest for it.
    basis: list[tuple[int, IntArray]] = []
    for kind, length in enumerate(lengths):
        most = [min(counts[kind], coil // length) for coil in coils]
        place = min(
            (i for i, n in enumerate(most) if n), key=lambda i: (price[i] / most[i], coils[i])
        )
        pattern = np.zeros(kinds, dtype=np.int64)
        pattern[kind] = most[place]
        basis.append((place, pattern))
    inverse: FloatArray = np.diag([1.0 / pattern[kind] for kind, (_, pattern) in enumerate(basis)])
    amount = inverse @ need
    bound = 0.0
    values: FloatArray = np.zeros(kinds)
    worth: FloatArray = np.zeros(len(coils))
    for _ in range(STEPS_MAX):
        dual = np.array([price[i] if i >= 0 else 0.0 for i, _ in basis]) @ inverse
        lowest = int(np.argmin(dual))
        if dual[lowest] < -_TINY:
            entering = (-1, -np.eye(kinds, dtype=np.int64)[lowest])
        else:
            positive = np.maximum(dual, 0.0)
            most_worth, patterns = knapsack.best(positive)
            reached = float(positive @ need * (price / np.maximum(most_worth, _TINY)).min())
            if reached > bound:
                bound, values, worth = reached, positive, most_worth
            place = int(np.argmax(most_worth - price))
            if most_worth[place] - price[place] <= _TINY:
                break
            entering = (place, patterns[place])
        change = inverse @ entering[1]
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(change > _TINY, amount / change, np.inf)
        leaving = int(np.argmin(ratio))
        if not np.isfinite(ratio[leaving]):
            break
        row = inverse[leaving] / change[leaving]
        inverse = inverse - np.outer(change, row)
        inverse[leaving] = row
        amount = inverse @ need
        basis[leaving] = entering
    piece_values = np.floor(values * _SCALE).astype(np.int64)
    return Mix(
        hold=np.ceil(worth * _SCALE + 1.0).astype(np.int64),
        need=int(piece_values @ np.array(counts, dtype=np.int64)),
        whole=_whole_patterns(lengths, counts, coils, basis, amount),
    )


def _whole_patterns(
    lengths: Sequence[int],
    counts: Sequence[int],
    coils: Sequence[int],
    basis: Sequence[tuple[int, IntArray]],
    amount: FloatArray,
) -> tuple[Filled, ...]:
    """Return the patterns of the mix as often as it takes them whole, none beyond the need."""
    left = np.array(counts, dtype=np.int64)
    size = np.array(lengths, dtype=np.int64)
    found: list[Filled] = []
    for (place, pattern), times in sorted(
        zip(basis, amount.tolist(), strict=True), key=lambda entry: -entry[1]
    ):
        if place < 0 or int(size @ pattern) > coils[place]:
            continue
        used = pattern > 0
        whole = min(int(times + 1e-6), int((left[used] // pattern[used]).min()))
        found += [(coils[place], tuple(pattern.tolist()))] * whole
        left -= whole * pattern
    return tuple(found)
