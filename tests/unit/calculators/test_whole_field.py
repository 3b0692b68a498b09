"""The whole field's page: what it says, in which order, of which catalogue."""

from dataclasses import replace
from pathlib import Path

import pytest

from evenrow.calculators.parts_text import money
from evenrow.calculators.registry import answer
from evenrow.calculators.result import Figure, Table
from evenrow.calculators.text import to_text
from evenrow.catalogue import builtin, using
from evenrow.design.demos import NAMES, demo
from evenrow.errors import InputErrors

GOLDEN = Path(__file__).parents[2] / "golden"


def answered(name, **changes):
    document = demo(name)
    for path, value in changes.items():
        group, _, key = path.partition("__")
        document.setdefault(group, {})[key] = value
    return answer(document)[1]


def items(result):
    return {item.name: item for section in result.sections for item in section.items}


@pytest.mark.parametrize("name", NAMES)
def test_the_text_of_a_demo_is_the_one_that_was_read_and_found_true(name):
    # Made by ``evenrow design pycore/evenrow/design/demos/NAME.toml``; when it changes, read it.
    _, result, system = answer(demo(name))
    expected = (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")
    assert to_text(result, system, demo(name)["name"]) == expected


def test_the_sections_come_in_the_order_of_need():
    result = answered("raspberries")
    titles = [section.title for section in result.sections]
    assert titles[:7] == [
        "The answer in short",
        "Plan",
        "Zones",
        "Pressure",
        "Sizes",
        "Parts",
        "Cutting plan",
    ]
    assert titles[-2:] == ["How even", "Check and treat it later"]
    assert len(set(titles)) == len(titles)
    names = [item.name for section in result.sections for item in section.items]
    assert len(set(names)) == len(names)


def test_hours_and_price_in_short_add_up():
    found = items(answered("market-garden"))
    zones = found["zones"]
    at = [column.name for column in zones.columns].index("hours")
    assert found["hours"].value == pytest.approx(sum(row[at] for row in zones.rows))
    total = 0.0
    for table in found.values():
        if isinstance(table, Table) and table.name.startswith("parts_"):
            prices = [column.name for column in table.columns].index("price")
            total += sum(float(row[prices]) for row in table.rows)
    assert found["price"].text == f"USD {money(total)}"


def test_several_zones_say_what_one_fewer_would_need():
    found = items(answered("market-garden"))
    assert "solved" in found["one_fewer"].text
    assert "one_fewer" not in items(answered("raspberries"))


def test_numbers_of_the_plan_are_rows_of_the_list():
    found = items(answered("raspberries"))
    tables = [t for t in found.values() if isinstance(t, Table) and t.name.startswith("parts_")]
    numbers = [mark.part for table in tables for mark in table.marks]
    assert numbers == list(range(1, len(numbers) + 1))
    shown = [row[1] for table in tables for row in table.rows]
    assert shown == numbers
    plan = found["plan"]
    assert isinstance(plan, Figure)
    assert 'data-part="1"' in plan.svg


def test_the_regulator_is_held_against_every_zone():
    table = items(answered("market-garden"))["regulator"]
    at = [column.name for column in table.columns]
    for row in table.rows:
        cells = dict(zip(at, row, strict=True))
        assert cells["state"] == "regulating"
        assert cells["least"] <= cells["flow"] <= cells["most"]
    assert "regulator" not in items(answered("school-garden"))


def test_the_best_place_is_said_with_its_share():
    text = items(answered("winter-squash", header__place="best"))["header_place"].text
    assert "% of the way along the rows" in text
    assert items(answered("winter-squash"))["header_place"].text == "at the near end of the rows"


def test_only_the_built_in_catalogue_is_called_invented():
    note = answered("raspberries").notices[0].text
    assert builtin().mark in note
    assert "invented" in note
    with using(replace(builtin(), name="Our counter", version="7")):
        note = answered("raspberries").notices[0].text
    assert "Our counter, version 7" in note
    assert "invented" not in note


def test_an_injector_changes_the_head_and_defers_to_the_local_code():
    plain, injected = answered("raspberries"), answered("raspberries", assembly__injection=True)
    order = " ".join(items(injected)["assembly"].items)
    assert order.index("educed-pressure backflow preventer") < order.index("njector")
    assert order.index("njector") < order.index("ilter")
    assert "educed-pressure" not in " ".join(items(plain)["assembly"].items)
    cautions = [notice.text for notice in injected.notices if notice.level == "caution"]
    assert any("local code decides" in text for text in cautions)
    assert not any("local code decides" in notice.text for notice in plain.notices)


def test_choices_for_building_reach_the_parts():
    found = items(answered("raspberries", build__takeoff_valves=True))
    labels = " ".join(str(row) for row in found["parts_line"].rows)
    assert "valve" in labels


LOG = [
    {"date": "2024-05-01", "measured": "95 %"},
    {"date": "2025-05-03", "measured": "92 %"},
    {"date": "2026-05-02", "measured": "90 %", "note": "flushed"},
]


def test_the_log_of_checks_is_kept_in_the_design_and_shown():
    plain, logged = answered("raspberries"), answered("raspberries", checks__log=LOG)
    assert "last_check" not in items(plain)
    shown = items(logged)
    assert shown["last_check"].value == pytest.approx(0.90)
    assert "flushed" in shown["uniformity"].alternative
    # It changes nothing of what is built.
    assert shown["zones"] == items(plain)["zones"]


def test_a_log_with_a_wrong_date_names_its_row():
    rows = [*LOG, {"date": "soon", "measured": "90 %"}]
    with pytest.raises(InputErrors) as caught:
        answered("raspberries", checks__log=rows)
    assert [error.field for error in caught.value.errors] == ["checks.log.3.date"]


@pytest.mark.parametrize("name", NAMES)
def test_cups_of_the_weakest_zone_are_listed_and_marked(name):
    found = items(answered(name))
    rows = found["cup_list"].rows
    assert [row[1].value for row in rows] == ["near", "third", "two-thirds", "far"] * 4
    zones = len(found["cup_map"].rows)
    assert found["plan"].svg.count('class="er-cup"') == 16 * zones + 1  # One in the key.
