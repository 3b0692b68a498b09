"""Many systems at once against each of them solved by itself."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.hydraulics import many
from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.curve import lateral_curve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.many import System, solve_systems
from evenrow.hydraulics.network import solve_system
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
LATERALS = [
    Lateral(TAPE, 150, 0.3, 0.0161, inlet_k=1.0),
    Lateral(TAPE, 40, 0.3, 0.0161, slope=-0.02, inlet_k=1.0),
    Lateral(TAPE, 90, 0.3, 0.0161, slope=0.015, inlet_k=1.0),
]
CURVES = [lateral_curve(lateral, 1.0, 30.0) for lateral in LATERALS]
VISCOSITY = 1.1e-6
FILTER = LossComponent("filter", 1e-3, 3.0)
REGULATOR = Regulator("regulator", 8.0, 2.0, 1e-3, 1e-4, 2e-3)
SOURCES = {
    "tap": SourceCurve.from_flow_test(30.0, 8e-4),
    "pump": SourceCurve.from_pump_points([0.0, 1e-3, 2e-3], [25.0, 20.0, 8.0]),
    "tank": SourceCurve.from_tank(1.3),
}


def system(kinds, *, feed=0, bore=0.03, rise=0.0, main=20.0, up=0.0, assembly=(FILTER,)):
    header = Header(np.full(len(kinds), 1.2), bore, rise=rise, feed=feed)
    return System(assembly, (Pipe(main, 0.03, rise=up),), header, np.array(kinds))


systems = st.builds(
    lambda kinds, part, bore, rise, main, up, assembly: system(
        kinds,
        feed=round(part * len(kinds)),
        bore=bore,
        rise=rise,
        main=main,
        up=up,
        assembly=assembly,
    ),
    st.lists(st.integers(0, 2), min_size=1, max_size=12),
    st.sampled_from([0.0, 0.5, 1.0]),
    st.sampled_from([0.015, 0.02, 0.04]),
    st.sampled_from([-0.1, 0.0, 0.05]),
    st.sampled_from([0.0, 5.0, 60.0]),
    st.sampled_from([-2.0, 0.0, 0.5, 40.0]),
    st.sampled_from([(), (FILTER,), (FILTER, REGULATOR, FILTER)]),
)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(list(SOURCES)), st.lists(systems, min_size=1, max_size=6))
def test_each_system_is_solved_as_by_itself(name, some):
    source = SOURCES[name]
    together = solve_systems(source, some, CURVES, VISCOSITY)
    for number, one in enumerate(some):
        alone = solve_system(
            source, one.assembly, one.main, one.header, CURVES, one.index, VISCOSITY
        )
        found = together.one(number)
        assert found.state == alone.state
        assert found.regulator == alone.regulator == together.regulators[number]
        assert found.source_flow == pytest.approx(alone.source_flow, rel=1e-7, abs=1e-12)
        assert together.flow[number] == pytest.approx(alone.source_flow, rel=1e-7, abs=1e-12)
        assert found.beyond_source == alone.beyond_source
        if alone.state == "flowing":
            assert found.outlet_heads == pytest.approx(alone.outlet_heads, rel=1e-6, abs=1e-7)
            assert found.segment_flows == pytest.approx(alone.segment_flows, rel=1e-6, abs=1e-11)
            assert found.component_heads == pytest.approx(alone.component_heads, abs=1e-6)
            assert found.residual < 1e-8


def test_the_loss_of_a_take_off_may_belong_to_the_lateral():
    bare = [Lateral(TAPE, 150, 0.3, 0.0161)]
    curves = [lateral_curve(bare[0], 1.0, 30.0)]
    header = Header(np.full(6, 1.2), 0.02, takeoff_k=1.0, takeoff_diameter=0.0161)
    main = (Pipe(20.0, 0.03),)
    classic = solve_system(SOURCES["tap"], (FILTER,), main, header, curves, 0, VISCOSITY)
    ours = solve_systems(SOURCES["tap"], [system([0] * 6, bore=0.02)], CURVES, VISCOSITY)
    assert ours.flow[0] == pytest.approx(classic.source_flow, rel=1e-6)
    assert ours.one(0).outlet_heads == pytest.approx(classic.takeoff_heads, rel=1e-6)
    # And the emitters get what they get behind the take-off.
    there = solve_lateral(LATERALS[0], float(classic.takeoff_heads[2])).flow
    assert there == pytest.approx(solve_lateral(bare[0], float(classic.outlet_heads[2])).flow)


def test_what_does_not_meet_in_time_is_solved_by_itself(monkeypatch):
    some = [system([0] * 5), system([1, 2] * 3, feed=3)]
    usual = solve_systems(SOURCES["tap"], some, CURVES, VISCOSITY)
    monkeypatch.setattr(many, "_STEPS", 0)
    alone = solve_systems(SOURCES["tap"], some, CURVES, VISCOSITY)
    assert alone.flow == pytest.approx(usual.flow, rel=1e-8)
    for number in range(2):
        assert alone.one(number).outlet_heads == pytest.approx(usual.one(number).outlet_heads)


def test_ranges_tell_lowest_and_highest_head_of_each_kind():
    some = [system([0, 1, 0, 1], rise=0.1), system([2, 2, 2], feed=1)]
    found = solve_systems(SOURCES["tap"], some, CURVES, VISCOSITY)
    of, kind, low, high = found.ranges()
    assert list(zip(of, kind, strict=True)) == [(0, 0), (0, 1), (1, 2)]
    heads = [found.one(number).outlet_heads for number in range(2)]
    wanted = [heads[0][[0, 2]], heads[0][[1, 3]], heads[1]]
    assert low == pytest.approx([h.min() for h in wanted])
    assert high == pytest.approx([h.max() for h in wanted])


def test_speeds_are_those_of_the_fullest_segment():
    one = system([0] * 4, bore=0.02)
    found = solve_systems(SOURCES["tap"], [one], CURVES, VISCOSITY)
    assert found.speeds()[0] == pytest.approx(found.flow[0] / (np.pi / 4 * 0.02**2))
