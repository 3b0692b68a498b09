"""What parts bear, what zone valves and regulators need before them, and what then helps."""

import re
from contextlib import contextmanager
from dataclasses import replace

import numpy as np
import pytest

from evenrow.calculators.ratings_section import (
    closing_numbers,
    ratings_table,
    surge_notices,
    valve_notices,
)
from evenrow.calculators.reading import put, read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import builtin, using
from evenrow.design.assembly import head_assembly, loss_at, smallest
from evenrow.design.changes import lowered
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.ratings import closing_time, ratings
from evenrow.design.solve import design
from evenrow.errors import ImpossibleError
from evenrow.hydraulics.source import SourceCurve

BAR = 10.19716
PSI = 0.70307


def field(name="market-garden", **changes):
    document = demo(name)
    for path, value in changes.items():
        put(document, path.replace("__", "."), value)
    return field_of(*read(CALCULATOR, document))


@contextmanager
def parts(**changed):
    """Use the built-in catalogue with figures of parts changed, by kind (_ for a space)."""
    found = {
        code: replace(part, **changed.get(part.kind.replace(" ", "_"), {}))
        for code, part in builtin().parts.items()
    }
    with using(replace(builtin(), parts=found)):
        yield


def heads(zone):
    return {station.name: station.head for station in zone.stations}


def test_what_stands_before_valve_and_regulator_is_what_the_way_says():
    found = design(field())
    on_the_way = heads(found.largest)
    assert found.largest.valve_head == pytest.approx(on_the_way["end of the main"], abs=1e-6)
    assert found.largest.regulator_head == pytest.approx(on_the_way["after the filter"], abs=1e-6)


def test_parts_before_the_regulator_see_the_source_and_those_behind_it_its_setting():
    found = design(field(ground__header_slope="-10 %"))
    seen = ratings(found.field, found.candidate)
    set_head = found.candidate.assembly.set_head
    fall = -float(found.field.takeoff_levels.min())
    assert fall > 1.0
    standing = [one.standing for one in seen]
    assert standing[:3] == pytest.approx([3.1 * BAR] * 3, rel=1e-5)
    # The adapter, then main, zone valve and header.
    assert standing[3:] == pytest.approx([set_head, *[set_head + fall] * 3])
    table = ratings_table(found)
    assert [row[1] for row in table.rows] == standing
    assert "common practice, no source" in table.note


def test_a_valve_that_needs_more_than_it_sees_breaks_a_limit_that_says_so():
    # Only the setting of 8 psi is left, 0.5516 bar; adapter and main take more than 0.0001 bar of
    # it, also with the widest pipe and a zone for each row.
    with parts(zone_valve={"head_min": 0.5515 * BAR}), pytest.raises(ImpossibleError) as caught:
        design(field(line__own__pressure_max="0.6 bar", main__length="400 m"))
    assert caught.value.limit == "lowest pressure of the zone valves"
    assert "while its zone runs" in caught.value.message
    seen, needed = re.findall(r"([\d.]+)\sbar", caught.value.message)
    assert float(seen) < float(needed) == pytest.approx(0.5515, abs=6e-4)
    assert caught.value.changes


def test_a_larger_main_is_taken_where_a_valve_asks_for_it():
    small = design(field())
    least = small.largest.valve_head
    with parts(zone_valve={"head_min": least + 0.2}):
        larger = design(field())
    assert min(zone.valve_head for zone in larger.zones) >= least + 0.2
    assert larger.candidate.main.bore > small.candidate.main.bore
    assert any(step.pipe == "main" for step in larger.candidate.grown)


def test_valves_that_no_setting_feeds_are_told_at_once_and_one_zone_needs_none():
    with parts(zone_valve={"head_min": 2.0 * BAR}):
        with pytest.raises(ImpossibleError) as caught:
            design(field())
        one = design(field("raspberries"))
    assert caught.value.limit == "lowest pressure of the zone valves"
    assert re.search(r"need 2\sbar .* see 0.552\sbar", caught.value.message)
    assert one.candidate.valve is None


def test_a_part_that_does_not_bear_the_night_is_named_and_a_reducing_valve_offered():
    with pytest.raises(ImpossibleError) as caught:
        design(field(source__static_pressure="9 bar"))
    assert caught.value.limit == "highest pressure of the parts"
    # The other parts are taken in a size that bears it; a regulator has only this one.
    assert "pressure regulator" in caught.value.message
    assert re.search(r"sees 9\sbar, above the 8.27\sbar", caught.value.message)
    assert any("pressure reducing valve" in change for change in caught.value.changes)


@pytest.mark.parametrize("kind", ["filter", "standing backflow preventer", "zone valve"])
def test_the_part_that_bears_least_is_named(kind):
    weak = {kind.replace(" ", "_"): {"head_max": 0.5 * BAR}}
    with parts(**weak), pytest.raises(ImpossibleError) as caught:
        design(field())
    label = next(part.label for part in builtin().parts.values() if part.kind == kind)
    assert label in caught.value.message
    assert "above the 0.5" in caught.value.message


def test_parts_of_which_nothing_is_known_are_not_looked_at():
    kinds = {part.kind.replace(" ", "_") for part in builtin().parts.values()}
    with parts(**{kind: {"head_max": None} for kind in kinds}):
        found = design(field(source__static_pressure="9 bar"))
        seen = ratings(found.field, found.candidate)
        assert {one.bears for one in seen if not one.pipe} == {None}


def test_a_larger_part_that_bears_the_head_is_taken_before_a_smaller_that_does_not():
    flow = 2e-4
    low, high = 80.0, 95.0  # 125 psi are 87.9 m, 150 psi are 105.5 m
    assert smallest("filter", flow, low).size == "3/4 in"
    assert smallest("filter", flow, high).size == "1 1/2 in"
    assert smallest("filter", flow, 200.0).size == "3/4 in"
    made = head_assembly("pump", flow, timer=False, regulator=None, standing=False, head=high).parts
    assert [part.size for part in made if part.kind != "adapter"] == ["1 1/2 in"] * 2
    assert all(part.bears(high) for part in made if part.kind != "adapter")


def test_a_regulator_with_too_little_before_it_asks_for_more_zones():
    plain = design(field())
    inlet = min(zone.regulator_head for zone in plain.zones)
    setting = plain.candidate.assembly.set_head
    with parts(regulator={"margin": inlet - setting + 0.5}):
        more = design(field())
    assert len(more.zones) > len(plain.zones)
    assert min(zone.regulator_head for zone in more.zones) >= inlet + 0.5
    # Straight from source and parts, without the network.
    flow = more.largest.flow
    source, before = more.field.source, more.candidate.assembly.up_to_regulator[:-1]
    by_hand = float(source.head(flow)[0]) - loss_at(before, flow)
    assert more.largest.regulator_head == pytest.approx(by_hand, abs=1e-9)


def test_a_margin_that_no_number_of_zones_leaves_is_told_with_both_pressures():
    with parts(regulator={"margin": 3.0 * BAR}), pytest.raises(ImpossibleError) as caught:
        design(field())
    assert caught.value.limit == "flow of the source"
    assert "before it and wants" in caught.value.message
    assert any("more pressure at the source" in change for change in caught.value.changes)


def test_a_zone_that_takes_little_is_told_the_smaller_valve():
    found = design(field())
    assert valve_notices(found) == ()
    valve = replace(builtin().parts["valve-50"], flow_min=1.0)
    odd = replace(found, candidate=replace(found.candidate, valve=valve))
    (notice,) = valve_notices(odd)
    assert "put a zone valve, 1 in there" in notice.text


@pytest.mark.parametrize(
    "source",
    [
        SourceCurve.from_flow_test(90.0, 1e-3),
        SourceCurve.from_pump_points([0.0, 1e-3, 2e-3], [90.0, 70.0, 30.0]),
        SourceCurve.from_tank(90.0),
    ],
)
def test_a_lowered_source_never_promises_more_than_source_or_valve_give(source):
    flows = np.linspace(0.0, 1e-3, 30)
    less = lowered(source, 60.0)
    assert less.shutoff_head == pytest.approx(60.0)
    valve = np.minimum(source.head(flows)[0], 60.0)
    assert (less.head(flows)[0] <= valve + 1e-9).all()


def test_pipe_is_taken_at_no_more_than_its_share_of_its_rating():
    # Without a regulator main and header see the source. 1/2 in tubing is rated 50 psi: 36 psi.
    for pressure, code in (("35 psi", "tube-15"), ("37 psi", "pipe-27")):
        found = design(
            field("raspberries", line__device="dripline-16-even", source__static_pressure=pressure)
        )
        assert found.candidate.assembly.regulator is None
        assert found.candidate.header.code == code
        for one in ratings(found.field, found.candidate):
            assert one.bears is None or one.standing <= one.bears
    pipes = {one.pipe: one for one in ratings(found.field, found.candidate) if one.pipe}
    assert pipes["main"].bears == pytest.approx(0.72 * found.candidate.main.head_max)
    assert pipes["header"].standing == pytest.approx(37 * PSI, rel=1e-4)


def test_pipe_far_below_the_source_sees_the_fall_as_well():
    level, below = (field("raspberries", source__rise=rise) for rise in ("0 ft", "-80 ft"))
    setting = 15.0 * PSI
    assert level.standing(setting) == pytest.approx(setting)
    assert below.standing(setting) == pytest.approx(setting + 80.0 * 0.3048)
    deep = design(field("raspberries", source__rise="-80 ft", line__own__pressure_max="70 psi"))
    standing = deep.field.standing(deep.candidate.assembly.set_head)
    assert standing > 0.72 * design(level).candidate.main.head_max
    assert standing <= 0.72 * deep.candidate.main.head_max


def test_the_closing_time_is_the_sheet_s_formula():
    found = design(field("winter-squash"))
    main = found.candidate.main
    lengths = [found.candidate.layout.main_to(zone.layout) for zone in found.zones]
    speeds = [zone.main_velocity for zone in found.zones]
    # In ft/s, ft and psi, as the sheet has it.
    moving = max(v * m for v, m in zip(speeds, lengths, strict=True)) / 0.3048**2
    left = main.head_max / PSI - found.field.standing(found.candidate.assembly.set_head) / PSI
    seconds = closing_time(found.field, found.candidate, found.zones)
    assert seconds == pytest.approx(0.07 * moving / left, rel=1e-9)
    (number,) = closing_numbers(found)
    assert number.value == seconds
    assert closing_numbers(design(field("raspberries"))) == ()


def test_water_that_runs_too_fast_for_that_room_is_told():
    slow = design(field("raspberries"))
    assert surge_notices(slow) == ()
    fast = [replace(zone, main_velocity=1.6) for zone in slow.zones]
    (notice,) = surge_notices(replace(slow, zones=tuple(fast)))
    assert "surges" in notice.text
