from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.families import LineKind, run_length_family
from evenrow.hydraulics.flush_lateral import flush_at, flush_need
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.lateral_flow import solve_lateral_for_flow
from evenrow.hydraulics.laws import FRICTION_LAWS
from evenrow.hydraulics.run_length import LEAST, RunLimits, longest_run
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


@FEW
@given(laterals(), floats(0.5, 30.0), floats(0.2, 5.0))
def test_lengths_in_another_unit_change_nothing(lateral, head, size):
    """A line drawn `size` times larger in every length, gravity and time alike.

    Flows grow with size^2.5, velocities with size^0.5, so that the viscosity must grow with
    size^1.5 for the same Reynolds numbers; every head then grows with the size.
    """
    device = lateral.emitter
    larger = Lateral(
        Emitter(
            device.flow_nominal * size**2.5, device.head_nominal * size, device.exponent, device.cv,
            device.head_min * size, device.head_max * size, device.compensating,
            linear_below=device.linear_below * size,
        ),
        lateral.count, lateral.spacing * size, lateral.diameter * size, slope=lateral.slope,
        roughness=lateral.roughness * size, viscosity=lateral.viscosity * size**1.5,
        barb_length=lateral.barb_length * size,
    )  # fmt: skip
    one, other = solve_lateral(lateral, head), solve_lateral(larger, head * size)
    scale = 1.0 + float(np.abs(one.head).max())
    assert np.abs(other.head / size - one.head).max() <= 1e-6 * scale
    assert np.abs(other.flow / size**2.5 - one.flow).max() <= 1e-6 * device.flow_nominal


@FEW
@given(laterals(), floats(0.5, 30.0), st.sampled_from(sorted(FRICTION_LAWS)))
def test_mass_balance_and_finite_numbers_with_any_law(lateral, head, law):
    solution = solve_lateral(replace(lateral, friction=law, barb_k=0.2), head)
    total = float(solution.flow.sum())
    assert abs(float(solution.inlet_flow) - total) <= 1e-12 * total
    for name in ("head", "flow", "velocity", "reynolds", "regime_shares", "eu", "dulq",
                 "statistical_uniformity", "head_variation", "flow_variation"):  # fmt: skip
        assert np.all(np.isfinite(getattr(solution, name)))


@FEW
@given(laterals(), floats(1.0, 30.0), floats(0.05, 1.5), floats(0.05, 1.0))
def test_flushing_faster_needs_more_head_and_flow(lateral, head, velocity, more):
    slow, fast = flush_need(lateral, velocity), flush_need(lateral, velocity + more)
    assert fast.inlet_head > slow.inlet_head
    assert fast.inlet_flow > slow.inlet_flow
    found = flush_at(lateral, head)
    if found.end_velocity > 0.0:
        assert abs(found.inlet_head - head) <= 1e-9 * (1.0 + head)
        # On a long steep fall metres of inlet head hang on the velocity's last digits.
        less, much = (flush_need(lateral, found.end_velocity * f) for f in (1 - 1e-9, 1 + 1e-9))
        assert less.inlet_head - 1e-9 <= head <= much.inlet_head + 1e-9


@FEW
@given(laterals(), floats(0.3, 20.0))
def test_flow_back_to_head(lateral, head):
    flow = float(solve_lateral(lateral, head).inlet_flow)
    device = lateral.emitter
    if flow <= 0.0 or (device.compensating and flow > 0.99 * lateral.count * device.flow_nominal):
        return  # every head of a range gives this flow
    found = solve_lateral_for_flow(lateral, flow)
    assert abs(float(found.inlet_flow) - flow) <= 1e-9 * flow


LIMITS = {
    "eu": (floats(0.6, 0.9), -0.05),
    "flow_variation": (floats(0.1, 0.4), 0.05),
    "head_variation": (floats(0.1, 0.5), 0.05),
    "head_max": (floats(15.0, 30.0), 3.0),
    "head_min": (floats(0.5, 4.0), -0.4),
    "inlet_flow_max": (floats(2e-5, 5e-4), 1e-5),
    "inlet_velocity_max": (floats(0.1, 1.5), 0.2),
    "flush_velocity_min": (floats(0.2, 1.0), -0.1),
}


@FEW
@given(st.data(), devices(), floats(0.2, 1.0), floats(0.01, 0.02), floats(3.0, 15.0),
       floats(-0.06, 0.04))  # fmt: skip
def test_run_length_is_monotone_in_each_limit(data, device, spacing, diameter, head, slope):
    name = data.draw(st.sampled_from(sorted(LIMITS)))
    values, looser = LIMITS[name]
    limit = data.draw(values)
    strict, loose = (
        longest_run(device, spacing, diameter, head, slope=slope, maximum_length=200.0,
                    limits=RunLimits(**{name: value}))
        for value in (limit, limit + looser)
    )  # fmt: skip
    assert strict.count <= loose.count
    (check,) = strict.checks
    assert check.holds == (strict.count > 0)
    if strict.governing == name:
        over = check.value_one_longer - check.limit
        assert over < 0.0 if name in LEAST else over > 0.0


@FEW
@given(st.lists(devices(), min_size=1, max_size=3), floats(0.2, 1.0), floats(0.01, 0.02),
       floats(3.0, 12.0), st.lists(floats(-0.08, 0.03), min_size=1, max_size=3),
       st.lists(floats(0.6, 0.95), min_size=1, max_size=3))  # fmt: skip
def test_family_equals_single_queries(made, spacing, diameter, head, slopes, targets):
    kinds = [LineKind(device, diameter) for device in made]
    family = run_length_family(kinds, [spacing], slopes, [head], targets, maximum_length=150.0)
    for d, _, g, _, t in np.ndindex(family.count.shape):
        run = longest_run(
            kinds[d].emitter, spacing, diameter, head, slope=slopes[g], maximum_length=150.0,
            limits=RunLimits(eu=targets[t]),
        )  # fmt: skip
        assert family.count[d, 0, g, 0, t] == run.count
