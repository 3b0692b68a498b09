import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.assembly import LossComponent, Regulator, through

FILTER = LossComponent("filter", 1e-3, 2.0)
REGULATOR = Regulator("regulator", 10.0, 1.5, 1e-3, 1e-4, 2e-3)


def test_loss_and_slope():
    assert FILTER.loss(1e-3)[0] == pytest.approx(2.0)
    assert FILTER.loss(5e-4)[0] == pytest.approx(0.5)
    assert FILTER.loss(0.0) == (0.0, 0.0)
    straight = LossComponent("x", 1e-3, 2.0, 1.0)
    assert straight.loss(5e-4)[0] == pytest.approx(1.0)
    for part in (FILTER, straight):
        slope = (part.loss(6e-4 + 1e-9)[0] - part.loss(6e-4 - 1e-9)[0]) / 2e-9
        assert part.loss(6e-4)[1] == pytest.approx(slope, rel=1e-5)


@pytest.mark.parametrize(
    ("head", "flow", "out", "state"),
    [
        (30.0, 1e-3, 10.0, "regulating"),
        (9.0, 1e-3, 7.5, "open"),
        (30.0, 5e-5, 10.0, "below range"),
        (30.0, 3e-3, 10.0, "above range"),
    ],
)
def test_regulator_states(head, flow, out, state):
    heads, slope, got = through([REGULATOR], head, -7.0, flow)
    assert heads == [pytest.approx(out)]
    assert got == state
    assert slope == (pytest.approx(-7.0 - 3000.0 * 1.0) if out < 10.0 else 0.0)


def test_order_and_no_regulator():
    heads, slope, state = through([FILTER, FILTER], 20.0, -1.0, 1e-3)
    assert heads == [pytest.approx(18.0), pytest.approx(16.0)]
    assert slope == pytest.approx(-1.0 - 2 * 4000.0)
    assert state == "none"
    assert through([], 20.0, -1.0, 1e-3) == ([], -1.0, "none")


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: LossComponent("x", 0.0, 1.0), "nominal_flow"),
        (lambda: LossComponent("x", 1.0, -1.0), "nominal_loss"),
        (lambda: LossComponent("x", 1.0, 1.0, 0.5), "exponent"),
        (lambda: Regulator("x", 0.0, 1.0, 1.0, 0.1, 1.0), "set_head"),
        (lambda: Regulator("x", 10.0, 1.0, 1.0, 0.5, 0.5), "flow_max"),
    ],
)
def test_wrong_components(call, field):
    with pytest.raises(InputError) as error:
        call()
    assert error.value.field == field
