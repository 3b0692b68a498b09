import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.run_length import RunLimits, longest_run
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
    statistical_uniformity,
)

FEW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def floats(low, high):
    return st.floats(min_value=low, max_value=high)


@st.composite
def devices(draw):
    head = draw(floats(5.0, 15.0))
    return Emitter(
        draw(floats(0.4e-3, 8e-3)) / 3600.0, head, draw(floats(0.3, 0.9)), draw(floats(0.0, 0.1)),
        1.0, 40.0, draw(st.booleans()),
    )  # fmt: skip


STEEP = floats(-0.1, 0.1)
FLAT = st.just(0.0)


@st.composite
def laterals(draw, slopes=STEEP):
    return Lateral(
        draw(devices()), draw(st.integers(1, 400)), draw(floats(0.1, 1.5)),
        draw(floats(0.008, 0.025)), slope=draw(slopes), barb_length=draw(floats(0.0, 0.2)),
    )  # fmt: skip


@FEW
@given(laterals(), floats(0.3, 40.0))
def test_mass_balance(lateral, head):
    solution = solve_lateral(lateral, head)
    total = float(solution.flow.sum())
    assert abs(float(solution.inlet_flow) - total) <= 1e-12 * total
    kept = solution.segment_flow - np.append(solution.segment_flow[1:], 0.0)
    assert np.abs(kept - solution.flow).max() <= 1e-12 * max(total, 1e-30)
    assert np.all(np.isfinite(solution.head))


@FEW
@given(laterals(FLAT), floats(0.3, 40.0))
def test_head_falls_along_flat_ground(lateral, head):
    solution = solve_lateral(lateral, head)
    assert np.all(np.diff(solution.head, prepend=head) <= 1e-9)


@FEW
@given(laterals(), floats(0.3, 30.0), floats(0.1, 10.0))
def test_more_head_gives_more_flow(lateral, head, more):
    low, high = solve_lateral(lateral, [head, head + more]).inlet_flow
    assert high >= low * (1.0 - 1e-9)


@FEW
@given(laterals(FLAT), floats(2.0, 30.0), st.integers(1, 50))
def test_eu_falls_with_length_on_flat_ground(lateral, head, more):
    longer = Lateral(
        lateral.emitter, lateral.count + more, lateral.spacing, lateral.diameter,
        barb_length=lateral.barb_length,
    )  # fmt: skip
    assert float(solve_lateral(longer, head).eu) <= float(solve_lateral(lateral, head).eu) + 1e-7


@FEW
@given(st.lists(floats(0.1, 10.0), min_size=1, max_size=30), floats(1e-9, 1e6), floats(0.0, 0.2))
def test_uniformity_does_not_depend_on_the_unit(flows, scale, cv):
    q = np.array(flows)
    for measure in (
        lambda x: emission_uniformity(x, cv),
        distribution_uniformity_lq,
        lambda x: statistical_uniformity(x, cv),
        flow_variation,
    ):
        assert abs(float(measure(q)) - float(measure(q * scale))) < 1e-9
        assert 0.0 <= float(measure(q)) <= 1.0 + 1e-12


@FEW
@given(devices(), floats(0.2, 1.0), floats(0.01, 0.02), floats(2.0, 25.0), floats(-0.05, 0.05),
       floats(0.6, 0.95))  # fmt: skip
def test_limit_holds_at_the_length_and_fails_one_longer(device, spacing, diameter, head, slope, eu):
    limits = RunLimits(eu=eu, head_max=40.0)
    run = longest_run(
        device, spacing, diameter, head, slope=slope, limits=limits, maximum_length=300.0
    )
    values = {c.name: c for c in run.checks}
    if run.count:
        assert values["eu"].value_at_length >= eu - 1e-9
        assert values["head_max"].value_at_length <= 40.0 + 1e-9
    if run.governing == "eu":
        assert values["eu"].value_one_longer < eu
    elif run.governing == "head_max":
        assert values["head_max"].value_one_longer > 40.0
    else:
        assert run.length + spacing > 300.0


@FEW
@given(devices(), floats(0.2, 1.0), floats(0.01, 0.02), floats(2.0, 25.0), floats(-0.05, 0.05),
       floats(0.6, 0.9), floats(0.01, 0.09))  # fmt: skip
def test_a_stricter_limit_never_runs_further(device, spacing, diameter, head, slope, eu, more):
    loose, strict = (
        longest_run(
            device, spacing, diameter, head, slope=slope, limits=RunLimits(eu=limit),
            maximum_length=200.0,
        ).count
        for limit in (eu, eu + more)
    )  # fmt: skip
    assert strict <= loose
