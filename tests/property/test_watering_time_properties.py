"""Whatever a form of the watering time holds, it is answered or refused at a field."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.calculators.data import to_data
from evenrow.calculators.html import result_html
from evenrow.calculators.reading import default_document, put, read
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.spec import PLAIN_KINDS
from evenrow.calculators.text import to_text
from evenrow.calculators.watering_days import season_days
from evenrow.calculators.watering_plan import watering_of
from evenrow.calculators.watering_season import season_of
from evenrow.calculators.watering_weather import month_weather
from evenrow.errors import InputError, InputErrors
from evenrow.units import menu

CALCULATOR = CALCULATORS["watering-time"]
NAMES = {field.name for field in CALCULATOR.fields}


def texts(field):
    """Texts that somebody may have typed in a field, most of them sensible."""
    if field.kind == "choice":
        return st.sampled_from([*(choice.value for choice in field.choices), "none of them"])
    if field.kind == "flag":
        return st.sampled_from(["yes", "no"])
    if field.kind == "text":
        return st.text(max_size=60)
    low = field.lo if field.lo is not None else field.above
    numbers = st.one_of(
        st.floats(low, field.hi), st.floats(low, min(field.hi, low + 100.0)), st.just(low)
    )
    if field.kind == "count":
        return st.integers(int(low) - 1, int(field.hi) + 1).map(str)
    units = [""] if field.kind in (*PLAIN_KINDS, "number") else list(menu(field.kind))
    return st.builds(lambda x, unit: f"{x:.9f} {unit}".strip(), numbers, st.sampled_from(units))


def rows(field):
    row = st.fixed_dictionaries({c.name: st.one_of(st.just(""), texts(c)) for c in field.columns})
    return st.lists(row, max_size=4)


def changed(field):
    """A field with something that may stand there."""
    return st.tuples(st.just(field.name), rows(field) if field.kind == "table" else texts(field))


#: A few fields that hold something else than in a fresh form.
CHANGES = st.lists(st.sampled_from(CALCULATOR.fields).flatmap(changed), max_size=5).map(dict)


@settings(max_examples=150, deadline=None)
@given(CHANGES, st.sampled_from(["us", "metric"]))
def test_any_form_is_answered_or_refused_at_its_field(changes, system):
    document = default_document(CALCULATOR, system)
    for name, value in changes.items():
        put(document, name, value)
    try:
        calculator, result, shown = answer(document)
    except InputErrors as errors:
        told = [error.field for error in errors.errors]
    except InputError as error:
        told = [error.field]
    else:
        json.dumps(to_data(result, shown), allow_nan=False)
        assert to_text(result, shown)
        assert result_html(calculator, result, shown)
        return
    for field in told:
        assert (
            field in NAMES
            or field.split(".")[0] == "zones"
            or ".".join(field.split(".")[:2]) in NAMES
        ), field


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 9.0), st.floats(0.3, 1.0), st.floats(5.0, 5000.0), st.floats(0.05, 20.0))
def test_more_flow_never_runs_longer_and_more_eto_never_shorter(eto, eu, length, flow):
    def run(eto=eto, flow=flow):
        document = default_document(CALCULATOR, "metric")
        put(document, "weather.way", "day")
        put(document, "weather.day_eto", f"{eto:.6f} mm")
        put(document, "timer.window", "24 h")
        zone = {"row_length": f"{length} m", "row_spacing": "1 m", "flow": f"{flow} m³/h"}
        put(document, "zones", [{**zone, "uniformity": f"{100.0 * eu} %"}])
        _, result, _ = answer(document)
        found = {i.name: i for s in result.sections for i in s.items}
        return found["average_run"].value

    here = run()
    assert run(flow=2.0 * flow) <= here * (1.0 + 1e-9)
    assert run(eto=1.2 * eto) >= here * (1.0 - 1e-9)
    if here < 43_000.0:
        assert run(flow=2.0 * flow) == pytest.approx(here / 2.0, rel=1e-9)


@st.composite
def daily_weather(draw):
    """Draw a season's days: ETo and rain [mm], some days missing."""
    days = draw(st.integers(30, 140))
    seed = draw(st.integers(0, 2**32 - 1))
    random = np.random.default_rng(seed)
    eto = random.uniform(0.0, 9.0, days)
    rain = np.where(
        random.random(days) < draw(st.floats(0.0, 0.6)), random.gamma(1.0, 9.0, days), 0
    )
    kept = random.random(days) > draw(st.floats(0.0, 0.3))
    kept[:8] = True
    return eto, rain, kept


def daily_plan(weather, *, inches=False, **changes):
    eto, rain, kept = weather
    start = np.datetime64("2023-04-15")
    per = 25.4 if inches else 1.0
    unit = "in" if inches else "mm"
    lines = [
        f"date,eto ({unit}),rain ({unit})",
        *(
            f"{start + int(i)},{float(eto[i]) / per:.9f},{float(rain[i]) / per:.9f}"
            for i in np.flatnonzero(kept)
        ),
    ]
    found = default_document(CALCULATOR, "metric")
    put(found, "weather.way", "table")
    put(found, "weather.table", "\n".join(lines))
    for key, value in changes.items():
        put(found, key.replace("__", "."), value)
    inputs, _ = read(CALCULATOR, found)
    season, by_month = season_of(inputs), month_weather(inputs["weather"])
    return watering_of(inputs, season.among(by_month.known), by_month)


CROPS_AND_SOILS = st.tuples(
    st.sampled_from(["lettuce", "tomato", "strawberry", "beans"]),
    st.sampled_from(["sand", "loam", "clay"]),
    st.sampled_from(["20 %", "45 %", "100 %"]),
)


@settings(max_examples=25, deadline=None)
@given(daily_weather(), CROPS_AND_SOILS)
def test_every_drop_of_the_season_is_accounted_for(weather, grown):
    crop, soil, wetted = grown
    plan = daily_plan(weather, planting__crop=crop, planting__soil=soil, planting__wetted=wetted)
    found = season_days(plan)
    assert abs(float(found.asked.residual)) < 1e-9
    assert np.abs(found.others.residual).max() < 1e-9
    assert found.asked.depletion.min() >= 0.0
    assert (found.asked.used <= found.wanted + 1e-12).all()
    # Water never does harm: less is used, and more days are short, without any.
    assert found.others.used[:, 1].sum() <= found.asked.used.sum() + 1e-9
    assert found.short(1).sum() >= found.short().sum()
    # What drains under a rule that only fills the roots is rain.
    assert (found.asked.percolation <= found.asked.rain + 1e-12).all()


@settings(max_examples=15, deadline=None)
@given(daily_weather())
def test_inches_and_millimetres_are_the_same_season(weather):
    metric, us = (season_days(daily_plan(weather, inches=each)) for each in (False, True))
    assert us.asked.irrigation == pytest.approx(metric.asked.irrigation, abs=1e-9)
    assert us.asked.depletion == pytest.approx(metric.asked.depletion, abs=1e-9)
    assert us.days_left == pytest.approx(metric.days_left, rel=1e-6)
