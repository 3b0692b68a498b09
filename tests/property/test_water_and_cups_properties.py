"""Water and cups: never a crash, dirtier is never better, the order of cups is nothing."""

import json
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from evenrow.agronomy import field_evaluation as e
from evenrow.agronomy import sampling as s
from evenrow.agronomy import water_quality as w
from evenrow.calculators.data import numbers, to_data
from evenrow.calculators.lab_values import read_reading
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.water_filter_form import LAB_LABELS
from evenrow.calculators.water_hazard import read_report
from evenrow.errors import EvenrowError, InputError

FEW = settings(max_examples=60, deadline=None)
readings = st.floats(0.0, 1e6, allow_subnormal=False)


@given(st.sampled_from(sorted(w.BOUNDS)), readings, readings, st.booleans())
def test_dirtier_water_is_never_a_lower_hazard(name, one, other, stricter):
    low, high = sorted((one, other))
    for sign in ({}, {"below": True}, {"above": True}):
        found = [w.hazard(name, v, stricter=stricter, **sign) for v in (low, high)]
        assert found[0] <= found[1]
    assert w.hazard(name, high) <= w.hazard(name, high, above=True)
    assert w.hazard(name, high, below=True) <= w.hazard(name, high)


@given(
    st.dictionaries(st.sampled_from(sorted(set(w.BOUNDS) - {"ph"})), st.floats(0.0, 1e5)),
    st.sampled_from(sorted(set(w.BOUNDS) - {"ph"})),
    st.floats(0.0, 1e5),
)
def test_more_of_anything_never_lowers_the_worst(report, name, more):
    texts = {key: f"{value:.6f}" for key, value in report.items()}
    worse = texts | {name: f"{report.get(name, 0.0) + more:.6f}"}
    before, after = read_report(texts).worst, read_report(worse).worst
    assert before is None or before <= after


@given(st.sampled_from(sorted(LAB_LABELS)), st.text(max_size=50))
@example("iron", "<")
@example("bacteria", "/mL")
@example("hardness", "1 °")
def test_any_text_is_a_reading_or_an_error_at_its_field(name, text):
    found = problem = None
    try:
        found = read_reading(text, name, "lab.x")
    except InputError as error:
        problem = error
    if problem is not None:
        assert problem.field == "lab.x"
    elif found is not None:
        assert 0.0 <= found.low <= found.high
        assert math.isfinite(found.low)


@FEW
@given(st.dictionaries(st.sampled_from(sorted(LAB_LABELS)), st.text(max_size=12), max_size=4))
def test_no_report_breaks_the_page(lab):
    document = default_document(CALCULATORS["water-filter"], "us")
    document["lab"] = lab
    try:
        _, result, system = answer(document)
    except EvenrowError:
        return
    json.dumps(to_data(result, system), allow_nan=False)


#: In litres, to the microlitre: smaller numbers are refused as no size.
volumes = st.lists(st.integers(0, 99_000_000).map(lambda n: n * 1e-6), min_size=4, max_size=30)


def cups_document(found, order=None):
    document = default_document(CALCULATORS["field-check"], "metric")
    cups = [
        {
            "place": ("near", "third", "two-thirds", "far")[i % 4],
            "row": str(i // 4),
            "volume": f"{v!r} L",
            **({"pressure": f"{1.0 + 0.01 * i} bar"} if i % 3 == 0 else {}),
        }
        for i, v in enumerate(found)
    ]
    document["cups"] = [cups[i] for i in order] if order is not None else cups
    return document


@FEW
@given(volumes.filter(any), st.randoms(use_true_random=False))
def test_the_order_of_cups_changes_no_number(found, random):
    order = list(range(len(found)))
    random.shuffle(order)
    _, expected, system = answer(cups_document(found))
    _, shuffled, _ = answer(cups_document(found, order))
    assert numbers(shuffled, system) == numbers(expected, system)
    assert [i for part in shuffled.sections for i in part.items if i.name == "next"] == [
        i for part in expected.sections for i in part.items if i.name == "next"
    ]


@FEW
@given(volumes)
@example([0.0, 0.0, 0.0, 0.0])
@example([0.0, 0.0, 0.0, 1.0])
@example([5.0] * 16)
@example([1e-6, 99.0, 99.0, 99.0])
def test_any_cups_are_answered_within_their_bounds(found):
    if not any(found):
        with pytest.raises(InputError) as caught:
            answer(cups_document(found))
        assert caught.value.field == "cups"
        return
    _, result, system = answer(cups_document(found))
    json.dumps(to_data(result, system), allow_nan=False)
    got = {name: n["value"] for name, n in numbers(result, system).items()}
    assert 0.0 <= got["dulq"] <= 1.0 + 1e-12
    assert 0.0 <= got["uniformity_low"] <= got["uniformity_high"] <= 1.0
    shares = [got[n] or 0.0 for n in ("pressure_share", "made_share", "rest_share")]
    assert min(shares) >= 0.0
    assert sum(shares) == pytest.approx(1.0) or sum(shares) == 0.0


@given(volumes.filter(lambda v: max(v) > 1e-6), st.floats(0.01, 100.0))
def test_the_measures_do_not_depend_on_the_size_of_the_cups(found, factor):
    scaled = np.asarray(found) * factor
    assert e.low_quarter(scaled) == pytest.approx(e.low_quarter(found), rel=1e-9, abs=1e-12)
    assert e.variation(scaled) == pytest.approx(e.variation(found), rel=1e-9, abs=1e-12)


@given(st.floats(0.0, 0.33), st.integers(4, 200), st.floats(0.5, 0.99))
def test_the_band_always_holds_its_reading(cv, count, confidence):
    low, high = s.variation_band(cv, count, confidence)
    # Half of all fields lie above their cups' variation, near enough from sixteen cups up.
    assert low <= cv * (1.0 + 1e-12)
    if confidence >= 0.8:
        assert cv <= high
