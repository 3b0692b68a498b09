import json

import pytest

from evenrow.calculators.data import to_data
from evenrow.calculators.reading import default_document, read
from evenrow.calculators.result import Column, Fact, Number, Result, Section, Table
from evenrow.calculators.text import WIDTH, to_text


@pytest.fixture
def result(calculator):
    inputs, system = read(calculator, default_document(calculator, "us"))
    return calculator.run(inputs, system)


def test_the_answer_comes_first(result):
    lines = to_text(result, "us", "My field").splitlines()
    assert lines[0] == "My field"
    assert lines[2] == "Total length  310\u00a0ft"
    assert lines[3].startswith("That is how much line to buy.")


def test_rules_and_sources_come_only_when_asked_for(result):
    short, long = to_text(result, "us"), to_text(result, "us", explain=True)
    for text in ("Sum over the rows.", "common practice", "Looked."):
        assert text not in short
        assert text in long


def test_every_part_of_the_answer_is_there(result):
    text = to_text(result, "metric", cautions=("Follow your local code.",))
    for part in (
        "94.5\u00a0m",
        "Warning: Mind the <b>ends</b>.",
        "What limits  Nothing.",
        "Slope        –",
        "Measured along the row.",
        "1. First.",
        "2. Then.",
        "Plan\n  Rows.",
        "Caution: Follow your local code.",
    ):
        assert part in text


def test_lines_are_narrow_and_numbers_line_up(result):
    lines = to_text(result, "metric").splitlines()
    assert max(len(line) for line in lines) <= WIDTH
    ends = {len(line) for line in lines if line.endswith("\u00a0m") and "Total" not in line}
    assert len(ends) == 1


def test_data_is_plain_json_with_values_and_texts(result):
    data = json.loads(json.dumps(to_data(result, "us"), allow_nan=False))
    assert data["headline"]["value"] == pytest.approx(94.488)
    assert data["headline"]["unit"] == "m"
    assert data["headline"]["text"] == "310\u00a0ft"
    items = {item["name"]: item for item in data["sections"][0]["items"]}
    assert items["list"]["rows"][1][1] == {"value": 123.456, "text": "405\u00a0ft"}
    assert items["list"]["rows"][2][0] == {"value": None, "text": "–"}
    assert items["order"]["items"] == ["First.", "Then."]
    assert items["plan"]["alternative"] == "Rows."


def test_long_headings_break_so_that_a_table_fits():
    columns = tuple(
        Column(name=f"c{i}", label="Highest pressure of all", kind="count") for i in range(6)
    )
    table = Table(name="wide", title="Wide", columns=columns, rows=((1, 2, 3, 4, 5, 60000),))
    headline = Number(name="n", label="N", value=1, kind="count")
    section = Section(title="S", items=(table,))
    text = to_text(Result(headline=headline, verdict="So.", sections=(section,)), "us")
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert "60\u202f000" in text


def test_what_explains_a_row_stands_below_it_and_only_when_asked():
    columns = (
        Column(name="what", label="What"),
        Column(name="count", label="Count", kind="count"),
        Column(name="why", label="Why", detail=True),
    )
    why = "because " + "every part of a long reason has its room " * 4
    table = Table(name="t", title="Jobs", columns=columns, rows=(("a job", 3, why), ("b", 4, None)))
    result = Result(
        headline=Fact(name="f", label="F", text="x"),
        verdict="v",
        sections=(Section(title="S", items=(table,)),),
    )
    plain = to_text(result, "metric")
    assert "because" not in plain
    lines = to_text(result, "metric", explain=True).splitlines()
    start = lines.index("a job      3")
    assert lines[start + 1].startswith("    because every part")
    assert len(lines[start + 1]) > 60
    assert lines[-1] == "b          4"
