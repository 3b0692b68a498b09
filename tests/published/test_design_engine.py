"""Whole designs against a general network engine (EPANET 2.3); mark: computed by it.

Every zone of a design with its source, head assembly, regulator, main, header and every
emitter is written out for the engine. Its friction law is its own (Swamee and Jain, a cubic
between Re 2000 and 4000; ours is Churchill's), which is what the bounds allow for: wide where
a tank's pressure leaves most pipe in between.
"""

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import demo
from evenrow.design.field import field_of, rows_of
from evenrow.design.line import line_of
from evenrow.design.solve import design

pytest.importorskip("epanet")
PATH = Path(__file__).parents[2] / "scripts" / "benchmarks" / "whole_design.py"
SPEC = importlib.util.spec_from_file_location("benchmark_whole_design", PATH)
benchmark = importlib.util.module_from_spec(SPEC)
sys.modules[SPEC.name] = benchmark
SPEC.loader.exec_module(benchmark)


def field(name, **changes):
    return replace(field_of(*read(CALCULATOR, demo(name))), **changes)


ROWS = [
    {"crop": "leek", "count": 7, "length": 40.0, "spacing": 1.0, "lines": 2},
    {"crop": "bean", "count": 4, "length": 25.0, "spacing": 1.5, "lines": 1, "path": 2.0},
]
CASES = {
    "raspberries": field("raspberries"),
    "market garden": field("market-garden"),
    "market garden from the middle": field("market-garden").placed(0.5),
    "market garden from the far end": field("market-garden").placed(1.0),
    "school garden": field("school-garden"),
    "long rows of bulky emitters": field(
        "market-garden",
        rows=rows_of(ROWS),
        line=line_of({"device": "dripline-16", "spacing": 0.3, "own": {"body_loss": 2.0}}, 20.0),
    ),
    "rows of two lengths": field("market-garden", rows=rows_of(ROWS)),
    "a field above its source": field("market-garden", rise=3.0),
}


@pytest.mark.parametrize("name", CASES)
def test_every_zone_gives_what_the_engine_says(name):
    found = design(CASES[name])
    for zone in found.zones:
        engine = benchmark.Engine(benchmark.zone_model(found, zone))
        try:
            engine.solve()
            flows = np.concatenate(engine.flows())
        finally:
            engine.close()
        assert flows.size == zone.emitters
        bound = 1e-2 if found.field.source_kind == "tank" else 2e-3
        assert zone.flow == pytest.approx(flows.sum(), rel=bound)
        assert zone.emitter_flow_min == pytest.approx(flows.min(), rel=1.5 * bound)
        assert zone.emitter_flow_max == pytest.approx(flows.max(), rel=1.5 * bound)
        cv = found.field.line.device.emitter.cv
        assert zone.eu == pytest.approx((1 - 1.27 * cv) * flows.min() / flows.mean(), abs=bound)
