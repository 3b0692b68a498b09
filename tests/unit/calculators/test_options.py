"""Options: what the table offers is what comes out when it is taken."""

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenrow.calculators import html
from evenrow.calculators.data import to_data
from evenrow.calculators.options_take import spacing_text
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text
from evenrow.design.demos import NAMES, demo
from evenrow.errors import ImpossibleError
from evenrow.units import parse


@pytest.fixture(scope="module")
def asked():
    """The options of each demo, worked out once."""
    known = {}

    def ask(name):
        if name not in known:
            known[name] = answer({**demo(name), "calculator": "options"})[1:]
        return known[name]

    return ask


def table_of(result, name="options"):
    return next(item for section in result.sections for item in section.items if item.name == name)


def cells(table, row):
    return dict(zip([column.name for column in table.columns], row, strict=True))


def taken(document, values):
    """Return a document with the values of an option in it, as the page does it."""
    for path, text in values.items():
        *way, last = path.split(".")
        at = document
        for part in way:
            at = at[int(part)] if isinstance(at, list) else at.setdefault(part, {})
        if text:
            at[last] = text
        else:
            at.pop(last, None)
    return document


@pytest.mark.parametrize("name", NAMES)
def test_taking_an_option_gives_the_design_that_it_promised(asked, name):
    table = table_of(asked(name)[0])
    best = [(row, mark) for row, mark in zip(table.rows, table.marks, strict=True) if mark.best]
    assert best
    for row, mark in best:
        said = cells(table, row)
        result = answer(taken(demo(name), mark.take.values))[1]
        found = {item.name: item for section in result.sections for item in section.items}
        assert result.headline.value == said["zones"]
        assert found["eu"].value == pytest.approx(said["eu"], abs=1e-3)
        assert found["price"].text == f"USD {said['price']}"
        assert found["header_pipe"].text.startswith(said["header"])


@pytest.mark.parametrize("name", NAMES)
def test_the_field_as_it_is_is_among_them_with_its_own_price(asked, name):
    table = table_of(asked(name)[0])
    now = [
        (cells(table, row), mark)
        for row, mark in zip(table.rows, table.marks, strict=True)
        if "as it is now" in row[0]
    ]
    assert len(now) == 1
    said, mark = now[0]
    assert mark.take.values == {}
    found = {item.name: item for s in answer(demo(name))[1].sections for item in s.items}
    assert found["price"].text == f"USD {said['price']}"


@pytest.mark.parametrize("name", NAMES)
def test_the_best_come_first_and_none_betters_another(asked, name):
    table = table_of(asked(name)[0])
    marks = [mark.best for mark in table.marks]
    assert marks == sorted(marks, reverse=True)
    every = [cells(table, row) for row in table.rows]
    best = [each for each, mark in zip(every, marks, strict=True) if mark]
    prices = [float(each["price"]) for each in best]
    assert prices == sorted(prices)
    for one in best:
        for other in every:
            cheaper = float(other["price"]) < float(one["price"])
            assert not (cheaper and round(other["eu"], 3) >= round(one["eu"], 3))


def test_the_text_prints_the_frontier_first(asked):
    result, system = asked("raspberries")
    lines = to_text(result, system).splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("Ways to build"))
    assert any(line.startswith("★") for line in lines[start : start + 6])


def test_rows_carry_their_values_into_page_and_data(asked):
    result, system = asked("raspberries")
    page = html.result_html(CALCULATORS["options"], result, system)
    table = table_of(result)
    assert page.count('class="er-button er-take"') == len(table.rows)
    assert 'data-sortable="yes"' in page
    options = re.findall(r'<tr role="row"[^>]* data-option="(\d+)"', page)
    assert options == [mark.option for mark in table.marks]
    assert set(re.findall(r'<g class="er-part" data-option="(\d+)"', page)) == set(options)
    data = next(
        item
        for section in to_data(result, system)["sections"]
        for item in section["items"]
        if item.get("name") == "options"
    )
    assert data["takes"] == [dict(mark.take.values) for mark in table.marks]
    json.dumps(data, allow_nan=False)


def test_what_breaks_a_limit_stands_folded_with_its_reason(asked):
    table = table_of(asked("winter-squash")[0], "broken")
    assert table.folded
    assert all(row[-1] for row in table.rows)
    page = html.result_html(CALCULATORS["options"], *asked("winter-squash"))
    assert '<details class="er-fold" data-why="broken">' in page


def test_own_figures_of_a_line_do_not_go_over_to_another(asked):
    document = {**demo("raspberries"), "calculator": "options"}
    document["line"] = {**document["line"], "own": {"cv": "4 %"}}
    table = table_of(answer(document)[1])
    other = [mark.take.values for mark in table.marks if "line.device" in mark.take.values]
    assert other
    assert all(values["line.own.cv"] == "" for values in other)
    same = [mark.take.values for mark in table.marks if "line.device" not in mark.take.values]
    assert all("line.own.cv" not in values for values in same)


def test_where_no_way_works_the_answer_says_why():
    document = {**demo("school-garden"), "calculator": "options"}
    document["source"] = {"kind": "tank", "water_height": "5 cm"}
    with pytest.raises(ImpossibleError) as caught:
        answer(document)
    assert "ways keeps every limit" in caught.value.message


@given(st.sampled_from(["us", "metric"]), st.integers(1, 100), st.sampled_from([0.01, 0.0254]))
def test_a_spacing_as_text_reads_as_the_same_spacing(system, count, unit):
    spacing = count * unit
    assert parse(spacing_text(spacing, system), "spacing") == pytest.approx(spacing, rel=1e-9)
