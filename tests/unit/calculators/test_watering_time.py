"""The watering time as people read it, and the arithmetic of one case by hand."""

import copy

import pytest

from evenrow.calculators.data import numbers
from evenrow.calculators.reading import default_document, put, read
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text
from evenrow.calculators.watering_examples import EXAMPLES
from evenrow.calculators.watering_plan import clock_seconds
from evenrow.calculators.watering_weather import month_weather
from evenrow.errors import InputError, InputErrors
from evenrow.words import use_language

CALCULATOR = CALCULATORS["watering-time"]


def document(**changes):
    """Return a form of one zone of 100 m2 that gets 0.5 m3/h, on a day of 5 mm ETo in June."""
    found = default_document(CALCULATOR, "metric")
    for key, value in {
        "zones": [zone()],
        "season__start": "always",
        "planting__kc": "0.8",
        "planting__soil": "clay",
        "planting__wetted": "100 %",
        "weather__way": "day",
        "weather__day_eto": "5 mm",
        "timer__longest_interval": "1",
        **changes,
    }.items():
        put(found, key.replace("__", "."), value)
    return found


def zone(**changes):
    return {
        "name": "field",
        "row_length": "100 m",
        "row_spacing": "1 m",
        "flow": "0.5 m³/h",
        "uniformity": "80 %",
        "plants": "50 cm",
        **changes,
    }


def figures(**changes):
    _, result, system = answer(document(**changes))
    return {name: each["value"] for name, each in numbers(result, system).items()}


def text(found):
    _, result, system = answer(found)
    return " ".join(to_text(result, system, explain=True).split())


def table(result, name):
    found = [i for s in result.sections for i in s.items if getattr(i, "name", "") == name]
    return found[0].rows if found else ()


def wrong(**changes):
    with pytest.raises((InputError, InputErrors)) as caught:
        answer(document(**changes))
    error = caught.value
    return [(e.field, e.code) for e in getattr(error, "errors", [error])]


def test_one_case_by_hand():
    # 5 mm x 0.8 = 4 mm at the roots; / 0.8 = 5 mm; on 100 m2 0.5 m3, which 0.5 m3/h give in 1 h.
    found = figures()
    assert found["net"] == pytest.approx(0.004, rel=1e-12)
    assert found["loss"] == pytest.approx(1.25, rel=1e-12)
    assert found["average_run"] == pytest.approx(3600.0, rel=1e-12)
    assert found["run_time"] == pytest.approx(3600.0, rel=1e-12)
    # 200 plants stand 0.5 m apart on 100 m: 2.5 L each.
    _, result, _ = answer(document())
    ((month, name, start, run),) = table(result, "timer")
    assert (month, name, start) == ("June", "field", "every day at 5:00")
    assert run == pytest.approx(3600.0)
    ((_, _, per_plant),) = table(result, "plants")
    assert per_plant == pytest.approx(0.0025, rel=1e-12)
    assert result.verdict == "On a June day water field for 1\u00a0h at 5:00."
    # 30 days of 0.5 m3.
    assert found["volume"] == pytest.approx(15.0, rel=1e-12)


def test_salt_takes_more_water_and_is_told():
    # ECw 1.8 over twice 9 dS/m: a tenth must pass the roots.
    found = figures(water__salinity="1.8")
    assert found["leaching"] == pytest.approx(0.1)
    assert found["average_run"] == pytest.approx(4000.0)
    assert wrong(water__salinity="19", water__tolerance="sensitive") == [
        ("water.salinity", "out_of_range")
    ]


def test_rain_is_counted_only_where_it_is_wanted():
    rows = [{"month": "june", "eto": "5 mm", "rain": "50 mm"}]
    season = {
        "season__start": "planted",
        "season__month": "june",
        "season__day": "1",
        "season__days": "30",
        "weather__way": "months",
        "weather__months": rows,
    }
    dry = figures(**season)
    assert "rain" not in dry
    wet = figures(**season, weather__count_rain="yes")
    # 50 (125 - 10) / 125 = 46 mm on 30 days.
    assert wet["rain"] == pytest.approx(0.046 / 30)
    assert wet["net"] == pytest.approx(dry["net"] - 0.046 / 30)


def test_rain_that_is_enough_turns_the_water_off():
    found = default_document(CALCULATOR, "us")
    put(found, "weather.count_rain", "yes")
    for row in found["weather"]["months"]:
        row["rain"] = "20 in"
    _, result, _ = answer(found)
    assert result.headline.value == 0.0
    assert "rain is enough in every month" in result.verdict
    assert {row[2] for row in table(result, "timer")} == {"off"}


def test_light_soil_gets_its_water_in_runs_with_rests_between():
    _, result, system = answer(
        document(planting__soil="sand", planting__wetted="40 %", timer__step="1 s")
    )
    found = {name: each["value"] for name, each in numbers(result, system).items()}
    ((_, _, start, run),) = table(result, "timer")
    # Sand holds 7.5 % of its volume: 0.3 m of roots on 40 % of the ground 9 mm. Lettuce may use
    # 0.3 + 0.04 (5 - 4) = 0.34 of it, 3.06 mm; with losses 3.825 mm, in 45.9 min.
    assert found["held"] == pytest.approx(0.009)
    assert found["longest_run"] == pytest.approx(45.9 * 60.0)
    assert run == pytest.approx(1800.0)
    assert start == "every day at 5:00 and 6:00"
    assert "for 30\u00a0min each at 5:00 and 6:00" in result.verdict


def test_a_timer_of_few_starts_loses_water_and_says_so():
    light = {"planting__soil": "sand", "planting__wetted": "20 %"}
    _, few, _ = answer(document(**light, timer__starts="1"))
    assert "the rest drains away: 1 start a day is too few" in few.notices[0].text
    _, enough, _ = answer(document(**light, timer__starts="9"))
    assert [n.text for n in enough.notices if n.level == "warning"] == []


def test_the_flow_of_an_emitter_bounds_a_run_too():
    alone = figures(planting__soil="sand")
    bounded = figures(planting__soil="sand", planting__emitter_flow="0.5 L/h")
    assert bounded["longest_run"] < alone["longest_run"]


def test_run_times_are_whole_steps_and_never_less_than_asked():
    found = figures(timer__step="7 min")
    assert found["run_time"] == 9 * 420.0
    # In a window without a minute to spare there is no rounding up.
    full = figures(timer__step="7 min", timer__window="1 h")
    assert full["run_time"] == 8 * 420.0


def test_who_gets_less_when_water_is_short():
    zones = [zone(), zone(name="second", rank="2")]
    _, result, system = answer(document(zones=zones, water__per_day="750 L"))
    shares = {row[1]: row[2] for row in table(result, "shortage")}
    assert shares == {"second": pytest.approx(0.5)}
    assert "too little" in result.notices[0].text
    assert numbers(result, system)["missing"]["value"] == pytest.approx(0.25 * 30)
    _, equal, _ = answer(document(zones=[zone(), zone()], water__per_day="750 L"))
    assert [row[2] for row in table(equal, "shortage")] == [pytest.approx(0.75)] * 2


def test_too_few_hours_are_told():
    found = text(document(zones=[zone(), zone()], timer__window="1 h"))
    assert "hours in which water may run are too few" in found
    assert "Who gets less" in found


def test_cost_is_volume_times_price():
    assert "cost" not in figures()
    assert figures(water__price="2", water__price_volume="1000 L")["cost"] == pytest.approx(30.0)


def test_what_hangs_on_eto():
    _, result, _ = answer(document())
    assert [row[2] for row in table(result, "sensitivity")] == pytest.approx([2880, 3600, 4320])


def test_roots_grow_and_what_stands_for_years_has_them():
    rows = [
        {"month": month, "eto": "5 mm", "rain": ""}
        for month in ("april", "may", "june", "july", "august")
    ]
    planted = {
        "planting__crop": "tomato",
        "season__start": "planted",
        "season__month": "april",
        "season__day": "1",
        "weather__way": "months",
        "weather__months": rows,
        "timer__longest_interval": "30",
    }
    _, young, _ = answer(document(**planted))
    days = [row[2] for row in table(young, "timer")]
    assert days[0] != days[-1]
    _, grown, system = answer(document(**{**planted, "season__start": "leaves"}))
    assert numbers(grown, system)["held"]["value"] == pytest.approx(0.14 * 0.7)


def test_a_season_over_new_year_keeps_its_order():
    found = document(
        season__start="planted", season__month="november", season__day="20", season__days="90"
    )
    put(found, "weather.way", "months")
    _, result, _ = answer(found)
    assert [row[0] for row in table(result, "months")] == [
        *("November", "December", "January", "February")
    ]
    assert [row[1] for row in table(result, "months")] == [11, 31, 31, 17]


def test_canopy_and_mulch_save_water():
    plain = figures()["net"]
    assert figures(planting__cover="25 %")["net"] == pytest.approx(plain / 2)
    film = figures(planting__mulch="plastic", planting__mulched="50 %")["net"]
    assert film == pytest.approx(plain * 0.9)
    # Straw keeps the ground from drying while the plants are small, and no longer.
    assert figures(planting__mulch="organic")["net"] == pytest.approx(plain)


def test_a_table_of_days_is_read_and_its_gaps_are_told():
    days = "\n".join(f"2024-06-{day:02d};25;12;2" for day in range(1, 11))
    weather = {
        "weather__way": "table",
        "weather__table": f"date;Tmax (°C);Tmin (°C);rain (mm)\n{days}",
        "weather__latitude": "45",
        "season__start": "planted",
        "season__month": "june",
        "season__day": "1",
        "season__days": "25",
    }
    found = text(document(**weather))
    assert "Wind on all days: taken as 2 m/s" in found
    assert "June is the mean of only 10 days" in found
    assert "Penman–Monteith" in found
    assert wrong(**{**weather, "weather__latitude": ""}) == [("weather.latitude", "missing")]
    assert wrong(**{**weather, "season__month": "july"}) == [("weather.table", "missing")]
    broken = weather["weather__table"].replace("2024-06-03;25", "2024-06-03;95")
    with pytest.raises(InputErrors) as caught:
        answer(document(**{**weather, "weather__table": broken}))
    (error,) = caught.value.errors
    assert error.field == "weather.table"
    assert "line 4" in error.message
    for bad in ("date", "x" * 30_000, "date;eto (mm)\n2024-06-01;-3", "date;rain (mm)\nx;1"):
        assert [field for field, _ in wrong(**{**weather, "weather__table": bad})] == [
            "weather.table"
        ]


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"weather__day_eto": ""}, "weather.day_eto", "missing"),
        ({"weather__day_eto": "5 kg"}, "weather.day_eto", None),
        ({"season__start": "planted", "season__day": "31"}, "season.day", "out_of_range"),
        ({"season__start": "planted", "season__month": "july"}, "weather.day_month", None),
        ({"timer__start": "noonish"}, "timer.start", "not_a_time"),
        ({"timer__start": "25:00"}, "timer.start", "not_a_time"),
        ({"zones": [zone(row_length="")]}, "zones.0.row_length", "missing"),
        ({"zones": [zone(row_spacing="")]}, "zones.0.row_spacing", "missing"),
        ({"zones": [zone(row_length="", row_spacing="")]}, "zones.0.area", "missing"),
        ({"zones": []}, "zones", "missing"),
        ({"weather__way": "months", "weather__months": []}, "weather.months", "missing"),
        (
            {
                "weather__way": "months",
                "weather__months": [{"month": "june", "eto": "5 mm", "rain": "-3 mm"}],
            },
            "weather.months.0.rain",
            "out_of_range",
        ),
        (
            {
                "weather__way": "months",
                "weather__months": [{"month": "june", "eto": "5 mm"}] * 2,
            },
            "weather.months.1.month",
            "twice",
        ),
        ({"weather__way": "temperatures"}, "weather.temperatures", "missing"),
        (
            {
                "weather__way": "temperatures",
                "weather__latitude": "45",
                "weather__temperatures": [{"month": "june", "high": "10 °C", "low": "20 °C"}],
            },
            "weather.temperatures.0.low",
            "out_of_range",
        ),
        ({"weather__way": "table"}, "weather.table", "missing"),
        ({"weather__way": "table", "weather__table": "x" * 40_001}, "weather.table", None),
    ],
)
def test_what_is_wrong_is_told_at_its_field(changes, field, code):
    ((at, found),) = wrong(**changes)
    assert at == field
    assert code is None or found == code


def test_crop_weather_and_clock_are_told_together():
    found = wrong(
        season__start="planted", season__day="31", weather__day_eto="", timer__start="late"
    )
    assert [field for field, _ in found] == ["season.day", "weather.day_eto", "timer.start"]


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        *(("5:00", 5), ("5", 5), ("05.30", 5.5), ("17:30", 17.5), ("5:30 pm", 17.5)),
        *(("12 am", 0), ("12:15 p.m.", 12.25), ("5h15", 5.25), ("0:00", 0)),
    ],
)
def test_times_of_day(typed, hours):
    assert clock_seconds(typed) == hours * 3600.0


def test_clocks_are_shown_as_people_read_them():
    late = {"timer__start": "23:30", "zones": [zone(), zone(name="second")]}
    assert "second for 1\u00a0h at 0:30 (next day)" in answer(document(**late))[1].verdict
    _, result, _ = answer({**document(**late), "units": "us"})
    assert "at 11:30 pm" in result.verdict
    assert "12:30 am (next day)" in result.verdict


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({}, "En junio, todos los días, riegue field durante 1 h a las 5:00."),
        (
            {"zones": [zone(), zone(name="bed")]},
            "En junio, todos los días, riegue field durante 1 h a las 5:00, y bed durante 1 h a "
            "las 6:00.",
        ),
        (
            {"zones": [zone(), zone(name="bed"), zone(name="hedge")]},
            "En junio, todos los días, riegue field durante 1 h a las 5:00; otras 2 zonas tienen "
            "su turno y todo termina a las 8:00.",
        ),
        (
            {"timer__longest_interval": "2"},
            "En junio, cada 2 días, riegue field durante 2 h a las 5:00.",
        ),
    ],
)
def test_the_verdict_is_one_spanish_sentence(changes, verdict):
    with use_language("es"):
        found = answer(document(**changes))[1].verdict
    assert " ".join(found.split()) == verdict


def test_ground_that_is_told_twice_is_compared():
    found = text(document(zones=[zone(area="200 m²")]))
    assert "its rows would make 50 % of that" in found


def test_a_fresh_form_says_that_its_weather_is_invented():
    for system in ("us", "metric"):
        found = default_document(CALCULATOR, system)
        assert "invented" in answer(found)[1].notices[0].text
        own = copy.deepcopy(found)
        own["weather"]["months"][5]["eto"] = "5.5 mm"
        assert "invented" not in text(own)


@pytest.mark.parametrize("name", list(EXAMPLES))
def test_examples_answer_in_both_systems_alike(name):
    made = EXAMPLES[name]()
    assert "Invented" in made["about"]
    found = [answer({**made, "units": system}) for system in ("us", "metric")]
    us, metric = (numbers(result, system) for _, result, system in found)
    assert {k: v["value"] for k, v in us.items()} == {k: v["value"] for k, v in metric.items()}
    # A card for every month of the season and each zone, and no month without its ETo.
    rows = table(found[0][1], "timer")
    assert len(rows) == len(table(found[0][1], "months")) * len(made["zones"])


def test_temperatures_in_either_unit_make_one_answer():
    made = EXAMPLES["Berry rows, month by month"]()
    celsius = copy.deepcopy(made)
    for row in celsius["weather"]["temperatures"]:
        for key in ("high", "low"):
            row[key] = f"{(float(row[key].split()[0]) - 32.0) / 1.8!r} °C"
    us, metric = (answer(each)[1].headline.value for each in (made, celsius))
    assert us == pytest.approx(metric, rel=1e-9)


def monthly(**more):
    rows = [
        {"month": month, "high": f"{high} °C", "low": f"{high - 10} °C", **more}
        for month, high in (("may", 20), ("june", 24), ("july", 27))
    ]
    inputs, _ = read(
        CALCULATOR,
        document(weather__way="temperatures", weather__latitude="45", weather__temperatures=rows),
    )
    return month_weather(inputs["weather"])


def test_temperatures_alone_are_hargreaves_and_more_is_penman():
    assert monthly().source.startswith("Hargreaves")
    for more in ({"humidity": "60 %"}, {"wind": "3 m/s"}, {"sun": "8 h"}):
        found = monthly(**more)
        assert found.source.startswith("Penman")
        assert found.known == (4, 5, 6)
        # Two of humidity, sun and wind were not given, and are told.
        assert sum("in 3 of 3 months" in note for note in found.notes) == 2


def test_drier_windier_and_sunnier_months_draw_more():
    base = {"humidity": "60 %", "wind": "2 m/s", "sun": "7 h"}
    usual = monthly(**base).eto[4:7]
    for more in ({"humidity": "40 %"}, {"wind": "4 m/s"}, {"sun": "10 h"}):
        assert (monthly(**{**base, **more}).eto[4:7] > usual).all(), more


def test_wind_is_read_in_the_units_of_weather_services():
    metres = monthly(wind="10 m/s").eto[4:7]
    assert monthly(wind="36 km/h").eto[4:7] == pytest.approx(metres, rel=1e-12)
    assert monthly(wind="22.3694 mph").eto[4:7] == pytest.approx(metres, rel=1e-5)


def test_more_sun_than_a_day_has_is_refused():
    with pytest.raises((InputError, InputErrors)) as caught:
        monthly(sun="25 h")
    assert "weather.temperatures.0.sun" in str(caught.value)
