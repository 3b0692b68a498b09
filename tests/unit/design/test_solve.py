"""Whole designs: the demonstrations, the limits they keep, and fields that cannot be."""

from dataclasses import replace

import numpy as np
import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import NAMES, demo
from evenrow.design.detail import first_lowest
from evenrow.design.field import field_of
from evenrow.design.ground import Ground
from evenrow.design.limits import shortfalls
from evenrow.design.settings import set_heads
from evenrow.design.solve import design
from evenrow.errors import ImpossibleError, InputError


def field(name, **changes):
    inputs, system = read(CALCULATOR, demo(name))
    return replace(field_of(inputs, system), **changes)


@pytest.fixture(scope="module")
def designs():
    return {name: design(field(name)) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_a_demonstration_keeps_every_limit(designs, name):
    found = designs[name]
    assert shortfalls(found.field, found.candidate, found.zones) == []
    emitter = found.field.line.device.emitter
    for zone in found.zones:
        assert zone.eu >= found.field.eu
        assert emitter.head_min <= zone.emitter_head_min
        assert zone.emitter_head_max <= emitter.head_max
        assert zone.emitters * zone.emitter_flow_mean == pytest.approx(zone.flow, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_every_row_is_in_one_zone_and_crops_are_apart(designs, name):
    found = designs[name]
    rows = [r for zone in found.zones for r in range(*zone.layout.rows)]
    assert rows == list(range(len(found.field.rows)))
    for zone in found.zones:
        assert len({found.field.rows[r].crop for r in range(*zone.layout.rows)}) == 1


def test_zones_of_the_demonstrations(designs):
    # Worked by hand from the flows: 5 rows of 62 emitters at 2 L/h are 620 L/h against some
    # 1,100 L/h; lettuce takes 3 × 0.4 m³/h against 1.1; the squash 17 against 11 m³/h.
    assert [len(designs[name].zones) for name in NAMES] == [1, 6, 2, 1]


def test_gravity_needs_no_regulator(designs):
    assert designs["school-garden"].candidate.assembly.regulator is None
    assert designs["school-garden"].zones[0].regulator_state == "none"


def test_the_pressure_budget_falls_from_source_to_emitter(designs):
    heads = [station.head for station in designs["raspberries"].largest.stations]
    assert heads == sorted(heads, reverse=True)


def test_why_names_what_one_fewer_would_break(designs):
    assert designs["raspberries"].why_zones == "The source carries all rows at once."
    assert designs["winter-squash"].why_zones.startswith("With 1")
    assert "m³/h" in designs["winter-squash"].why_zones


def test_a_reserve_can_ask_for_another_zone():
    relaxed = design(field("raspberries", reserve=0.0))
    strict = design(field("raspberries", reserve=0.8))
    assert len(relaxed.zones) == 1
    assert len(strict.zones) > 1


def test_a_row_too_long_is_impossible_with_changes_that_work():
    wanted = field("raspberries")
    rows = tuple(replace(row, length=150.0) for row in wanted.rows[:1])
    with pytest.raises(ImpossibleError) as caught:
        design(replace(wanted, rows=rows, eu=0.9))
    error = caught.value
    assert error.limit in ("emission uniformity", "lowest pressure of the line")
    assert any(change.startswith("feed the rows from the middle") for change in error.changes)
    # The change it names does work.
    design(replace(wanted, rows=rows, eu=0.9).placed(0.5))


def test_a_source_without_pressure_is_impossible():
    wanted = field("raspberries")
    weak = wanted.source.from_flow_test(4.0, wanted.source.max_flow)
    with pytest.raises(ImpossibleError):
        design(replace(wanted, source=weak))


def test_a_steep_fall_leaves_out_regulators_that_would_burst_the_tape():
    flat = field("winter-squash", ground=Ground())
    steep = field("winter-squash", ground=Ground(row_slope=-0.012))
    assert max(set_heads(flat)) > max(set_heads(steep))
    bound = steep.line.device.emitter.head_max - 0.012 * 380.0
    assert max(set_heads(steep)) <= bound


def test_a_row_shorter_than_the_emitter_spacing_is_refused():
    wanted = field("raspberries")
    rows = tuple(replace(row, length=0.1) for row in wanted.rows)
    with pytest.raises(InputError, match="shorter than the emitter spacing"):
        design(replace(wanted, rows=rows))


@pytest.mark.parametrize(
    ("kind", "missing", "field_name"),
    [
        ("pump", {}, "source.pump_curve"),
        ("tank", {}, "source.water_height"),
        ("hose-tap", {"readings": []}, "source.readings"),
        ("hose-tap", {"static_pressure": None}, "source.static_pressure"),
    ],
)
def test_what_a_kind_of_source_needs_is_asked_for(kind, missing, field_name):
    inputs, system = read(CALCULATOR, demo("raspberries"))
    source = {**inputs["source"], "kind": kind, **missing}
    with pytest.raises(InputError) as caught:
        field_of({**inputs, "source": source}, system)
    assert caught.value.field == field_name


def test_of_equal_rows_the_first_has_the_least_pressure():
    assert first_lowest(np.array([3.0, 2.0 + 1e-11, 2.0, 2.5])) == 1
    assert first_lowest(np.array([3.0, 2.0 + 1e-6, 2.0, 2.5])) == 2
