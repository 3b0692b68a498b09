"""The daily balance of the watering time, leaves and ground apart, by loops and by hand."""

import datetime

import numpy as np
import pytest

from evenrow.agronomy.dual import evaporation, ground_cover, largest_coefficient
from evenrow.calculators.reading import default_document, put, read
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.watering_days import season_days
from evenrow.calculators.watering_days_sections import _in_words
from evenrow.calculators.watering_dual import apart_numbers, season_apart
from evenrow.calculators.watering_plan import watering_of
from evenrow.calculators.watering_season import season_of
from evenrow.calculators.watering_weather import month_weather
from evenrow.errors import InputError

CALCULATOR = CALCULATORS["watering-time"]


def weather(first="2024-04-10", days=120, eto=4.0, rain=0.0, skip=()):
    """Return a table of days; eto and rain [mm] are numbers or functions of the day from 0."""
    start = datetime.date.fromisoformat(first)
    lines = ["date,eto (mm),rain (mm)"]
    for i in range(days):
        if i not in skip:
            values = [each(i) if callable(each) else each for each in (eto, rain)]
            lines.append(f"{start + datetime.timedelta(days=i)},{values[0]},{values[1]}")
    return "\n".join(lines)


def document(table, system="metric", **changes):
    found = default_document(CALCULATOR, system)
    for key, value in {
        "planting__crop": "tomato",
        "planting__soil": "loam",
        "season__days": "100",
        "weather__way": "table",
        "weather__table": table,
        **changes,
    }.items():
        put(found, key.replace("__", "."), value)
    return found


def plan_of(table, **changes):
    inputs, _ = read(CALCULATOR, document(table, **changes))
    season, by_month = season_of(inputs), month_weather(inputs["weather"])
    return watering_of(inputs, season.among(by_month.known), by_month)


def items(table, system="metric", **changes):
    _, result, _ = answer(document(table, system, **changes))
    return {item.name: item for section in result.sections for item in section.items}


def test_depletion_against_a_plain_loop():
    plan = plan_of(weather(eto=lambda i: 3 + i % 4, rain=lambda i: (0, 0, 9, 0.5, 0)[i % 5]))
    found = season_days(plan)
    gone = 0.0
    for i, day in enumerate(found.dates):
        eto = (3 + (i + 5) % 4) / 1000  # The table begins five days before the crop.
        assert str(day) == str(datetime.date(2024, 4, 15) + datetime.timedelta(days=i))
        use = eto * plan.season.kc_by_day[104 + i]
        fell = (0, 0, 9, 0.5, 0)[(i + 5) % 5] / 1000
        gone -= fell if fell > 0.2 * eto else 0.0
        taw = plan.soil.available_water * plan.season.roots_by_day[104 + i] * plan.wetted
        ready = taw * min(max(plan.season.crop.depletion + 0.04 * (5 - 1000 * use), 0.1), 0.8)
        given = max(gone, 0.0) if max(gone, 0.0) + use > ready else 0.0
        assert found.asked.irrigation[i] == pytest.approx(given, abs=1e-12)
        gone = max(gone - given + use, 0.0)
        assert found.asked.depletion[i + 1] == pytest.approx(gone, abs=1e-12)
        assert found.ready[i] == pytest.approx(ready, rel=1e-9)
    assert found.asked.irrigation.any()
    assert found.asked.percolation.any()


def test_the_balances_close():
    found = season_days(plan_of(weather(rain=lambda i: 25 * (i % 9 == 0))))
    assert abs(found.asked.residual) < 1e-12
    assert np.abs(found.others.residual).max() < 1e-12
    used = found.asked.used.sum() + found.asked.depletion[0] - found.asked.depletion[-1]
    assert found.rain_used + found.asked.irrigation.sum() == pytest.approx(used, rel=1e-12)


def test_run_times_are_of_the_water_given():
    plan = plan_of(weather())
    found = season_days(plan)
    zone = plan.zones[plan.longest]
    volume = found.asked.irrigation * zone.area / zone.uniformity
    assert found.seconds == pytest.approx(volume / zone.flow)


def test_the_card_is_run_on_its_days():
    plan = plan_of(weather())
    found = season_days(plan)
    july = found.dates.astype("datetime64[M]") == np.datetime64("2024-07")
    month = next(month for month in plan.months if month.number == 6)
    every = int(month.plan.interval[0][plan.longest])
    given = found.others.irrigation[:, 0]
    days = np.arange(found.dates.size)
    assert np.all((given > 0.0)[july] == (days % every == 0)[july])
    zone = plan.zones[plan.longest]
    seconds = float(month.each[plan.longest] * month.runs[plan.longest])
    net = seconds * zone.flow / zone.area * zone.uniformity
    assert given[july].max() == pytest.approx(net, rel=1e-9)


def test_without_watering_only_rain_counts():
    found = season_days(plan_of(weather()))
    assert found.others.irrigation[:, 1].sum() == 0.0
    assert found.short(1).sum() > found.short(0).sum()
    assert found.short().sum() == 0


def test_gaps_take_the_mean_of_their_month_and_are_told():
    table = weather(eto=5.0, skip=(40, 41))
    found = season_days(plan_of(table))
    assert (found.filled, found.dry) == (2, 2)
    assert found.dates.size == 100
    whole = season_days(plan_of(weather(eto=5.0)))
    assert found.wanted == pytest.approx(whole.wanted, rel=1e-12)
    assert "2 days without ETo have the mean of their month" in items(table)["day_months"].note


def test_a_season_over_the_turn_of_the_year_and_a_leap_day():
    table = weather("2023-10-01", days=250)
    found = season_days(plan_of(table, season__month="november", season__day="20"))
    assert (str(found.dates[0]), str(found.dates[-1])) == ("2023-11-20", "2024-02-27")
    later = season_days(plan_of(table, season__month="december", season__day="1"))
    assert (str(later.dates[0]), str(later.dates[-1])) == ("2023-12-01", "2024-03-10")
    assert later.dates.size == 101  # One more than the season has, for the leap day.


def test_the_fullest_of_several_seasons_is_taken():
    table = weather("2023-03-01", days=480)
    found = season_days(plan_of(table))
    assert str(found.dates[0]) == "2023-04-15"  # That of 2024 ends with the table in June.
    whole = season_days(plan_of(weather("2023-03-01", days=640)))
    assert str(whole.dates[0]) == "2024-04-15"


def test_too_few_hours_leave_the_crop_short():
    table = weather(eto=7.0)
    wide = season_days(plan_of(table))
    tight = season_days(plan_of(table, timer__window="30 min"))
    assert wide.short().sum() == 0
    assert tight.short().sum() > 0
    assert tight.asked.irrigation.max() < wide.asked.irrigation.max()
    dry = season_days(plan_of(table, water__per_day="0.3 m³"))
    assert dry.short().sum() > 0


def test_the_next_watering_by_hand():
    found = season_days(plan_of(weather(days=60)))
    left = found.ready[-1] - found.asked.depletion[-1]
    assert found.days_left == pytest.approx(left / found.wanted[-7:].mean())
    shown = items(weather(days=60))["next_watering"]
    day = found.dates[-1].item() + datetime.timedelta(days=1 + int(found.days_left))
    assert f"next on the morning of {day.day} {day:%B} {day.year}" in shown.text


@pytest.mark.parametrize("way", ["months", "day"])
def test_no_days_no_balance(way):
    _, result, _ = answer(
        document("", weather__way=way, weather__day_eto="5 mm", weather__day_month="may")
    )
    assert not [s for s in result.sections if s.title.startswith("Day by day")]


def test_units_change_nothing_but_the_words():
    metric, us = (items(weather(rain=4.0), system) for system in ("metric", "us"))
    for name in ("day_use", "day_net", "day_rain_used", "card_drained"):
        assert us[name].value == pytest.approx(metric[name].value, rel=0.02), name
    assert "in of the" in us["next_watering"].text


def test_days_of_a_month_in_words():
    assert _in_words([2, 7, 12, 13, 14, 15, 31]) == "2, 7, 12–15, 31"
    assert _in_words([]) == ""
    assert _in_words([1, 2]) == "1–2"


def test_a_table_that_ends_in_the_season_still_plans_and_tells_what_it_leaves_out():
    _, result, _ = answer(document(weather(days=60)))
    assert [n.text for n in result.notices if "no days in July" in n.text]
    timer = next(i for s in result.sections for i in s.items if i.name == "timer")
    assert {row[0] for row in timer.rows} == {"April", "May", "June"}


def test_a_table_of_other_months_is_refused():
    with pytest.raises(InputError) as caught:
        answer(document(weather("2024-11-01", days=20)))
    assert caught.value.field == "weather.table"


def test_a_year_of_days_is_drawn():
    found = items(weather("2023-01-01", days=365), season__start="always")
    assert found["soil_water"].svg.count("<polyline") == 3
    assert found["day_waterings"].value > 50


# --- leaves and ground apart --------------------------------------------------------------


def apart(table=None, **changes):
    plan = plan_of(table or weather(), **changes)
    return season_apart(plan, season_days(plan))


def test_leaves_by_hand_and_ground_by_the_equations():
    # Tomato on loam, table 17: 0.15, 1.10, 0.70; table 12: 0.6 m; table 19, midpoints: TEW =
    # (0.25 - 0.06) 100 mm = 19 mm, REW 9 mm.
    plan = plan_of(weather(rain=lambda i: 12 * (i % 10 == 0)))
    found = season_days(plan)
    stages = np.array([30, 40, 45, 30]) * 100 / 145
    day = np.arange(1, found.dates.size + 1)
    ends = [0, *np.cumsum(stages)]
    kcb = np.interp(day, ends, [0.15, 0.15, 1.10, 1.10, 0.70])
    got = season_apart(plan, found)
    assert got.leaves == pytest.approx(float((kcb * 0.004).sum()), rel=1e-6)
    height = np.maximum(0.6 * kcb / kcb.max(), 0.05)
    top = largest_coefficient(kcb, 2.0, 0.45, height)
    ground = evaporation(
        kcb,
        top,
        ground_cover(kcb, top, height),
        found.eto,
        found.asked.rain,
        found.asked.irrigation,
        tew=0.019,
        rew=0.009,
        wetted_share=0.4,
    )
    assert got.ground == pytest.approx(float(ground.evaporation.sum()), rel=1e-6)


def test_without_rain_it_is_near_the_single_coefficient():
    plan = plan_of(weather())
    found = season_days(plan)
    got = season_apart(plan, found)
    assert got.leaves + got.ground == pytest.approx(float(found.asked.used.sum()), rel=0.2)


def test_less_ground_mulch_and_fewer_waterings_dry_less():
    usual = apart().ground
    assert apart(planting__wetted="20 %").ground < usual
    straw = apart(planting__mulch="organic", planting__mulched="80 %").ground
    film = apart(planting__mulch="plastic", planting__mulched="80 %").ground
    assert film < straw < usual
    assert apart(planting__mulch="organic", planting__mulched="0 %").ground == pytest.approx(usual)


def test_what_the_tables_do_not_have_is_not_told():
    assert apart(planting__crop="lily") is None
    assert apart(planting__soil="clay-loam") is None
    assert apart_numbers(None) == ()
    assert "day_dual" not in items(weather(), planting__crop="lily")


@pytest.mark.parametrize("crop", ["lettuce", "raspberry", "apples", "olives", "sweet-corn"])
def test_shares_stay_shares(crop):
    _, result, _ = answer(
        document(weather(days=360, first="2024-01-01"), planting__crop=crop, season__days="150")
    )
    found = {item.name: item for section in result.sections for item in section.items}
    assert 0.0 < found["day_dried"].value < 0.9
    assert found["day_dual"].value > 0.0
