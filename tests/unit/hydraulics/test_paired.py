import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.paired import paired_places
from evenrow.hydraulics.uniformity import emission_uniformity, flow_variation

DEVICE = Emitter(2.0e-3 / 3600.0, 10.0, 0.5, 0.05, 5.0, 30.0)


def row(place, ground, spacing, head):
    """Flows of both laterals of one place, built by hand."""
    n = ground.size
    extended = np.concatenate([[2 * ground[0] - ground[1]], ground, [2 * ground[-1] - ground[-2]]])
    level = 0.5 * (extended[place] + extended[place + 1])
    flows = []
    for rises in (ground[:place][::-1], ground[place:n]):
        if rises.size:
            line = Lateral(DEVICE, rises.size, spacing, 0.0138, rises=rises - level)
            flows.append(solve_lateral(line, head).flow)
    return np.concatenate(flows)


@pytest.mark.parametrize("objective", ["eu", "flow_variation"])
def test_every_place_and_the_best_on_surveyed_ground(objective):
    ground = 0.8 * np.sin(np.arange(41) / 9.0) + 0.01 * np.arange(41)
    found = paired_places(
        DEVICE, 41, 0.6, 0.0138, 9.0, elevations=ground, objective=objective, per_plant=2
    )
    flows = [row(k, ground, 0.6, 9.0) for k in range(42)]
    eus = [float(emission_uniformity(q, 0.05, 2)) for q in flows]
    variations = [float(flow_variation(q)) for q in flows]
    np.testing.assert_allclose(found.eus, eus, rtol=1e-7)
    np.testing.assert_allclose(found.flow_variations, variations, atol=1e-7)
    best = int(np.argmax(eus)) if objective == "eu" else int(np.argmin(variations))
    assert found.best == best
    assert found.position == pytest.approx((best - 0.5) * 0.6)
    assert found.gain_eu == pytest.approx(eus[best] - max(eus[0], eus[41]), abs=1e-7)
    assert found.gain_flow_variation == pytest.approx(
        min(variations[0], variations[41]) - variations[best], abs=1e-7
    )


def test_on_a_slope_the_header_goes_uphill():
    # The lateral that falls gains what it loses to friction, so it may be the longer one.
    rising = paired_places(DEVICE, 200, 0.3, 0.0138, 10.0, slope=0.02)
    falling = paired_places(DEVICE, 200, 0.3, 0.0138, 10.0, slope=-0.02)
    assert rising.best > 110
    assert falling.best == 200 - rising.best
    assert rising.eu == pytest.approx(falling.eu, rel=1e-9)
    assert rising.gain_eu > 0.0


def test_rows_of_one_and_two():
    assert paired_places(DEVICE, 1, 0.3, 0.0138, 10.0).gain_eu == pytest.approx(0.0)
    assert paired_places(DEVICE, 2, 0.3, 0.0138, 10.0).best == 1


def test_a_row_that_stays_dry():
    found = paired_places(DEVICE, 5, 0.3, 0.0138, 1.0, elevations=[0.0, 5.0, 0.0, 5.0, 0.0])
    np.testing.assert_array_equal(found.eus, 0.0)
    np.testing.assert_array_equal(found.flow_variations, 1.0)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"count": 0}, "count"),
        ({"spacing": 0.0}, "spacing"),
        ({"inlet_head": 0.0}, "inlet_head"),
        ({"objective": "best"}, "objective"),
        ({"elevations": [0.0]}, "elevations"),
        ({"elevations": [np.nan] * 5}, "elevations"),
        ({"slope": 2.0}, "slope"),
    ],
)
def test_wrong_rows(more, field):
    arguments = {"count": 5, "spacing": 0.3, "diameter": 0.0138, "inlet_head": 10.0, **more}
    with pytest.raises(InputError) as error:
        paired_places(DEVICE, **arguments)
    assert error.value.field == field
