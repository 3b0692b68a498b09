"""Ends of lines in groups that are opened together, all others capped."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from evenrow.design.expected import End

#: Ends of a zone by their place in the order of the take-offs, group by group.
Groups = tuple[tuple[int, ...], ...]
#: Groups of ends that are tried; beyond, ends are opened one by one.
GROUPS_MAX = 4


def divisions(ends: tuple[End, ...], without: frozenset[int]) -> list[Groups]:
    """Return the ends in two groups, in three and so on to `GROUPS_MAX`, as even as rows allow."""
    sizes = list(Counter(end.row for k, end in enumerate(ends) if k not in without).values())
    count = sum(sizes)
    found: dict[Groups, None] = {}
    for number in range(2, GROUPS_MAX + 1):
        smallest = range(math.ceil(count / number), count)
        most = next((most for most in smallest if _number(sizes, most) <= number), None)
        if most is not None:
            found[in_groups(ends, most, without)] = None
    return list(found)


def _number(rows: Sequence[int], most: int) -> int:
    """Return how many groups of at most `most` ends `in_groups` makes of rows with so many."""
    if max(rows) > most:
        return math.ceil(sum(rows) / most)
    number, held = 1, 0
    for size in rows:
        if held + size > most:
            number, held = number + 1, 0
        held += size
    return number


def in_groups(
    ends: tuple[End, ...], most: int, without: frozenset[int]
) -> tuple[tuple[int, ...], ...]:
    """Return ends in groups of at most `most`, whole rows where they fit, nearest the feed first.

    Ends that do not run even alone are left out.
    """
    rows: dict[int, list[int]] = {}
    for k, end in enumerate(ends):
        if k not in without:
            rows.setdefault(end.row, []).append(k)
    whole = all(len(row) <= most for row in rows.values())
    units = list(rows.values()) if whole else [[k] for row in rows.values() for k in row]
    groups: list[list[int]] = []
    for unit in units:
        if groups and len(groups[-1]) + len(unit) <= most:
            groups[-1] += unit
        else:
            groups.append(list(unit))
    groups.sort(key=lambda group: min(abs(ends[k].way) for k in group))
    return tuple(tuple(group) for group in groups)
