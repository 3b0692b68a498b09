"""Which jobs a system has, how often, and what they take."""

import pytest

from evenrow.agronomy.upkeep import (
    Job,
    Plant,
    by_month,
    flush_time,
    jobs,
    sooner,
    stock_wanted,
    useful,
)
from evenrow.agronomy.upkeep_season import Season, month_start
from evenrow.errors import InputError

MIL = 25.4e-6
SUMMER = Season(start=104, end=272, frost=(10, 4))  # 15 April to 30 September


def plant(**changes):
    usual = {
        "tape": False,
        "wall": 1e-3,
        "perennial": True,
        "source": "hose-tap",
        "hazard": "low",
        "treatment": "none",
        "injected": False,
        "hours": 10.0,
    }
    return Plant(**{**usual, **changes})


def rhythm(season=SUMMER, **changes):
    return {job.code: job for job in jobs(plant(**changes), season)}


def test_jobs_come_in_the_order_of_their_first_days():
    found = jobs(plant(injected=True, treatment="both", source="pond-pump"), SUMMER)
    firsts = [job.first for job in found]
    assert firsts == sorted(firsts)
    assert len({job.code for job in found}) == len(found)


def test_dirtier_water_is_flushed_and_filtered_more_often():
    for code in ("flush", "filter", "cups", "pressures"):
        turns = [len(rhythm(hazard=h)[code].days) for h in ("low", "moderate", "high")]
        assert turns == sorted(turns), code
        assert turns[0] < turns[-1], code


def test_the_first_flushing_comes_within_three_weeks():
    """University of California: every 2 to 3 weeks at first."""
    for hazard in ("low", "moderate", "high"):
        assert 14 <= rhythm(hazard=hazard)["flush"].first <= 21


def test_much_watering_brings_the_flushing_forward():
    assert rhythm(hazard="moderate", hours=10.0)["flush"].every == 21
    # 150 h of watering at 100 h a week are gone in ten days: each week.
    assert rhythm(hazard="moderate", hours=100.0)["flush"].every == 7
    # 75 h of it at 160 h a week in three.
    assert rhythm(hazard="high", hours=160.0)["flush"].every == 3


def test_a_known_interval_of_the_filter_counts_instead_of_the_hazard():
    assert rhythm(hazard="high")["filter"].every == 7
    # 20 h at 10 h a week.
    assert rhythm(hazard="high", filter_hours=20.0)["filter"].every == 14
    assert rhythm(hazard="high", filter_hours=0.1)["filter"].every == 1
    assert rhythm(hazard="high", filter_hours=1e4)["filter"].every == 28


def test_sooner_takes_whole_weeks_then_days_and_at_least_one():
    assert sooner(28, None, 10.0) == 28
    assert sooner(28, 15.0, 10.0) == 7
    assert sooner(28, 9.0, 10.0) == 6
    assert sooner(28, 1e-9, 168.0) == 1


@pytest.mark.parametrize(
    ("changes", "has", "lacks"),
    [
        ({}, set(), {"pump", "tank", "lay", "roll", "pull", "injector", "chlorine"}),
        ({"source": "pump"}, {"pump", "suction"}, {"tank"}),
        ({"source": "tank"}, {"tank"}, {"pump", "suction"}),
        ({"perennial": False}, {"lay", "roll"}, {"pull"}),
        ({"perennial": False, "tape": True, "wall": 8 * MIL}, {"lay", "pull"}, {"roll"}),
        ({"perennial": False, "tape": True, "wall": 15 * MIL}, {"lay", "roll"}, {"pull"}),
        ({"perennial": True, "tape": True, "wall": 8 * MIL}, set(), {"lay", "pull", "roll"}),
        ({"injected": True}, {"injector"}, set()),
        ({"treatment": "chlorine"}, {"chlorine"}, {"acid"}),
        ({"treatment": "acid"}, {"acid"}, {"chlorine"}),
        ({"treatment": "both"}, {"acid", "chlorine"}, set()),
    ],
)
def test_a_system_has_the_jobs_of_its_parts(changes, has, lacks):
    codes = set(rhythm(**changes))
    assert has <= codes
    assert not lacks & codes
    assert {"flush", "filter", "walk", "backflow", "open", "compare", "stock"} <= codes


def test_injectors_are_checked_at_least_twice_a_season():
    """HortTechnology 2(1): 38 (1992)."""
    for days in (30, 60, 120, 250):
        season = Season(start=100, end=99 + days)
        assert len(rhythm(season, injected=True)["injector"].days) >= 2, days


def test_lines_that_rest_long_without_frost_are_run_now_and_then():
    warm = Season(start=104, end=272)
    rest = rhythm(warm)["rest"]
    assert rest.days[0] > 168
    assert rest.days[-1] <= 365 - 22
    assert "winterise" not in rhythm(warm)
    assert "rest" not in rhythm(SUMMER)
    assert "rest" not in rhythm(warm, perennial=False)


def test_all_the_year_has_no_end_of_season():
    codes = rhythm(Season(start=0, end=364), perennial=False)
    assert not {"roll", "pull", "rest", "winterise"} & set(codes)


def test_a_season_of_one_day_still_has_its_jobs_once():
    found = rhythm(Season(start=200, end=200))
    assert found["flush"].days == (0,)
    assert found["walk"].days == (0,)


def test_months_count_every_turn():
    job = Job(code="walk", first=7, every=7, until=168)
    # 22 April to 30 September, on one day of the week.
    assert by_month(job, SUMMER) == {4: 2, 5: 4, 6: 4, 7: 5, 8: 4, 9: 5}
    before = Job(code="inspect", first=-21)
    assert by_month(before, Season(start=month_start(1), end=100)) == {12: 1}


def test_hours_out_of_range_are_refused():
    for hours in (0.0, -1.0, 169.0, float("nan")):
        with pytest.raises(InputError):
            jobs(plant(hours=hours), SUMMER)


def test_flushing_takes_two_minutes_or_the_passage_of_the_water():
    """1 ft/s at the end, a minute or two: University of California."""
    assert flush_time(5 * 18.9, 5, 4) == pytest.approx((120.0, 2 * 240.0))
    each, whole = flush_time(24 * 380.0, 24, 4)
    assert each == pytest.approx(380.0 / 0.3048)
    assert whole == pytest.approx(6 * (each + 120.0))


@pytest.mark.parametrize("bad", [(0.0, 1, 1), (10.0, 0, 1), (10.0, 1, 0), (float("inf"), 1, 1)])
def test_flushing_of_nothing_is_refused(bad):
    with pytest.raises(InputError):
        flush_time(*bad)


def test_the_repair_stock_grows_with_the_length_and_has_a_least():
    assert stock_wanted(10.0) == {"line": 3.0, "coupling": 2, "plug": 5, "cap": 2, "take-off": 1}
    assert stock_wanted(9120.0) == {
        "line": pytest.approx(91.2),
        "coupling": 55,
        "plug": 92,
        "cap": 28,
        "take-off": 19,
    }


def test_short_offcuts_mend_nothing():
    assert useful([]) == 0.0
    assert useful([0.49, 0.5, 3.0]) == pytest.approx(3.5)
