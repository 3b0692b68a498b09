"""Expected figures against independent solves, and tolerances by hand."""

import math
from dataclasses import replace

import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.assembly import loss_at
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import Expected
from evenrow.design.field import field_of
from evenrow.design.instructions.commissioning import (
    cup_checks,
    cup_time,
    emitter_spread,
    fill_volume,
    flow_checks,
    gauge_checks,
    gauge_scale,
)
from evenrow.design.instructions.naming import end_name
from evenrow.design.solve import design
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.units import from_unit


def field(name, **changes):
    inputs, system = read(CALCULATOR, demo(name))
    return replace(field_of(inputs, system), **changes)


@pytest.fixture(scope="module")
def demos():
    return {name: Expected(design(field(name))) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_the_meter_with_a_dirty_filter_is_the_flow_of_the_design(demos, name):
    found = demos[name].found
    checks = flow_checks(demos[name])
    assert [check.dirty for check in checks] == pytest.approx(
        [zone.flow for zone in found.zones], rel=1e-5
    )
    for check, zone in zip(checks, found.zones, strict=True):
        spread = 2.0 * found.field.line.device.emitter.cv / math.sqrt(zone.emitters)
        assert check.tolerance == pytest.approx(math.sqrt(spread**2 + 0.07**2 + 0.05**2))


@pytest.mark.parametrize("name", NAMES)
def test_cups_hold_what_the_line_gives_at_its_head(demos, name):
    expected = demos[name]
    checks, time = cup_checks(expected)
    line = expected.found.field.line
    for check in checks:
        network = expected.zones[check.zone - 1]
        names = [end_name(end, network.ends) for end in network.ends]
        outlet = names.index(check.row)
        head = float(expected.clean[check.zone - 1].outlet_heads[outlet])
        length = network.ends[outlet].length
        slope = expected.found.field.ground.row_slope * network.ends[outlet].away
        flows = solve_lateral(line.lateral(length, slope=slope), head).flow
        start = {"first": 0, "last": flows.size - 3}.get(
            check.place.split()[0], (flows.size - 3) // 2
        )
        assert check.flow == pytest.approx(flows[start : start + 3].mean(), rel=1e-9)
        assert check.volume == pytest.approx(check.flow * time)
        parts = (2.0 * line.device.emitter.cv / math.sqrt(3), 0.07, 1e-6 / check.volume)
        assert check.tolerance == pytest.approx(math.hypot(*parts))
    assert min(check.volume for check in checks) >= 50e-6
    assert {check.zone for check in checks} == {zone.layout.number for zone in expected.found.zones}


@pytest.mark.parametrize("name", NAMES)
def test_gauges_beside_the_filter_show_its_loss(demos, name):
    expected = demos[name]
    part = next(p for p in expected.found.candidate.assembly.parts if p.kind.endswith("filter"))
    checks = gauge_checks(expected)
    for zone, clean, dirty in zip(
        expected.found.zones, expected.clean, expected.dirty, strict=True
    ):
        mine = {check.place: check for check in checks if check.zone == zone.layout.number}
        before, after = mine["before the filter"], mine["after the filter"]
        assert before.clean - after.clean == pytest.approx(
            loss_at([part], clean.source_flow, dirty=False)
        )
        assert before.dirty - after.dirty == pytest.approx(loss_at([part], dirty.source_flow))


@pytest.mark.parametrize("name", NAMES)
def test_gauges_in_the_field_show_the_end_of_their_line(demos, name):
    expected = demos[name]
    for check in gauge_checks(expected):
        if not check.place.startswith("far end of "):
            continue
        network, state = (each[check.zone - 1] for each in (expected.zones, expected.clean))
        names = [end_name(end, network.ends) for end in network.ends]
        outlet = names.index(check.place.removeprefix("far end of "))
        lateral = network.laterals[int(network.kinds[outlet])]
        head = float(state.outlet_heads[outlet])
        assert check.clean == pytest.approx(solve_lateral(lateral, head).head[-1])


def test_a_regulator_at_work_shows_its_setting(demos):
    expected = demos["raspberries"]
    check = next(c for c in gauge_checks(expected) if c.place == "after the regulator")
    psi = from_unit(1.0, "pressure", "psi")
    assert check.clean == pytest.approx(15.0 * psi, rel=0.01)
    assert check.scale == pytest.approx(30.0 * psi)
    gauge, held = 0.025 * 30.0 * psi, 0.10 * expected.found.candidate.assembly.set_head
    assert check.tolerance == pytest.approx(math.hypot(gauge, held))
    before = next(c for c in gauge_checks(expected) if c.place == "before the filter")
    assert before.tolerance == pytest.approx(0.025 * 60.0 * psi)


def test_a_tank_is_measured_with_a_tube(demos):
    for check in gauge_checks(demos["school-garden"]):
        assert check.scale is None
        assert check.tolerance == pytest.approx(0.02)
        assert 0.0 < check.clean < 1.3 + 1e-9


@pytest.mark.parametrize("name", NAMES)
def test_nearest_farthest_and_weakest_lines_are_measured(demos, name):
    expected = demos[name]
    for network, state, lines in zip(expected.zones, expected.clean, expected.marked, strict=True):
        marked = [line.outlet for line in lines]
        assert len(set(marked)) == len(marked) <= 3
        ways = [abs(end.way) for end in network.ends]
        assert ways[marked[0]] == pytest.approx(min(ways))
        assert max(ways) == pytest.approx(max(ways[k] for k in marked))
        lowest = [
            float(solve_lateral(network.laterals[int(kind)], head).head.min())
            for kind, head in zip(network.kinds, state.outlet_heads, strict=True)
        ]
        assert min(lowest[k] for k in marked) == pytest.approx(min(lowest), abs=2e-6)


def test_the_weakest_line_is_found_between_the_others():
    plain = field("raspberries")
    lengths = (10.0, 10.0, 60.0, 10.0, 10.0)
    rows = tuple(
        replace(row, length=length) for row, length in zip(plain.rows, lengths, strict=True)
    )
    expected = Expected(design(replace(plain, rows=rows)))
    assert [expected.zones[0].ends[line.outlet].row for line in expected.marked[0]] == [1, 5, 3]


def test_short_lines_need_no_cup_in_the_middle():
    plain = field("school-garden")
    spacing = plain.line.spacing

    def places(emitters):
        rows = tuple(replace(row, length=emitters * spacing) for row in plain.rows)
        checks, _ = cup_checks(Expected(design(replace(plain, rows=rows))))
        return [check.place for check in checks if check.row == checks[0].row]

    assert places(9) == ["first 3 emitters", "3 emitters in the middle", "last 3 emitters"]
    assert places(8) == ["first 3 emitters", "last 3 emitters"]
    assert places(2) == ["all emitters"]
    assert places(1) == ["the emitter"]


@pytest.mark.parametrize(
    ("flow", "time"),
    [(3.01, 60.0), (2.99, 120.0), (1.01, 180.0), (0.7, 300.0), (0.4, 600.0), (0.1, 600.0)],
)
def test_cups_stand_until_there_is_something_to_read(flow, time):
    # 50 mL at 1 L/h take three minutes.
    assert cup_time(flow / 3.6e6) == time


def test_more_cups_narrow_the_spread():
    assert emitter_spread(0.05, 4) == pytest.approx(0.05)
    assert emitter_spread(0.05, 1) == pytest.approx(0.10)


@pytest.mark.parametrize(
    ("head", "unit", "scale"),
    [(11.0, "psi", 15), (11.5, "psi", 30), (44.0, "psi", 60), (0.45, "bar", 0.6), (3.1, "bar", 6)],
)
def test_a_gauge_stands_in_the_lower_three_quarters(head, unit, scale):
    system = "us" if unit == "psi" else "metric"
    found = gauge_scale(from_unit(head, "pressure", unit), system)
    assert found == pytest.approx(from_unit(float(scale), "pressure", unit))


def test_a_bucket_that_fills_at_once_gives_way_to_a_drum():
    assert fill_volume(0.0009, (0.01, 0.2)) == 0.01
    assert fill_volume(0.0011, (0.01, 0.2)) == 0.2
    assert fill_volume(0.03, (0.01, 0.2)) is None
