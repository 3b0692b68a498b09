"""Layout: every row in one zone, lengths that follow from positions."""

import pytest

from evenrow.design.field import rows_of
from evenrow.design.layout import HEADER_TAIL, layout, line_positions
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


def test_a_single_bed_has_its_lines_together():
    assert line_positions(rows_of([group(1, 2.0, lines=2)])) == [(0.0, 0.0)]


@pytest.mark.parametrize("ranges", [[(0, 2)], [(0, 3), (2, 4)], [(2, 4), (0, 2)]])
def test_zones_that_miss_or_repeat_a_row_are_refused(ranges):
    with pytest.raises(InputError, match="every row once"):
        layout(rows_of([group(4)]), ranges, main_length=0.0, feed="end")
