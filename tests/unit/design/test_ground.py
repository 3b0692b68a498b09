"""Ground: even slopes and surveys give the same heights where they mean the same."""

import numpy as np
import pytest

from evenrow.design.field import rows_of
from evenrow.design.ground import Ground, survey_of
from evenrow.design.line import line_of
from evenrow.design.runs import Run, row_flows, runs_of
from evenrow.errors import InputError

LINE = line_of({"device": "tape-16-thick", "spacing": 0.3}, 20.0)


def points(*pairs):
    return [{"distance": x, "height": z} for x, z in pairs]


def test_a_survey_counts_from_its_start_and_goes_on_straight():
    ground = Ground(row_survey=((-5.0, 9.0), (0.0, 10.0), (20.0, 12.0)))
    assert ground.along_row([0.0, 10.0, 20.0, 30.0]) == pytest.approx([0.0, 1.0, 2.0, 3.0])
    assert ground.along_row(-10.0) == pytest.approx(-2.0)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 1.0])
def test_a_survey_of_an_even_slope_is_that_slope(share):
    rows = rows_of([{"count": 2, "length": 60.0, "spacing": 1.0, "lines": 2}])
    slope = Ground(row_slope=-0.015)
    survey = Ground(row_survey=((0.0, 3.0), (13.0, 3.0 - 0.195), (60.0, 3.0 - 0.9)))
    flows = [row_flows(rows, LINE, share=share, ground=g, head=7.0) for g in (slope, survey)]
    assert flows[0] == pytest.approx(flows[1], rel=1e-9)


def test_runs_lie_on_both_sides_of_the_header_and_make_up_the_row():
    assert runs_of(40.0, 0.0, True) == (Run(40.0, 1),)
    assert runs_of(40.0, 1.0, True) == (Run(40.0, -1),)
    away, back = runs_of(40.0, 0.25, False)
    assert (away, back) == (Run(30.0, 1, 10.0), Run(10.0, -1, 10.0))


def test_a_run_falls_where_the_ground_does():
    ground = Ground(row_slope=0.02)
    up, down = (run.lateral(LINE, ground) for run in runs_of(60.0, 0.5, True))
    assert up.line.rise[-1] == pytest.approx(0.02 * 29.85)
    assert down.line.rise[-1] == pytest.approx(-0.02 * 29.85)


def test_the_lowest_point_of_a_run_may_lie_within_it():
    ground = Ground(row_survey=((0.0, 1.0), (10.0, 0.2), (30.0, 1.5)))
    away, back = runs_of(30.0, 0.8, False)
    header = 0.2 + 14.0 / 20.0 * 1.3
    assert away.span(ground) == pytest.approx((0.0, 1.5 - header))
    assert back.span(ground) == pytest.approx((0.2 - header, 0.0))


@pytest.mark.parametrize(
    ("survey", "words"),
    [
        (points((0.0, 0.0)), "different distances"),
        (points((0.0, 0.0), (0.0, 1.0)), "different distances"),
        (points((1.0, 0.0), (90.0, 1.0)), "begin at the start"),
        (points((0.0, 0.0), (50.0, 1.0)), "ends too soon"),
    ],
)
def test_a_survey_that_does_not_cover_the_rows_is_refused(survey, words):
    with pytest.raises(InputError, match=words) as caught:
        survey_of(survey, 60.0, "ground.row_survey", "metric")
    assert caught.value.field == "ground.row_survey"


def test_points_may_come_in_any_order():
    found = survey_of(points((60.0, 1.0), (0.0, 0.0), (30.0, 2.0)), 60.0, "f", "metric")
    assert found == ((0.0, 0.0), (30.0, 2.0), (60.0, 1.0))
    assert np.all(np.diff([x for x, _ in found]) > 0.0)
