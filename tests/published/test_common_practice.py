"""Facts of the trade: common practice, no source.

The generic lines of the catalogue are typical of their kind; run as the trade runs them, they
should come out where the trade says they do. Wide tolerances, because the facts are round.
"""

import pytest

from evenrow.catalogue import devices
from evenrow.design.assembly import ORDER
from evenrow.hydraulics.run_length import RunLimits, longest_run

FOOT = 0.3048


def run_feet(code, spacing, eu=0.9):
    device = devices()[code]
    emitter = device.emitter
    found = longest_run(
        emitter,
        spacing,
        device.diameter,
        emitter.head_nominal,
        limits=RunLimits(eu=eu, head_max=emitter.head_max, head_min=emitter.head_min),
        first_spacing=spacing / 2,
        barb_k=device.body_k,
    )
    return found.count * spacing / FOOT


def test_quarter_inch_dripline_runs_about_thirty_feet():
    # Common practice, no source: "to about 30 ft"; 9 in spacing, EU 90 %.
    assert run_feet("dripline-quarter", 0.2286) == pytest.approx(30.0, rel=0.15)


@pytest.mark.parametrize("spacing", [0.2, 0.3, 0.4])
def test_five_eighths_tape_serves_rows_of_hundreds_of_feet(spacing):
    # Common practice, no source: "rows of hundreds of feet".
    assert 200.0 < run_feet("tape-16-thin", spacing, eu=0.85) < 1000.0


def test_seven_eighths_tape_runs_about_a_quarter_mile():
    # Common practice, no source: "to about a quarter mile" (1,320 ft); low-flow tape, 12 in.
    assert run_feet("tape-22-low", 0.3) == pytest.approx(1320.0, rel=0.15)


def test_fifteen_mil_tape_bears_about_fifteen_psi():
    # Common practice, no source: 15 mil (0.38 mm) tape runs at about 15 psi or less.
    thick = devices()["tape-16-thick"]
    assert thick.wall == pytest.approx(0.381e-3, rel=0.01)
    assert thick.emitter.head_max == pytest.approx(15 * 0.70307, rel=1e-4)
    assert devices()["tape-16-thin"].emitter.head_max < thick.emitter.head_max


def test_order_of_the_head_assembly():
    # Common practice, no source: timer, backflow preventer, filter, regulator, adapter.
    assert ORDER["hose-tap"] == ("timer", "backflow preventer", "filter", "regulator", "adapter")
