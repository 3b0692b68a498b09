"""What a search may cost."""

from __future__ import annotations

import math

from evenrow.errors import EvenrowError


class OutOfBudgetError(EvenrowError):
    """A search that was to cost little would cost more."""


class Budget:
    """How much solving a search may cost, counted in what is solved, not in time.

    The same field thus always gets the same answer, on any device.  A unit is one emitter of one
    solve, about half a microsecond where these weights were measured.
    """

    def __init__(self, left: float = math.inf) -> None:
        self.left = left

    def spend(self, emitters: int = 0, outlets: int = 0, rows: int = 0, calls: int = 0) -> None:
        """Count what is solved: emitters, outlets of headers, rows laid into zones, and calls.

        Raises
        ------
        OutOfBudgetError
            Nothing is left.
        """
        self.left -= emitters + 20 * outlets + 20 * rows + 4_000 * calls
        if self.left < 0.0:
            raise OutOfBudgetError("the search was stopped because it would take too long")
