"""What a design should show, against solves of other parts of the package and by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import Expected
from evenrow.design.field import field_of
from evenrow.design.marked_lines import lines_at
from evenrow.design.solve import design
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.hydraulics.pipe import Pipe, pipe_loss
from evenrow.hydraulics.source import SourceCurve


def field(name, **changes):
    inputs, system = read(CALCULATOR, demo(name))
    return replace(field_of(inputs, system), **changes)


@pytest.fixture(scope="module")
def demos():
    return {name: Expected(design(field(name))) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_the_dirty_state_is_that_of_the_design(demos, name):
    expected = demos[name]
    for zone, network, state in zip(
        expected.found.zones, expected.zones, expected.dirty, strict=True
    ):
        assert state.source_flow == pytest.approx(zone.flow, rel=1e-5)
        by_row = {}
        for end, head in zip(network.ends, state.outlet_heads, strict=True):
            by_row.setdefault(end.row, []).append(head)
        means = [float(np.mean(heads)) for heads in by_row.values()]
        assert means == pytest.approx(zone.row_heads, rel=1e-5)
        stations = {station.name: station.head for station in zone.stations}
        for part, head in zip(state.names, state.component_heads, strict=True):
            assert head == pytest.approx(stations[f"after the {part}"], rel=1e-5)
        lowest = [
            solve_lateral(network.laterals[int(kind)], head).min_head
            for kind, head in zip(network.kinds, state.outlet_heads, strict=True)
        ]
        assert min(lowest) == pytest.approx(zone.emitter_head_min, rel=1e-5)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("state", ["clean", "dirty"])
def test_the_meter_shows_the_sum_of_the_emitters(demos, name, state):
    expected = demos[name]
    for network, running in zip(expected.zones, getattr(expected, state), strict=True):
        total = sum(
            float(solve_lateral(network.laterals[int(kind)], head).flow.sum())
            for kind, head in zip(network.kinds, running.outlet_heads, strict=True)
        )
        assert running.source_flow == pytest.approx(total, rel=1e-5)


@pytest.mark.parametrize("name", NAMES)
def test_a_clean_filter_never_gives_less(demos, name):
    expected = demos[name]
    for clean, dirty in zip(expected.clean, expected.dirty, strict=True):
        assert clean.source_flow >= dirty.source_flow * (1.0 - 1e-9)
        filters = [i for i, part in enumerate(clean.names) if part.endswith("filter")]
        assert filters
        for i in filters:
            assert clean.component_heads[i] > dirty.component_heads[i]


@pytest.mark.parametrize("name", NAMES)
def test_the_arms_are_those_of_the_layout(demos, name):
    for network in demos[name].zones:
        arms = [sum(pipe.length for pipe in network.arm(last)) for last in network.sides]
        assert arms[::-1] == pytest.approx(network.layout.arms, abs=1e-4)


@pytest.mark.parametrize("name", NAMES)
def test_the_ends_are_every_line_of_every_row(demos, name):
    rows = demos[name].found.field.rows
    found = [(end.row, end.line) for network in demos[name].zones for end in network.ends]
    assert found == [(row.number, line) for row in rows for line in range(1, row.lines + 1)]


def test_both_sides_of_a_header_across_the_rows():
    expected = Expected(design(field("raspberries").placed(0.25)))
    ends = expected.zones[0].ends
    assert len(ends) == 10
    for far, near in zip(ends[::2], ends[1::2], strict=True):
        assert (far.away, near.away) == (1, -1)
        assert (far.row, far.line, far.way) == (near.row, near.line, near.way)
        assert far.length == pytest.approx(3.0 * near.length)


def test_the_open_header_by_hand(demos):
    # The tap's curve, each part by the square of its flow, main and header as one pipe each.
    expected = demos["raspberries"]
    found, network = expected.found, expected.zones[0]
    flow = expected.open_header_flow(network, last=True)
    nu = found.field.line.viscosity
    bore = found.candidate.header.bore

    def left(q):
        head = float(found.field.source.head(q)[0])
        for part in found.candidate.assembly.parts:
            head -= part.loss * (q / part.flow) ** 2
            head = min(head, part.set_head or math.inf)
        head -= float(pipe_loss(q, network.main[0], nu)[0])
        head -= float(pipe_loss(q, Pipe(network.layout.header_length, bore), nu)[0])
        return head - (q / (math.pi / 4 * bore**2)) ** 2 / (2.0 * G)

    assert flow == pytest.approx(brentq(left, 1e-6, 1e-2), rel=1e-4)
    assert flow > expected.clean[0].source_flow


def test_an_open_header_beyond_the_pump_curve_is_not_known():
    # A strong pump whose curve ends just above what the largest zone takes.
    flows, heads = [0.0, 4.0 / 3600, 8.2 / 3600], [32.0, 31.5, 31.0]
    source = SourceCurve.from_pump_points(flows, heads)
    expected = Expected(design(field("winter-squash", source=source, reserve=0.0)))
    assert [expected.open_header_flow(network, last=True) for network in expected.zones] == [
        None
    ] * len(expected.zones)


def test_nothing_leaves_an_open_header_above_the_water(demos):
    expected = demos["school-garden"]
    network = expected.zones[0]
    high = replace(network, main=(replace(network.main[0], rise=5.0),))
    assert expected.open_header_flow(high, last=True) is None


@pytest.mark.parametrize("name", NAMES)
def test_marked_lines_are_those_of_their_take_offs(demos, name):
    expected = demos[name]
    for network, clean, dirty, marked in zip(
        expected.zones, expected.clean, expected.dirty, expected.marked, strict=True
    ):
        for line in marked:
            lateral = network.laterals[int(network.kinds[line.outlet])]
            alone = solve_lateral(lateral, clean.outlet_heads[line.outlet])
            np.testing.assert_allclose(line.head, alone.head, rtol=1e-7)
            np.testing.assert_allclose(line.flow, alone.flow, rtol=1e-7)
            later = solve_lateral(lateral, dirty.outlet_heads[line.outlet])
            np.testing.assert_allclose(line.later, later.head, rtol=1e-7)


def test_a_line_without_pressure_is_dry(demos):
    curves = demos["market-garden"].hydraulics.curves
    (dry_head, dry_flow), (head, flow) = lines_at(curves, [0, 0], [-1.0, 2.0])
    assert not dry_head.any()
    assert not dry_flow.any()
    alone = solve_lateral(curves[0].lateral, 2.0)
    np.testing.assert_allclose(head, alone.head)
    np.testing.assert_allclose(flow, alone.flow)


def mirrored(wanted):
    """Return the field with its rows in the other order, the main arriving at the same row."""
    last = wanted.rows[-1].position
    rows = [replace(row, position=last - row.position) for row in reversed(wanted.rows)]
    return replace(
        wanted,
        rows=tuple(replace(row, number=i) for i, row in enumerate(rows, start=1)),
        route=replace(wanted.route, arrives=last - wanted.route.arrives),
    )


@pytest.mark.parametrize("feed", ["end", "tee"])
def test_the_order_of_the_rows_does_not_matter(feed):
    plain = field("raspberries", feed=feed)
    lengths = (10.0, 12.0, 15.0, 18.9, 18.0)
    rows = tuple(
        replace(row, length=length) for row, length in zip(plain.rows, lengths, strict=True)
    )
    wanted = replace(plain, rows=rows, route=replace(plain.route, arrives=0.0))
    one, other = Expected(design(wanted)), Expected(design(mirrored(wanted)))
    assert other.clean[0].source_flow == pytest.approx(one.clean[0].source_flow, rel=1e-8)
    assert other.clean[0].outlet_heads[::-1] == pytest.approx(one.clean[0].outlet_heads, rel=1e-7)
    ways = [-end.way for end in reversed(other.zones[0].ends)]
    assert ways == pytest.approx([end.way for end in one.zones[0].ends], abs=1e-9)
    # Its open end lies on the other side, and gives as much.
    sides = [each.zones[0].sides for each in (one, other)]
    assert sides == ([(True,), (False,)] if feed == "end" else [(True, False)] * 2)
    flows = [
        each.open_header_flow(each.zones[0], last=last)
        for each, last in ((one, True), (other, False))
    ]
    assert flows[0] == pytest.approx(flows[1], rel=1e-6)
