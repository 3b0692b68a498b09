"""Names of rows and ends, and what a tape measure shows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenrow.design.expected import End
from evenrow.design.instructions.naming import (
    cut_length,
    end_name,
    order_of_ends,
    row_list,
    tape_measure,
)


def plain(text):
    return text.replace("\N{NO-BREAK SPACE}", " ")


def end(row, line=1, away=1, way=0.0):
    return End(row=row, line=line, away=away, length=10.0, way=way)


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (0, "0 in"),
        (0.125, "1/8 in"),
        (11.75, "11 3/4 in"),
        (11.95, "1 ft"),
        (12.5, "1 ft 1/2 in"),
        (52.375, "4 ft 4 3/8 in"),
        (108, "9 ft"),
        (110, "9 ft 2 in"),
    ],
)
def test_feet_and_inches_on_a_tape(inches, text):
    assert plain(tape_measure(inches * 0.0254, "us")) == text


@pytest.mark.parametrize(
    ("metres", "text"),
    [(0.0, "0.000 m"), (0.9024, "0.900 m"), (0.9026, "0.905 m"), (12, "12.000 m")],
)
def test_metres_on_a_tape(metres, text):
    assert plain(tape_measure(metres, "metric")) == text


def metres_of(text):
    """Read a tape back, by its own grammar."""
    total, number = 0.0, 0.0
    for word in text.split("\N{NO-BREAK SPACE}"):
        if word in ("ft", "in", "m"):
            total += number * {"ft": 0.3048, "in": 0.0254, "m": 1.0}[word]
            number = 0.0
        else:
            top, _, bottom = word.partition("/")
            number += float(top) / float(bottom or 1)
    return total


@given(st.floats(0.0, 2000.0), st.sampled_from(["us", "metric"]))
def test_a_tape_is_off_by_half_a_mark_at_most(length, system):
    half = 0.0254 / 16 if system == "us" else 0.0025
    assert abs(metres_of(tape_measure(length, system)) - length) <= half * (1 + 1e-6)


@given(st.floats(0.1, 2000.0), st.sampled_from(["us", "metric"]))
def test_a_cut_is_never_short_and_hardly_long(length, system):
    step = 0.0254 if system == "us" else 0.01
    over = metres_of(cut_length(length, system)) - length
    assert -1e-6 * step - 1e-9 * length <= over <= step * (1 + 1e-6)


def test_a_whole_cut_stays_whole():
    assert plain(cut_length(63 * 0.3048, "us")) == "63 ft"
    assert plain(cut_length(63 * 0.3048 + 0.001, "us")) == "63 ft 1 in"
    assert plain(cut_length(30.3, "metric")) == "30.30 m"


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ([3], "row 3"),
        ([1, 2], "rows 1, 2"),
        ([1, 2, 3, 4], "rows 1 to 4"),
        ([6, 5, 4], "rows 6 to 4"),
        ([1, 2, 3, 7, 6, 5], "rows 1 to 3, 7 to 5"),
        ([3, 4, 2, 5], "rows 3, 4, 2, 5"),
        ([1, 2, 1], "rows 1, 2, 1"),
    ],
)
def test_row_lists(rows, text):
    assert row_list(rows) == text


@given(st.lists(st.integers(1, 40), min_size=1, max_size=20, unique=True))
def test_a_row_list_reads_back_in_its_order(rows):
    read = []
    for part in row_list(rows).removeprefix("rows ").removeprefix("row ").split(", "):
        first, _, last = part.partition(" to ")
        a, b = int(first), int(last or first)
        read += range(a, b + (1 if b >= a else -1), 1 if b >= a else -1)
    assert read == rows


def test_an_end_is_named_as_far_as_needed():
    one = [end(1), end(2)]
    assert end_name(one[0], one) == "row 1"
    lines = [end(1, 1), end(1, 2), end(2)]
    assert end_name(lines[1], lines) == "row 1, line 2"
    assert end_name(lines[2], lines) == "row 2"
    sides = [end(4, 1, 1), end(4, 1, -1)]
    assert [end_name(each, sides) for each in sides] == ["row 4, far side", "row 4, near side"]


def test_an_order_goes_by_rows_where_it_can():
    ends = [end(1, 1), end(1, 2), end(2, 1), end(2, 2)]
    assert order_of_ends([ends[2], ends[3], ends[0], ends[1]], ends) == "rows 2, 1"
    apart = [ends[2], ends[0], ends[1], ends[3]]
    assert order_of_ends(apart, ends) == (
        "row 2, line 1; row 1, line 1; row 1, line 2; row 2, line 2"
    )
    # Half a row is not the row.
    assert order_of_ends([ends[0]], ends) == "row 1, line 1"


def test_a_tape_has_no_mark_between_eighths():
    text = plain(tape_measure(math.pi, "us"))
    assert text == "10 ft 3 5/8 in"
