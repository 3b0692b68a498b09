"""On flat and rising ground limits fail for good: what the fast search of lengths relies on."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.hydraulics import _rising, run_length
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral, solve_lateral_near
from evenrow.hydraulics.laws import FRICTION_LAWS
from evenrow.hydraulics.run_length import RunLimits, longest_run

MANY = settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
FEW = settings(MANY, max_examples=40)


def floats(low, high):
    return st.floats(min_value=low, max_value=high)


def spread(low, high):
    return floats(np.log(low), np.log(high)).map(lambda x: float(np.exp(x)))


@st.composite
def devices(draw, largest=60e-3):
    return Emitter(
        draw(spread(0.2e-3, largest)) / 3600.0, draw(floats(3.0, 15.0)), draw(floats(0.05, 1.0)),
        0.03, draw(floats(0.5, 6.0)), 1000.0, draw(st.booleans()),
    )  # fmt: skip


RISING = st.one_of(st.just(0.0), floats(0.0, 0.1))


@MANY
@given(
    devices(), spread(0.1, 5.0), spread(0.003, 0.03), RISING, spread(0.3, 40.0),
    st.sampled_from(sorted(FRICTION_LAWS)), st.sampled_from([0.0, 0.5, 20.0]),
    st.sampled_from([0.0, 2e-6, 2e-5]), st.integers(1, 300),
)  # fmt: skip
def test_measures_move_one_way_with_length(
    device, spacing, diameter, slope, head, law, barb_k, roughness, count
):
    def solved(n):
        line = Lateral(
            device, n, spacing, diameter, slope=slope, friction=law, barb_k=barb_k,
            roughness=roughness,
        )  # fmt: skip
        return solve_lateral(line, head)

    for n in (max(count // 16, 1), max(count // 4, 1), count):
        one, more = solved(n), solved(n + 1)
        if not float(more.flow.min()) > 1e-3 * float(more.flow.mean()):
            break  # nearly dry: no limit that the search takes is kept there
        assert float(more.eu) <= float(one.eu) + 1e-10
        assert float(more.min_head) <= float(one.min_head) + 1e-9
        assert float(more.flow_variation) >= float(one.flow_variation) - 1e-10
        assert float(more.head_variation) >= float(one.head_variation) - 1e-10
        assert float(more.inlet_flow) >= float(one.inlet_flow) * (1.0 - 1e-10)


@st.composite
def limit_sets(draw):
    ranges = {
        "eu": (0.2, 0.99), "flow_variation": (0.03, 0.6), "head_variation": (0.03, 0.6),
        "head_min": (0.3, 6.0), "inlet_flow_max": (1e-5, 1e-4), "inlet_velocity_max": (0.1, 1.0),
    }  # fmt: skip
    names = draw(st.lists(st.sampled_from(sorted(ranges)), min_size=1, max_size=3, unique=True))
    return RunLimits(
        **{name: draw(floats(*ranges[name])) for name in names},
        per_plant=draw(st.integers(1, 3)), head_max=draw(st.sampled_from([None, 50.0])),
    )  # fmt: skip


@FEW
@given(
    devices(8e-3), spread(0.2, 1.5), spread(0.008, 0.022), floats(0.0, 0.03), spread(1.0, 20.0),
    st.sampled_from(sorted(FRICTION_LAWS)), limit_sets(), st.sampled_from([3.0, 60.0, 1500.0]),
)  # fmt: skip
def test_the_search_agrees_with_the_scan(
    device, spacing, diameter, slope, head, law, limits, reach
):
    def query():
        return longest_run(
            device, spacing, diameter, head, slope=slope, limits=limits, maximum_length=reach,
            friction=law,
        )  # fmt: skip

    found = query()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run_length._rising, "applies", lambda *_: False)
        scanned = query()
    assert found.count == scanned.count
    assert found.governing == scanned.governing
    for one, other in zip(found.checks, scanned.checks, strict=True):
        assert one.value_one_longer == pytest.approx(other.value_one_longer, rel=1e-7, abs=1e-9)


def test_what_the_search_takes_on():
    cell = _cell(0.0)
    assert _rising.applies(cell, {"eu": 0.9, "head_min": 2.0})
    assert _rising.applies(_cell(0.02), {"flow_variation": 0.1})
    assert not _rising.applies(_cell(-1e-6), {"eu": 0.9})
    assert not _rising.applies(cell, {"eu": 0.9, "flush_velocity_min": 0.3})
    assert not _rising.applies(cell, {"eu": 2.0})
    assert not _rising.applies(cell, {})


def _cell(slope):
    device = Emitter(1.6e-3 / 3600.0, 10.0, 0.5, 0.03, 5.0, 30.0)
    return run_length.Cell(
        device, 0.3, 0.15, 0.0138, slope, 0.0, 1e-6, 0.0, FRICTION_LAWS["churchill"], 8.0
    )


def test_the_search_needs_few_solves():
    counted = []

    def measure(count):
        counted.append(count)
        line = Lateral(_cell(0.0).emitter, count, 0.3, 0.0138, roughness=0.0, viscosity=1e-6)
        value = solve_lateral(line, 8.0)
        ratio = float(value.flow.min() / value.flow.mean())
        return ratio >= 0.9, {"eu": ratio}

    count = _rising.last_kept(_cell(0.0), {"eu": 0.9}, 5000, measure)
    assert {count, count + 1} <= set(counted)
    assert len(counted) <= 5


@FEW
@given(devices(8e-3), spread(0.2, 1.5), spread(0.008, 0.022), floats(-0.05, 0.05),
       spread(0.5, 20.0), st.integers(2, 400), floats(0.5, 1.5))  # fmt: skip
def test_a_start_from_another_line_changes_nothing(
    device, spacing, diameter, slope, head, count, share
):
    other = Lateral(device, max(int(share * count), 1), spacing, diameter, slope=slope)
    line = Lateral(device, count, spacing, diameter, slope=slope)
    fresh = solve_lateral(line, head)
    near = solve_lateral_near(line, head, solve_lateral(other, head))
    assert np.abs(near.head - fresh.head).max() <= 1e-6
    assert abs(float(near.inlet_flow - fresh.inlet_flow)) <= 1e-9 * float(fresh.inlet_flow) + 1e-18
