import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics import _line, _line_solve
from evenrow.hydraulics.curve import lateral_curve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header_length import longest_header, takeoff_of
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.run_length import RunLimits

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
LATERAL = Lateral(TAPE, 300, 0.3, 0.0161)
D, NU, ROUGH = 0.0525, 1.004e-6, 1.5e-6


class WholeLaterals:
    """Take-offs that give what the lateral itself gives."""

    law_exponent = 0.5
    curve = lateral_curve(LATERAL, 0.5, 20.0)

    def flows_and_slopes(self, head):
        return self.curve.flow(head)

    def flows(self, head):
        return self.curve.flow(head)[0]

    def flow_of(self, outlet, head):
        return self.curve.flow(head)[0]


def variation(count, spacing, slope, head):
    """Variation of head along a header of whole laterals."""
    rise = slope * spacing * np.arange(1, count + 1)
    line = _line.Line(WholeLaterals(), rise, np.full(count, spacing), D, ROUGH, NU)
    heads = _line_solve.solve(line, np.array([head])).head
    return float((heads.max() - heads.min()) / heads.max())


def test_takeoff_has_flow_and_slope_of_the_lateral():
    outlet = takeoff_of(LATERAL, 7.0)
    for head, close in ((7.0, 1e-9), (7.7, 1e-3), (6.3, 1e-3)):
        flow = float(solve_lateral(LATERAL, head).inlet_flow)
        assert float(outlet.flow(head)) == pytest.approx(flow, rel=close)


@pytest.mark.parametrize("slope", [0.0, 0.005, -0.01])
@pytest.mark.parametrize("limit", [0.1, 0.2])
def test_length_is_that_of_the_solved_header(slope, limit):
    run = longest_header(
        takeoff_of(LATERAL, 7.0), 1.5, D, 7.0, slope=slope,
        limits=RunLimits(head_variation=limit),
    )  # fmt: skip
    assert run.governing == "head_variation"
    assert run.length == pytest.approx(1.5 * run.count)
    values = np.array([variation(n, 1.5, slope, 7.0) for n in range(1, run.count + 4)])
    exact = int(np.argmin(values <= limit))
    assert abs(run.count - exact) <= 1  # the take-off is a power law, the header's is not
    assert values[exact - 1] <= limit < values[exact]


def test_passing_losses_and_velocity_shorten():
    outlet = takeoff_of(LATERAL, 7.0)
    limits = RunLimits(head_variation=0.2)
    plain = longest_header(outlet, 1.5, D, 7.0, limits=limits)
    lossy = longest_header(outlet, 1.5, D, 7.0, limits=limits, takeoff_k=0.5)
    slow = longest_header(
        outlet, 1.5, D, 7.0, limits=RunLimits(head_variation=0.2, inlet_velocity_max=0.5)
    )
    assert lossy.count < plain.count
    assert slow.governing == "inlet_velocity_max"
    assert {c.name: c.margin for c in slow.checks}["head_variation"] > 0.1


def test_wrong_arguments():
    with pytest.raises(InputError) as error:
        takeoff_of(LATERAL, -1.0)
    assert error.value.field == "inlet_head"
    with pytest.raises(InputError) as error:
        takeoff_of(Lateral(TAPE, 5, 0.3, 0.0161, slope=1.0, first_spacing=50.0), 5.0)
    assert error.value.field == "inlet_head"
