"""Many designs at once: on two cores against one, and each beside a network engine's solve."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from whole_design import _Engines

from evenrow.batch import Row, row_of, run
from evenrow.batch.columns import DESIGNED
from evenrow.batch.pool import available
from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.parts.build import _line_side, _planned
from evenrow.design.solve import design
from evenrow.documents import to_toml

__all__ = ["batch_design_vs_engine", "batch_two_cores_speedup"]

#: Designs of the batch on one and two cores: enough that starting a process, which takes as long as
#: some forty designs, is what it is in the batches of thousands that this is for.
DESIGNS = 800


def variant(number: int) -> dict[str, Any]:
    """Return the market garden with beds of lengths that no other variant has."""
    document = demo("market-garden")
    for group, rows in enumerate(document["rows"]):
        rows["length"] = f"{28 + 0.01 * number + group:.2f} m"
    return document


def _designed(row: Row) -> Row:
    if row["status"] != DESIGNED:
        raise RuntimeError(f"nothing to time: {row['design']} is {row['status']}: {row['message']}")
    return row


def _timed(action: Callable[[], Any]) -> float:
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def batch_design_vs_engine(repeats: int = 21) -> dict[str, Any]:
    """Work out rows of gardens that differ, beside one engine solve of each one's zones."""
    _designed(row_of(variant(0)))
    pairs = []
    for number in range(1, repeats + 1):
        document = variant(number)
        found = design(field_of(*read(CALCULATOR, document)))
        engines = _Engines(found)
        try:
            engines.solve()
            theirs = _timed(engines.solve)
            # What the design above left behind would be a gift.
            _planned.cache_clear()
            _line_side.cache_clear()
            ours = _timed(lambda d=document: _designed(row_of(d)))
        finally:
            engines.close()
        pairs.append((theirs, ours))
    theirs, ours = (statistics.median(side) for side in zip(*pairs, strict=True))
    return {
        "name": "one design of a batch over one engine solve of it",
        "value": round(ours / theirs, 3), "target": 1.0, "better": "lower", "unit": "x",
        "method": f"medians of {repeats} gardens of {len(found.zones)} zones, with beds of other "
        f"lengths each: ours {ours * 1e3:.1f} ms from the document to its row, engine "
        f"{theirs * 1e3:.1f} ms for one solve of each of its zones (initialise and solve, accuracy "
        "1e-8)",
    }  # fmt: skip


def batch_two_cores_speedup(repeats: int = 2) -> dict[str, Any]:
    """Work a folder of designs out with one process and with two, turn by turn."""
    if available() < 2:
        raise RuntimeError("two processes cannot work at once here")
    with TemporaryDirectory() as folder:
        designs = Path(folder) / "designs"
        designs.mkdir()
        for number in range(DESIGNS):
            (designs / f"{number:04}.toml").write_text(to_toml(variant(number)), "utf-8")
        table = Path(folder) / "table.csv"

        def batch(processes: int) -> None:
            outcome = run([designs], table, processes=processes, again=True)
            if outcome.counts[DESIGNED] != DESIGNS:
                raise RuntimeError(f"nothing to time: {outcome.counts}")

        pairs = [(_timed(lambda: batch(1)), _timed(lambda: batch(2))) for _ in range(repeats)]
    one, two = (statistics.median(side) for side in zip(*pairs, strict=True))
    return {
        "name": "batch on two cores over one", "value": round(one / two, 3), "target": 1.7,
        "better": "higher", "unit": "x",
        "method": f"medians of {repeats} interleaved batches of {DESIGNS} market gardens with beds "
        f"of different lengths, from the files to the table, start of the processes included: one "
        f"process {one:.2f} s, two {two:.2f} s",
    }  # fmt: skip
