"""Where cups go on a design, what they should give, and how long water takes there."""

import math

import numpy as np
import pytest

from evenrow.calculators.build_fields import build_choices
from evenrow.calculators.reading import read
from evenrow.calculators.registry import CALCULATORS
from evenrow.design.cup_map import cup_places, expected_cups
from evenrow.design.demos import NAMES, demo
from evenrow.design.expected import Expected
from evenrow.design.field import field_of
from evenrow.design.solve import design
from evenrow.design.travel import travel_times
from evenrow.hydraulics.lateral import solve_lateral


def found(name, **changes):
    document = demo(name)
    for path, value in changes.items():
        group, _, key = path.partition("__")
        document.setdefault(group, {})[key] = value
    inputs, system = read(CALCULATORS["whole-field"], document)
    field = field_of(inputs, system)
    return design(field, build_choices(inputs["build"], timer=field.timer))


@pytest.fixture(scope="module")
def designs():
    made = {name: found(name) for name in NAMES}
    made["middle"] = found("raspberries", header__place="middle")
    return made


@pytest.mark.parametrize("name", [*NAMES, "middle"])
def test_four_lines_and_four_places_of_every_zone(designs, name):
    made = designs[name]
    cups = cup_places(made)
    for zone in made.candidate.layout.zones:
        mine = [cup for cup in cups if cup.zone == zone.number]
        lines = dict.fromkeys((cup.row, cup.line, cup.away) for cup in mine)
        total = sum(row.lines for row in made.field.rows[slice(*zone.rows)])
        assert len(lines) == min(4, total)
        assert len(mine) == 4 * len(lines)
        first, last = made.field.rows[zone.rows[0]], made.field.rows[zone.rows[1] - 1]
        assert (mine[0].row, mine[0].line) == (first.number, 1)
        assert (mine[-1].row, mine[-1].line) == (last.number, last.lines)
        for row, line, away in lines:
            here = [cup for cup in mine if (cup.row, cup.line, cup.away) == (row, line, away)]
            assert [cup.place for cup in here] == ["near", "third", "two-thirds", "far"]
            far = here[-1].distance
            assert [cup.distance / far for cup in here] == pytest.approx(
                [0.0, 1 / 3, 2 / 3, 1.0], abs=0.12
            )
            length = made.field.rows[here[0].index].length
            assert all(-1e-9 <= cup.along <= length + 1e-9 for cup in here)


def test_a_header_in_the_middle_is_checked_on_both_sides(designs):
    assert {cup.away for cup in cup_places(designs["middle"])} == {1, -1}
    cups = cup_places(designs["middle"])
    middle = designs["middle"].field.rows[0].length / 2
    assert all((cup.along - middle) * cup.away > 0 for cup in cups)


@pytest.mark.parametrize("name", [*NAMES, "middle"])
def test_cups_give_what_their_line_gives_by_itself(designs, name):
    expected = Expected(designs[name])
    for cup in expected_cups(expected):
        network = expected.zones[cup.at.zone - 1]
        running = expected.clean[cup.at.zone - 1]
        ends = [(end.row, end.line, end.away) for end in network.ends]
        outlet = ends.index((cup.at.row, cup.at.line, cup.at.away))
        lateral = network.laterals[int(network.kinds[outlet])]
        alone = solve_lateral(lateral, float(running.outlet_heads[outlet]))
        assert cup.flow == pytest.approx(float(alone.flow[cup.at.emitter]), rel=1e-6)
        assert cup.head == pytest.approx(float(alone.head[cup.at.emitter]), rel=1e-6)
        assert float(lateral.positions[cup.at.emitter]) == pytest.approx(cup.at.distance)


@pytest.mark.parametrize("name", [*NAMES, "middle"])
def test_travel_time_pipe_by_pipe(designs, name):
    # Every line by itself: volume over flow of each pipe on its way, added up.
    expected = Expected(designs[name])
    times = travel_times(expected)
    for network, running, time in zip(expected.zones, expected.clean, times, strict=True):
        flows = [float(q) for q in running.outlet_flows]
        main = sum(p.length * math.pi / 4 * p.diameter**2 for p in network.main) / sum(flows)
        length = np.asarray(network.header.length)
        area = math.pi / 4 * np.asarray(network.header.diameter) ** 2
        feed = network.header.feed
        longest = 0.0
        for k, head in enumerate(running.outlet_heads):
            way = main
            steps = range(feed, k + 1) if k >= feed else range(feed - 1, k - 1, -1)
            for i in steps:
                beyond = sum(flows[i:]) if k >= feed else sum(flows[: i + 1])
                way += float(length[i] * area[i]) / beyond
            lateral = network.laterals[int(network.kinds[k])]
            longest = max(longest, way + float(solve_lateral(lateral, float(head)).travel_time))
        assert time == pytest.approx(longest, rel=2e-3)


def test_slower_emitters_take_longer(designs):
    quick = max(travel_times(Expected(designs["raspberries"])))
    coarse = found("raspberries", line__spacing="24 in")
    assert max(travel_times(Expected(coarse))) > quick
