"""Many zones flushed together give what each gives by itself, state by state."""

import random

import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.constants import VISCOSITY_20C
from evenrow.hydraulics.curve import lateral_curve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.end_curves import TOLERANCE, closed_curve, open_curve
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY, flush_at
from evenrow.hydraulics.flush_many import ManyFlush
from evenrow.hydraulics.flushing import flush_state, open_line, recap_plan
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.many import System
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)
HIGH = 12.0


def laterals(rng, slope=None):
    """Return two kinds of line."""
    return [
        Lateral(
            rng.choice([TAPE, FLAT]), rng.randrange(10, 150), 0.3, rng.choice([0.0138, 0.0161]),
            slope=rng.choice([0.0, -0.006, -0.015]) if slope is None else slope,
            inlet_k=1.0,
        )
        for _ in range(2)
    ]  # fmt: skip


def zones(seed):
    """Return source, kinds of line and three zones, by a seed."""
    rng = random.Random(seed)
    kinds = laterals(rng)
    source = SourceCurve.from_flow_test(rng.uniform(15.0, 35.0), rng.uniform(8e-4, 3e-3))
    assembly = (
        LossComponent("filter", 2.0, 1e-3),
        Regulator("regulator", HIGH - 2.0, 1.0, 1e-3, 1e-4, 3e-3),
    )
    systems = []
    for _ in range(3):
        n = rng.randrange(2, 8)
        systems.append(
            System(
                assembly,
                (Pipe(rng.uniform(5.0, 40.0), 0.04),),
                Header(
                    np.full(n, rng.uniform(0.5, 2.0)), rng.choice([0.02, 0.03, 0.05]),
                    rng.choice([0.0, 0.0, -0.02, 0.01]), feed=rng.randrange(n + 1),
                ),
                np.array([rng.choice([0, 0, 1]) for _ in range(n)]),
            )
        )  # fmt: skip
    return source, kinds, systems


def many(source, kinds):
    curves = [lateral_curve(kind, 1.5, HIGH, 1e-6) for kind in kinds]
    return ManyFlush(source, kinds, curves, HIGH, VISCOSITY_20C)


def parts(source, kinds, system):
    """Return what the solves of one zone alone take."""
    return source, system.assembly, system.main, system.header, kinds, system.index


@pytest.mark.parametrize("seed", range(4))
def test_states_are_those_of_each_zone_alone(seed):
    source, kinds, systems = zones(seed)
    rng = np.random.default_rng(seed)
    opened = [rng.random(s.index.size) < 0.6 for s in systems]
    opened[0][:] = True
    for system, is_open, state in zip(
        systems, opened, many(source, kinds).states(systems, opened), strict=True
    ):
        alone = flush_state(*parts(source, kinds, system), is_open)
        heads = alone.system.outlet_heads
        if heads.min() < 0.07:
            continue  # a line with next to nothing at its start: see `end_curves`
        assert state.flow == pytest.approx(alone.system.source_flow, rel=1e-4)
        assert state.beyond_source == alone.system.beyond_source
        assert (state.velocities[~is_open] == 0.0).all()
        fast = alone.end_velocities > 0.05
        assert state.velocities[fast] == pytest.approx(alone.end_velocities[fast], rel=2e-4)
        assert (state.velocities[~fast] < 0.06).all()


@pytest.mark.parametrize("seed", range(4))
def test_the_order_is_that_of_closing_one_after_the_other(seed):
    source, kinds, systems = zones(100 + seed)
    flush = many(source, kinds)
    first = flush.states(systems, [np.ones(s.index.size, dtype=bool) for s in systems])
    for system, closing in zip(systems, flush.closings(systems, first), strict=True):
        plan = recap_plan(*parts(source, kinds, system))
        assert sorted(closing.order) == list(range(system.index.size))
        assert closing.velocities == pytest.approx(plan.velocities, rel=2e-3, abs=0.01)
        clear = all(abs(v - FLUSH_VELOCITY) > 0.01 for v in plan.velocities)
        if clear and min(plan.first.system.outlet_heads) > 0.07:
            assert closing.order == plan.order
            assert closing.caps_until_all_run == plan.caps_until_all_run
            assert closing.reopen == plan.reopen
            assert closing.stuck == plan.stuck
            assert closing.nearest_first == plan.nearest_first


@pytest.mark.parametrize("slope", [0.0, -0.006, -0.02, 0.01])
@pytest.mark.parametrize("device", [TAPE, FLAT])
def test_an_open_curve_is_the_line_solved_at_each_head(slope, device):
    lateral = Lateral(device, 250, 0.3, 0.0161, slope=slope, inlet_k=1.0)
    curve = open_curve(lateral, 0.012, HIGH)
    heads = np.geomspace(0.15, HIGH, 60)
    alone = solve(open_line(lateral), heads[:, None])
    flow, _ = curve.inlet.flows_and_slopes(heads)
    # Where its end is dry it is the closed line, whose curve has a kink for each emitter there.
    wet = alone.flow[:, -1] > 0.0
    np.testing.assert_allclose(flow[wet], alone.segment_flow[wet, 0], rtol=2 * TOLERANCE)
    np.testing.assert_allclose(flow, alone.segment_flow[:, 0], rtol=3e-3)
    area = 0.25 * np.pi * 0.0161**2
    velocity, exact = curve.end_flows(heads) / area, alone.flow[:, -1] / area
    np.testing.assert_allclose(velocity, exact, rtol=10 * TOLERANCE, atol=1e-3)
    # By another way of solving it, which ends at the last emitter.
    for head in (0.5, 3.0, 9.0):
        wanted = flush_at(Lateral(device, 250, 0.3, 0.0161, slope=slope, inlet_k=1.0), head)
        ours = float(curve.end_flows(np.array([head]))[0]) / area
        assert ours == pytest.approx(wanted.end_velocity, rel=2e-3, abs=1e-3)


@pytest.mark.parametrize("slope", [0.0, -0.006, 0.01])
def test_a_closed_curve_goes_on_below_where_a_line_waters(slope):
    lateral = Lateral(TAPE, 250, 0.3, 0.0161, slope=slope, inlet_k=1.0)
    known = lateral_curve(lateral, 1.5, HIGH, 1e-6)
    curve = closed_curve(lateral, 0.012, known)
    heads = np.geomspace(max(0.03, 250 * 0.3 * slope * 1.1), HIGH, 60)
    flow, _ = curve.flows_and_slopes(heads)
    exact = solve(lateral.line, heads[:, None]).segment_flow[:, 0]
    np.testing.assert_allclose(flow, exact, rtol=1e-3)
    assert closed_curve(lateral, 2.0, known) is known


def test_a_line_that_runs_by_its_fall_alone_gets_nothing_without_pressure():
    lateral = Lateral(TAPE, 250, 0.3, 0.0161, slope=-0.02, inlet_k=1.0)
    curve = open_curve(lateral, 0.012, HIGH)
    flow, _ = curve.inlet.flows_and_slopes(np.array([-1.0, 0.0, 0.012, 0.03]))
    assert flow[:2].tolist() == [0.0, 0.0]
    assert 0.0 < flow[2] < flow[3]
    assert curve.end_flows(np.array([0.0]))[0] == 0.0
    assert float(curve.end_flows(np.array([0.012]))[0]) > 1e-5


def test_a_wrong_exit_is_told():
    with pytest.raises(InputError) as error:
        open_curve(laterals(random.Random(1))[0], 0.01, HIGH, exit_k=0.0)
    assert error.value.field == "exit_k"
