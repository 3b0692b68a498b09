import copy
import json

import pytest

from evenrow.calculators import web
from evenrow.calculators.comparing import NOTHING, compare
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS
from evenrow.errors import InputError


@pytest.fixture
def pair():
    left = default_document(CALCULATORS["zones"], "us")
    return left, copy.deepcopy(left)


def inputs(found):
    return {each["label"]: (each["left"], each["right"]) for each in found["inputs"]}


def results(found):
    return {each["name"]: each for each in found["results"]}


def test_equal_designs_differ_in_nothing(pair):
    found = compare(*pair, "us")
    assert found["title"] == "Zones"
    assert found["inputs"] == []
    assert {r["difference"] for r in found["results"]} <= {"the same", ""}
    assert found["problems"] == {"left": "", "right": ""}


def test_the_same_length_in_other_units_is_no_difference(pair):
    left, right = pair
    right["rows"][0]["length"] = "18.8976 m"
    assert compare(left, right, "us")["inputs"] == []
    right["rows"][0]["length"] = "18.9 m"
    assert inputs(compare(left, right, "us")) == {"Rows 1: Length": ("62 ft", "18.9 m")}


def test_a_flow_that_is_halved_needs_more_zones(pair):
    left, right = pair
    right["flow"] = "2.4 gal/min"
    found = compare(left, right, "us")
    assert inputs(found) == {"Usable flow of the source": ("4.8 gal/min", "2.4 gal/min")}
    zones = results(found)["zones"]
    assert (zones["left"], zones["right"], zones["difference"]) == ("1", "2", "+1")
    # Two of five rows less: the largest zone then has three.
    assert results(found)["largest_flow"]["difference"].startswith("−")
    assert results(found)["largest_flow"]["difference"].endswith("gal/min")
    assert results(found)["evenness"]["difference"] == "−33.3\u00a0percentage points"
    assert results(found)["one_fewer"]["difference"] == ""


def test_choices_and_rows_that_only_one_has_are_in_words(pair):
    left, right = pair
    right["header"] = {"place": "middle"}
    right["rows"].append(dict(right["rows"][0], crop="<b>beans</b>"))
    found = inputs(compare(left, right, "us"))
    assert found["Where the header meets the rows"] == (
        "at the near end of the rows",
        "across the middle of the rows",
    )
    assert found["Rows 2: Crop"] == (NOTHING, "<b>beans</b>")


def test_what_may_be_left_out_counts_as_its_default(pair):
    left, right = pair
    del right["header"]
    right["ground"] = {}
    assert compare(left, right, "us")["inputs"] == []


def test_a_side_without_an_answer_says_why_and_the_other_is_shown(pair):
    left, right = pair
    right["flow"] = "plenty"
    found = compare(left, right, "us")
    assert found["problems"]["left"] == ""
    assert found["problems"]["right"]
    assert results(found)["zones"]["left"] == "1"
    assert results(found)["zones"]["right"] == NOTHING
    right["flow"] = "0.1 gal/min"
    assert "times the flow" in compare(left, right, "us")["problems"]["right"]
    for name in "abcdefgh":
        right[name] = "1"
    assert compare(left, right, "us")["problems"]["right"].endswith("and 5 more")


def test_fields_that_do_not_matter_are_left_out():
    left = default_document(CALCULATORS["whole-field"], "us")
    right = copy.deepcopy(left)
    right["source"]["water_height"] = "3 ft"
    assert compare(left, right, "us")["inputs"] == []
    right["source"]["kind"] = "tank"
    assert "Kind of source" in inputs(compare(left, right, "us"))


def test_designs_of_different_calculators_are_refused(pair):
    with pytest.raises(InputError, match="different calculators"):
        compare(pair[0], default_document(CALCULATORS["run-length"], "us"), "us")


def test_the_page_gets_it_as_plain_data(pair):
    request = {"v": 1, "op": "compare", "left": pair[0], "right": pair[1], "units": "metric"}
    reply = json.loads(web.call(json.dumps(request)))
    assert reply["ok"] is True
    assert results(reply)["largest_flow"]["left"].endswith("m³/h")
    for bad in ({"left": []}, {"right": None}, {"units": "ells"}, {"left": {"evenrow": 9}}):
        reply = json.loads(web.call(json.dumps({**request, **bad})))
        assert reply["ok"] is False
        assert reply["error"]["kind"] == "input"
