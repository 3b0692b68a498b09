import math

import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.friction import head_gradient
from evenrow.hydraulics.pipe import Pipe, pipe_friction, pipe_loss


def test_friction_fittings_and_rise_add_up():
    pipe = Pipe(50.0, 0.025, rise=1.5, minor_k=3.0)
    q = 5e-4
    v = q / (math.pi / 4 * 0.025**2)
    expected = 50.0 * float(head_gradient(q, 0.025)[0]) + 3.0 * v * v / (2 * 9.80665)
    assert float(pipe_friction(q, pipe)[0]) == pytest.approx(expected, rel=1e-12)
    assert float(pipe_loss(q, pipe)[0]) == pytest.approx(expected + 1.5, rel=1e-12)


def test_slope_and_sign():
    pipe = Pipe(50.0, 0.025, rise=-2.0, minor_k=3.0)
    q = np.array([-3e-4, 1e-5, 5e-4])
    step = 1e-9
    up, down = (pipe_loss(q + d, pipe)[0] for d in (step, -step))
    np.testing.assert_allclose((up - down) / (2 * step), pipe_loss(q, pipe)[1], rtol=1e-4)
    np.testing.assert_allclose(pipe_friction(-q, pipe)[0], -pipe_friction(q, pipe)[0])
    assert float(pipe_loss(0.0, pipe)[0]) == -2.0


@pytest.mark.parametrize(
    ("change", "field"),
    [({"length": -1.0}, "length"), ({"diameter": 0.0}, "diameter"), ({"minor_k": -1.0}, "minor_k"),
     ({"roughness": 0.01}, "roughness"), ({"rise": math.nan}, "rise")],
)  # fmt: skip
def test_wrong_pipes(change, field):
    with pytest.raises(InputError) as error:
        Pipe(**{"length": 1.0, "diameter": 0.025, **change})
    assert error.value.field == field
