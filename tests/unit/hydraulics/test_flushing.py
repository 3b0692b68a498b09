import math

import numpy as np
import pytest
from scipy.optimize import brentq

from evenrow.errors import InputError
from evenrow.hydraulics._line_solve import solve
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.flushing import flush_state, open_line, recap_plan
from evenrow.hydraulics.friction import head_gradient
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
LONG = Lateral(TAPE, 200, 0.3, 0.0161)
SHORT = Lateral(TAPE, 50, 0.3, 0.0161)
TAP = SourceCurve.from_flow_test(30.0, 1.5e-3)
MAIN = [Pipe(20.0, 0.05)]
END_FED = Header(np.full(20, 1.5), 0.03)


def test_an_open_pipe_by_hand():
    # One emitter that gives next to nothing at the end of a pipe: friction and exit alone.
    drop = Emitter(1e-15, 10.0, 0.5, 0.0, 0.0, 20.0)
    lateral = Lateral(drop, 1, 10.0, 0.02, first_spacing=50.0)
    state = solve(open_line(lateral), np.array([4.0]))
    area = 0.25 * math.pi * 0.02**2

    def left(q):
        return 4.0 - 50.001 * float(head_gradient(q, 0.02)[0]) - (q / area) ** 2 / (2.0 * G)

    assert float(state.flow[-1]) == pytest.approx(brentq(left, 1e-6, 1e-2), rel=1e-6)


def test_velocities_and_balance():
    state = flush_state(TAP, [], MAIN, END_FED, [LONG, SHORT], [0, 1] * 10)
    system = state.system
    assert system.outlet_flows.sum() == pytest.approx(system.source_flow, rel=1e-9)
    for i in (0, 1, 19):
        line = open_line([LONG, SHORT][i % 2])
        solved = solve(line, system.outlet_heads[i : i + 1])
        assert state.end_flows[i] == pytest.approx(float(solved.flow[-1]), rel=1e-9)
        assert system.outlet_flows[i] == pytest.approx(float(solved.flow.sum()), rel=1e-5)
    np.testing.assert_allclose(state.end_velocities, state.end_flows / (math.pi * 0.0161**2 / 4))
    np.testing.assert_array_equal(state.runs, state.end_velocities >= 0.3)


def test_closing_all_gives_the_usual_state():
    open_all = flush_state(TAP, [], MAIN, END_FED, [LONG], 0)
    closed = flush_state(TAP, [], MAIN, END_FED, [LONG], 0, False)
    assert closed.system.source_flow < open_all.system.source_flow
    assert closed.system.header_head > open_all.system.header_head
    assert not closed.runs.any()
    np.testing.assert_array_equal(closed.end_flows, 0.0)
    one = flush_state(TAP, [], MAIN, END_FED, [LONG], 0, np.arange(20) == 5)
    assert np.flatnonzero(one.end_flows).tolist() == [5]
    assert one.end_velocities[5] > open_all.end_velocities[5]


@pytest.mark.parametrize("diameter", [0.03, 0.05])
@pytest.mark.parametrize("feed", [0, 6, 20])
def test_nearest_the_source_first_comes_out_on_flat_ground(diameter, feed):
    plan = recap_plan(TAP, [], MAIN, Header(np.full(20, 1.5), diameter, feed=feed), [LONG], 0)
    assert plan.nearest_first
    assert plan.exception is None
    assert sorted(plan.order) == list(range(20))
    assert plan.order[0] in (feed, feed - 1)
    # flow was short at first, and closing the nearest made the others run
    assert not plan.first.runs.all()
    assert plan.caps_until_all_run > 0
    assert plan.stuck == ()
    assert min(plan.velocities) >= 0.3


def test_where_nearest_first_does_not_come_out():
    downhill = Header(np.full(20, 1.5), 0.05, -0.05)
    plan = recap_plan(TAP, [], MAIN, downhill, [LONG], 0)
    assert not plan.nearest_first
    assert plan.exception == plan.order[0] == 19
    short_one_far = recap_plan(
        TAP, [], MAIN, Header(np.full(20, 1.5), 0.05), [LONG, SHORT], [0] * 19 + [1]
    )
    assert short_one_far.order[:2] == (19, 0)
    assert short_one_far.exception == 19


def test_ends_that_run_only_alone_and_ends_that_never_do():
    weak = SourceCurve.from_flow_test(30.0, 2.5e-4)
    few = Lateral(TAPE, 10, 0.3, 0.0161)
    plan = recap_plan(weak, [], MAIN, END_FED, [few], 0)
    assert 0 < len(plan.reopen) < 20
    assert plan.stuck == ()
    none = recap_plan(weak, [], MAIN, END_FED, [few], 0, velocity_min=4.0)
    assert none.caps_until_all_run is None
    assert none.stuck == none.reopen == none.order


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"velocity_min": 0.0}, "velocity_min"),
        ({"exit_k": 0.0}, "exit_k"),
        ({"lateral_index": 1}, "lateral_index"),
        ({"open_ends": [True, False]}, "open_ends"),
    ],
)
def test_wrong_flushes(more, field):
    arguments = {"lateral_index": 0, **more}
    with pytest.raises(InputError) as error:
        flush_state(TAP, [], MAIN, END_FED, [LONG], **arguments)
    assert error.value.field == field
