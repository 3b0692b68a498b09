"""Which coils hold which pieces: exact search on whole numbers, within a budget of nodes.

Lengths are whole numbers (micrometres), so that a sum is exact.  Pieces are given as distinct
lengths, longest first, with how many of each: equal pieces make one decision, not many.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from evenrow.design.repacking import make_room

#: How many pieces of each length, in the order of the lengths.
Pattern = tuple[int, ...]
#: A coil's length and the pieces in it.
Filled = tuple[int, Pattern]

#: Patterns that are compared by their waste before the first of them is tried.
LOOK_AHEAD = 40
#: What dealing the pieces of two coils anew counts, and how often it is tried for one choice.
DEAL_NODES = 8
DEALS_MAX = 500
#: Pieces up to which that is tried.
DEAL_PIECES = 150
#: Coils, and different lengths, up to which the search is tried; above, it would go too deep.
SEARCH_COILS = 150
SEARCH_KINDS = 200


@dataclass
class Budget:
    """Nodes that a search may still look at; `spent_out` tells that it had to stop."""

    nodes: int

    def spend(self) -> bool:
        """Take one node; return False where none is left."""
        self.nodes -= 1
        return self.nodes >= 0

    @property
    def spent_out(self) -> bool:
        """Whether the nodes are used up."""
        return self.nodes < 0


def best_fit(
    lengths: Sequence[int], counts: Sequence[int], stock: Sequence[int], base: int
) -> list[Filled]:
    """Cut longest first, each piece from the fullest coil that still holds it.

    Parameters
    ----------
    lengths, counts : sequence of int
        Distinct lengths, longest first, and how many of each.
    stock : sequence of int
        Lengths of coil, rising.
    base : int
        Coil that is opened where none holds the piece; a longer piece opens the shortest coil
        of the stock that holds it.

    Returns
    -------
    list of (int, tuple of int)
        Coils in the order in which they were opened.
    """
    opened: list[tuple[int, list[int]]] = []
    rooms: list[int] = []
    order: list[tuple[int, int]] = []  # (room, coil), rising
    for kind, (length, count) in enumerate(zip(lengths, counts, strict=True)):
        coil = max(base, stock[bisect_left(stock, length)])
        left = count
        while left:
            place = bisect_left(order, (length, -1))
            if place < len(order):
                room, index = order.pop(place)
            else:
                index, room = len(opened), coil
                opened.append((coil, [0] * len(lengths)))
                rooms.append(coil)
            taken = min(left, room // length)
            opened[index][1][kind] += taken
            rooms[index] = room - taken * length
            left -= taken
            order.insert(bisect_left(order, (rooms[index], index)), (rooms[index], index))
    return [(coil, tuple(pattern)) for coil, pattern in opened]


def _fill(
    lengths: Sequence[int], counts: Sequence[int], bins: Sequence[int]
) -> tuple[list[list[int]], list[int]]:
    """Cut longest first from the fullest of the given coils, shortest coil first.

    Returns
    -------
    (list of list of int, list of int)
        The pattern of each coil, and how many of each length found no place.
    """
    patterns = [[0] * len(lengths) for _ in bins]
    over = [0] * len(lengths)
    order = [(length, index) for index, length in enumerate(bins)]
    for kind, (length, count) in enumerate(zip(lengths, counts, strict=True)):
        left = count
        while left:
            place = bisect_left(order, (length, -1))
            if place == len(order):
                over[kind] = left
                break
            room, index = order.pop(place)
            taken = min(left, room // length)
            patterns[index][kind] += taken
            left -= taken
            entry = (room - taken * length, index)
            order.insert(bisect_left(order, entry), entry)
    return patterns, over


def _deal_out(
    lengths: Sequence[int],
    bins: Sequence[int],
    patterns: Sequence[Sequence[int]],
    over: Sequence[int],
    budget: Budget,
) -> list[Filled] | None:
    """Try to find room for what is over by dealing the pieces of two coils anew."""

    def spread(pattern: Sequence[int]) -> list[int]:
        return [length for length, n in zip(lengths, pattern, strict=True) for _ in range(n)]

    most = min(DEALS_MAX, budget.nodes // DEAL_NODES)
    dealt, deals = make_room(bins, [spread(p) for p in patterns], spread(over), most)
    budget.nodes -= DEAL_NODES * min(deals, most)
    if dealt is None:
        return None
    kind_of = {length: kind for kind, length in enumerate(lengths)}
    filled = []
    for coil, pieces in zip(bins, dealt, strict=True):
        pattern = [0] * len(lengths)
        for piece in pieces:
            pattern[kind_of[piece]] += 1
        if pieces:
            filled.append((coil, tuple(pattern)))
    return filled


@dataclass
class _Search:
    """Bin completion: the coil of the longest piece left is filled in every way worth trying."""

    lengths: Sequence[int]
    budget: Budget
    failed: set[tuple[Pattern, Pattern]] = field(default_factory=set)

    def patterns(self, left: Sequence[int], room: int, slack: int) -> Iterator[tuple[int, Pattern]]:
        """Yield (waste, pattern) of the fillings that hold the longest piece left.

        Left out are fillings that waste more than `slack`, those that another piece still fits
        into, and those in which a piece can be changed for the next longer one: what is cut
        that way can be cut with the better filling too (Martello and Toth's dominance).
        """
        lengths, count = self.lengths, len(self.lengths)
        taken = [0] * count
        first = next(kind for kind in range(count) if left[kind])
        behind = [0] * (count + 1)
        for kind in range(count - 1, -1, -1):
            behind[kind] = behind[kind + 1] + left[kind] * lengths[kind]

        def undominated(waste: int) -> bool:
            longer = 0  # the shortest of the longer pieces that are left over
            for kind in range(first, count):
                if taken[kind] and longer and longer - lengths[kind] <= waste:
                    return False
                if left[kind] > taken[kind]:
                    longer = lengths[kind]
            return True

        def descend(kind: int, room: int, limit: int) -> Iterator[tuple[int, Pattern]]:
            while kind < count and (lengths[kind] > room or not left[kind]):
                kind += 1
            if kind == count:
                if room <= limit and undominated(room):
                    yield room, tuple(taken)
                return
            if room - behind[kind] > limit or not self.budget.spend():
                return
            length = lengths[kind]
            most = min(left[kind], room // length)
            for number in range(most, 0 if kind == first else -1, -1):
                taken[kind] = number
                # A piece stays behind that must not fit in the end.
                below = limit if number == left[kind] else min(limit, length - 1)
                yield from descend(kind + 1, room - number * length, below)
            taken[kind] = 0

        return descend(first, room, slack)

    def descend(
        self, left: Pattern, coils: Pattern, sizes: Sequence[int], slack: int
    ) -> list[Filled] | None:
        """Return fillings of these coils with all pieces left, or None."""
        longest = next((i for i, number in enumerate(left) if number), None)
        if longest is None:
            return []
        if (left, coils) in self.failed or not self.budget.spend():
            return None
        for place, size in enumerate(sizes):
            if not coils[place] or size < self.lengths[longest]:
                continue
            fewer = (*coils[:place], coils[place] - 1, *coils[place + 1 :])
            ways = self.patterns(left, size, slack)
            while ahead := sorted(islice(ways, LOOK_AHEAD), key=lambda way: way[0]):
                for waste, pattern in ahead:
                    rest = tuple(a - b for a, b in zip(left, pattern, strict=True))
                    found = self.descend(rest, fewer, sizes, slack - waste)
                    if found is not None:
                        return [(size, pattern), *found]
                    if self.budget.spent_out:
                        return None
        self.failed.add((left, coils))
        return None


def fits(
    lengths: Sequence[int],
    counts: Sequence[int],
    coils: Sequence[tuple[int, int]],
    budget: Budget,
) -> list[Filled] | None:
    """Return how the given coils hold all the pieces, or None.

    Parameters
    ----------
    lengths, counts : sequence of int
        Distinct lengths, longest first, and how many of each.
    coils : sequence of (int, int)
        Coils to hand as (length, how many), shortest first.
    budget : Budget
        Nodes left. None with a budget that is not `spent_out` is a proof that they do not fit.

    References
    ----------
    R. E. Korf (2002), "A new algorithm for optimal bin packing", AAAI (bin completion).
    S. Martello, P. Toth (1990), *Knapsack Problems*, chapter 8 (dominance).
    """
    slack = sum(length * count for length, count in coils) - sum(
        length * count for length, count in zip(lengths, counts, strict=True)
    )
    if slack < 0:
        return None
    bins = [length for length, count in coils for _ in range(count)]
    patterns, over = _fill(lengths, counts, bins)
    if not any(over):
        return [(coil, tuple(p)) for coil, p in zip(bins, patterns, strict=True) if any(p)]
    budget.nodes -= len(lengths)
    if sum(counts) <= DEAL_PIECES:
        found = _deal_out(lengths, bins, patterns, over, budget)
        if found is not None:
            return found
    if len(bins) > SEARCH_COILS or len(lengths) > SEARCH_KINDS:
        budget.nodes = -1
        return None
    search = _Search(lengths=lengths, budget=budget)
    sizes = [length for length, _ in coils]
    return search.descend(tuple(counts), tuple(count for _, count in coils), sizes, slack)
