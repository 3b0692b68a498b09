"""Putting together, punching, laying, cutting and walking."""

from dataclasses import replace

import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import device
from evenrow.design.assembly import PUMPS, REASONS
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import Expected
from evenrow.design.field import field_of
from evenrow.design.instructions.assembly import (
    assembly_steps,
    cautions,
    fineness_note,
    joining_steps,
)
from evenrow.design.instructions.diagnosis import diagnosis
from evenrow.design.instructions.holes import hole_positions, reducers
from evenrow.design.instructions.laying import cut_list, laying_steps
from evenrow.design.instructions.walking import walking_steps, zone_walks
from evenrow.design.model import Taper
from evenrow.design.parts import LINE_ALLOWANCE
from evenrow.design.solve import design
from evenrow.units import format_value


def field(name, **changes):
    inputs, system = read(CALCULATOR, demo(name))
    return replace(field_of(inputs, system), **changes)


@pytest.fixture(scope="module")
def demos():
    return {name: Expected(design(field(name))) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_the_head_is_put_together_in_the_order_of_the_flow(demos, name):
    found = demos[name].found
    steps = assembly_steps(found)
    parts = [*found.candidate.assembly.parts]
    for part, step in zip(parts, steps, strict=False):
        assert step.lower().startswith(part.label.lower())
        assert REASONS[part.kind] in step
    assert len(steps) == len(parts) + (found.candidate.valve is not None)


@pytest.mark.parametrize("name", NAMES)
def test_joints_name_arrows_tape_and_gauges(demos, name):
    text = " ".join(joining_steps(demos[name].found))
    for word in ("arrow", "thread tape", "hand-tight", "either side of the filter"):
        assert word in text
    assert ("clear tube" in text) == (name == "school-garden")
    assert "injector" not in text


def test_an_injector_brings_its_step_and_its_cautions():
    found = design(field("raspberries", injection=True))
    assert any("injector" in step for step in joining_steps(found))
    plain, injected = cautions("hose-tap"), cautions("hose-tap", injection=True)
    assert [text for text in injected if text not in plain] != []
    assert "acid" in " ".join(injected)
    assert "acid" not in " ".join(plain)


def test_the_head_is_told_what_it_has_to_stand_and_the_valves_what_they_get(demos):
    garden = " ".join(joining_steps(demos["market-garden"].found))
    still = format_value(
        demos["market-garden"].found.field.source.shutoff_head, "pressure", "metric"
    )
    assert f"up to the regulator stand under {still}" in garden
    least = min(
        station.head
        for zone in demos["market-garden"].found.zones
        for station in zone.stations
        if station.name == "end of the main"
    )
    assert f"as little as {format_value(least, 'pressure', 'metric')}" in garden
    one_zone = " ".join(joining_steps(demos["raspberries"].found))
    assert "up to the regulator" in one_zone
    assert "zone valves work" not in one_zone
    tank = " ".join(joining_steps(demos["school-garden"].found))
    assert "regulator" not in tank


def test_a_line_fed_without_a_regulator_asks_for_a_reading_at_night():
    wanted = field("raspberries")
    bears = wanted.line.device.emitter.head_max
    source = wanted.source.from_flow_test(0.99 * bears, wanted.source.max_flow)
    found = design(replace(wanted, source=source))
    assert found.candidate.assembly.regulator is None
    assert "at night" in " ".join(joining_steps(found))


@pytest.mark.parametrize("kind", ["hose-tap", "municipal", "tank", *PUMPS])
def test_cautions_always_name_pressure_and_digging(kind):
    text = " ".join(cautions(kind))
    assert "pressure before you open" in text
    assert "Before you dig" in text
    assert ("electrician" in text) == (kind in PUMPS)


def test_open_water_is_not_trusted_to_a_screen():
    line = device("tape-22-low")
    assert "media filter" in fineness_note(line, "pond-pump")
    assert "media filter" not in fineness_note(line, "municipal")


@pytest.mark.parametrize("name", NAMES)
def test_every_line_has_its_hole(demos, name):
    holes = hole_positions(demos[name])
    rows = demos[name].found.field.rows
    wanted = {(row.number, line) for row in rows for line in range(1, row.lines + 1)}
    assert len(holes) == len(wanted)
    assert {(hole.row, hole.line) for hole in holes} == wanted


@pytest.mark.parametrize("name", NAMES)
def test_holes_are_where_the_layout_has_its_take_offs(demos, name):
    # Without obstacles the way along the pipe is the difference of the positions.
    expected = demos[name]
    for zone in expected.found.candidate.layout.zones:
        mine = [hole for hole in hole_positions(expected) if hole.zone == zone.number]
        at = sorted(zone.feed + hole.side * hole.distance for hole in mine)
        assert at == pytest.approx(zone.takeoffs, abs=1e-9)
        for side in (-1, 1):
            outward = [hole.distance for hole in mine if hole.side == side]
            assert outward == sorted(outward)


def test_the_tee_of_the_squash_by_hand(demos):
    # Twelve rows 1.8 m apart, the tee halfway: 0.9, 2.7, … 9.9 m to either side.
    mine = [hole for hole in hole_positions(demos["winter-squash"]) if hole.zone == 1]
    assert [hole.row for hole in mine] == [6, 5, 4, 3, 2, 1, 7, 8, 9, 10, 11, 12]
    assert [hole.distance for hole in mine] == pytest.approx([0.9 + 1.8 * k for k in range(6)] * 2)
    assert not any(hole.at_fitting for hole in mine)


def test_a_header_across_the_rows_has_two_holes_at_each_place():
    expected = Expected(design(field("raspberries").placed(0.5)))
    assert {hole.holes for hole in hole_positions(expected)} == {2}


def test_the_reducer_of_a_tapered_header_is_behind_the_last_hole_of_the_wide_part(demos):
    found = demos["winter-squash"].found
    wide = found.candidate.header
    taper = Taper(size=replace(wide, bore=0.8 * wide.bore), takeoffs=(2, 3))
    tapered = replace(found, candidate=replace(found.candidate, tapers={2: taper}))
    # Zone 2 has rows 13 to 24: the outer two are thin on one side, the outer three on the other.
    assert [(hole.zone, hole.row) for hole in reducers(Expected(tapered))] == [(2, 15), (2, 21)]
    assert reducers(demos["raspberries"]) == ()


def test_a_hole_at_the_feed_is_told(demos):
    first, *others = hole_positions(demos["raspberries"])
    assert first.at_fitting
    assert not any(hole.at_fitting for hole in others)


@pytest.mark.parametrize("name", NAMES)
def test_the_cuts_are_all_line_there_is(demos, name):
    rows = demos[name].found.field.rows
    cuts = cut_list(demos[name])
    assert sum(cut.pieces for cut in cuts) == sum(row.lines for row in rows)
    total = sum(row.lines * (row.length + LINE_ALLOWANCE) for row in rows)
    assert sum(cut.pieces * cut.length for cut in cuts) == pytest.approx(total)


def test_equal_neighbours_share_a_line_of_the_cut_list():
    plain = field("raspberries")
    lengths = (10.0, 10.0, 15.0, 10.0, 18.9)
    rows = tuple(
        replace(row, length=length) for row, length in zip(plain.rows, lengths, strict=True)
    )
    cuts = cut_list(Expected(design(replace(plain, rows=rows))))
    assert [cut.rows for cut in cuts] == [(1, 2), (3,), (4,), (5,)]
    assert [cut.run for cut in cuts] == [10.0, 15.0, 10.0, 18.9]


def test_a_header_off_the_middle_has_two_cuts_for_each_row():
    cuts = cut_list(Expected(design(field("raspberries").placed(0.25))))
    assert [cut.pieces for cut in cuts] == [5, 5]
    assert cuts[0].run == pytest.approx(3.0 * cuts[1].run)


@pytest.mark.parametrize("name", NAMES)
def test_laying_is_in_the_users_units(demos, name):
    found = demos[name].found
    text = " ".join(laying_steps(found))
    assert ("2 to 3 in" in text) == (found.field.system == "us")
    assert ("5 to 8 cm" in text) == (found.field.system == "metric")
    assert "emitters up" in text
    assert "before you dig" in text
    assert ("zone by zone" in text) == (len(found.zones) > 1)


@pytest.mark.parametrize("name", NAMES)
def test_the_walk_counts_what_the_design_has(demos, name):
    found = demos[name].found
    walks = zone_walks(demos[name])
    assert [walk.emitters for walk in walks] == [zone.emitters for zone in found.zones]
    for walk, zone in zip(walks, found.zones, strict=True):
        rows = found.field.rows[slice(*zone.layout.rows)]
        assert walk.takeoffs == sum(row.lines for row in rows)
        assert walk.ends - walk.takeoffs == (2 if zone.layout.tee else 1)
        header = zone.layout.ways[-1] - zone.layout.ways[0]
        lines = sum(row.lines * row.length for row in rows)
        assert walk.walk == pytest.approx(lines + header)


@pytest.mark.parametrize("name", NAMES)
def test_words_fit_the_parts_there_are(demos, name):
    found = demos[name].found
    walk, off = " ".join(walking_steps(found)), " ".join(diagnosis(found))
    assert ("backflow" in walk) == (name in ("raspberries", "market-garden"))
    assert ("Valves:" in walk) == (len(found.zones) > 1)
    assert ("regulator" in off) == (found.candidate.assembly.regulator is not None)
    assert ("the tank is low" in off) == (name == "school-garden")
