import math

import numpy as np
import pytest

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics import flush_lateral
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY, flush_at, flush_need
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.laws import friction_gradient

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)
LINES = [
    Lateral(TAPE, 1, 0.3, 0.0161),
    Lateral(TAPE, 400, 0.3, 0.0161),
    Lateral(TAPE, 300, 0.3, 0.0161, slope=0.01, barb_k=0.2),
    Lateral(TAPE, 800, 0.3, 0.0222, slope=-0.02),
    Lateral(FLAT, 200, 0.4, np.repeat([0.0161, 0.0138], 100), friction="swamee-jain"),
]


def one_by_one(lateral, velocity):
    """The same line marched upstream emitter by emitter in plain numbers."""
    sizes = np.broadcast_to(lateral.diameter, (lateral.count,))
    rise = np.append(0.0, lateral.line.rise)
    flow = velocity * 0.25 * math.pi * sizes[-1] ** 2
    head = velocity**2 / (2 * 9.80665)
    for i in range(lateral.count - 1, -1, -1):
        flow += float(lateral.emitter.flow(head))
        gradient = friction_gradient(
            lateral.friction, flow, sizes[i], lateral.roughness, lateral.viscosity
        )[0]
        speed = flow / (0.25 * math.pi * sizes[i] ** 2)
        head += lateral.segments[i] * float(gradient)
        head += lateral.barb_k * speed**2 / (2 * 9.80665) + rise[i + 1] - rise[i]
    return head, flow


@pytest.mark.parametrize("lateral", LINES, ids=range(len(LINES)))
@pytest.mark.parametrize("velocity", [0.1, FLUSH_VELOCITY, 1.0])
def test_need_equals_a_march_in_plain_numbers(lateral, velocity):
    need = flush_need(lateral, velocity)
    head, flow = one_by_one(lateral, velocity)
    assert need.inlet_head == pytest.approx(head, rel=1e-9, abs=1e-9)
    assert need.inlet_flow == pytest.approx(flow, rel=1e-9)
    assert need.end_flow + need.flow.sum() == pytest.approx(need.inlet_flow, rel=1e-12)


@pytest.mark.parametrize("lateral", LINES, ids=range(len(LINES)))
def test_there_and_back(lateral):
    for head in (5.0, 12.0):
        found = flush_at(lateral, head)
        assert found.end_velocity > 0.0
        again = flush_need(lateral, found.end_velocity)
        assert again.inlet_head == pytest.approx(head, abs=1e-8)


def test_flushing_takes_more_water_and_leaves_less_head():
    lateral = LINES[1]
    closed, opened = solve_lateral(lateral, 8.0), flush_at(lateral, 8.0)
    assert opened.inlet_flow > float(closed.inlet_flow)
    assert np.all(opened.head < closed.head)


def test_closed_end_is_the_ordinary_solution():
    lateral = LINES[2]
    need = flush_need(lateral, 0.0)  # dry at the very end, no flow out of it
    solved = solve_lateral(lateral, need.inlet_head)
    assert need.inlet_flow == pytest.approx(float(solved.inlet_flow), rel=1e-6)


def test_water_that_does_not_reach_the_end():
    lateral = Lateral(TAPE, 400, 0.3, 0.0161, slope=0.05)
    found = flush_at(lateral, 3.0)
    assert (found.end_velocity, found.end_flow) == (0.0, 0.0)
    assert found.inlet_flow == pytest.approx(float(solve_lateral(lateral, 3.0).inlet_flow))


def test_a_flush_valve_costs_head():
    plain, valve = (flush_need(LINES[1], 0.5, end_k=k).inlet_head for k in (1.0, 50.0))
    assert valve > plain + 0.3


def test_no_velocity_or_no_end_says_so(monkeypatch):
    monkeypatch.setattr(flush_lateral, "_MAX_SWEEPS", 2)
    with pytest.raises(ConvergenceError, match="still move"):
        flush_need(LINES[1], 0.3)
    monkeypatch.undo()
    monkeypatch.setattr(flush_lateral, "_MAX_VELOCITY", 0.1)
    with pytest.raises(ConvergenceError, match="open end"):
        flush_at(LINES[1], 8.0)


def test_halving_finds_the_same_velocity(monkeypatch):
    quick = flush_at(LINES[1], 8.0)
    monkeypatch.setattr(flush_lateral, "_MAX_TRIALS", 1)
    slow = flush_at(LINES[1], 8.0)
    assert slow.end_velocity == pytest.approx(quick.end_velocity, rel=1e-9)
    assert slow.head == pytest.approx(quick.head, rel=1e-7)
    assert slow.flow == pytest.approx(quick.flow, rel=1e-7)


def test_wrong_arguments_name_the_field():
    for call, field in (
        (lambda: flush_need(LINES[0], -1.0), "end_velocity"),
        (lambda: flush_need(LINES[0], math.nan), "end_velocity"),
        (lambda: flush_need(LINES[0], 0.3, end_k=-1.0), "end_k"),
        (lambda: flush_at(LINES[0], math.inf), "inlet_head"),
        (lambda: flush_at(LINES[0], -1.0), "inlet_head"),
    ):
        with pytest.raises(InputError) as error:
            call()
        assert error.value.field == field
