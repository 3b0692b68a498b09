"""What no cutting plan can beat: inequalities that every choice of coils must keep.

Give each piece a value.  If no coil can hold more than a certain value, then the coils bought
must together be able to hold the value of all pieces.  Each way to give values is one
inequality; together they bound the coils, and rule out most choices of coils at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

#: Cells into which the longest coil is divided where sums of lengths are listed.
CELLS = 200_000
#: Distinct lengths up to which sums of lengths are listed.
KINDS_MAX = 150
#: Largest whole number of parts in which a coil's room is counted.
PARTS_MAX = 20


@dataclass(frozen=True, kw_only=True)
class Inequalities:
    """Sum over coils of `hold` (one row for each coil of the stock) >= `need`."""

    hold: IntArray
    need: IntArray

    def and_one(self, hold: IntArray, need: int) -> Inequalities:
        """Return these and one more inequality."""
        return Inequalities(
            hold=np.column_stack((self.hold, hold)), need=np.append(self.need, need)
        )

    def kept_by(self, counts: IntArray) -> NDArray[np.bool_]:
        """Return for each row of `counts` (choices, coils) whether all inequalities hold."""
        return np.asarray(np.all(counts @ self.hold >= self.need, axis=1))


def _sums(lengths: Sequence[int], counts: Sequence[int], coils: Sequence[int]) -> list[list[int]]:
    """Return the largest sum of the first pieces that each coil holds, for each first number."""
    reached = 1  # bit n: a sum of n is possible
    full = (1 << (max(coils) + 1)) - 1
    best = []
    for length, count in zip(lengths, counts, strict=True):
        left = min(count, max(coils) // length) if length else 0
        step = 1
        while left > 0:
            step = min(step, left)
            reached |= (reached << (length * step)) & full
            left -= step
            step *= 2
        best.append([(reached & ((1 << (coil + 1)) - 1)).bit_length() - 1 for coil in coils])
    return best


def _numbers(lengths: Sequence[int], counts: Sequence[int], coil: int) -> list[int]:
    """Return how many of the first pieces a coil holds at most, for each first number."""
    most = []
    for kind in range(len(lengths)):
        room, number = coil, 0
        for length, count in zip(lengths[kind::-1], counts[kind::-1], strict=True):
            taken = min(count, room // length)
            number += taken
            room -= taken * length
            if taken < count:
                break
        most.append(number)
    return most


def _parts(lengths: Sequence[int], counts: Sequence[int], coil: int) -> list[int]:
    """Return needs, in coils of one length, by dual feasible functions.

    Pieces shorter than a threshold count nothing, pieces that leave less than it count a
    whole coil, and the rest in whole (k+1)-th parts of the coil, of which k can be exceeded
    by no coil.
    """
    size = np.array(lengths, dtype=np.int64)
    number = np.array(counts, dtype=np.int64)
    floor = np.unique(np.minimum(size, coil - size))[:, None]
    floor = floor[(floor[:, 0] >= 0) & (2 * floor[:, 0] <= coil)]
    raised = np.where(size > coil - floor, coil, np.where(size < floor, 0, size))[:, None, :]
    k = np.arange(1, PARTS_MAX + 1)[:, None]
    value = np.maximum(-(-(k + 1) * raised // coil) - 1, 0)
    needed = -(-(value @ number) // k[:, 0])
    return [int(needed.max(initial=0))]


def inequalities(
    lengths: Sequence[int], counts: Sequence[int], coils: Sequence[int]
) -> Inequalities:
    """Return inequalities that every choice of coils which holds all pieces keeps.

    Parameters
    ----------
    lengths, counts : sequence of int
        Distinct lengths, longest first, and how many of each.
    coils : sequence of int
        Lengths of coil in the stock.

    Returns
    -------
    Inequalities
        By length; by the number of the longest pieces; by the sums that the longest pieces
        can make; for a stock of one length also by dual feasible functions, which hold the
        bound L2.

    References
    ----------
    S. Martello, P. Toth (1990), *Knapsack Problems*, section 8.3 (L2); S. P. Fekete,
    J. Schepers (2001), "New classes of fast lower bounds for bin packing problems",
    *Mathematical Programming* 91, 11-31 (dual feasible functions).
    """
    number = np.array(counts, dtype=np.int64)
    rows = [list(coils)]
    need = [sum(length * count for length, count in zip(lengths, counts, strict=True))]
    if len(lengths) <= KINDS_MAX:
        rows += np.array([_numbers(lengths, counts, coil) for coil in coils]).T.tolist()
        need += np.cumsum(number).tolist()
        cell = max(1, max(coils) // CELLS)
        cells = [length // cell for length in lengths]
        rows += _sums(cells, counts, [coil // cell for coil in coils])
        need += np.cumsum(number * np.array(cells)).tolist()
    if len(coils) == 1:
        parts = _parts(lengths, counts, coils[0])
        rows += [[1]] * len(parts)
        need += parts
    return Inequalities(hold=np.array(rows, dtype=np.int64).T, need=np.array(need, dtype=np.int64))
