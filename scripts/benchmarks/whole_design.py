"""Whole designs and their options against a network engine's solve of the same network."""

from __future__ import annotations

import math
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from network import Engine, Model, block_model

from evenrow.calculators.instruction_sections import instruction_sections
from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.assembly import loss_at
from evenrow.design.demos import demo
from evenrow.design.field import Field, field_of
from evenrow.design.model import Design, ZoneSolution
from evenrow.design.options import compare
from evenrow.design.parts.build import _line_side, _planned
from evenrow.design.segments import header_pipe, main_pipes
from evenrow.design.solve import design
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import partition
from evenrow.hydraulics.assembly import Regulator
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.tree import Branch

__all__ = [
    "design_500_rows_vs_engine",
    "design_garden_vs_engine",
    "options_200_vs_engine",
    "rows_growth_exponent",
    "zones_2000_rows_vs_design",
]

#: How closely engine and design agree on a zone's flow; their friction laws differ.
AGREE = 5e-3


def _loss_pipe(parts: Sequence[Any], flow: float, bore: float) -> Pipe:
    """Return a pipe of no length with the loss of these parts, which grows with the square."""
    velocity_head = (flow / (math.pi / 4 * bore**2)) ** 2 / (2.0 * G)
    return Pipe(length=0.0, diameter=bore, minor_k=loss_at(parts, flow) / velocity_head)


def zone_model(found: Design, zone: ZoneSolution) -> Model:
    """Return the engine's model of one zone of a design, filter dirty.

    The source has to be a tap or a tank; the zone valve lies behind the main.
    """
    field, candidate = found.field, found.candidate
    hydraulics = FieldHydraulics(field)
    outlets = hydraulics.outlets(zone.layout)
    parts = candidate.assembly.parts
    cut = len(candidate.assembly.up_to_regulator) if candidate.assembly.regulator else len(parts)
    bore = candidate.main.bore
    before = [_loss_pipe(parts[:cut], zone.flow, bore)]
    behind = [_loss_pipe(parts[cut:], zone.flow, bore)] if parts[cut:] else []
    set_head = candidate.assembly.set_head
    regulator = None
    if set_head is not None:
        regulator = Regulator("regulator", set_head, 0.0, 1e-3, 0.0, 1.0)
    return block_model(
        field.source,
        regulator,
        [*behind, *main_pipes(field, candidate, zone.layout)],
        [Branch(header_pipe(field, candidate, zone.layout, outlets.takeoffs))],
        hydraulics.laterals,
        [outlets.kinds.tolist()],
        before=before,
    )


def _timed(action: Callable[[], Any]) -> float:
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


class _Engines:
    """The engine with every zone of a design loaded."""

    def __init__(self, found: Design) -> None:
        self.engines = [Engine(zone_model(found, zone)) for zone in found.zones]

    def solve(self) -> None:
        """Solve every zone once."""
        for engine in self.engines:
            engine.solve()

    def apart(self, found: Design) -> float:
        """Return the largest relative difference of a zone's flow."""
        self.solve()
        flows = [sum(float(q.sum()) for q in engine.flows()) for engine in self.engines]
        return max(abs(q / zone.flow - 1.0) for q, zone in zip(flows, found.zones, strict=True))

    def close(self) -> None:
        for engine in self.engines:
            engine.close()


def _field(name: str) -> Field:
    return field_of(*read(CALCULATOR, demo(name)))


def rows_field(rows: int) -> Field:
    """Return an invented field of that many rows of five lengths on a large supply."""
    each = rows // 5
    document: dict[str, Any] = {
        "evenrow": 1,
        "calculator": "whole-field",
        "units": "metric",
        "source": {
            "kind": "municipal",
            "static_pressure": "4 bar",
            "readings": [{"volume": "1 m³", "time": "60 s"}],
        },
        "rows": [
            {
                "crop": "leek",
                "count": str(each),
                "length": f"{length} m",
                "spacing": "1.5 m",
                "lines": "1",
            }
            for length in (50, 55, 60, 65, 70)
        ],
        "line": {"device": "tape-16-thick", "spacing": "30 cm"},
        "ground": {"row_slope": "-0.3 %"},
        "header": {"place": "end", "feed": "tee"},
        "main": {"length": "30 m"},
    }
    return field_of(*read(CALCULATOR, document))


def _paired(
    theirs: Callable[[], Any], ours: Callable[[], Any], repeats: int
) -> tuple[float, float]:
    """Return medians of interleaved runs [s]."""
    theirs()
    ours()
    pairs = [(_timed(theirs), _timed(ours)) for _ in range(repeats)]
    first, second = (statistics.median(side) for side in zip(*pairs, strict=True))
    return first, second


def _against_engine(
    name: str, field: Field, ours: Callable[[], Any], times: float, repeats: int, what: str
) -> dict[str, Any]:
    """Return engine time of the zones of a field's design, `times` over, by ours."""
    found = design(field)
    engines = _Engines(found)
    try:
        apart = engines.apart(found)
        if apart > AGREE:
            raise RuntimeError(f"the two disagree by {apart:.3%}: nothing to compare")
        theirs, mine = _paired(engines.solve, ours, repeats)
    finally:
        engines.close()
    emitters = sum(zone.emitters for zone in found.zones)
    return {
        "name": name, "value": round(times * theirs / mine, 2), "target": 1.0, "better": "higher",
        "unit": "x",
        "method": f"medians of {repeats} interleaved runs: engine {theirs * 1e3:.1f} ms for one "
        f"solve of each of the {len(found.zones)} zones ({emitters:,} emitters, initialise and "
        f"solve, accuracy 1e-8), ours {mine * 1e3:.1f} ms {what}; largest difference of a zone's "
        f"flow {apart:.1e}, by the friction laws",
    }  # fmt: skip


def design_garden_vs_engine(repeats: int = 9) -> dict[str, Any]:
    """Design the market garden: zones, pipes, parts, every emitter."""
    field = _field("market-garden")
    return _against_engine(
        "whole design of the market garden, one engine solve of it over ours",
        field, lambda: _everything(field), 1.0, repeats,
        "for zones, sizes, head assembly, parts with cutting plans, instructions",
    )  # fmt: skip


def design_500_rows_vs_engine(repeats: int = 3) -> dict[str, Any]:
    """Design a field of 500 rows of five lengths."""
    field = rows_field(500)
    return _against_engine(
        "whole design of 500 rows, one engine solve of it over ours",
        field, lambda: _everything(field), 1.0, repeats,
        "for zones, sizes, head assembly, parts with cutting plans, instructions",
    )  # fmt: skip


def options_200_vs_engine(repeats: int = 5) -> dict[str, Any]:
    """Compare the market garden built in every way."""
    field = _field("market-garden")
    count = len(compare(field).options)
    return _against_engine(
        "200 options of the market garden, 20 engine solves of it over ours",
        field, lambda: compare(field), 20.0 * count / 200.0, repeats,
        f"for {count} options, each with zones, sizes, price and uniformity; times 20, for 200 of "
        f"{count}",
    )  # fmt: skip


def _everything(field: Field) -> Design:
    """Design a field from nothing: its kept geometry and plans are forgotten first."""
    _planned.cache_clear()
    _line_side.cache_clear()
    found = design(replace(field))
    instruction_sections(found, field.system)
    return found


def rows_growth_exponent(repeats: int = 3) -> dict[str, Any]:
    """Fit time = c n^exponent to designs of 50 to 800 rows."""
    sizes = (50, 100, 200, 400, 800)
    seconds = []
    for rows in sizes:
        field = rows_field(rows)
        design(field)
        seconds.append(
            statistics.median(_timed(lambda f=field: _everything(f)) for _ in range(repeats))
        )
    exponent = float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])
    listed = ", ".join(f"{n}: {t * 1e3:.0f} ms" for n, t in zip(sizes, seconds, strict=True))
    return {
        "name": "growth of the time of a whole design with its rows",
        "value": round(exponent, 3), "target": 1.2, "better": "lower", "unit": "exponent",
        "method": f"least squares through medians of {repeats} designs, rows of five lengths on "
        f"one supply: {listed}",
    }  # fmt: skip


def zones_2000_rows_vs_design(repeats: int = 5) -> dict[str, Any]:
    """Share 2,000 rows out into zones, over one whole design of 500 rows."""
    flows = (1.0 + 0.3 * np.sin(np.arange(2000) * 0.7)).tolist()
    crops = [str(i // 250) for i in range(2000)]
    capacity = sum(flows) / 40.0
    field = rows_field(500)
    whole, mine = _paired(
        lambda: _everything(field), lambda: partition(flows, capacity, crops), repeats
    )
    zones = len(partition(flows, capacity, crops).ranges)
    return {
        "name": "zone partition of 2,000 rows over a whole design of 500 rows",
        "value": round(mine / whole, 3), "target": 1.0, "better": "lower", "unit": "x",
        "method": f"medians of {repeats} interleaved runs: partition into {zones} zones "
        f"{mine * 1e3:.0f} ms, whole design {whole * 1e3:.0f} ms",
    }  # fmt: skip


if __name__ == "__main__":
    for benchmark in (
        design_garden_vs_engine, design_500_rows_vs_engine, options_200_vs_engine,
        rows_growth_exponent, zones_2000_rows_vs_design,
    ):  # fmt: skip
        print(benchmark())
