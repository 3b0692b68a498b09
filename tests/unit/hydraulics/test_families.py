import itertools

import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics import _end_heads, _scan
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.families import LineKind, run_length_family
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.run_length import RunLimits, longest_run

TAPE = LineKind(Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0), 0.0161)
THIN = LineKind(Emitter(2.3e-3 / 3600.0, 10.0, 0.62, 0.05, 5.0, 30.0), 0.0118, barb_length=0.15)
FLAT = LineKind(Emitter(2.0e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True), 0.0138, barb_k=0.4)
KINDS = [TAPE, THIN, FLAT]


def lateral(kind, spacing, slope, count):
    return Lateral(
        kind.emitter, count, spacing, kind.diameter, slope=slope,
        barb_length=kind.barb_length, barb_k=kind.barb_k,
    )  # fmt: skip


def every_length(kind, spacing, slope, head, most):
    """EU of every length, one exact solve each."""
    return np.array(
        [float(solve_lateral(lateral(kind, spacing, slope, n), head).eu)
         for n in range(1, most + 1)]
    )  # fmt: skip


def first_edge(passes):
    return len(passes) if passes.all() else int(np.argmin(passes))


def test_every_cell_equals_trying_every_length():
    spacings, slopes, heads, targets = [0.6], [-0.03, 0.0, 0.02], [6.0], [0.7, 0.85, 0.92]
    family = run_length_family(KINDS, spacings, slopes, heads, targets, maximum_length=150.0)
    assert family.count.shape == (3, 1, 3, 1, 3)
    checked = 0
    for d, s, g, h in itertools.product(range(3), range(1), range(3), range(1)):
        values = every_length(KINDS[d], spacings[s], slopes[g], heads[h], 250)
        for t, target in enumerate(targets):
            assert family.count[d, s, g, h, t] == first_edge(values >= target)
            checked += 1
    assert checked == family.count.size == 27
    assert 0 < family.limited.sum() < family.limited.size


# Steep downhill lines on which EU fails and holds again further on.
@pytest.mark.parametrize(
    ("slope", "head", "diameter"),
    [(-0.04, 3.0, 0.0161), (-0.03, 3.0, 0.0161), (-0.04, 3.0, 0.0138), (-0.04, 5.0, 0.0161),
     (-0.02, 2.0, 0.0161), (-0.05, 4.0, 0.0138)],
)  # fmt: skip
def test_pass_fail_pass_stops_at_the_first_failure(slope, head, diameter):
    kind = LineKind(TAPE.emitter, diameter)
    values = every_length(kind, 0.3, slope, head, 600)
    regained = values - np.minimum.accumulate(values)
    top = int(np.argmax(regained))
    dip = float(np.min(values[:top]))
    # from a dip just touched (the hard ones) to one that is deep
    targets = [dip + share * float(regained[top]) for share in (1e-5, 1e-3, 0.1, 0.5, 0.9)]
    edges = [first_edge(values >= limit) for limit in targets]
    assert all((values[edge:] >= limit).any() for edge, limit in zip(edges, targets, strict=True))
    family = run_length_family([kind], [0.3], [slope], [head], targets, maximum_length=180.0)
    assert family.count.ravel().tolist() == edges
    single = [
        longest_run(kind.emitter, 0.3, diameter, head, slope=slope, limits=RunLimits(eu=limit),
                    maximum_length=180.0).count
        for limit in targets
    ]  # fmt: skip
    assert single == edges


def test_every_cell_equals_the_single_query_on_random_lines():
    rng = np.random.default_rng(5)
    limits = [
        0.88,
        RunLimits(flow_variation=0.2, head_max=14.0),
        RunLimits(head_variation=0.3, inlet_velocity_max=1.2),
        RunLimits(eu=0.8, head_min=3.0, flush_velocity_min=0.3, inlet_flow_max=4e-4),
    ]
    spacings, slopes = rng.uniform(0.2, 1.0, 2), rng.uniform(-0.06, 0.03, 3)
    heads = rng.uniform(4.0, 12.0, 2)
    family = run_length_family(KINDS, spacings, slopes, heads, limits, maximum_length=400.0)
    for d, s, g, h, t in np.ndindex(family.count.shape):
        kind, goal = KINDS[d], limits[t]
        run = longest_run(
            kind.emitter, spacings[s], kind.diameter, heads[h], slope=slopes[g],
            limits=RunLimits(eu=goal) if isinstance(goal, float) else goal, maximum_length=400.0,
            barb_length=kind.barb_length, barb_k=kind.barb_k,
        )  # fmt: skip
        assert family.count[d, s, g, h, t] == run.count
        assert family.length[d, s, g, h, t] == pytest.approx(run.length)
        assert bool(family.limited[d, s, g, h, t]) == (run.governing != "maximum length")
        if run.count:
            assert all(check.holds and check.margin >= -1e-12 for check in run.checks)


def test_interpolation_errors_are_below_their_estimate(monkeypatch):
    """Everything the scan reads off between its columns, against exact solves."""
    seen = []
    apply = _scan._Scan._apply
    steps = _scan._Scan._chunk

    def chunk(self, march, *rest):
        self.before = march.count
        steps(self, march, *rest)

    def watch(self, name, live, value, error, margin, doubt):
        for k, f in ((2, 0), (7, live.size // 3), (14, live.size // 2), (20, live.size - 1)):
            if k < value.shape[0]:
                cell = int(live[f])
                ends = _end_heads.end_heads(
                    self.cells[cell], self.targets[cell], int(self.most[cell].max()), False
                )
                found = (value[k, f], error[k, f])
                seen.append((self.cells[cell], self.before + k + 1, *found, ends))
        apply(self, name, live, value, error, margin, doubt)

    monkeypatch.setattr(_scan._Scan, "_chunk", chunk)
    monkeypatch.setattr(_scan._Scan, "_apply", watch)
    run_length_family(KINDS, [0.3, 0.6], [-0.03, -0.01, 0.0, 0.02], [8.0], [0.8])
    off = []
    for cell, count, value, error, ends in seen:
        line = Lateral(
            cell.emitter, count, cell.spacing, cell.diameter, slope=cell.slope,
            barb_length=cell.barb_length, barb_k=cell.barb_k,
        )  # fmt: skip
        solved = solve_lateral(line, cell.inlet_head)
        exact = float(solved.flow.min() / solved.flow.mean())
        # where a limit can be, and within the end heads (outside, the scan solves exactly)
        if value > 0.3 and ends[0] < float(solved.end_head) < ends[-1]:
            off.append(abs(value - exact) / (error + _scan._ERROR_LEAST))
    assert len(off) > 60
    assert max(off) < 1.0


def test_few_exact_solves_and_few_columns_do_not_change_the_answer(monkeypatch):
    arguments = (KINDS, [0.4], [-0.02, 0.01], [7.0], [0.85, 0.9])
    fine = run_length_family(*arguments)
    monkeypatch.setattr(_end_heads, "_DENSITY", 0.3)
    coarse = run_length_family(*arguments)
    np.testing.assert_array_equal(fine.count, coarse.count)
    assert coarse.exact_solves > fine.exact_solves
    monkeypatch.setattr(_end_heads, "_WEIGHT", 2.0)  # end heads looked for in too small a range
    narrow = run_length_family(*arguments)
    np.testing.assert_array_equal(fine.count, narrow.count)


def test_wrong_arguments_name_the_field():
    good = {
        "devices": [TAPE], "spacings": [0.3], "slopes": [0.0], "inlet_heads": [7.0],
        "targets": [0.9],
    }  # fmt: skip
    for name, bad in (
        ("devices", []), ("spacings", [0.0]), ("spacings", []), ("slopes", [np.nan]),
        ("slopes", [2.0]), ("inlet_heads", [-1.0]), ("targets", []), ("maximum_length", 0.1),
        ("viscosity", 0.0), ("friction", "best"),
    ):  # fmt: skip
        with pytest.raises(InputError) as error:
            run_length_family(**{**good, name: bad})
        assert error.value.field == name
    with pytest.raises(InputError) as error:
        run_length_family(**{**good, "targets": [1.2]})
    assert error.value.field == "eu"
    with pytest.raises(InputError) as error:
        LineKind(TAPE.emitter, 0.0)
    assert error.value.field == "diameter"
