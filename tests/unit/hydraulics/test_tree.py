import numpy as np
import pytest

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics.assembly import Regulator
from evenrow.hydraulics.curve import lateral_curve
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import CurveLaterals, Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.network import solve_system, solve_tree
from evenrow.hydraulics.pipe import Pipe, pipe_loss
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch, TreeModel

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
CURVES = [lateral_curve(Lateral(TAPE, n, 0.3, 0.0161), 0.3, 45.0) for n in (100, 60)]
TAP = SourceCurve.from_flow_test(30.0, 3e-3)
BRANCHES = [
    Branch(Header([2.0, 0.0, 4.0, 1.0], [0.04, 0.04, 0.032, 0.032])),
    Branch(Header(np.full(5, 1.5), 0.025, feed=2), 0, 3, Pipe(8.0, 0.032, rise=-0.4, minor_k=2.0)),
    Branch(Header(np.full(3, 1.0), 0.025, rise=0.1), 1, 0),
    Branch(Header([3.0], 0.02), -1, 0, Pipe(20.0, 0.025)),
]
INDEX = [[0, 1, -1, 0], [0] * 5, [1, 1, -1], 0]


@pytest.mark.parametrize("feed", [0, 4, 10])
def test_one_branch_is_the_header(feed):
    header = Header(
        np.full(10, 1.5), 0.03, 0.05, feed, takeoff_k=2.0, takeoff_diameter=0.013
    )  # fmt: skip
    a = solve_system(TAP, [], [Pipe(5.0, 0.04)], header, CURVES, 0)
    b = solve_tree(TAP, [], [Pipe(5.0, 0.04)], [Branch(header)], CURVES, [0]).system
    np.testing.assert_allclose(b.outlet_heads, a.outlet_heads, atol=1e-8)
    np.testing.assert_allclose(b.segment_flows, a.segment_flows, rtol=1e-8)


def test_every_balance_of_a_tree():
    solution = solve_tree(TAP, [Regulator("r", 8.0, 1.0, 1e-3, 0.0, 1e-2)], [], BRANCHES, CURVES,
                          INDEX)  # fmt: skip
    system, parts = solution.system, solution.takeoffs
    heads = [system.takeoff_heads[part] for part in parts]
    flows = [system.outlet_flows[part] for part in parts]
    inside = [system.segment_flows[part] for part in parts]
    assert system.regulator == "regulating"
    assert sum(f.sum() for f in flows) == pytest.approx(system.source_flow, rel=1e-12)
    # what enters a branch: through the segments beside its feed
    into_2 = flows[2].sum()
    into_1 = flows[1].sum() + into_2
    lead = BRANCHES[1].lead
    fed_at = heads[0][3] - float(pipe_loss(into_1, lead)[0])
    for k in (1, 2):
        segment = Pipe(1.5, 0.025)
        assert heads[1][k] == pytest.approx(
            fed_at - float(pipe_loss(inside[1][k], segment)[0]), abs=1e-8
        )
    assert inside[1][1] == pytest.approx(flows[1][0] + flows[1][1] + into_2, rel=1e-9)
    assert heads[2][0] == pytest.approx(
        heads[1][0] - float(pipe_loss(inside[2][0], Pipe(1.0, 0.025, rise=0.1))[0]), abs=1e-8
    )
    # no length, no loss; no lateral, no flow; nothing beyond, nothing in the pipe
    assert heads[0][1] == pytest.approx(heads[0][0], abs=1e-5)
    assert flows[0][2] == 0.0
    assert inside[2][2] == 0.0
    assert heads[2][2] == pytest.approx(heads[2][1] - 0.1)
    total = flows[0].sum() + into_1
    assert inside[0][0] == pytest.approx(total, rel=1e-9)


def test_the_safe_way_finds_the_same(monkeypatch):
    model = TreeModel(
        [Branch(Header(np.full(30, 2.0), 0.02, 0.1))], CurveLaterals(CURVES, np.arange(30) % 2),
        1e-6,
    )  # fmt: skip
    usual = model.solve(12.0)
    np.testing.assert_allclose(model._safe(12.0), usual.nodes, atol=1e-6)
    real, calls = TreeModel._newton, []

    def first_fails(self, head, start):
        calls.append(start)
        trial = real(self, head, start)
        if len(calls) == 1:
            trial.norm = 1.0
        return trial

    monkeypatch.setattr(TreeModel, "_newton", first_fails)
    np.testing.assert_allclose(model.solve(12.0).heads, usual.heads, atol=1e-8)
    assert len(calls) == 2
    monkeypatch.setattr(TreeModel, "_newton", lambda *_: type("T", (), {"norm": 1.0})())
    with pytest.raises(ConvergenceError, match="left over"):
        model.solve(12.0)


def test_a_start_nearby_changes_nothing():
    model = TreeModel(BRANCHES[:2], CurveLaterals(CURVES, np.zeros(9, int)), 1e-6)
    far, near = model.solve(6.0), model.solve(10.0, model.solve(9.9))
    np.testing.assert_allclose(near.heads, model.solve(10.0).heads, atol=1e-9)
    slope = (model.solve(6.001).total - far.total) / 0.001
    assert far.slope == pytest.approx(slope, rel=1e-3)


def test_a_tank_too_low():
    up = [Branch(Header(np.full(3, 1.0), 0.03, rise=0.5))]
    solution = solve_tree(SourceCurve.from_tank(0.2), [], [], up, CURVES, [0]).system
    assert solution.state == "no flow"
    np.testing.assert_array_equal(solution.outlet_flows, 0.0)


@pytest.mark.parametrize(
    ("branches", "index", "field"),
    [
        ([], [], "curve_index"),
        ([BRANCHES[0]], [0, 0], "curve_index"),
        ([BRANCHES[0]], [[0, 0]], "curve_index.0"),
        ([BRANCHES[0]], [2], "curve_index.0"),
        ([BRANCHES[0]], [-2], "curve_index.0"),
        ([BRANCHES[0], Branch(BRANCHES[3].header, 1)], [0, 0], "branches.1.parent"),
        ([BRANCHES[0], Branch(BRANCHES[3].header, 0, 4)], [0, 0], "branches.1.takeoff"),
        ([BRANCHES[0], Branch(Header([1.0], 0.02, friction="blasius"))], [0, 0],
         "branches.1.friction"),
    ],
)  # fmt: skip
def test_wrong_trees(branches, index, field):
    with pytest.raises(InputError) as error:
        solve_tree(TAP, [], [], branches, CURVES, index)
    assert error.value.field == field


def test_wrong_branches():
    with pytest.raises(InputError) as error:
        Branch(BRANCHES[0].header, -2)
    assert error.value.field == "parent"
