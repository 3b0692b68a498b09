import numpy as np
import pytest

from evenrow.errors import InputError
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.flush_lateral import flush_at
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.run_length import RunLimits, longest_run

TAPE = Emitter(1.0e-3 / 3600.0, 7.0, 0.5, 0.03, 3.0, 10.0)
DRIPLINE = Emitter(4.0e-3 / 3600.0, 10.0, 0.5, 0.03, 3.0, 30.0)
FLAT = Emitter(1.6e-3 / 3600.0, 10.0, 0.0, 0.05, 5.0, 40.0, True)


def brute(device, spacing, diameter, head, slope, most, keeps):
    """Pass or fail of every length, one by one."""
    return np.array(
        [
            keeps(solve_lateral(Lateral(device, n, spacing, diameter, slope=slope), head))
            for n in range(1, most + 1)
        ]
    )


def first_edge(passes):
    return len(passes) if passes.all() else int(np.argmin(passes))


@pytest.mark.parametrize("slope", [0.0, 0.01, -0.005, -0.02])
@pytest.mark.parametrize("eu", [0.8, 0.9])
def test_equals_trying_every_length(slope, eu):
    run = longest_run(
        DRIPLINE, 0.5, 0.0138, 10.0, slope=slope, limits=RunLimits(eu=eu), maximum_length=200.0
    )
    passes = brute(DRIPLINE, 0.5, 0.0138, 10.0, slope, 400, lambda s: float(s.eu) >= eu)
    assert run.count == first_edge(passes)


# Steep downhill lines on which EU fails and holds again further on.
@pytest.mark.parametrize(
    ("slope", "head", "diameter"),
    [(-0.04, 3.0, 0.0161), (-0.03, 3.0, 0.0161), (-0.04, 3.0, 0.0138), (-0.04, 5.0, 0.0161)],
)
def test_pass_fail_pass_returns_the_first_edge(slope, head, diameter):
    most = 700
    lines = (Lateral(TAPE, n, 0.3, diameter, slope=slope) for n in range(1, most + 1))
    values = np.array([float(solve_lateral(line, head).eu) for line in lines])
    # take the limit between the deepest dip and what is regained behind it
    regained = values - np.minimum.accumulate(values)
    top = int(np.argmax(regained))
    for share in (0.1, 0.5, 0.9):
        limit = float(values[top] - share * regained[top])
        passes = values >= limit
        edge = first_edge(passes)
        assert passes[edge:].any(), "not a pass-fail-pass case"
        run = longest_run(
            TAPE, 0.3, diameter, head, slope=slope, limits=RunLimits(eu=limit),
            maximum_length=most * 0.3,
        )  # fmt: skip
        assert run.count == edge
        assert run.governing == "eu"


def test_reports_the_length_and_one_longer():
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=RunLimits(eu=0.9, per_plant=2))
    assert run.length == pytest.approx(0.15 + 0.3 * (run.count - 1))
    assert run.governing == "eu"
    assert not run.fails_at_once
    (check,) = run.checks
    assert check.holds
    assert check.value_at_length >= 0.9 > check.value_one_longer
    assert run.solution.lateral.count == run.count


@pytest.mark.parametrize(
    ("limits", "slope", "governing"),
    [
        ({"eu": 0.5, "head_max": 10.0}, -0.05, "head_max"),
        ({"eu": 0.5, "head_min": 6.0}, 0.01, "head_min"),
        ({"eu": 0.5, "inlet_flow_max": 5e-5}, 0.0, "inlet_flow_max"),
        ({"eu": 0.5, "inlet_velocity_max": 0.3}, 0.0, "inlet_velocity_max"),
        ({"flow_variation": 0.1}, 0.0, "flow_variation"),
        ({"inlet_velocity_max": 0.3}, 0.0, "inlet_velocity_max"),
        ({"head_variation": 0.15, "eu": 0.5}, 0.0, "head_variation"),
        ({"head_variation": 0.3, "eu": 0.5}, -0.03, "head_variation"),
        ({"flush_velocity_min": 0.5, "eu": 0.5}, 0.0, "flush_velocity_min"),
        ({"flush_velocity_min": 1.0, "eu": 0.3}, -0.01, "flush_velocity_min"),
    ],
)
def test_each_limit_governs(limits, slope, governing):
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, slope=slope, limits=RunLimits(**limits))
    assert run.governing == governing
    assert 0 < run.count < 4000
    by_name = {c.name: c for c in run.checks}
    assert all(c.holds for c in run.checks)
    check = by_name[governing]
    rising = governing not in ("eu", "head_min", "flush_velocity_min")
    assert (check.value_one_longer > check.limit) == rising
    # the room of the governing limit is less than one emitter more takes
    step = abs(check.value_one_longer - check.value_at_length) / check.limit
    assert 0.0 <= check.margin <= step
    assert all(c.margin >= 0.0 for c in run.checks)


def test_flushing_holds_at_every_length_up_to_the_answer():
    limits = RunLimits(flush_velocity_min=0.6)
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, slope=-0.02, limits=limits)
    for count in (1, run.count // 3, run.count, run.count + 1, run.count + 200):
        line = Lateral(TAPE, count, 0.3, 0.0161, slope=-0.02)
        assert (flush_at(line, 7.0).end_velocity >= 0.6) == (count <= run.count)


def test_a_flush_limit_of_nothing_is_kept_by_a_dry_line():
    run = longest_run(TAPE, 0.3, 0.0161, 3.0, slope=0.05, maximum_length=120.0,
                      limits=RunLimits(flush_velocity_min=0.0))  # fmt: skip
    assert run.governing == "maximum length"


@pytest.mark.parametrize("law", ["swamee-jain", "blasius", "handbook", "hazen-williams"])
def test_with_any_friction_law(law):
    run = longest_run(
        DRIPLINE, 0.5, 0.0138, 10.0, limits=RunLimits(eu=0.85), friction=law, barb_k=0.3
    )
    for count, holds in ((run.count, True), (run.count + 1, False)):
        line = Lateral(DRIPLINE, count, 0.5, 0.0138, friction=law, barb_k=0.3)
        assert (float(solve_lateral(line, 10.0).eu) >= 0.85) == holds


def test_static_pressure_counts_downhill():
    # 7 m at the inlet and 3 m of fall make 10 m with everything shut
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, slope=-0.05, limits=RunLimits(head_max=10.0))
    assert run.length <= 60.0 < run.length + 0.3
    assert float(run.solution.max_head) < 10.0


def test_too_much_pressure_at_the_inlet_fails_at_once():
    run = longest_run(TAPE, 0.3, 0.0161, 12.0, slope=0.2, limits=RunLimits(head_max=10.0))
    assert (run.count, run.length, run.solution, run.fails_at_once) == (0, 0.0, None, True)
    assert run.governing == "head_max"
    assert run.checks[0].value_at_length is None
    assert not run.checks[0].holds


def test_an_eu_no_device_reaches_fails_at_once():
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=RunLimits(eu=0.99))
    assert run.fails_at_once
    assert run.governing == "eu"


def test_maximum_length():
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=RunLimits(eu=0.5), maximum_length=10.0)
    assert run.governing == "maximum length"
    assert run.count == 33
    run = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=RunLimits(), maximum_length=10.0)
    assert (run.count, run.checks) == (33, ())


def test_compensating_runs_further():
    limits = RunLimits(eu=0.9)
    flat = longest_run(FLAT, 0.3, 0.0138, 15.0, limits=limits)
    plain = longest_run(
        Emitter(1.6e-3 / 3600.0, 10.0, 0.5, 0.05, 5.0, 40.0), 0.3, 0.0138, 15.0, limits=limits
    )
    assert flat.count > 1.3 * plain.count
    assert float(flat.solution.min_head) < 5.0  # just below compensation


def test_first_spacing_and_barbs_shorten():
    limits = RunLimits(eu=0.9)
    base = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=limits)
    far = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=limits, first_spacing=10.0)
    barbed = longest_run(TAPE, 0.3, 0.0161, 7.0, limits=limits, barb_length=0.3)
    assert far.length == pytest.approx(10.0 + 0.3 * (far.count - 1))
    assert barbed.count < base.count


def test_wrong_arguments():
    def call(**change):
        values = {"inlet_head": 7.0, "limits": RunLimits(eu=0.9), **change}
        return lambda: longest_run(TAPE, 0.3, 0.0161, **values)

    for make, field in (
        (call(inlet_head=0.0), "inlet_head"),
        (call(maximum_length=0.1), "maximum_length"),
        (call(slope=3.0), "slope"),
        (lambda: RunLimits(eu=1.2), "eu"),
        (lambda: RunLimits(head_max=-1.0), "head_max"),
        (lambda: RunLimits(head_variation=1.5), "head_variation"),
        (lambda: RunLimits(flush_velocity_min=-0.1), "flush_velocity_min"),
        (call(friction="best"), "friction"),
        (call(barb_k=-1.0), "barb_k"),
        (lambda: RunLimits(per_plant=0), "per_plant"),
    ):
        with pytest.raises(InputError) as error:
            make()
        assert error.value.field == field
