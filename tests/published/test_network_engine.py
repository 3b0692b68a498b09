"""Blocks of laterals against a general network engine (EPANET 2.3); mark: computed by it.

Both with the engine's friction law (64/Re, its cubic, Swamee and Jain). Compensated in every
comparison: the engine's g of 32.2 ft/s2 by the lengths, its 0.02517 of local losses by the
coefficients, its 0.4333 psi/ft by the emitter coefficients and the valve's setting. A pump
gets three points of our power law, through which the engine lays the same law.
"""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from evenrow.hydraulics.assembly import Regulator
from evenrow.hydraulics.block import solve_block
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch

pytest.importorskip("epanet")
PATH = Path(__file__).parents[2] / "scripts" / "benchmarks" / "network.py"
SPEC = importlib.util.spec_from_file_location("benchmark_network", PATH)
benchmark = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(benchmark)

LAW = "swamee-jain"
TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)


def tape(count, slope=0.0, diameter=0.0161, **more):
    return Lateral(TAPE, count, 0.3, diameter, slope=slope, friction=LAW, **more)


def header(count, diameter, **more):
    return Header(np.full(count, 1.2), diameter, friction=LAW, **more)


def pipe(length, diameter, **more):
    return Pipe(length, diameter, friction=LAW, **more)


EQUAL = [tape(150)]
UNEQUAL = [tape(n, s) for n, s in zip(range(40, 200, 8), np.linspace(-0.02, 0.02, 20), strict=True)]
TANK = SourceCurve.from_tank(9.0)
PUMP = SourceCurve.from_flow_test(25.0, 2.2e-3)
# Wide flow range and no loss of its own: what the engine's valve does.
VALVE = Regulator("valve", 7.0, 0.0, 1e-3, 0.0, 1.0)
ALL_EQUAL = [[0] * 20]
TWO_ARMS = [
    Branch(header(10, 0.05)),
    Branch(header(8, 0.032, feed=4), 0, 9, pipe(15.0, 0.04, rise=-0.3)),
    Branch(header(6, 0.032, rise=0.05), 1, 2, pipe(5.0, 0.032, minor_k=3.0)),
]
#: source, valve, main, branches, laterals, index
CASES = {
    "end-fed": (TANK, None, [], [Branch(header(20, 0.05))], EQUAL, ALL_EQUAL),
    "tee-fed": (TANK, None, [], [Branch(header(20, 0.04, feed=7))], EQUAL, ALL_EQUAL),
    "tapered": (
        TANK, None, [], [Branch(header(20, np.linspace(0.06, 0.03, 20)))], EQUAL, ALL_EQUAL,
    ),
    "header uphill": (TANK, None, [], [Branch(header(20, 0.05, rise=0.06))], EQUAL, ALL_EQUAL),
    "header downhill": (TANK, None, [], [Branch(header(20, 0.04, rise=-0.1))], EQUAL, ALL_EQUAL),
    "steep losses": (TANK, None, [], [Branch(header(20, 0.025))], EQUAL, ALL_EQUAL),
    "unequal laterals": (TANK, None, [], [Branch(header(20, 0.05))], UNEQUAL, [range(20)]),
    "unequal, tee-fed": (TANK, None, [], [Branch(header(20, 0.04, feed=10))], UNEQUAL, [range(20)]),
    "take-off losses": (
        TANK, None, [], [Branch(header(20, 0.05, takeoff_k=2.5, takeoff_diameter=0.013))],
        EQUAL, ALL_EQUAL,
    ),
    "bodies in the line, take-off losses": (
        TANK, None, [], [Branch(header(20, 0.05, takeoff_k=2.5, takeoff_diameter=0.013))],
        [tape(120 + 3 * i, barb_k=0.9) for i in range(20)], [range(20)],
    ),
    "main with fittings": (
        TANK, None, [pipe(40.0, 0.05, rise=-0.8, minor_k=4.0), pipe(25.0, 0.04, rise=0.5)],
        [Branch(header(20, 0.05))], EQUAL, ALL_EQUAL,
    ),
    "low head": (
        SourceCurve.from_tank(0.5), None, [], [Branch(header(20, 0.05))], [tape(40)], ALL_EQUAL,
    ),
    "pump curve": (PUMP, None, [pipe(30.0, 0.05)], [Branch(header(20, 0.05))], EQUAL, ALL_EQUAL),
    "valve regulating": (
        SourceCurve.from_tank(20.0), VALVE, [pipe(30.0, 0.05)], [Branch(header(20, 0.05))],
        EQUAL, ALL_EQUAL,
    ),
    "valve open": (
        SourceCurve.from_tank(6.0), VALVE, [pipe(30.0, 0.05)], [Branch(header(20, 0.05))],
        EQUAL, ALL_EQUAL,
    ),
    "pump and valve": (
        PUMP, VALVE, [pipe(30.0, 0.05)], [Branch(header(20, 0.05, feed=8))], UNEQUAL, [range(20)],
    ),
    "branched headers": (
        TANK, None, [pipe(10.0, 0.06)], TWO_ARMS, EQUAL, [[0] * 10, [0] * 8, [0] * 6],
    ),
    "branched, unequal, pump": (
        PUMP, None, [pipe(10.0, 0.06)], TWO_ARMS, UNEQUAL, [range(10), range(8), range(6, 12)],
    ),
    "two headers on one main": (
        TANK, None, [pipe(10.0, 0.06)],
        [Branch(header(9, 0.04), -1, 0, pipe(3.0, 0.04)),
         Branch(header(7, 0.04, feed=3), -1, 0, pipe(25.0, 0.04, rise=0.4))],
        EQUAL, [[0] * 9, [0] * 7],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_every_emitter_within_a_thousandth(name):
    source, valve, main, branches, laterals, index = CASES[name]
    engine = benchmark.Engine(benchmark.block_model(source, valve, main, branches, laterals, index))
    try:
        engine.solve()
        expected = engine.flows()
    finally:
        engine.close()
    ours = solve_block(
        source, [] if valve is None else [valve], main, branches, laterals,
        [list(kinds) for kinds in index],
    )  # fmt: skip
    assert len(ours.emitter_flows) == len(expected)
    for mine, theirs in zip(ours.emitter_flows, expected, strict=True):
        assert theirs.min() > 0.0
        np.testing.assert_allclose(mine, theirs, rtol=1e-4)
    if valve is not None:
        assert ours.system.regulator == ("open" if name == "valve open" else "regulating")


def test_a_block_that_runs_dry_uphill():
    branches = [Branch(header(20, 0.04, rise=0.25))]
    source = SourceCurve.from_tank(3.0)
    engine = benchmark.Engine(benchmark.block_model(source, None, [], branches, EQUAL, ALL_EQUAL))
    try:
        engine.solve()
        expected = np.array([flow.sum() for flow in engine.flows()])
    finally:
        engine.close()
    ours = solve_block(source, [], [], branches, EQUAL, ALL_EQUAL)
    mine = np.array([flow.sum() for flow in ours.emitter_flows])
    dry = mine == 0.0
    assert 3 < dry.sum() < 17
    np.testing.assert_allclose(mine[~dry], expected[~dry], rtol=1e-3)
    # What the engine keeps from flowing back it lets flow a little.
    assert np.abs(expected[dry]).max() < 2e-3 * expected.max()
