"""The watering plan on invented fields: arithmetic, limits, shortage and directions."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy.need import gross_depth
from evenrow.agronomy.plan_inputs import Periods, PlantedZone, Rules, Supply
from evenrow.agronomy.schedule import eto_sensitivity, watering_plan
from evenrow.agronomy.timetable import timetables
from evenrow.errors import InputError

HOUR = 3600.0
ETO = np.array([1, 2, 3, 4, 5, 6, 7, 6, 4, 3, 2, 1.0]) / 1000.0
YEAR = Periods(eto=ETO, kc=np.ones(12))
#: Invented: 500 plants on 1,000 m2, 1.8 m3/h, a root zone that holds 40 mm.
ZONE = PlantedZone(area=1000.0, plants=500.0, flow=5e-4, taw=0.040, p=0.4, uniformity=0.9)


def test_one_zone_by_hand():
    plan = watering_plan(YEAR, [ZONE], Rules(longest_interval=3), Supply(price=0.5))
    july = 6
    assert plan.net[july, 0] == pytest.approx(0.007)
    assert plan.gross[july, 0] == pytest.approx(float(gross_depth(0.007, 0.9)))
    assert plan.volume[july, 0] == pytest.approx(7.0 / 0.9)  # m3: 7 mm on 1,000 m2
    assert plan.per_plant[july, 0] == pytest.approx(7.0 / 0.9 / 500.0)
    assert plan.seconds[july, 0] == pytest.approx(7.0 / 0.9 / 5e-4)
    # p = 0.4 + 0.04 (5 - 7) = 0.32: 12.8 mm are used in one whole day of 7 mm, not in two
    assert plan.interval[july, 0] == 1
    # May: 5 mm a day, RAW 16 mm: three days
    assert plan.interval[4, 0] == 3
    assert plan.watering_seconds[4, 0] == pytest.approx(3 * 5.0 / 0.9 / 5e-4)
    assert plan.longest[4, 0] == pytest.approx(16.0 / 0.9 / 5e-4)
    assert np.all(plan.runs == 1)
    assert plan.cut_by == ()
    assert np.all(plan.share == 1.0)
    volume = 1000.0 / 0.9 * float(ETO @ np.asarray(YEAR.days))
    assert plan.total_volume == pytest.approx(volume)
    assert plan.period_volume.sum() == pytest.approx(volume)
    assert plan.missing_volume == 0.0
    assert plan.cost == pytest.approx(0.5 * volume)


def test_rain_and_no_crop_want_no_water():
    kc = np.where(np.arange(12) < 6, 0.0, 1.0)
    plan = watering_plan(Periods(eto=ETO, kc=kc, rain=0.003), [ZONE])
    assert np.all(plan.interval[:6] == 0)
    assert np.all(plan.runs[:6] == 0)
    assert plan.net[6:, 0].tolist() == pytest.approx([0.004, 0.003, 0.001, 0, 0, 0])
    assert np.all(plan.share == 1.0)


def test_light_soil_is_watered_in_pulses():
    plan = watering_plan(YEAR, [ZONE], Rules(longest_run=HOUR))
    assert plan.runs[6, 0] == math.ceil(7.0 / 0.9 / 5e-4 / HOUR)
    # a root zone that holds less than a day's use: the run is cut though the rules allow it
    small = watering_plan(YEAR, [replace(ZONE, taw=0.008)])
    assert small.interval[6, 0] == 1
    assert small.runs[6, 0] == math.ceil(7.0 / (0.32 * 8.0))
    assert np.all(small.watering_seconds / np.maximum(small.runs, 1) <= small.longest + 1e-6)


def test_the_window_holds_all_zones_on_one_day():
    rules = Rules(window=12 * HOUR, changeover=120.0, longest_interval=7)
    plan = watering_plan(YEAR, [ZONE] * 2, rules)
    days = timetables(
        plan.watering_seconds, plan.runs, opens=20 * HOUR, window=rules.window, changeover=120.0
    )
    assert all(day.over == 0.0 for day in days)
    # in April 4 mm for two zones take 4.9 h a day: two days' water fits 12 h, three days' not
    assert plan.interval[3].tolist() == [2, 2]
    assert plan.cut_by == ()


def test_a_window_too_short_cuts_by_rank():
    rules = Rules(window=6 * HOUR)
    zones = [replace(ZONE, priority=2.0), ZONE, replace(ZONE, priority=2.0)]
    plan = watering_plan(YEAR, zones, rules)
    assert plan.cut_by == ("window",)
    july = plan.share[6]
    assert july[1] == 1.0
    assert (
        july[0] == july[2] == pytest.approx((6 * HOUR - 7.0 / 0.9 / 5e-4) / (2 * 7.0 / 0.9 / 5e-4))
    )
    assert plan.seconds[6].sum() == pytest.approx(6 * HOUR)
    assert plan.missing_volume > 0.0


def test_water_of_the_day_and_of_the_season():
    day = watering_plan(YEAR, [ZONE] * 2, supply=Supply(per_day=10.0))
    assert day.cut_by == ("day",)
    assert day.volume.sum(axis=1).max() == pytest.approx(10.0)
    full = watering_plan(YEAR, [ZONE] * 2)
    season = watering_plan(YEAR, [ZONE] * 2, supply=Supply(in_all=0.75 * full.total_volume))
    assert season.cut_by == ("season",)
    assert season.total_volume == pytest.approx(0.75 * full.total_volume)
    assert season.share == pytest.approx(np.full((12, 2), 0.75))
    assert season.missing_volume == pytest.approx(0.25 * full.total_volume)


def test_zones_with_crops_of_their_own():
    kc = np.stack([np.ones(12), np.full(12, 0.5)], axis=1)
    plan = watering_plan(Periods(eto=ETO, kc=kc), [ZONE, ZONE])
    assert plan.net[:, 1] == pytest.approx(0.5 * plan.net[:, 0])


def test_a_fifth_more_or_less():
    less, same, more = eto_sensitivity(YEAR, [ZONE])
    assert less.total_volume == pytest.approx(0.8 * same.total_volume)
    assert more.total_volume == pytest.approx(1.2 * same.total_volume)
    # with rain the need swings more than the weather
    wet = Periods(eto=ETO, kc=np.ones(12), rain=0.002)
    less, same, more = eto_sensitivity(wet, [ZONE])
    assert more.total_volume > 1.2 * same.total_volume


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.floats(0.0, 0.012), min_size=3, max_size=3),
    st.floats(0.0, 0.006),
    st.floats(0.5, 24.0),
    st.integers(1, 10),
    st.integers(1, 3),
    st.floats(0.5, 60.0),
    st.sampled_from([math.inf, 900.0, 3600.0]),
)
def test_directions_and_bounds(eto, rain, hours, interval, at_once, per_day, longest):
    zones = [ZONE, replace(ZONE, taw=0.01), replace(ZONE, flow=2e-4, priority=2.0)]
    rules = Rules(
        window=hours * HOUR,
        longest_interval=interval,
        at_once=at_once,
        longest_run=longest,
        changeover=90.0,
    )

    def plan(rain=rain, factor=1.0, supply=None):
        heat = np.array(eto) * factor
        periods = Periods(eto=heat, kc=np.ones(3), rain=rain, days=np.full(3, 30.0))
        return watering_plan(periods, zones, rules, supply)

    here = plan()
    assert np.all(plan(factor=1.1).gross >= here.gross)
    assert np.all(plan(rain=rain + 0.001).gross <= here.gross)
    assert np.all(here.volume <= here.wanted * (1 + 1e-12))
    assert np.all(here.seconds <= hours * HOUR * (1 + 1e-12))
    assert np.all(here.seconds.sum(axis=1) <= hours * HOUR * at_once * (1 + 1e-12))
    assert here.volume == pytest.approx(here.seconds * [5e-4, 5e-4, 2e-4])
    assert np.all(here.watering_seconds <= (1 + 1e-8) * hours * HOUR)
    assert ("window" in here.cut_by) == bool(np.any(here.share < 1.0 - 1e-9))
    served = here.interval > 0
    assert np.all(served == (here.volume > 0.0))
    assert np.all(here.interval <= interval)
    if at_once == 1:
        for day in timetables(
            here.watering_seconds, here.runs, opens=0.0, window=rules.window, changeover=90.0
        ):
            assert day.over <= 0.001
    short = plan(supply=Supply(per_day=per_day))
    assert np.all(short.volume.sum(axis=1) <= per_day * (1 + 1e-9))
    assert np.all(short.volume <= here.volume * (1 + 1e-12))


@pytest.mark.parametrize(
    ("field", "call"),
    [
        ("area", lambda: replace(ZONE, area=0.0)),
        ("flow", lambda: replace(ZONE, flow=math.nan)),
        ("uniformity", lambda: replace(ZONE, uniformity=90.0)),
        ("eto", lambda: Periods(eto=[5.0] * 12, kc=np.ones(12))),
        ("kc", lambda: Periods(eto=ETO, kc=1.0)),
        ("days", lambda: Periods(eto=ETO[:3], kc=np.ones(3))),
        ("rain", lambda: Periods(eto=ETO, kc=np.ones(12), rain=[0.0, 0.0])),
        ("kc", lambda: watering_plan(Periods(eto=ETO, kc=np.ones((12, 2))), [ZONE] * 3)),
        ("zones", lambda: watering_plan(YEAR, [])),
        ("window", lambda: Rules(window=100_000.0)),
        ("longest_run", lambda: Rules(longest_run=0.0)),
        ("price", lambda: Supply(price=-1.0)),
        ("per_day", lambda: Supply(per_day=-1.0)),
        ("factors", lambda: eto_sensitivity(YEAR, [ZONE], factors=(9.0,))),
    ],
)
def test_bad_values_are_named(field, call):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field


def test_what_rounding_leaves_is_no_water():
    eto = np.array([0.1, 0.3, 5e-324])
    rain = np.array([0.3, 0.9, 0.0]) * 1e-2 / 3.0 * (1.0 - 1e-15)
    plan = watering_plan(
        Periods(eto=eto * 1e-2, kc=np.ones(3), rain=rain, days=np.full(3, 30.0)), [ZONE]
    )
    assert plan.net.tolist() == [[0.0], [0.0], [0.0]]
    assert plan.interval.tolist() == [[0], [0], [0]]
