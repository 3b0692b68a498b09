"""The year of upkeep as people read it."""

import pytest

from evenrow.calculators.data import numbers
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text
from evenrow.errors import InputError, InputErrors


def document(system="metric", log=None, **changes):
    found = default_document(CALCULATORS["upkeep"], system)
    for key, value in changes.items():
        put(found, key.replace("__", "."), value)
    if log is not None:
        rows = [dict(zip(("date", "measured", "note"), row, strict=False)) for row in log]
        put(found, "checks.log", rows)
    return found


def result(**changes):
    return answer(document(**changes))[1]


def item(found, name):
    items = [i for s in found.sections for i in s.items if getattr(i, "name", "") == name]
    return items[0] if items else None


def jobs(found):
    return {row[0]: row for row in item(found, "jobs").rows}


def titles(found):
    return [section.title for section in found.sections]


def warned(found, level="warning"):
    return " ".join(notice.text for notice in found.notices if notice.level == level)


def problems(**changes):
    with pytest.raises((InputError, InputErrors)) as caught:
        answer(document(**changes))
    errors = getattr(caught.value, "errors", [caught.value])
    return {error.field: error.code for error in errors}


def test_the_year_begins_before_the_season():
    found = result()
    assert found.headline.text.startswith("25 March: look over the head")
    assert found.headline.label == "First job of a year"
    months = item(found, "months").rows
    assert months[0][0] == "March"
    assert months[-1] == ("November to February", "Nothing")


def test_the_next_jobs_come_with_their_dates():
    found = result(today="2026-06-25")
    assert found.headline.label == "Next job"
    # Walks come each week from 22 April on.
    assert found.headline.text == "1 July 2026: walk the rows while they run"
    assert "8 July 2026: look for rodents" in found.verdict
    turned = result(
        system="us", today="31 December 2026", season__by="frost", season__frost_first="none"
    )
    # Day 364 of a season that began on 1 January: its 52nd week, and the eve of the next.
    assert turned.headline.text.startswith("December 31, 2026: ")
    assert "December 31, 2026: walk" in turned.verdict


def test_a_job_of_today_is_the_next_one():
    assert result(today="15 April 2027").verdict.startswith("Then ")
    assert result(today="2027-03-25").headline.text.startswith("25 March 2027")
    assert result(today="2027-03-26").headline.text.startswith("1 April 2027")


def test_south_of_the_equator_the_year_turns_around():
    found = result(
        season__start="1 October",
        season__end="31 March",
        season__frost_first="may",
        season__frost_last="september",
    )
    months = [row[0] for row in item(found, "months").rows]
    assert months[0] == "September"
    assert jobs(found)["Make it proof against frost"][1] == "7 April"
    assert jobs(found)["Walk the rows while they run"][1] == (
        "each week, October to March (25 times)"
    )
    assert "frost (" not in warned(found)


def test_the_season_follows_from_the_months_with_frost():
    found = result(season__by="frost", season__frost_first="june", season__frost_last="august")
    walk = jobs(found)["Walk the rows while they run"]
    assert walk[1] == "each week, September to May (38 times)"
    assert jobs(found)["Make it proof against frost"][1] == "1 June"


def test_without_frost_and_dates_water_runs_all_the_year():
    found = result(season__by="frost", season__frost_first="none", season__frost_last="")
    assert jobs(found)["Walk the rows while they run"][1] == "each week, all the year (52 times)"
    assert "Proof against frost" not in titles(found)
    assert "air" not in warned(found, "caution").split()


def test_frost_in_every_month_leaves_no_season():
    assert problems(season__by="frost", season__frost_first="may", season__frost_last="april") == {
        "season.frost_last": "no_season"
    }


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"season__start": "31 June"}, "season.start", "not_a_date"),
        ({"season__end": "5/6"}, "season.end", "ambiguous"),
        ({"season__end": ""}, "season.end", "missing"),
        ({"today": "tomorrow"}, "today", "not_a_date"),
        ({"today": "5/6/2026"}, "today", "ambiguous"),
        ({"today": "0001-01-01"}, "today", "not_a_date"),
        ({"log": [("yesterday", "90 %")]}, "checks.log.0.date", "not_a_date"),
        ({"log": [("2026-01-01", "105 %")]}, "checks.log.0.measured", "out_of_range"),
        ({"log": [("2026-01-01", "-5 %")]}, "checks.log.0.measured", "out_of_range"),
        ({"watering__hours": "0 h"}, "watering.hours", "out_of_range"),
        ({"watering__hours": "169 h"}, "watering.hours", "out_of_range"),
        ({"season__frost_first": "smarch"}, "season.frost_first", "not_a_choice"),
    ],
)
def test_bad_input_is_told_at_its_field(changes, field, code):
    assert problems(**changes) == {field: code}


def test_frost_without_its_end_is_asked_for():
    assert problems(season__frost_last="") == {"season.frost_last": "missing"}


def test_chemicals_carry_their_caution_at_the_step_and_below():
    found = result(water__treatment="both", water__hazard="high")
    for name in ("Dose chlorine (never with acid)", "Dose acid (never with chlorine)"):
        assert "Never mix" in jobs(found)[name][-1]
        assert "label is the law" in jobs(found)[name][-1]
    assert "Never mix" in warned(found, "caution")
    assert "Never mix" not in warned(result(), "caution")


def test_blowing_out_names_what_the_line_bears_and_the_danger():
    steps = " ".join(item(result(system="us", line__device="tape-16-thin"), "winter").items)
    assert "it can blind" in steps
    # Thin tape of the catalogue: 15 psi or less.
    assert "less than the line bears (" in steps
    assert "psi)" in steps


def test_a_pump_is_locked_before_it_is_touched():
    found = result(source__kind="pond-pump")
    for name in ("spring", "winter"):
        assert any("lock it" in step for step in item(found, name).items), name
    assert "high" in warned(found, "note")


def test_water_in_months_with_frost_is_warned_of():
    assert "April" in warned(result())
    assert "frost" not in warned(result(season__start="1 May"))


def test_times_follow_the_lines_and_are_left_out_without_them():
    short = numbers(result(), "metric")
    assert short["flush_all"]["value"] == pytest.approx(480.0)
    longer = numbers(result(lines__length="9120 m", lines__runs="24"), "metric")
    assert longer["flush_all"]["value"] > short["flush_all"]["value"]
    assert longer["year_time"]["value"] > short["year_time"]["value"]
    bare = result(lines__length="")
    assert item(bare, "flush_all") is None
    assert "missing" in item(bare, "year_time").rule
    assert "Walk the rows while they run" in jobs(bare)
    assert jobs(bare)["Walk the rows while they run"][2] is None


def test_pieces_of_one_length_count_each():
    together, apart = (default_document(CALCULATORS["upkeep"], "metric") for _ in range(2))
    put(together, "stock.offcuts", [{"length": "4 m", "pieces": "3"}])
    put(apart, "stock.offcuts", [{"length": "4 m"}] * 3)
    _, first, _ = answer(together)
    _, second, _ = answer(apart)
    assert first == second


def test_offcuts_are_held_against_the_repair_stock():
    found = document(stock__couplings="9", lines__length="1000 m")
    put(found, "stock.offcuts", [{"length": "4 m"}, {"length": "0.3 m"}])
    rows = {row[0]: row[1:] for row in item(answer(found)[1], "stock").rows}
    assert rows["The line itself, from off-cuts"] == ("10\u00a0m", "4\u00a0m", "6\u00a0m")
    assert rows["Couplings for the line"] == ("6", "9", "nothing")
    assert rows["Hole plugs"] == ("10", "0", "10")


def test_the_log_in_any_order_says_the_same_and_that_it_was_sorted():
    rows = [("2023-05-20", "92 %"), ("2024-05-18", "91 %"), ("2026-05-23", "87 %")]
    straight, turned = result(log=rows), result(log=rows[::-1])
    assert straight.sections == turned.sections
    assert "sorted" in warned(turned, "note")
    assert "sorted" not in warned(straight, "note")


def test_the_default_log_falls_and_says_when():
    found = result()
    assert item(found, "trend").text == "falling, about −1.8 points a year"
    # 86.6 % by the line in May 2026, 1.8 points a year above 85 %: a year.
    assert item(found, "reaches").text.startswith("about May 2027, between now and ")
    assert item(found, "uniformity").svg.startswith("<svg")


@pytest.mark.parametrize(
    ("log", "words", "drawn"),
    [
        ([], None, False),
        ([("2024-05-01", "90 %")], "too few checks", False),
        ([("2024-05-01", "90 %"), ("2025-05-01", "70 %")], "too few checks", True),
        ([("2024-05-01", f"{p} %") for p in (90, 80, 70)], "all checks are of one day", True),
        (
            [(f"{2020 + i}-05-01", f"{p} %") for i, p in enumerate((90, 85, 91, 87))],
            "no clear",
            True,
        ),
        ([(f"{2020 + i}-05-01", f"{p} %") for i, p in enumerate((70, 80, 90))], "rising", True),
    ],
)
def test_no_more_is_said_than_the_checks_bear_out(log, words, drawn):
    found = result(log=log)
    assert words is None or words in item(found, "trend").text
    assert item(found, "reaches") is None
    assert (item(found, "uniformity") is not None) == drawn


@pytest.mark.parametrize(
    ("shares", "wanted", "words"),
    [
        ((96, 91, 86, 80), "85 %", "below it already"),
        ((97, 96, 95, 94, 93, 92), "40 %", "not in ten years"),
        ((97, 95, 93, 91, 89, 87), "80 %", "between "),
        ((97, 95, 93, 91, 89, 87), "70 %", "at the soonest"),
        ((97, 95, 93, 91, 89, 87), "63 %", "hardly in ten years"),
    ],
)
def test_when_it_falls_too_low_is_told_with_its_doubt(shares, wanted, words):
    log = [(f"{2020 + i}-05-01", f"{share} %") for i, share in enumerate(shares)]
    assert words in item(result(log=log, limits__eu=wanted), "reaches").text


def test_a_low_check_and_odd_dates_are_minded():
    low = result(log=[("2025-06-01", "60 %")], today="2026-12-01")
    assert "below the 85\u00a0% wanted" in warned(low)
    assert "more than a year old" in warned(low, "note")
    late = result(log=[("2027-06-01", "95 %")], today="2026-12-01")
    assert "later than today" in warned(late)


def test_what_the_grower_reads_names_months_units_and_law():
    found, us = answer(document(system="us"))[1], "us"
    text = to_text(found, us, explain=True)
    for words in ("psi", "ft/s", "licensed", "common practice, no source", "Fieller"):
        assert words in text, words
    assert "HortTechnology" in jobs(found)["Look over the head assembly"][-1]
    metric = to_text(result(), "metric", explain=True)
    assert " psi" not in metric
    assert "bar" in metric
