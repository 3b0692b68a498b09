"""Start times: order, rests, lanes and the window."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy.timetable import timetable, timetables
from evenrow.errors import InputError

HOUR = 3600.0


def test_zones_follow_each_other_in_rounds():
    got = timetable(
        [2 * HOUR, 0.0, HOUR], [2, 1, 1], opens=20 * HOUR, window=10 * HOUR, changeover=60.0
    )
    told = [(run.zone, run.number, run.start, run.end) for run in got.runs]
    assert told == [
        (0, 1, 72000.0, 75600.0),
        (2, 1, 75660.0, 79260.0),
        (0, 2, 79320.0, 82920.0),
    ]
    assert got.over == 0.0
    assert got.closes == 30 * HOUR


def test_a_lone_zone_rests():
    got = timetable([HOUR], [3], opens=0.0, window=2 * HOUR, rest=0.5 * HOUR)
    assert [run.start / HOUR for run in got.runs] == pytest.approx([0.0, 5 / 6, 5 / 3])
    assert timetable([HOUR], [3], opens=0.0, window=1.9 * HOUR, rest=0.5 * HOUR).over == (
        pytest.approx(0.1 * HOUR)
    )


def test_two_at_once_end_sooner():
    got = timetable([HOUR] * 4, opens=0.0, window=2 * HOUR, at_once=2)
    assert [run.start for run in got.runs] == [0.0, 0.0, HOUR, HOUR]
    assert got.over == 0.0
    assert timetable([HOUR] * 4, opens=0.0, window=2 * HOUR).over == 2 * HOUR


def test_nothing_to_do_is_an_empty_table():
    got = timetable([0.0, 0.0], [0, 0], opens=0.0, window=HOUR)
    assert got.runs == ()
    assert got.over == 0.0


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    st.lists(
        st.tuples(st.one_of(st.just(0.0), st.floats(60.0, 20_000.0)), st.integers(0, 4)),
        min_size=1,
        max_size=7,
    ),
    st.floats(0.0, 600.0),
    st.floats(0.0, 3000.0),
    st.integers(1, 3),
)
def test_what_is_wanted_runs_and_nothing_collides(zones, gap, rest, lanes):
    seconds, cuts = zip(*zones, strict=True)
    got = timetable(
        seconds, cuts, opens=100.0, window=80_000.0, changeover=gap, rest=rest, at_once=lanes
    )
    for zone, (time, cut) in enumerate(zones):
        own = [run for run in got.runs if run.zone == zone]
        assert len(own) == (max(cut, 1) if time else 0)
        assert sum(run.end - run.start for run in own) == pytest.approx(time)
        for before, after in pairwise(own):
            assert after.start >= before.end + rest - 1e-6
            assert after.number == before.number + 1
    for run in got.runs:
        assert run.start >= 100.0
        beside = [r for r in got.runs if r.start <= run.start < r.end + gap - 1e-6]
        assert len(beside) <= lanes
    last = max((run.end for run in got.runs), default=0.0)
    assert got.over == pytest.approx(max(last - 80_100.0, 0.0), abs=1e-6)


def test_many_days_are_each_day():
    seconds = np.array([[600.0, 1200.0], [0.0, 300.0]])
    runs = np.array([[1, 3], [0, 2]])
    days = timetables(seconds, runs, opens=0.0, window=HOUR, changeover=5.0)
    for day, times, cuts in zip(days, seconds, runs, strict=True):
        assert day == timetable(times, cuts, opens=0.0, window=HOUR, changeover=5.0)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("seconds", {"seconds": [-1.0]}),
        ("seconds", {"seconds": [[1.0]]}),
        ("runs", {"runs": [1.5]}),
        ("runs", {"runs": [1, 1]}),
        ("runs", {"runs": [-1]}),
        ("runs", {"seconds": [1.0, 1.0], "runs": [1999, 2]}),
        ("opens", {"opens": 90_000.0}),
        ("window", {"window": 0.0}),
        ("changeover", {"changeover": -1.0}),
        ("rest", {"rest": np.inf}),
        ("at_once", {"at_once": 0}),
    ],
)
def test_bad_values_are_named(field, change):
    whole = {"seconds": [60.0], "opens": 0.0, "window": HOUR, **change}
    with pytest.raises(InputError) as caught:
        timetable(**whole)
    assert caught.value.field == field
