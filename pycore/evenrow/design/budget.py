"""What a search may cost."""

from __future__ import annotations

import math

from evenrow.errors import EvenrowError


class OutOfBudgetError(EvenrowError):
    """A search that was to cost little would cost more."""


class Budget:
    """How much solving a search may cost, counted in emitters and outlets, not in time.

    The same field thus always gets the same answer, on any device.
    """

    def __init__(self, left: float = math.inf) -> None:
        self.left = left

    def spend(self, emitters: int = 0, outlets: int = 0, rows: int = 0) -> None:
        """Count a solve, or rows laid into zones; raise `OutOfBudgetError` when nothing is left."""
        self.left -= emitters + 200 * outlets + 20 * rows + 10_000
        if self.left < 0.0:
            raise OutOfBudgetError("the search was stopped because it would take too long")
