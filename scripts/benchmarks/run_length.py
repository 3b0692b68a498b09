"""Run lengths: one query and a whole family against bisection over a network engine's solves."""

from __future__ import annotations

import importlib.util
import random
import statistics
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.families import LineKind, run_length_family
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.run_length import RunLimits, longest_run

__all__ = [
    "run_length_family_vs_engine",
    "run_length_query_vs_engine",
]

_SPEC = importlib.util.spec_from_file_location(
    "benchmarks_engine_of_a_lateral", Path(__file__).with_name("lateral.py")
)
if _SPEC is None or _SPEC.loader is None:
    raise RuntimeError("the engine's benchmark cannot be loaded")
_LATERAL = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_LATERAL)

# Invented devices: three kinds of emitter in four pipes.
_EMITTERS = (
    Emitter(1.0e-3 / 3600.0, 7.0, 0.50, 0.03, 3.0, 12.0),
    Emitter(1.6e-3 / 3600.0, 10.0, 0.46, 0.04, 5.0, 30.0),
    Emitter(2.3e-3 / 3600.0, 10.0, 0.60, 0.05, 5.0, 30.0),
)
KINDS = [LineKind(e, d) for d in (0.0118, 0.0138, 0.0161, 0.0222) for e in _EMITTERS]
SPACINGS = [0.2, 0.3, 0.4, 0.5]
SLOPES = np.linspace(-0.02, 0.02, 9).tolist()
TARGETS = [0.80, 0.85, 0.90]
HEAD = 8.0
_LONGEST = 1500.0  # [m] both sides look as far as this
_FIRST_TRY = 64  # emitters the engine's other search, by doubling, begins with


@dataclass
class _Search:
    """What the engine found and needed."""

    count: int
    solving: float
    with_models: float


def _engine_search(
    kind: LineKind, spacing: float, slope: float, target: float, doubling: bool = False
) -> _Search:
    """Bisect between nothing and the longest line; every length is one solve.

    `doubling` starts from short lines and doubles them until the target fails instead, which
    spares the engine the longest lines.
    """
    spread = 1.0 - 1.27 * kind.emitter.cv
    solving = 0.0
    start = time.perf_counter()

    def holds(count: int) -> bool:
        nonlocal solving
        lateral = Lateral(kind.emitter, count, spacing, kind.diameter, slope=slope)
        engine = _LATERAL.Engine(lateral, HEAD)
        try:
            begin = time.perf_counter()
            engine.solve()
            solving += time.perf_counter() - begin
            flow = engine.flows()
        finally:
            engine.close()
        return bool(spread * flow.min() / flow.mean() >= target)

    good, bad = 0, int(_LONGEST / spacing) + 1
    if doubling:
        bad = _FIRST_TRY
        while holds(bad):
            good, bad = bad, 2 * bad
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return _Search(good, solving, time.perf_counter() - start)


def _ours(kind: LineKind, spacing: float, slope: float, target: float) -> tuple[int, float]:
    """Return our count and the time it took."""
    begin = time.perf_counter()
    run = longest_run(
        kind.emitter, spacing, kind.diameter, HEAD, slope=slope, limits=RunLimits(eu=target),
        maximum_length=_LONGEST,
    )  # fmt: skip
    return run.count, time.perf_counter() - begin


def run_length_query_vs_engine(repeats: int = 5) -> dict[str, Any]:
    """Time single queries on flat, rising and falling lines, turn by turn."""
    queries = [
        (kind, 0.3, slope, 0.85) for kind in (KINDS[1], KINDS[6]) for slope in (-0.01, 0.0, 0.01)
    ]
    ratios, models, doubled, apart = [], [], [], 0.0
    for query in queries:
        pairs = [(_engine_search(*query), _ours(*query)) for _ in range(repeats)]
        time_ours = statistics.median(ours[1] for _, ours in pairs)
        ratios.append(statistics.median(engine.solving for engine, _ in pairs) / time_ours)
        models.append(statistics.median(engine.with_models for engine, _ in pairs) / time_ours)
        smart = [_engine_search(*query, doubling=True).solving for _ in range(repeats)]
        doubled.append(statistics.median(smart) / time_ours)
        apart = max(apart, abs(pairs[0][0].count / pairs[0][1][0] - 1.0))
    return {
        "name": "one run-length query, engine bisection over ours",
        "value": round(statistics.median(ratios), 2),
        "target": 5.0,
        "better": "higher",
        "unit": "x",
        "method": (
            f"median over {len(queries)} queries (two devices; 1 % down, flat, 1 % up; EU 85 %) of "
            f"the ratio of medians of {repeats} interleaved runs, from {min(ratios):.1f} to "
            f"{max(ratios):.1f}; engine: bisection up to {_LONGEST:g} m, initialise and solve only "
            "(accuracy 1e-8); with writing and reading its models "
            f"{statistics.median(models):.1f}; against the engine doubling the length from "
            f"{_FIRST_TRY} emitters before it bisects {statistics.median(doubled):.1f}; "
            f"lengths differ by up to {apart:.2%} "
            "(different friction laws)"
        ),
    }


def run_length_family_vs_engine(sample: int = 16, repeats: int = 3) -> dict[str, Any]:
    """Time the family of 12 x 4 x 9 x 3 cells against a sample of the engine's searches."""
    cells = [
        (d, s, g, t) for d in range(len(KINDS)) for s in range(len(SPACINGS))
        for g in range(len(SLOPES)) for t in range(len(TARGETS))
    ]  # fmt: skip
    chosen = random.Random(1).sample(cells, sample)
    family_times, solving, models, doubled, apart = [], [], [], [], []
    for turn in range(repeats):
        begin = time.perf_counter()
        family = run_length_family(
            KINDS, SPACINGS, SLOPES, [HEAD], TARGETS, maximum_length=_LONGEST
        )
        family_times.append(time.perf_counter() - begin)
        for d, s, g, t in chosen[turn::repeats]:
            found = _engine_search(KINDS[d], SPACINGS[s], SLOPES[g], TARGETS[t])
            solving.append(found.solving)
            models.append(found.with_models)
            smart = _engine_search(KINDS[d], SPACINGS[s], SLOPES[g], TARGETS[t], doubling=True)
            doubled.append(smart.solving)
            ours = int(family.count[d, s, g, 0, t])
            apart.append(abs(found.count / ours - 1.0))
    per_cell = statistics.median(family_times) / len(cells)
    return {
        "name": "run lengths of 1,296 cells, engine bisection over ours",
        "value": round(statistics.mean(solving) / per_cell, 1),
        "target": 100.0,
        "better": "higher",
        "unit": "x",
        "method": (
            f"ours: median of {repeats} runs of the whole family, "
            f"{statistics.median(family_times):.2f} s; engine: mean of a random sample of "
            f"{sample} of the {len(cells)} cells, {statistics.mean(solving) * 1e3:.0f} ms each "
            f"(bisection up to {_LONGEST:g} m; initialise and solve only, accuracy 1e-8), in the "
            "same run; with writing and reading its models "
            f"{statistics.mean(models) / per_cell:.0f}; against the engine doubling the length "
            f"from {_FIRST_TRY} emitters before it bisects "
            f"{statistics.mean(doubled) / per_cell:.0f}; lengths of the sample differ by "
            f"{statistics.median(apart):.2%} in the median (different friction laws), by "
            f"{max(apart):.0%} at most (bisection may miss the first failure on a fall)"
        ),
    }


if __name__ == "__main__":
    print(run_length_query_vs_engine())
    print(run_length_family_vs_engine())
