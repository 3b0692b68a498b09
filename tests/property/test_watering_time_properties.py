"""Whatever a form of the watering time holds, it is answered or refused at a field."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.calculators.data import to_data
from evenrow.calculators.html import result_html
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.spec import PLAIN_KINDS
from evenrow.calculators.text import to_text
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
