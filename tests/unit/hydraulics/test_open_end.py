"""What runs out of open pipes, against a root found by a general solver."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.constants import VISCOSITY_20C, G
from evenrow.hydraulics.open_end import open_flows
from evenrow.hydraulics.pipe import Pipe, pipe_loss
from evenrow.hydraulics.source import SourceCurve

FILTER = LossComponent("filter", 1e-3, 2.0)
REGULATOR = Regulator("regulator", 10.0, 1.0, 1e-3, 1e-4, 3e-3)
SOURCES = {
    "tap": SourceCurve.from_flow_test(30.0, 2e-3),
    "pump": SourceCurve.from_pump_points([0.0, 2e-3, 6e-3], [40.0, 38.0, 20.0]),
    "tank": SourceCurve.from_tank(2.0),
}


def jet(bore):
    """Return the open end itself: one velocity head."""
    return Pipe(0.05, bore, minor_k=1.0)


PIPES = [
    (Pipe(20.0, 0.025), Pipe(8.0, 0.02, rise=-0.3), jet(0.02)),
    (Pipe(60.0, 0.016), jet(0.016)),
    (Pipe(2.0, 0.04, rise=0.5), Pipe(1.0, 0.02), Pipe(3.0, 0.013), jet(0.013)),
]


@pytest.mark.parametrize("name", SOURCES)
@pytest.mark.parametrize("assembly", [(FILTER,), (FILTER, REGULATOR)])
def test_nothing_of_the_head_is_left(name, assembly):
    source = SOURCES[name]
    flows = open_flows(source, assembly, PIPES, VISCOSITY_20C)
    for pipes, flow in zip(PIPES, flows, strict=True):

        def left(q, pipes=pipes):
            head = float(source.head(q)[0]) - 2.0 * (q / 1e-3) ** 2
            if len(assembly) > 1:
                head = min(head - (q / 1e-3) ** 2, 10.0)
            return head - sum(float(pipe_loss(q, pipe, VISCOSITY_20C)[0]) for pipe in pipes)

        assert flow == pytest.approx(brentq(left, 1e-9, 2e-2, rtol=1e-12), rel=1e-8)


def test_a_short_wide_pipe_gives_what_torricelli_says():
    # V^2 / (2 g) = h, but for the little that a few centimetres of pipe lose.
    (flow,) = open_flows(SOURCES["tank"], (), [(jet(0.05),)], VISCOSITY_20C)
    area = math.pi / 4.0 * 0.05**2
    assert flow == pytest.approx(area * math.sqrt(2.0 * G * 2.0), rel=0.01)


def test_what_is_not_known_is_no_number():
    weak = SourceCurve.from_pump_points([0.0, 1e-4, 2e-4], [32.0, 31.5, 31.0])
    high = (Pipe(5.0, 0.02, rise=5.0), jet(0.02))
    assert np.isnan(open_flows(weak, (), PIPES[:1], VISCOSITY_20C)).all()
    above, plain = open_flows(SOURCES["tank"], (), [high, PIPES[0]], VISCOSITY_20C)
    assert math.isnan(above)
    assert plain == pytest.approx(open_flows(SOURCES["tank"], (), PIPES[:1], VISCOSITY_20C)[0])
