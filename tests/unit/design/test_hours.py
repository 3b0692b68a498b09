"""Hours: the water that a zone gives in its time is what its rows need, and fits the window."""

from dataclasses import replace

import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import demo
from evenrow.design.field import Watering, field_of
from evenrow.design.hours import LIMIT, watering_times
from evenrow.design.solve import design, one_fewer
from evenrow.errors import ImpossibleError


def field(name="market-garden", **changes):
    return replace(field_of(*read(CALCULATOR, demo(name))), **changes)


def test_the_water_of_all_zones_is_the_need_of_the_rows_and_what_unevenness_costs():
    wanted = field(watering=Watering(depth=0.004))
    found = design(wanted)
    times = watering_times(wanted, found.zones)
    for zone, time in zip(found.zones, times, strict=True):
        rows = wanted.rows[slice(*zone.layout.rows)]
        need = 0.004 * sum(row.length * row.width for row in rows)
        assert time * zone.flow * zone.eu == pytest.approx(need)


def test_a_window_too_short_is_told_with_hours_that_are_enough():
    with pytest.raises(ImpossibleError) as caught:
        design(field(watering=Watering(depth=0.005, window=1800.0)))
    assert caught.value.limit == LIMIT
    hours = int(caught.value.changes[0].split()[0])
    found = design(field(watering=Watering(depth=0.005, window=3600.0 * hours)))
    assert sum(watering_times(found.field, found.zones)) <= 3600.0 * hours
    assert len(found.zones) == int(caught.value.changes[0].split("solved: ")[1].split()[0])


def test_a_window_may_ask_for_the_setting_that_gives_more_flow():
    wide = design(field(watering=Watering(depth=0.005)))
    needed = sum(watering_times(wide.field, wide.zones))
    tight = design(field(watering=Watering(depth=0.005, window=0.97 * needed)))
    assert sum(watering_times(tight.field, tight.zones)) <= 0.97 * needed
    assert tight.candidate.assembly.set_head > wide.candidate.assembly.set_head


def test_what_makes_it_one_zone_fewer_is_solved():
    found = design(field())
    changes = one_fewer(found)
    assert changes
    for words in changes:
        assert int(words.split("solved: ")[1].split()[0]) < len(found.zones)


def test_one_zone_and_one_zone_for_each_crop_cannot_be_fewer():
    assert one_fewer(design(field("raspberries"))) == ()
