"""Layout: every row in one zone, lengths that follow from positions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenrow.design.field import rows_of
from evenrow.design.layout import (
    HEADER_TAIL,
    HeaderLine,
    Obstacle,
    Route,
    layout,
    line_positions,
)
from evenrow.errors import InputError


def group(count=4, spacing=2.0, lines=1, length=30.0, crop=""):
    return {"count": count, "spacing": spacing, "lines": lines, "length": length, "crop": crop}


def test_rows_lie_their_spacing_apart():
    rows = rows_of([group(3, 2.0), group(2, 4.0)])
    # Between the groups: half of each group's spacing.
    assert [row.position for row in rows] == [0.0, 2.0, 4.0, 7.0, 11.0]


def test_too_many_rows_are_refused():
    with pytest.raises(InputError, match="too many rows"):
        rows_of([group(2000), group(2000), group(2000)])


def test_end_fed_header_reaches_from_first_to_last_row():
    rows = rows_of([group(5, 9.0)])
    (zone,) = layout(rows, [(0, 5)], main_length=10.0, feed="end").zones
    assert zone.feed == 0.0
    assert zone.header_ends == 1
    assert zone.header_length == pytest.approx(4 * 9.0 + HEADER_TAIL)


def test_tee_fed_header_is_fed_in_its_middle():
    rows = rows_of([group(5, 9.0)])
    place = layout(rows, [(0, 5)], main_length=10.0, feed="tee")
    (zone,) = place.zones
    assert zone.feed == pytest.approx(18.0)
    assert zone.header_length == pytest.approx(4 * 9.0 + 2 * HEADER_TAIL)
    assert place.main_total == pytest.approx(28.0)


def test_main_reaches_the_farthest_zone():
    rows = rows_of([group(6, 2.0)])
    place = layout(rows, [(0, 3), (3, 6)], main_length=5.0, feed="end")
    assert [place.main_to(zone) for zone in place.zones] == [5.0, 11.0]
    assert place.main_total == 11.0


def test_lines_of_a_bed_stay_on_it():
    rows = rows_of([group(3, 2.0, lines=3)])
    places = line_positions(rows)
    assert [len(p) for p in places] == [3, 3, 3]
    flat = [p for row in places for p in row]
    assert flat == sorted(flat)
    assert places[1] == pytest.approx((1.4, 2.0, 2.6))


def test_a_single_bed_spreads_its_lines_as_if_there_were_more():
    assert line_positions(rows_of([group(1, 2.0, lines=2)])) == [(-0.6, 0.6)]


@pytest.mark.parametrize("ranges", [[(0, 2)], [(0, 3), (2, 4)], [(2, 4), (0, 2)]])
def test_zones_that_miss_or_repeat_a_row_are_refused(ranges):
    with pytest.raises(InputError, match="every row once"):
        layout(rows_of([group(4)]), ranges, main_length=0.0, feed="end")


def test_a_path_moves_the_rows_behind_it():
    rows = rows_of([group(2, 2.0), {**group(2, 2.0), "path": 1.5}])
    assert [row.position for row in rows] == [0.0, 2.0, 5.5, 7.5]


def test_a_header_further_along_the_rows_lengthens_the_main():
    rows = rows_of([group(3, 2.0, length=40.0)])
    assert layout(rows, [(0, 3)], main_length=5.0, feed="end", share=0.5).main_total == 25.0
    assert layout(rows, [(0, 3)], main_length=5.0, feed="end", share=1.0).main_total == 45.0


def test_where_rows_differ_in_length_a_header_across_them_runs_aslant():
    rows = rows_of([group(1, 3.0, length=20.0), group(1, 3.0, length=28.0)])
    (near,) = layout(rows, [(0, 2)], main_length=0.0, feed="end").zones
    (aslant,) = layout(rows, [(0, 2)], main_length=0.0, feed="end", share=0.5).zones
    assert near.header_length == pytest.approx(3.0 + HEADER_TAIL)
    assert aslant.header_length == pytest.approx(5.0 + HEADER_TAIL)


def line(groups=None, **route):
    return HeaderLine(rows_of(groups or [group(6, 2.0)]), Route(**{"main_length": 5.0, **route}))


def test_a_main_that_arrives_in_the_middle_goes_both_ways():
    place = line(arrives=6.0).layout([(0, 3), (3, 6)], "end")
    assert [zone.feed for zone in place.zones] == [4.0, 6.0]
    assert [place.main_to(zone) for zone in place.zones] == [7.0, 5.0]
    assert sum(place.main_stretches) == place.main_total == 7.0


def test_the_main_is_cut_at_every_zone():
    place = line().layout([(0, 2), (2, 4), (4, 6)], "end")
    assert place.main_stretches == (5.0, 4.0, 4.0)


def test_an_obstacle_lengthens_what_crosses_it_and_bends_it():
    obstacle = Obstacle(position=5.0, extra=1.5, elbows=4)
    place = line(obstacles=(obstacle,)).layout([(0, 6)], "end")
    (zone,) = place.zones
    assert zone.header_length == pytest.approx(10.0 + 1.5 + HEADER_TAIL)
    assert zone.elbows == 4
    assert place.main_elbows == 0
    split = line(obstacles=(obstacle,)).layout([(0, 3), (3, 6)], "end")
    assert [zone.elbows for zone in split.zones] == [0, 0]
    assert split.main_elbows == 4
    assert split.main_to(split.zones[1]) == 5.0 + 6.0 + 1.5
    assert split.elbows_to(split.zones[1]) == 4


def test_a_buried_main_goes_down_once_and_comes_up_at_each_zone():
    place = line(depth=0.5).layout([(0, 3), (3, 6)], "end")
    assert place.risers == (0.5, 0.5, 0.5)
    assert place.main_total == pytest.approx(11.0 + 1.5)
    assert place.main_to(place.zones[0]) == pytest.approx(5.0 + 2 * 0.5)
    assert place.main_elbows == 2 + 2


@given(
    counts=st.lists(st.integers(1, 4), min_size=1, max_size=5),
    arrives=st.one_of(st.none(), st.floats(-20.0, 60.0)),
    feed=st.sampled_from(["end", "tee"]),
    share=st.sampled_from([0.0, 0.3, 1.0]),
    obstacles=st.lists(st.floats(-10.0, 50.0), max_size=3),
)
def test_the_main_reaches_every_zone_and_no_further(counts, arrives, feed, share, obstacles):
    groups = [group(n, 2.0, lines=1 + n % 3, length=10.0 + n, crop=str(n)) for n in counts]
    extra = tuple(Obstacle(position=x, extra=0.7, elbows=2) for x in obstacles)
    found = line(groups, arrives=arrives, share=share, obstacles=extra)
    ends = [sum(counts[: i + 1]) for i in range(len(counts))]
    place = found.layout(list(zip([0, *ends], ends, strict=False)), feed)
    ways = [zone.feed_way for zone in place.zones]
    span = max(*ways, place.arrival_way) - min(*ways, place.arrival_way)
    assert place.main_total == pytest.approx(place.trunk + span)
    for zone in place.zones:
        assert zone.ways == tuple(sorted(zone.ways))
        assert zone.takeoffs[0] <= zone.feed <= zone.takeoffs[-1]
        assert zone.header_length >= zone.takeoffs[-1] - zone.takeoffs[0]
        assert place.main_to(zone) <= place.main_total + 1e-9
