"""Upkeep for any system, season and log: the calendar holds, and no order matters."""

import datetime
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy.upkeep import Plant, by_month, jobs
from evenrow.agronomy.upkeep_season import Season, frost_day, in_frost, month_of
from evenrow.agronomy.upkeep_trend import trend
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text
from evenrow.calculators.upkeep_times import coming, dated
from evenrow.errors import InputError, InputErrors

MONTHS = st.integers(1, 12)
SEASONS = st.builds(
    Season,
    start=st.integers(0, 364),
    end=st.integers(0, 364),
    frost=st.none() | st.tuples(MONTHS, MONTHS),
)
PLANTS = st.builds(
    Plant,
    tape=st.booleans(),
    wall=st.sampled_from([2e-4, 3e-4, 1e-3]),
    perennial=st.booleans(),
    source=st.sampled_from(["hose-tap", "municipal", "pump", "pond-pump", "tank"]),
    hazard=st.sampled_from(["low", "moderate", "high"]),
    treatment=st.sampled_from(["none", "chlorine", "acid", "both"]),
    injected=st.booleans(),
    hours=st.floats(0.01, 168.0),
    filter_hours=st.none() | st.floats(0.1, 1e4),
)
DATES = st.dates(datetime.date(1900, 1, 1), datetime.date(2190, 12, 31))
SHARES = st.floats(0.0, 1.0)


@given(PLANTS, SEASONS)
def test_the_calendar_covers_each_job_at_its_frequency(plant, season):
    last = season.days - 1
    for job in jobs(plant, season):
        days = job.days
        assert days, job.code
        assert sum(by_month(job, season).values()) == len(days)
        for day in days:
            assert month_of(season.start + day) in by_month(job, season)
        if job.every is None:
            continue
        assert job.until is not None
        assert all(b - a == job.every for a, b in pairwise(days))
        # Nothing is left out at the end: the next turn would come after it.
        assert job.until - days[-1] < job.every
        assert job.code == "rest" or (days[0] >= 0 and days[-1] <= last)


@given(PLANTS, SEASONS)
def test_chlorine_and_acid_never_fall_on_one_day(plant, season):
    found = {job.code: set(job.days) for job in jobs(plant, season)}
    assert not found.get("chlorine", set()) & found.get("acid", set())


@given(PLANTS, SEASONS)
def test_no_job_of_a_year_lies_beyond_it(plant, season):
    for job in jobs(plant, season):
        assert job.days[0] >= -21
        assert job.days[-1] <= 365


@given(SEASONS.filter(lambda season: season.frost is not None))
def test_the_system_is_drained_after_the_last_watering_or_before_the_frost(season):
    day = frost_day(season)
    last = season.days - 1
    if day > last:
        assert day <= last + 7
        assert day == last + 1 or not in_frost(season, day)
    else:
        assert not in_frost(season, day) or season.frost[0] == (season.frost[1] % 12) + 1
        assert in_frost(season, day + 1)


@settings(max_examples=50, deadline=None)
@given(PLANTS, SEASONS, DATES)
def test_the_next_jobs_are_the_soonest_from_today_on(plant, season, today):
    found = jobs(plant, season)
    soon = coming(found, season, today)
    assert [date for date, _ in soon] == sorted(date for date, _ in soon)
    assert {job.code for _, job in soon} == {job.code for job in found}
    for date, job in soon:
        assert today <= date
        assert (date - today).days <= 366
        every = (
            dated(d, season, y) for y in range(today.year - 2, today.year + 2) for d in job.days
        )
        assert not any(today <= other < date for other in every)


@given(st.lists(st.tuples(st.floats(0.0, 50.0), SHARES), max_size=12), SHARES, st.randoms())
def test_the_order_of_the_log_changes_nothing(checks, wanted, chance):
    turned = list(checks)
    chance.shuffle(turned)

    def found(rows):
        return trend([x for x, _ in rows], [y for _, y in rows], wanted)

    assert found(checks) == found(turned)


@given(st.lists(st.tuples(st.floats(0.0, 50.0), SHARES), min_size=3, max_size=12), SHARES)
def test_a_trend_is_honest_about_itself(checks, wanted):
    found = trend([x for x, _ in checks], [y for _, y in checks], wanted)
    if found is None:
        return
    assert found.low <= found.per_year <= found.high
    assert (found.way == "unclear") == (found.low <= 0.0 <= found.high)
    assert (found.crosses is not None) == (found.way == "falling")
    if found.crosses is not None:
        earliest, likely, latest = found.crosses
        assert earliest <= likely <= latest


TEXTS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["", "29 Feb", "1 January", "31 December", "4/5", "2/29", "2028-02-29"]),
    st.dates().map(str),
    DATES.map(lambda date: date.strftime("%d %B")),
)


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["today", "season.start", "season.end", "lines.runs", "lines.length"]),
        TEXTS,
    ),
    st.sampled_from(["days", "frost"]),
    st.sampled_from(["none", "january", "may", "october", "december"]),
    st.sampled_from(["january", "april", "september", "december"]),
    st.lists(
        st.tuples(DATES.map(str) | TEXTS, st.floats(-0.1, 1.1).map(lambda x: f"{x * 100:.3f} %")),
        max_size=5,
    ),
    st.sampled_from(["us", "metric"]),
)
def test_whatever_is_typed_is_answered_or_told(texts, by, first, last, log, system):
    document = default_document(CALCULATORS["upkeep"], system)
    for name, text in texts.items():
        put(document, name, text)
    put(document, "season.by", by)
    put(document, "season.frost_first", first)
    put(document, "season.frost_last", last)
    put(document, "checks.log", [{"date": d, "measured": m} for d, m in log])
    try:
        _, result, shown = answer(document)
    except (InputError, InputErrors):
        return
    assert to_text(result, shown, explain=True)
