import copy

import pytest

from evenrow.calculators.reading import default_document, in_order, read
from evenrow.errors import InputErrors

PSI = 0.7030695796


@pytest.fixture
def document(calculator):
    return default_document(calculator, "us")


def problems(calculator, document):
    with pytest.raises(InputErrors) as caught:
        read(calculator, document)
    return {error.field: error for error in caught.value.errors}


def test_the_default_document_holds_every_default(calculator, document):
    assert document == {
        "evenrow": 1,
        "calculator": "small",
        "units": "us",
        "source": {"pressure": "45 psi", "kind": "tap", "filter": "yes"},
        "reserve": "10 %",
        "rows": [{"length": "62 ft", "count": "5"}],
    }


def test_inputs_are_si_and_nested(calculator, document):
    inputs, system = read(calculator, document)
    assert system == "us"
    assert inputs == {
        "source": {"pressure": pytest.approx(45 * PSI), "kind": "tap", "filter": True},
        "slope": None,
        "note": None,
        "reserve": pytest.approx(0.1),
        "rows": [{"length": pytest.approx(18.8976), "count": 5}],
    }


def test_the_document_is_left_as_it_is(calculator, document):
    before = copy.deepcopy(document)
    read(calculator, document)
    assert document == before


def test_units_are_metric_when_the_document_does_not_say(calculator, document):
    del document["units"]
    assert read(calculator, document)[1] == "metric"


def test_what_is_assumed_may_be_left_out_but_not_be_wrong(calculator, document):
    del document["reserve"]
    assert read(calculator, document)[0]["reserve"] == pytest.approx(0.1)
    document["reserve"] = "lots"
    assert set(problems(calculator, document)) == {"reserve"}


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("source.pressure", "", "missing"),
        ("source.pressure", "0 psi", "out_of_range"),
        ("source.pressure", "-5 psi", "out_of_range"),
        ("source.pressure", "500 psi", "out_of_range"),
        ("source.pressure", "45 gal", "wrong_dimension"),
        ("source.pressure", "45", "no_unit"),
        ("source.pressure", 45, "no_unit"),
        ("source.pressure", True, "wrong_type"),
        ("source.pressure", ["45 psi"], "wrong_type"),
        ("source.pressure", {"value": 45}, "wrong_type"),
        ("source.pressure", "<script>", "not_a_number"),
        ("source.kind", "well", "not_a_choice"),
        ("source.kind", 3, "not_a_choice"),
        ("source.kind", "", "missing"),
        ("source.filter", "maybe", "not_a_flag"),
        ("source.filter", 1, "not_a_flag"),
        ("slope", "40 %", "out_of_range"),
        ("note", "x" * 21, "too_long"),
        ("note", 5, "wrong_type"),
        ("rows", "62 ft", "wrong_type"),
        ("rows", [], "missing"),
        ("rows", [{"length": "62 ft", "count": 5}] * 4, "out_of_range"),
        ("units", "imperial", "not_a_choice"),
        ("calculator", "other", "wrong_calculator"),
        ("evenrow", 2, "newer_version"),
        ("name", "x" * 81, "too_long"),
        ("about", ["x"], "wrong_type"),
        ("source", "tap", "wrong_type"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_a_bad_value_is_refused_at_its_field(calculator, document, path, value, code):
    target = document
    *way, last = path.split(".")
    for part in way:
        target = target[part]
    target[last] = value
    found = problems(calculator, document)
    assert found[path].code == code
    assert list(found) == [path]


@pytest.mark.parametrize(
    ("row", "field", "code"),
    [
        ({"length": "nan", "count": 5}, "rows.1.length", "not_finite"),
        ({"length": "62 ft"}, "rows.1.count", "missing"),
        ({"length": "62 ft", "count": "2.5"}, "rows.1.count", "not_a_count"),
        ({"length": "62 ft", "count": 0}, "rows.1.count", "out_of_range"),
        ({"length": "62 ft", "count": 10**15}, "rows.1.count", "out_of_range"),
        ({"length": "62 ft", "count": True}, "rows.1.count", "not_a_count"),
        ({"length": "62 ft", "count": 5, "lenght": "1 m"}, "rows.1.lenght", "unknown_key"),
        ("62 ft", "rows.1", "wrong_type"),
    ],
)
def test_a_bad_cell_is_refused_at_its_row(calculator, document, row, field, code):
    document["rows"].append(row)
    found = problems(calculator, document)
    assert {name: error.code for name, error in found.items()} == {field: code}


def test_empty_rows_at_the_end_are_taken_away(calculator, document):
    document["rows"] += [{"length": "", "count": " "}] * 5
    assert len(read(calculator, document)[0]["rows"]) == 1


def test_all_problems_are_found_at_once(calculator, document):
    document["source"] = {"pressure": "x", "kind": "well"}
    document["colour"] = "green"
    document["rows"][0]["length"] = "0 ft"
    assert set(problems(calculator, document)) == {
        "source.pressure",
        "source.kind",
        "source.filter",
        "colour",
        "rows.0.length",
    }


def test_an_unknown_name_comes_with_the_nearest_known_one(calculator, document):
    document["source"]["presure"] = "45 psi"
    error = problems(calculator, document)["source.presure"]
    assert error.code == "unknown_key"
    assert error.hint == "source.pressure"


def test_the_bounds_are_told_in_the_units_of_the_document(calculator, document):
    document["rows"][0]["length"] = "5 mi"
    assert "6562\u00a0ft" in problems(calculator, document)["rows.0.length"].accepted
    document["units"] = "metric"
    assert "2000\u00a0m" in problems(calculator, document)["rows.0.length"].accepted


def test_a_list_of_problems_stays_readable(calculator, document):
    document.update({f"unknown-{i}": 1 for i in range(300)})
    assert len(problems(calculator, document)) == 50


def test_the_order_of_the_form_loses_nothing(calculator, document):
    mixed = {"extra": 1, **dict(reversed(document.items()))}
    mixed["source"] = {"more": 2, **dict(reversed(document["source"].items()))}
    ordered = in_order(calculator, mixed)
    assert ordered == mixed
    assert list(ordered)[:3] == ["evenrow", "calculator", "units"]
    assert list(ordered["source"]) == ["pressure", "kind", "filter", "more"]
    assert list(ordered)[-1] == "extra"
