"""Making room: pieces of two coils at a time are dealt anew until what is over finds a place.

Exact on two coils, a rule of thumb on all of them: it finds plans that a search from the
longest piece down would need many steps for, and it proves nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

#: Pieces of two coils that are dealt anew in every way; of more, only the shortest move.
MOVED_MAX = 11
#: Times that all pairs of coils are gone through.
ROUNDS = 4


@lru_cache(maxsize=MOVED_MAX + 1)
def _subsets(count: int) -> FloatArray:
    """Return every choice among `count` things as a row of zeros and ones."""
    numbers = np.arange(2**count)[:, None]
    return np.asarray((numbers >> np.arange(count)) & 1, dtype=np.float64)


def _deal(pieces: list[int], room: int, least: int) -> tuple[list[int], list[int]]:
    """Split pieces: the fullest that `room` holds, the others summing to `least` or less.

    `least` is what the first share must hold so that the rest fits where it goes.
    """
    kept = pieces[: max(0, len(pieces) - MOVED_MAX)]
    moved = pieces[len(kept) :]
    # Whole numbers of micrometres below 2**53: sums in floating point are exact.
    sums = _subsets(len(moved)) @ np.array(moved, dtype=np.float64) + sum(kept)
    best = int(np.argmax(np.where(sums <= room, sums, -1.0)))
    if not least <= sums[best] <= room:
        return [], []
    chosen = _subsets(len(moved))[best]
    first = kept + [p for p, take in zip(moved, chosen, strict=True) if take]
    second = [p for p, take in zip(moved, chosen, strict=True) if not take]
    return first, second


def make_room(
    coils: Sequence[int], pieces: Sequence[Sequence[int]], over: Sequence[int], most: int
) -> tuple[list[list[int]] | None, int]:
    """Deal pieces between coils until those left over fit as well.

    Parameters
    ----------
    coils : sequence of int
        Length of each coil.
    pieces : sequence of sequence of int
        The pieces in each, none overdrawn.
    over : sequence of int
        Pieces that found no place, at least one.
    most : int
        Times that two coils may be dealt.

    Returns
    -------
    (list of list of int or None, int)
        The pieces in each coil, or None where no place was found; and how many times two
        coils were dealt.
    """
    dealing = _Dealing(
        coils=coils,
        held=[sorted(part, reverse=True) for part in pieces],
        left=sorted(over, reverse=True),
        most=most,
    )
    for turn in range(ROUNDS):
        before = [list(part) for part in dealing.held]
        done = dealing.take_in() or dealing.gather_room(turn)
        if done:
            return dealing.held, dealing.deals
        if dealing.deals >= most or dealing.held == before:
            break
    return None, dealing.deals


@dataclass(kw_only=True)
class _Dealing:
    """Coils with the pieces they hold, the pieces left over, and the deals made so far."""

    coils: Sequence[int]
    held: list[list[int]]
    left: list[int]
    most: int
    deals: int = 0

    def free(self, i: int) -> int:
        return self.coils[i] - sum(self.held[i])

    def take_in(self) -> bool:
        """Change pieces of each coil for pieces left over that fill it better."""
        for i, coil in enumerate(self.coils):
            both = sorted(self.held[i] + self.left, reverse=True)
            self.deals += 1
            first, second = _deal(both, coil, sum(self.held[i]) + 1)
            if first:
                self.held[i], self.left = first, second
                if not second:
                    return True
        return False

    def gather_room(self, turn: int) -> bool:
        """Fill one coil of each pair, so that the room of both lies in the other."""
        order = sorted(range(len(self.coils)), key=lambda i: -self.free(i))
        order = order[turn % len(order) :] + order[: turn % len(order)]
        for i, j in combinations(order, 2):
            if not self.free(i) or not self.free(j):
                continue
            if self.deals >= self.most:
                return False
            self.deals += 1
            if self._fill(i, j) and not self.left:
                return True
        return False

    def _fill(self, i: int, j: int) -> bool:
        """Fill j from i and put what is left over into the room that i gains."""
        both = sorted(self.held[i] + self.held[j], reverse=True)
        total = sum(both)
        first, second = _deal(both, self.coils[j], total - self.coils[i])
        if not first:
            return False
        room = self.coils[i] - total + sum(first)
        if room**2 + (self.coils[j] - sum(first)) ** 2 <= self.free(i) ** 2 + self.free(j) ** 2:
            return False
        fitting = next((piece for piece in self.left if piece <= room), None)
        if fitting is not None:
            self.left.remove(fitting)
            second = sorted([*second, fitting], reverse=True)
        self.held[i], self.held[j] = second, first
        return True
