import numpy as np
import pytest

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics import _local, block
from evenrow.hydraulics._local import make_profile
from evenrow.hydraulics._rows import Rows
from evenrow.hydraulics.assembly import Regulator
from evenrow.hydraulics.block import Zone, solve_block, solve_zones
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.laws import FRICTION_LAWS
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)
EQUAL = [Lateral(TAPE, 200, 0.3, 0.0161)]
DISTINCT = [
    Lateral(TAPE, 20 + 7 * k, 0.3, 0.0161, slope=0.01 * np.sin(k), barb_k=0.2 * (k % 2))
    for k in range(18)
]
TANK = SourceCurve.from_tank(8.0)


def check(solution, tolerance=1e-6):
    """Every emitter against the exact lateral at its own inlet head."""
    heads, index = solution.system.outlet_heads, solution.lateral_index
    for head, kind, flows in zip(heads, index, solution.emitter_flows, strict=True):
        if kind < 0:
            assert flows.size == 0
            continue
        exact = solve_lateral(solution.laterals[kind], float(head)).flow
        floor = np.maximum(exact, 1e-3 * exact.mean())
        assert float((np.abs(flows - exact) / np.maximum(floor, 1e-30)).max()) <= tolerance
    total = sum(flows.sum() for flows in solution.emitter_flows)
    assert total == pytest.approx(solution.system.source_flow, rel=1e-9)
    assert solution.balance <= 1e-9


def test_equal_laterals_are_interpolated_within_the_error_said():
    solution = solve_block(TANK, [], [], Header(np.full(40, 1.5), 0.05), EQUAL, 0)
    assert not solution.exact
    assert 0.0 < solution.error <= 1e-6
    check(solution)
    assert solution.flows.shape == (8000,)


def test_the_error_is_enforced():
    loose = solve_block(TANK, [], [], Header(np.full(40, 1.5), 0.03), EQUAL, 0, tolerance=1e-4)
    tight = solve_block(TANK, [], [], Header(np.full(40, 1.5), 0.03), EQUAL, 0, tolerance=1e-9)
    assert loose.error <= 1e-4
    assert tight.error <= 1e-9
    check(loose, 1e-4)
    check(tight, 2e-9)


def test_distinct_laterals_are_exact():
    solution = solve_block(
        TANK, [], [], Header(np.full(18, 1.5), 0.04, feed=6), DISTINCT, np.arange(18)
    )
    assert solution.exact
    assert solution.error == 0.0
    check(solution, 1e-9)


@pytest.mark.parametrize(
    "header",
    [
        Header(np.full(40, 1.5), 0.02),
        Header(np.full(40, 1.5), 0.04, 0.18),
        Header(np.full(40, 1.5), 0.04, -0.3),
        Header(np.full(40, 0.0), 0.04),
        Header(np.full(40, 1.5), 0.04, takeoff_k=3.0, takeoff_diameter=0.012),
    ],
    ids=["steep losses", "runs dry", "steep downhill", "no length", "take-off losses"],
)
@pytest.mark.parametrize("device", [TAPE, FLAT], ids=["power", "compensating"])
def test_badly_designed_blocks(header, device):
    laterals = [Lateral(device, 90, 0.3, 0.0138, slope=0.03)]
    check(solve_block(TANK, [], [], header, laterals, 0))


def test_a_tree_with_dead_ends_and_few_laterals():
    branches = [
        Branch(Header([1.0, 2.0], 0.04)),
        Branch(Header(np.full(20, 1.0), 0.04), 0, 1, Pipe(5.0, 0.04)),
    ]
    index = [[-1, 1], [0] * 19 + [-1]]
    solution = solve_block(
        SourceCurve.from_flow_test(30.0, 2e-3), [Regulator("r", 7.0, 0.5, 1e-3, 0.0, 1e-2)],
        [Pipe(10.0, 0.05)], branches, [EQUAL[0], DISTINCT[0]], index,
    )  # fmt: skip
    check(solution)
    assert not solution.exact
    assert solution.system.regulator == "regulating"


def test_one_emitter_and_no_flow():
    one = [Lateral(TAPE, 1, 0.3, 0.0161)]
    check(solve_block(TANK, [], [], Header([1.0], 0.02), one, 0), 1e-9)
    none = solve_block(SourceCurve.from_tank(0.2), [], [], Header([1.0], 0.02, 1.0), one, 0)
    assert none.system.state == "no flow"
    assert none.flows.tolist() == [0.0]


def test_zones_are_what_each_is_alone():
    zones = [
        Zone(Header(np.full(20, 1.5), 0.05), 0, [Pipe(10.0 * k + 1.0, 0.04)]) for k in range(4)
    ]
    together = solve_zones(TANK, [], zones, EQUAL)
    for zone, solution in zip(zones, together, strict=True):
        alone = solve_block(TANK, [], zone.main, zone.header, EQUAL, 0)
        np.testing.assert_allclose(solution.flows, alone.flows, rtol=1e-6)
        check(solution)


def test_a_range_missed_at_first_is_widened(monkeypatch):
    header = Header(np.full(30, 1.5), 0.03)
    expected = solve_block(TANK, [], [], header, EQUAL, 0).flows
    real = block._Work.use

    def misled(self, laterals, tolerance=1e-9):
        real(self, laterals, tolerance)
        if tolerance > 1e-6:
            self.met.state.inlet_heads = self.met.state.inlet_heads + 1.5

    monkeypatch.setattr(block._Work, "use", misled)
    np.testing.assert_allclose(
        solve_block(TANK, [], [], header, EQUAL, 0).flows, expected, rtol=2e-6
    )


def test_what_does_not_settle_is_said(monkeypatch):
    monkeypatch.setattr(block, "_CLOSE", -1.0)
    with pytest.raises(ConvergenceError, match="still move"):
        solve_block(TANK, [], [], Header(np.full(3, 1.5), 0.03), EQUAL, 0)


def test_a_wrong_balance_is_said(monkeypatch):
    monkeypatch.setattr(_local.Profile, "at", lambda self, heads: np.ones((heads.size, 200)))
    with pytest.raises(ConvergenceError, match="more or less"):
        solve_block(TANK, [], [], Header(np.full(30, 1.5), 0.03), EQUAL, 0)


def test_profiles_refuse_kinks():
    lateral = Lateral(FLAT, 50, 0.3, 0.0161)
    assert make_profile(lateral, 8.0, 10.0, 1e-6) is not None
    assert make_profile(lateral, 4.9, 5.4, 1e-6) is None
    smooth = make_profile(EQUAL[0], 5.0, 8.0, 1e-6)
    heads = np.linspace(5.0, 8.0, 7)
    np.testing.assert_allclose(smooth.at(heads), solve_lateral(EQUAL[0], heads).flow, rtol=1e-7)


def test_rows_side_by_side():
    heads = np.linspace(4.0, 9.0, len(DISTINCT))
    lines = [lateral.line for lateral in DISTINCT]
    solved = Rows(lines).solve(heads)
    assert solved.done.all()
    exact = [solve_lateral(a, float(h)) for a, h in zip(DISTINCT, heads, strict=True)]
    np.testing.assert_allclose(solved.flow, np.concatenate([e.flow for e in exact]), rtol=1e-9)
    np.testing.assert_allclose(solved.total, [float(e.inlet_flow) for e in exact], rtol=1e-9)
    np.testing.assert_allclose(solved.slope, [float(e.inlet_flow_slope) for e in exact], rtol=1e-6)
    twice = Rows(lines).repeated(2).solve(np.concatenate([heads, heads]))
    np.testing.assert_allclose(twice.total, np.tile(solved.total, 2), rtol=1e-9)
    lumped = Rows(lines, 24).solve(heads)
    np.testing.assert_allclose(lumped.total, solved.total, rtol=2e-3)


def test_rows_with_several_laws():
    lines = [
        Lateral(TAPE, 30, 0.3, 0.0161, friction="blasius").line,
        Lateral(FLAT, 40, 0.3, 0.0138).line,
        Lateral(TAPE, 10, 0.3, 0.0161).line,
    ]
    solved = Rows(lines).repeated(2).solve(np.full(6, 8.0))
    singly = [float(Rows([line]).solve(np.array([8.0])).total[0]) for line in lines]
    np.testing.assert_allclose(solved.total, singly * 2, rtol=1e-9)


@pytest.mark.parametrize("law", sorted(FRICTION_LAWS))
@pytest.mark.parametrize("barb_k", [0.0, 0.8])
def test_blocks_use_the_friction_law_and_barb_loss_of_their_laterals(law, barb_k):
    def lines(name, k):
        return [Lateral(TAPE, 150 + 11 * i, 0.3, 0.0138, friction=name, barb_k=k) for i in range(8)]

    mine = lines(law, barb_k)
    heads = np.linspace(6.0, 9.0, len(mine))
    exact = [solve_lateral(a, float(h)) for a, h in zip(mine, heads, strict=True)]
    solved = Rows([a.line for a in mine]).solve(heads)
    np.testing.assert_allclose(solved.flow, np.concatenate([e.flow for e in exact]), rtol=1e-9)

    header = Header(np.full(8, 1.5), 0.04)
    distinct = solve_block(TANK, [], [], header, mine, np.arange(8))
    assert distinct.exact
    check(distinct, 1e-9)
    check(solve_block(TANK, [], [], Header(np.full(40, 1.5), 0.06), mine[:1], 0))

    # and they are far enough apart for the comparison to tell
    for name, k in (("churchill", 0.0), ("blasius", barb_k), (law, 0.8 - barb_k)):
        if (name, k) != (law, barb_k):
            other = Rows([a.line for a in lines(name, k)]).solve(heads)
            assert np.abs(other.flow / solved.flow - 1.0).max() > 1e-5


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: solve_block(TANK, [], [], Header([1.0], 0.02), [], 0), "laterals"),
        (lambda: solve_block(TANK, [], [], Header([1.0], 0.02), EQUAL, 1), "lateral_index"),
        (
            lambda: solve_block(TANK, [], [], [Branch(Header([1.0], 0.02))], EQUAL, 0),
            "lateral_index",
        ),
        (
            lambda: solve_block(TANK, [], [], Header([1.0], 0.02), EQUAL, 0, tolerance=0.1),
            "tolerance",
        ),
        (lambda: solve_block(TANK, [], [], Header([1.0], 0.02), EQUAL, 0, -1.0), "viscosity"),
        (lambda: solve_zones(TANK, [], [], EQUAL), "zones"),
    ],
)
def test_wrong_blocks(call, field):
    with pytest.raises(InputError) as error:
        call()
    assert error.value.field == field
