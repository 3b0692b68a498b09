"""The instructions as sections: every demo in both unit systems, and one read by eye."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from evenrow.calculators.instruction_sections import instruction_sections
from evenrow.calculators.reading import read
from evenrow.calculators.result import Fact, Result, Steps, Table
from evenrow.calculators.text import to_text
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import NAMES, demo
from evenrow.design.field import field_of
from evenrow.design.layout import Obstacle
from evenrow.design.solve import design

GOLDEN = Path(__file__).parents[2] / "golden" / "raspberries-instructions.txt"
TABLES = ("holes", "cuts", "walk", "expected", "gauges", "cups")
STEPS = ("assembly", "joining", "laying", "flushing", "walking", "diagnosis")


def found_in(name, system):
    inputs, _ = read(CALCULATOR, demo(name))
    return design(field_of(inputs, system))


@pytest.fixture(scope="module")
def answers():
    return {
        (name, system): instruction_sections(found_in(name, system), system)
        for name in NAMES
        for system in ("us", "metric")
    }


def items(sections):
    return {item.name: item for section in sections for item in section.items}


def text_of(sections, system):
    head = Fact(name="instructions", label="Instructions", text="")
    return to_text(Result(headline=head, verdict="", sections=sections), system)


def test_the_raspberries_read_as_they_were_read_by_eye(answers):
    assert text_of(answers["raspberries", "us"], "us") == GOLDEN.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_everything_is_there_once_and_can_be_printed(answers, name, system):
    sections = answers[name, system]
    names = [item.name for section in sections for item in section.items]
    assert sorted(names) == sorted(TABLES + STEPS)
    found = items(sections)
    for key in TABLES:
        assert isinstance(found[key], Table)
        assert found[key].rows
        for row in found[key].rows:
            assert len(row) == len(found[key].columns)
            assert all(math.isfinite(cell) for cell in row if isinstance(cell, float))
    for key in STEPS:
        assert isinstance(found[key], Steps)
        for step in found[key].items:
            assert step.endswith((".", ")"))
            assert step[0].isupper()
            assert "  " not in step
            assert ".." not in step
    text = text_of(sections, system)
    assert "None" not in text
    assert "nan" not in text.split()


@pytest.mark.parametrize("name", NAMES)
def test_both_unit_systems_expect_the_same(answers, name):
    us, metric = (items(answers[name, system]) for system in ("us", "metric"))
    for key, quantities in (
        ("expected", ("meter", "minute", "dirty", "tolerance")),
        ("gauges", ("clean", "dirty")),
    ):
        for quantity in quantities:
            columns = [column.name for column in us[key].columns]
            at = columns.index(quantity)
            assert [row[at] for row in us[key].rows] == pytest.approx(
                [row[at] for row in metric[key].rows], rel=1e-9
            )


@pytest.mark.parametrize("name", NAMES)
def test_words_are_in_the_units_of_the_reader(answers, name):
    # A catalogue label may say both, as in "8 psi (0.55 bar)": look behind the assembly order.
    us, metric = (
        text_of(answers[name, system], system)
        .partition("How to join it")[2]
        .replace("\N{NO-BREAK SPACE}", " ")
        for system in ("us", "metric")
    )
    assert us
    assert metric
    for word in (" bar", " L/h", " m³/h", " cm off"):
        assert word not in us
    for word in (" psi", " gal", " ft", "2 to 3 in"):
        assert word not in metric


def test_there_is_room_to_write_what_was_measured(answers):
    found = items(answers["raspberries", "us"])
    for key in ("expected", "gauges", "cups"):
        at = [column.name for column in found[key].columns].index("measured")
        assert {row[at] for row in found[key].rows} == {""}


def test_the_users_own_bucket_is_filled(answers):
    found = found_in("raspberries", "us")
    at = [c.name for c in items(answers["raspberries", "us"])["expected"].columns].index("fill")
    usual = items(answers["raspberries", "us"])["expected"].rows[0]
    own = items(instruction_sections(found, "us", bucket=0.01))["expected"].rows[0]
    assert own[at] / usual[at] == pytest.approx(0.01 / 0.0189270589, rel=1e-6)


def test_a_bucket_too_small_gives_way_to_a_drum(answers):
    rows = items(answers["winter-squash", "metric"])["expected"].rows
    columns = [c.name for c in items(answers["winter-squash", "metric"])["expected"].columns]
    at = columns.index("bucket")
    assert {row[at].replace("\N{NO-BREAK SPACE}", " ") for row in rows} == {"200 L"}


def test_a_tank_is_read_in_a_tube_in_inches_or_centimetres(answers):
    for system, unit in (("us", "in"), ("metric", "cm")):
        table = items(answers["school-garden", system])["gauges"]
        assert table.title == "Height of water"
        text = text_of(answers["school-garden", system], system)
        assert f"51.1\N{NO-BREAK SPACE}{unit}" in text or f"130\N{NO-BREAK SPACE}{unit}" in text
        assert "The tank has to stand as high" in table.note


def test_only_columns_that_tell_are_shown(answers):
    columns = [column.name for column in items(answers["raspberries", "us"])["holes"].columns]
    assert columns == ["zone", "row", "distance"]
    columns = [column.name for column in items(answers["market-garden", "us"])["holes"].columns]
    assert columns == ["zone", "side", "row", "line", "distance"]


def test_a_header_across_the_rows_says_two_holes():
    inputs, system = read(CALCULATOR, demo("raspberries"))
    found = design(field_of(inputs, system).placed(0.5))
    table = items(instruction_sections(found, system))["holes"]
    assert "one goes to each side of the header" in table.note


def test_rows_of_other_lengths_have_their_own_cut():
    inputs, system = read(CALCULATOR, demo("raspberries"))
    plain = field_of(inputs, system)
    rows = (replace(plain.rows[0], length=12.0), *plain.rows[1:])
    table = items(instruction_sections(design(replace(plain, rows=rows)), system))["cuts"]
    assert [row[1] for row in table.rows] == ["row 1", "rows 2 to 5"]
    # 12 m and a foot are 484.4 in: 40 ft 4.4 in, cut to the next inch.
    assert table.rows[0][3].replace("\N{NO-BREAK SPACE}", " ") == "40 ft 5 in"


def test_uneven_ground_a_path_and_an_injector_are_no_hindrance():
    inputs, system = read(CALCULATOR, demo("raspberries"))
    plain = field_of(inputs, system)
    path = Obstacle(position=1.5, extra=0.8, elbows=4)
    ground = replace(plain.ground, row_survey=((0.0, 0.0), (9.0, 0.4), (18.9, -0.3)))
    wanted = replace(
        plain.placed(0.3),
        ground=ground,
        injection=True,
        route=replace(plain.route, share=0.3, obstacles=(path,), depth=0.3),
    )
    found = items(instruction_sections(design(wanted), system))
    assert any("injector" in step for step in found["joining"].items)
    at = [column.name for column in found["holes"].columns].index("distance")
    holes = [row[at].replace("\N{NO-BREAK SPACE}", " ") for row in found["holes"].rows]
    # 9 ft and 0.8 m (31.5 in) of pipe around the path from row 2 on.
    assert holes == ["0 in", "11 ft 7 1/2 in", "20 ft 7 1/2 in", "29 ft 7 1/2 in", "38 ft 7 1/2 in"]
    assert len(found["cuts"].rows) == 2
