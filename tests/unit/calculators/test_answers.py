"""What each calculator answers for fields whose answer is known."""

import pytest

from evenrow.calculators.data import numbers
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text
from evenrow.catalogue import devices
from evenrow.design.demos import demo
from evenrow.errors import ImpossibleError, InputError, InputErrors
from evenrow.hydraulics import SourceCurve


def document(name, system="metric", **changes):
    found = default_document(CALCULATORS[name], system)
    for key, value in changes.items():
        put(found, key.replace("__", "."), value)
    return found


def value(name, number, **changes):
    _, result, system = answer(document(name, **changes))
    return numbers(result, system)[number]["value"]


def test_usable_flow_is_that_of_the_curve():
    readings = [{"volume": "25 L", "time": "60 s"}]
    found = value(
        "source-flow",
        "usable_flow",
        source__readings=readings,
        source__static_pressure="3.1 bar",
        required_pressure="2 bar",
    )
    curve = SourceCurve.from_flow_test(3.1 * 10.19716, 25e-3 / 60)
    assert found == pytest.approx(float(curve.flow_at(2 * 10.19716)), rel=1e-6)


def test_a_run_on_a_falling_row_is_longer_where_friction_rules():
    flat = value("run-length", "run_length", limits__eu="90 %")
    falling = value("run-length", "run_length", limits__eu="90 %", ground__row_slope="-1 %")
    assert falling > flat


def test_a_flow_share_can_govern_the_run():
    _, result, _ = answer(document("run-length", limits__flow="100 L/h"))
    assert "flow you can give to one line" in result.verdict
    # 100 L/h at 2 L/h each, all at nearly the rated pressure.
    assert result.headline.value == pytest.approx(50 * 0.3, abs=0.31)


def test_no_length_at_all_is_impossible_and_says_what_to_try():
    with pytest.raises(ImpossibleError) as caught:
        answer(document("run-length", pressure="5 bar"))
    assert caught.value.changes
    assert "highest pressure" in caught.value.limit


def test_own_figures_replace_those_of_the_catalogue():
    own = {"line__own__flow": "1 L/h", "line__own__at": "1 bar"}
    assert value("run-length", "run_length", **own) > value("run-length", "run_length")


def test_a_flow_without_its_pressure_is_asked_for():
    with pytest.raises(InputError) as caught:
        answer(document("run-length", line__own__flow="1 L/h"))
    assert caught.value.field == "line.own.at"


def test_zones_say_what_one_fewer_would_take():
    _, result, system = answer(document("zones"))
    assert result.headline.value == 3
    assert "one zone fewer" in to_text(result, system)


def test_zones_never_more_than_crops_ask_for():
    rows = [
        {"crop": crop, "count": 2, "length": "10 m", "spacing": "1 m", "lines": 1}
        for crop in ("leek", "bean")
    ]
    _, result, system = answer(document("zones", rows=rows))
    assert result.headline.value == 2
    assert "only joining crops" in " ".join(to_text(result, system).split())


def test_a_parts_list_needs_the_line_of_all_rows():
    rows = [{"crop": "", "count": 4, "length": "20 m", "spacing": "1 m", "lines": 2}]
    # Eight runs of 20 m with a foot more at each.
    assert value("parts-list", "line_needed", rows=rows) == pytest.approx(8 * 20.3048)


@pytest.mark.parametrize("kind", ["hose-tap", "municipal", "pump", "tank"])
def test_a_parts_list_suits_the_kind_of_source(kind):
    _, result, system = answer(document("parts-list", source__kind=kind))
    text = to_text(result, system)
    assert ("backflow preventer" in text) == (kind in ("hose-tap", "municipal"))
    assert ("pressure regulator" in text) == (kind != "tank")


def test_a_whole_field_carries_its_cautions():
    for kind_demo, words in (
        ("raspberries", "backflow preventer"),
        ("winter-squash", "electrician"),
        ("school-garden", "air gap"),
    ):
        _, result, _ = answer(demo(kind_demo))
        cautions = " ".join(n.text for n in result.notices if n.level == "caution")
        assert words in cautions
        assert "Before you dig" in cautions


@pytest.mark.parametrize("device", [d.code for d in devices().values()])
@pytest.mark.parametrize("name", ["run-length", "zones"])
def test_any_line_can_be_chosen_without_knowing_its_pressure(name, device):
    found = value(name, "start_pressure", line__device=device)
    assert found == pytest.approx(devices()[device].emitter.head_nominal)


def test_what_no_emitter_keeps_is_told_with_both_figures():
    with pytest.raises(ImpossibleError) as caught:
        answer(document("run-length", "us", line__device="tape-16-thin", pressure="15 psi"))
    assert "12\N{NO-BREAK SPACE}psi" in caught.value.message
    assert "15\N{NO-BREAK SPACE}psi" in caught.value.message
    assert caught.value.field == "pressure"


def test_pressure_at_the_low_end_is_named_where_it_stops_the_run():
    _, result, system = answer(
        document(
            "run-length",
            line__device="tape-16-thin",
            pressure="10 psi",
            ground__row_slope="-1 %",
            limits__eu="70 %",
        )
    )
    assert "standing still" in result.verdict
    standing = numbers(result, system)["standing_pressure"]["value"]
    assert standing == pytest.approx(12 * 0.70307, rel=0.005)


def test_a_gauge_is_asked_for_only_where_it_matters():
    needs = document("whole-field", "us")
    del needs["source"]["static_pressure"]
    with pytest.raises(InputErrors) as caught:
        answer(needs)
    assert [e.field for e in caught.value.errors] == ["source.static_pressure"]
    _, result, _ = answer(demo("school-garden"))
    assert result.headline.value == 1


def test_a_regulator_other_than_asked_for_is_pointed_at():
    _, result, _ = answer(
        document("parts-list", "us", line__device="tape-16-thin", pressure="15 psi")
    )
    assert any("nearest setting" in n.text for n in result.notices if n.level == "warning")
