import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.hydraulics.assembly import Regulator
from evenrow.hydraulics.block import solve_block
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.paired import paired_places
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch
from evenrow.hydraulics.uncertainty import flow_uncertainty

FEW = settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def floats(low, high):
    return st.floats(min_value=low, max_value=high)


@st.composite
def devices(draw):
    return Emitter(
        draw(floats(0.5e-3, 8e-3)) / 3600.0, 10.0, draw(floats(0.3, 0.9)), 0.05, 1.0, 40.0,
        draw(st.booleans()),
    )  # fmt: skip


@st.composite
def blocks(draw):
    """Laterals, header or tree, index and source: steep, dry, thin and empty ones too."""
    device = draw(devices())
    kinds = draw(st.sampled_from([1, 2, 5]))
    laterals = [
        Lateral(
            device, draw(st.integers(1, 120)), draw(floats(0.1, 1.0)), draw(floats(0.01, 0.025)),
            slope=draw(floats(-0.08, 0.08)),
        )
        for _ in range(kinds)
    ]  # fmt: skip
    n = draw(st.integers(1, 30))
    header = Header(
        draw(st.lists(st.sampled_from([0.0, 1.0, 4.0]), min_size=n, max_size=n)),
        draw(floats(0.015, 0.08)), draw(floats(-0.2, 0.2)), draw(st.integers(0, n)),
        takeoff_k=draw(st.sampled_from([0.0, 2.0])), takeoff_diameter=0.012,
    )  # fmt: skip
    index = draw(st.lists(st.integers(-1, kinds - 1), min_size=n, max_size=n))
    if draw(st.booleans()):
        branches = [Branch(header), Branch(header, 0, n - 1, Pipe(3.0, 0.03, rise=0.2))]
        return laterals, branches, [index, index]
    return laterals, header, index


SOURCES = st.sampled_from(
    [
        SourceCurve.from_flow_test(40.0, 1.5e-3),
        SourceCurve.from_flow_test(30.0, 2e-5),
        SourceCurve.from_pump_points([0.0, 1e-3, 3e-3], [35.0, 30.0, 5.0]),
        SourceCurve.from_tank(0.5),
        SourceCurve.from_tank(12.0, 0.02),
    ]
)
ASSEMBLIES = st.sampled_from([(), (Regulator("r", 8.0, 1.5, 1e-3, 0.0, 1e-2),)])


@FEW
@given(blocks(), SOURCES, ASSEMBLIES)
def test_every_emitter_and_every_balance_of_a_block(block, source, assembly):
    laterals, header, index = block
    solution = solve_block(source, assembly, [Pipe(10.0, 0.04)], header, laterals, index)
    system = solution.system
    total = sum(float(q.sum()) for q in solution.emitter_flows)
    assert abs(total - system.source_flow) <= 1e-9 * system.source_flow
    assert system.residual <= 1e-8
    mean = total / max(sum(q.size for q in solution.emitter_flows), 1)
    for head, kind, flows in zip(
        system.outlet_heads, solution.lateral_index, solution.emitter_flows, strict=True
    ):
        assert np.all(np.isfinite(flows))
        if kind < 0:
            assert flows.size == 0
            continue
        exact = solve_lateral(laterals[kind], float(head)).flow
        # Round-off of a head next to zero shows in its root: count from a part of the mean.
        floor = np.maximum(exact, 1e-2 * max(float(exact.mean()), mean))
        assert float((np.abs(flows - exact) / np.maximum(floor, 1e-30)).max(initial=0.0)) <= 2e-6


@FEW
@given(devices(), st.integers(2, 40), floats(0.02, 0.08), floats(2.0, 20.0))
def test_heads_fall_along_a_flat_header(device, count, diameter, head):
    laterals = [Lateral(device, 30, 0.3, 0.0161)]
    header = Header(np.full(count, 1.5), diameter)
    heads = solve_block(
        SourceCurve.from_tank(head), [], [], header, laterals, 0
    ).system.outlet_heads
    assert np.all(np.diff(heads, prepend=head) <= 1e-9)


@FEW
@given(blocks(), floats(1.0, 10.0), floats(0.5, 10.0))
def test_more_head_gives_more_flow(block, head, more):
    laterals, header, index = block
    low, high = (
        solve_block(SourceCurve.from_tank(h), [], [], header, laterals, index).system.source_flow
        for h in (head, head + more)
    )
    assert high >= low * (1.0 - 1e-8)


@FEW
@given(devices(), st.integers(1, 120), floats(0.1, 1.0), floats(0.01, 0.02), floats(2.0, 20.0))
def test_paired_laterals_are_symmetric_on_flat_ground(device, count, spacing, diameter, head):
    found = paired_places(device, count, spacing, diameter, head)
    np.testing.assert_allclose(found.eus, found.eus[::-1], rtol=1e-7)
    np.testing.assert_allclose(found.flow_variations, found.flow_variations[::-1], atol=1e-7)
    assert found.gain_eu >= -1e-9
    assert found.eu >= found.eus.max() - 1e-8


@FEW
@given(devices(), st.integers(2, 80), floats(-0.05, 0.05), floats(4.0, 20.0))
def test_turning_the_row_round_mirrors_the_places(device, count, slope, head):
    one = paired_places(device, count, 0.4, 0.0138, head, slope=slope)
    other = paired_places(device, count, 0.4, 0.0138, head, slope=-slope)
    np.testing.assert_allclose(one.eus, other.eus[::-1], atol=1e-6)


@FEW
@given(floats(0.0, 0.2), floats(0.0, 0.3), st.integers(1, 8), st.integers(0, 2**40))
def test_random_trials_stay_between_nothing_and_even(cv, plugged, per_plant, seed):
    flows = np.linspace(0.9, 1.1, 80) * 1e-6
    found = flow_uncertainty(flows, cv, plugged, per_plant=per_plant, seed=seed, samples=20)
    for part in (found.eu_samples, found.dulq_samples):
        assert np.all((part >= 0.0) & (part <= 1.0 + 1e-12))
    assert np.all(np.diff(found.eu) >= 0.0)
