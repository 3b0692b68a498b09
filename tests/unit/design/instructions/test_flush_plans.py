"""Flushing: what is promised for each zone runs when that very zone is solved."""

from dataclasses import replace

import numpy as np
import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import End, Expected
from evenrow.design.field import field_of
from evenrow.design.instructions import flushing, flushing_steps
from evenrow.design.instructions.flushing import ZoneFlush, flush_plans
from evenrow.design.solve import design
from evenrow.errors import ConvergenceError
from evenrow.hydraulics.end_curves import TOLERANCE
from evenrow.hydraulics.flush_lateral import FLUSH_VELOCITY, flush_at
from evenrow.hydraulics.flush_many import ManyFlush
from evenrow.hydraulics.flushing import flush_state


def field(name, **changes):
    inputs, system = read(CALCULATOR, demo(name))
    return replace(field_of(inputs, system), **changes)


@pytest.fixture(scope="module")
def demos():
    return {name: Expected(design(field(name))) for name in NAMES}


@pytest.fixture(scope="module")
def plans(demos):
    return {name: flush_plans(expected) for name, expected in demos.items()}


def state(expected, network, ends):
    """Solve one zone itself with some of its ends open."""
    found = expected.found
    return flush_state(
        found.field.source,
        found.candidate.assembly.components(dirty=False),
        network.main,
        network.header,
        network.laterals,
        network.kinds,
        np.array([end in ends for end in network.ends]),
        viscosity=found.field.line.viscosity,
    )


@pytest.mark.parametrize("name", NAMES)
def test_what_is_opened_together_runs(demos, plans, name):
    for network, plan in zip(demos[name].zones, plans[name], strict=True):
        groups = [plan.ends] if plan.all_run else plan.groups
        for group in groups[:3]:
            opened = state(demos[name], network, group)
            assert opened.runs.sum() == len(group)
            for k in np.flatnonzero(opened.open_ends)[:2]:
                # The line alone at that head, by another way of solving it.
                lateral = network.laterals[int(network.kinds[k])]
                alone = flush_at(lateral, float(opened.system.outlet_heads[k]))
                assert alone.end_velocity == pytest.approx(opened.end_velocities[k], rel=1e-3)
                assert alone.end_velocity >= FLUSH_VELOCITY


@pytest.mark.parametrize("name", NAMES)
def test_every_end_is_flushed_once(plans, name):
    for plan in plans[name]:
        flushed = (
            list(plan.ends)
            if plan.all_run
            else [*plan.order, *(end for group in plan.groups for end in group), *plan.stuck]
        )
        assert sorted((end.row, end.line, end.away) for end in flushed) == sorted(
            (end.row, end.line, end.away) for end in plan.ends
        )


@pytest.mark.parametrize("name", NAMES)
def test_the_slowest_end_is_no_slower_in_a_zone_than_in_the_one_solved_for_it(demos, plans, name):
    for network, plan in zip(demos[name].zones, plans[name], strict=True):
        own = state(demos[name], network, network.ends)
        assert own.end_velocities.min() >= plan.slowest * (1.0 - TOLERANCE)
        if plan.zone == plan.solved and plan.all_run:
            assert own.end_velocities.min() == pytest.approx(plan.slowest, rel=TOLERANCE)


def test_which_demos_run_at_once(plans):
    # Garden tape on a regulator of 0.55 bar and a tank of 1.3 m do not; the others do.
    assert [all(plan.all_run for plan in plans[name]) for name in NAMES] == [
        True, False, True, False,
    ]  # fmt: skip


def test_zones_alike_are_solved_once(plans):
    solved = {plan.zone: plan.solved for plan in plans["market-garden"]}
    assert solved[1] == solved[2]
    assert solved[3] == solved[4] == solved[5] == solved[6]
    assert solved[1] != solved[3]


def test_groups_keep_rows_whole_where_they_fit(plans):
    lettuce = plans["market-garden"][0]
    assert [{end.row for end in group} for group in lettuce.groups] == [{2}, {3}, {1}]


def test_lines_go_out_from_the_feed_one_by_one(plans):
    ways = [abs(group[0].way) for group in plans["school-garden"][0].groups]
    assert len(ways) == 16
    assert ways == sorted(ways)


def test_a_weak_tap_closes_one_after_the_other():
    # Long thin header on a weak tap: the near ends run at first, the far ones only later.
    plain = field("raspberries")
    found = design(replace(plain, source=replace(plain.source)))
    expected = Expected(found)
    assert flush_plans(expected)[0].all_run
    thin, expected = expected.zones[0], Expected(found)
    header = replace(thin.header, diameter=np.full(5, 0.0095))
    expected.__dict__["zones"] = (replace(thin, header=header),)
    plan = flush_plans(expected)[0]
    assert 0 < plan.running < 5
    assert [end.row for end in plan.order] == [1, 2, 3, 4, 5]
    assert plan.nearest_first
    assert 0 < plan.together < 5
    left = plan.order[-plan.together :]
    assert state(expected, expected.zones[0], left).runs.sum() == plan.together
    words = " ".join(flushing_steps.flushing_steps(found, expected))
    assert "Let the strongest run clear" in words
    assert "rows 1 to 5" in words


def test_ends_that_never_run_are_told():
    expected = Expected(design(field("raspberries")))
    thin = expected.zones[0]
    header = replace(thin.header, diameter=np.full(5, 0.0045))
    expected.__dict__["zones"] = (replace(thin, header=header),)
    plan = flush_plans(expected)[0]
    assert plan.stuck
    for end in plan.stuck:
        assert not state(expected, expected.zones[0], [end]).runs.any()
    words = " ".join(flushing_steps.flushing_steps(expected.found, expected))
    assert "Not even alone" in words
    assert "several minutes" in words


def test_a_zone_that_cannot_be_solved_keeps_the_common_order(monkeypatch):
    expected = Expected(design(field("raspberries")))

    def fail(*args, **options):
        raise ConvergenceError("it does not settle", code="not_converged")

    monkeypatch.setattr(ManyFlush, "states", fail)
    monkeypatch.setattr(ManyFlush, "all_open_and_watering", fail)
    assert flush_plans(expected) == (None,)
    words = flushing_steps.flushing_steps(expected.found, expected)
    assert any("close the ends nearest the feed first" in step for step in words)


def test_too_many_ends_for_an_order_keep_the_common_one(monkeypatch):
    expected = Expected(design(field("school-garden")))
    monkeypatch.setattr(flushing, "ORDER_MAX", 15)
    plan = flush_plans(expected)[0]
    assert plan.order == plan.groups == ()
    words = " ".join(flushing_steps.flushing_steps(expected.found, expected))
    assert "Close the ends nearest the feed first and go outward" in words


def test_a_slow_header_is_told():
    ends = (End(row=1, line=1, away=1, length=10.0, way=0.0),)
    plan = ZoneFlush(
        zone=1, solved=1, ends=ends, running=1, slowest=0.5, flow=1e-4, header_velocity=0.2
    )
    text = flushing_steps._header_step([plan], "metric", tee=False)
    assert "only 0.2\N{NO-BREAK SPACE}m/s" in text
    fast = replace(plan, header_velocity=0.9)
    assert "only" not in flushing_steps._header_step([fast], "metric", tee=False)
    assert "leaves it" not in flushing_steps._header_step([fast, None], "metric", tee=False)


@pytest.mark.parametrize("name", NAMES)
def test_the_order_is_main_header_lines_filter(demos, name):
    steps = flushing_steps.flushing_steps(demos[name].found, demos[name])
    assert steps[0].startswith("Flush the main")
    assert "Before you punch the header" in steps[1]
    assert steps[-1].startswith("Clean the filter")


ENDS = tuple(
    End(row=row, line=line, away=1, length=10.0, way=float(row - 3))
    for row in (1, 2, 4)
    for line in (1, 2)
)
PLAIN = ZoneFlush(zone=1, solved=1, ends=ENDS, running=6, slowest=0.5, flow=1e-3)


def words(flush, *, several=False):
    return flushing_steps._lines_step([flush], "metric", several=several)


def test_flow_beyond_the_source_is_told():
    assert "in turns" in words(replace(PLAIN, beyond_source=True))
    assert "in turns" not in words(PLAIN)


def test_ground_that_turns_the_order_round_is_told():
    ordered = replace(PLAIN, running=2, order=ENDS[::-1], together=3)
    assert "because of the ground" in words(replace(ordered, nearest_first=False))
    assert "because of the ground" not in words(ordered)
    assert "rows 4, 2, 1" in words(ordered)


def test_zones_are_named_only_where_there_are_several():
    assert words(PLAIN).startswith("All 6 ends")
    assert words(PLAIN, several=True).startswith("Zone 1: All 6 ends")
