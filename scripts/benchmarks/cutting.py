"""Cutting plans of sixty pieces beside one whole design."""

from __future__ import annotations

import random
import statistics
import time
from typing import Any

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import device
from evenrow.design.cutting import CuttingPlan, cutting_plan
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.solve import design

__all__ = ["cut_60_different_vs_design", "cut_60_rows_vs_design"]

_FIELDS = 20
_PIECES = 60
#: Invented lengths of rows. [m]
_SHORTEST, _LONGEST = 8.0, 60.0


def rows(seed: int, lengths: int) -> list[float]:
    """Return sixty rows drawn from so many different lengths, the same at every call."""
    draw = random.Random(seed)
    kinds = [draw.uniform(_SHORTEST, _LONGEST) for _ in range(lengths)]
    return [draw.choice(kinds) for _ in range(_PIECES)] if lengths < _PIECES else kinds


def plan(pieces: list[float]) -> CuttingPlan:
    """Return the cheapest plan from the coils of a dripline."""
    line = device("dripline-16")
    return cutting_plan(pieces, line.coils, prices=line.prices)


def _compared(lengths: int, target: float) -> dict[str, Any]:
    inputs, system = read(CALCULATOR, demo("market-garden"))
    field = field_of(inputs, system)
    design(field)
    cuts, designs, proven = [], [], 0
    for seed in range(_FIELDS):
        pieces = rows(seed, lengths)
        start = time.perf_counter()
        made = plan(pieces)
        middle = time.perf_counter()
        design(field)
        designs.append(time.perf_counter() - middle)
        cuts.append(middle - start)
        proven += made.proven
    cut, whole = statistics.median(cuts), statistics.median(designs)
    return {
        "value": cut / whole,
        "target": target,
        "better": "lower",
        "unit": "of one whole design",
        "method": (
            f"cheapest cuts of {_PIECES} rows of {lengths} lengths from coils of "
            f"{len(device('dripline-16').coils)} lengths, {proven} of {_FIELDS} fields proven, "
            f"over the design of the market garden; medians turn by turn: {cut * 1e3:.1f} ms "
            f"(longest {max(cuts) * 1e3:.1f} ms) and {whole * 1e3:.1f} ms"
        ),
    }


def cut_60_rows_vs_design() -> dict[str, Any]:
    """Time the cuts of sixty rows of five lengths, as gardens have them."""
    return _compared(5, 1.0)


def cut_60_different_vs_design() -> dict[str, Any]:
    """Time the cuts of sixty rows of which no two are equal."""
    return _compared(_PIECES, 1.0)
