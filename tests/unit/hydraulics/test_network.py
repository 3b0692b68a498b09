import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.curve import lateral_curve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.friction import head_gradient
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.network import solve_system
from evenrow.hydraulics.pipe import Pipe, pipe_loss
from evenrow.hydraulics.source import SourceCurve

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
LATERALS = [Lateral(TAPE, 100, 0.3, 0.0161), Lateral(TAPE, 60, 0.3, 0.0161, slope=0.01)]
CURVES = [lateral_curve(line, 0.6, 45.0) for line in LATERALS]
FILTER = LossComponent("filter", 1e-3, 2.0)
REGULATOR = Regulator("regulator", 8.0, 1.5, 1e-3, 1e-4, 2e-3)
MAIN = [Pipe(30.0, 0.025, rise=0.1, minor_k=2.0)]
SOURCES = {
    "tap": SourceCurve.from_flow_test(40.0, 1.5e-3),
    "pump": SourceCurve.from_pump_points([0.0, 1e-3, 2e-3], [30.0, 25.0, 10.0]),
    "tank": SourceCurve.from_tank(1.3, 0.025),
    "steep": SourceCurve.from_flow_test(60.0, 2e-5),
}
N = 12
HEADERS = {
    "end-fed": Header(np.full(N, 1.0), 0.029),
    "tee-fed": Header(np.full(N, 1.0), 0.029, 0.02, 5, 1.0, 0.0142),
    "steep up": Header(np.full(N, 5.0), 0.016, 0.4),
    "steep down, fed at the far end": Header(np.full(N, 5.0), 0.016, -0.8, N),
}
INDEX = np.arange(N) % 2


def check(solution, source, header):
    """Every balance of the solution, written anew."""
    flow = solution.source_flow
    assert abs(solution.outlet_flows.sum() - flow) <= 1e-9 * flow
    assert solution.residual < 1e-8
    assert solution.source_head == pytest.approx(float(source.head(flow)[0]), abs=1e-9)
    lost = float(pipe_loss(flow, MAIN[0])[0])
    before = solution.component_heads[-1] if solution.names else solution.source_head
    assert solution.main_heads[-1] == pytest.approx(before - lost, abs=1e-9)
    assert solution.main_heads[-1] == pytest.approx(solution.header_head, abs=2e-9)
    for i in range(N):
        up = i - 1 if i >= header.feed else i + 1
        at_feed = i in (header.feed, header.feed - 1)
        from_head = solution.header_head if at_feed else solution.takeoff_heads[up]
        q = solution.segment_flows[i]
        loss = header.length[i] * float(head_gradient(q, header.diameter[i])[0])
        left = from_head - loss - header.rise[i] - solution.takeoff_heads[i]
        assert abs(left) < 1e-8
        beyond = range(i, N) if i >= header.feed else range(i + 1)
        carried = solution.outlet_flows[list(beyond)].sum()
        assert q == pytest.approx(carried, rel=1e-9, abs=1e-18)
    for i, curve in enumerate(INDEX):
        expected = float(CURVES[curve].flow(solution.outlet_heads[i])[0])
        assert solution.outlet_flows[i] == pytest.approx(expected, rel=1e-9, abs=1e-16)


@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("header", HEADERS)
@pytest.mark.parametrize("assembly", [(), (FILTER,), (FILTER, REGULATOR)], ids=len)
def test_all_balances(source, header, assembly):
    solution = solve_system(
        SOURCES[source], assembly, MAIN, HEADERS[header], CURVES, INDEX
    )  # fmt: skip
    assert solution.state == "flowing"
    assert solution.names == tuple(part.name for part in assembly)
    check(solution, SOURCES[source], HEADERS[header])


def test_flows_are_those_of_the_exact_laterals():
    solution = solve_system(SOURCES["tap"], [FILTER], MAIN, HEADERS["tee-fed"], CURVES, INDEX)
    for i, curve in enumerate(INDEX):
        exact = solve_lateral(LATERALS[curve], solution.outlet_heads[i]).inlet_flow
        assert solution.outlet_flows[i] == pytest.approx(float(exact), rel=1e-6)


def test_regulator_states():
    def state(source, regulator):
        assembly = (FILTER, regulator)
        return solve_system(source, assembly, MAIN, HEADERS["end-fed"], CURVES, INDEX)

    working = state(SOURCES["tap"], REGULATOR)
    assert working.regulator == "regulating"
    assert working.component_heads[-1] == pytest.approx(8.0)
    weak = state(SOURCES["tank"], Regulator("r", 8.0, 1.5, 1e-3, 0.0, 2e-3))
    assert weak.regulator == "open"
    assert weak.component_heads[-1] < 1.3
    assert state(SOURCES["tap"], Regulator("r", 8.0, 1.5, 1e-3, 1e-4, 2e-4)).regulator == (
        "above range"
    )
    assert state(SOURCES["tap"], Regulator("r", 8.0, 1.5, 1e-3, 1e-2, 2e-2)).regulator == (
        "below range"
    )


def test_a_tank_too_low_gives_nothing_and_says_so():
    low = SourceCurve.from_tank(0.05, 0.025)
    uphill = Header(np.full(N, 5.0), 0.016, 0.4)
    solution = solve_system(low, [FILTER, REGULATOR], MAIN, uphill, CURVES, INDEX)
    assert solution.state == "no flow"
    assert solution.source_flow == 0.0
    np.testing.assert_array_equal(solution.outlet_flows, 0.0)
    assert solution.source_head == pytest.approx(0.05)


def test_flags():
    fine = solve_system(SOURCES["tap"], [REGULATOR], MAIN, HEADERS["end-fed"], CURVES, 0)
    assert not fine.beyond_source
    assert not fine.outside_curves
    short = [lateral_curve(LATERALS[0], 2.0, 3.0)]
    assert solve_system(
        SOURCES["tap"], [REGULATOR], MAIN, HEADERS["end-fed"], short, 0
    ).outside_curves
    small = SourceCurve.from_pump_points([0.0, 1e-5], [30.0, 29.0])
    assert solve_system(small, [], MAIN, HEADERS["end-fed"], CURVES, 0).beyond_source


def test_tee_in_the_middle_evens_the_pressure():
    long = [Header(np.full(N, 2.0), 0.016, feed=k) for k in (0, N // 2)]
    spread = [
        np.ptp(solve_system(SOURCES["tap"], [REGULATOR], MAIN, h, CURVES, 0).outlet_heads)
        for h in long
    ]
    assert spread[1] < 0.4 * spread[0]


def test_symmetric_tee_feeds_both_sides_alike():
    header = Header(np.full(N, 2.0), 0.02, feed=N // 2)
    flows = solve_system(SOURCES["tap"], [], MAIN, header, CURVES, 0).outlet_flows
    np.testing.assert_allclose(flows, flows[::-1], rtol=1e-9)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: Header([1.0, -1.0], 0.02), "length"),
        (lambda: Header([1.0, 1.0], [0.02, 0.02, 0.02]), "diameter"),
        (lambda: Header([1.0, 1.0], 0.02, feed=3), "feed"),
        (lambda: Header([1.0, 1.0], 0.02, takeoff_k=1.0), "takeoff_diameter"),
    ],
)
def test_wrong_headers(call, field):
    with pytest.raises(InputError) as error:
        call()
    assert error.value.field == field


@pytest.mark.parametrize(
    ("curves", "index", "field"),
    [([], 0, "curves"), (CURVES, 2, "curve_index"), (CURVES, [0, 1], "curve_index"),
     (CURVES, 0.5, "curve_index")],
)  # fmt: skip
def test_wrong_curves(curves, index, field):
    with pytest.raises(InputError) as error:
        solve_system(SOURCES["tap"], [], MAIN, HEADERS["end-fed"], curves, index)
    assert error.value.field == field
