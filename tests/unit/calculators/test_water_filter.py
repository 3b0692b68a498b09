"""Water & filter: from the form to the answer."""

import copy

import pytest

from evenrow.calculators.data import numbers, to_data
from evenrow.calculators.html_carry import carried_values
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.result import Fact, Number, Steps, Table
from evenrow.calculators.water_filter import CALCULATOR
from evenrow.errors import InputError, InputErrors
from evenrow.words import tr, use_language


def document(system="metric", **changes):
    found = copy.deepcopy(default_document(CALCULATOR, system))
    for name, value in changes.items():
        *way, last = name.split("__")
        place = found
        for part in way:
            place = place.setdefault(part, {})
        if value is None:
            place.pop(last, None)
        else:
            place[last] = value
    return found


def answered(**changes):
    _, result, system = answer(document(**changes))
    return result, numbers(result, system)


def items(result, kind=None):
    found = [item for section in result.sections for item in section.items]
    return [item for item in found if kind is None or isinstance(item, kind)]


def item(result, name):
    return next(i for i in items(result) if i.name == name)


CLEAN = {
    "lab__ph": "6.5", "lab__suspended": "5", "lab__dissolved": "200", "lab__iron": "<0.1",
    "lab__manganese": "<0.1", "lab__sulphide": "<0.1", "lab__hardness": "50",
    "lab__bacteria": "10",
}  # fmt: skip


def test_clean_water_is_slight():
    result, _ = answered(**CLEAN)
    assert result.headline.text == "slight"
    assert not [n for n in result.notices if n.level == "warning"]


@pytest.mark.parametrize(
    ("field", "text", "name"),
    [
        ("lab__iron", "1.6 mg/L", "Iron"),
        ("lab__ph", "8.1", "pH"),
        ("lab__suspended", ">100", "Suspended solids"),
        ("lab__bacteria", "60000", "Bacteria, total count"),
    ],
)
def test_one_bad_constituent_is_enough_and_is_named(field, text, name):
    result, _ = answered(**{**CLEAN, field: text})
    assert result.headline.text == "severe"
    assert result.verdict.startswith(f"Because of {name}. Do not run")
    assert item(result, "hazards").rows[0][0] == name


def test_the_class_that_a_less_than_leaves_open_is_said():
    result, _ = answered(**{**CLEAN, "lab__iron": "<1"})
    assert {row[0]: row[2] for row in item(result, "hazards").rows}["Iron"] == (
        "slight to moderate"
    )
    assert result.headline.text == "slight to moderate"
    assert "tested more finely" in result.verdict


def test_what_a_less_than_hides_does_not_matter_beside_something_worse():
    result, _ = answered(**{**CLEAN, "lab__iron": "<1", "lab__ph": "9"})
    assert result.headline.text == "severe"
    assert result.verdict.startswith("Because of pH.")


def test_conductivity_stands_in_for_dissolved_solids_and_gives_way_to_them():
    by_ec, _ = answered(**{**CLEAN, "lab__dissolved": None, "lab__ec": "4 dS/m"})
    assert by_ec.headline.text == "severe"
    assert by_ec.verdict.startswith("Because of Dissolved solids.")
    both, _ = answered(**{**CLEAN, "lab__ec": "4 dS/m"})
    assert both.headline.text == "slight"


def test_an_empty_report_is_not_known_and_still_gets_a_filter():
    result, _ = answered(**dict.fromkeys(CLEAN))
    assert result.headline.text == "not known"
    assert not items(result, Table)
    assert "not known" in item(result, "flushing").text
    assert "not clean" in " ".join(n.text for n in result.notices)


def test_every_wrong_line_is_told_at_once():
    with pytest.raises(InputErrors) as caught:
        answer(document(lab__iron="much", lab__ph="15"))
    assert [e.field for e in caught.value.errors] == ["lab.ph", "lab.iron"]


def test_the_passage_sets_the_mesh_and_the_line_stands_in_for_it():
    result, _ = answered(passage="0.9 mm")
    assert item(result, "fineness").text.startswith("120 mesh")
    line, _ = answered(passage=None, line__device="tape-16-thin")  # 0.6 mm in the catalogue
    assert item(line, "fineness").text.startswith("200 mesh")


def test_area_follows_the_flow_and_dirt_asks_for_more():
    _, one = answered(flow="1.8 m³/h")
    _, two = answered(flow="3.6 m³/h")
    area = one["filter_area"]["value"]
    assert two["filter_area"]["value"] == pytest.approx(2 * area)
    _, dirty = answered(lab__suspended="60", filter__kind="screen")
    assert dirty["filter_area"]["value"] == pytest.approx(area * 200 / 150)
    _, half = answered(filter__area=f"{area / 2!r} m²")
    assert half["filter_use"]["value"] == pytest.approx(2.0)
    assert half["flushing"]["value"] == pytest.approx(one["flushing"]["value"] / 4)


def test_open_water_gets_no_screen_and_a_screen_is_answered_with_what_is_better():
    result, _ = answered(water__source="open", filter__kind="screen")
    assert "better here: disc" in item(result, "filter_kind").text


def test_liquid_chlorine_by_hand():
    # 30 L/min x 10 mg/L = 300 mg/min; 52.5 mg/mL: 5.714 mL/min = 0.3429 L/h.
    result, found = answered()
    assert found["injection_rate"]["value"] == pytest.approx(5.7143e-6 / 60, rel=1e-4)
    lines = " ".join(item(result, "arithmetic").items)
    for part in ("52.5 g/L", "30 L/min", "300 mg", "5.71 mL/min", "0.343 L/h"):
        assert part in lines.replace("\u00a0", " ")
    total = found["injection_rate"]["value"] * found["injection_time"]["value"]
    assert found["injected"]["value"] == pytest.approx(total)


def test_granules_by_hand():
    # 1 kg of 65 % in 40 L: 16.25 g/L; 300 mg/min: 18.46 mL/min.
    _, found = answered(chemical__kind="granular")
    assert found["injection_rate"]["value"] == pytest.approx(18.4615e-6 / 60, rel=1e-4)


def test_acid_by_hand():
    # 10 mL in 20 L: 0.5 mL/L x 30 L/min = 15 mL/min.
    result, found = answered(chemical__kind="acid")
    assert found["injection_rate"]["value"] == pytest.approx(15e-6 / 60)
    assert "15 mL/min" in " ".join(item(result, "arithmetic").items)


def test_fertiliser_by_hand():
    # 1 kg of 20 % in 40 L: 5 g/L; 30 L/min x 100 mg/L = 3,000 mg/min: 600 mL/min.
    result, found = answered(chemical__kind="fertiliser", travel__by="time", travel__time="90 min")
    assert found["injection_rate"]["value"] == pytest.approx(600e-6 / 60)
    assert found["injection_time"]["value"] == pytest.approx(5400.0)
    warnings = [n.text for n in result.notices if n.level == "warning"]
    assert any("The solution lasts only" in text for text in warnings)  # 54 L wanted of 40 L


def test_nothing_injected_has_no_injection():
    result, found = answered(chemical__kind="none")
    assert "injection_rate" not in found
    assert not [i for i in items(result, Fact) if i.name == "backflow"]


def test_too_little_chlorine_for_the_iron_is_said():
    result, _ = answered(lab__iron="1.4 mg/L", chemical__chlorine="0.5 mg/L")
    assert any("use up all" in n.text for n in result.notices)


@pytest.mark.parametrize("kind", ["liquid", "granular", "acid"])
def test_chlorine_and_acid_never_meet_at_that_step(kind):
    result, _ = answered(chemical__kind=kind)
    doing = " ".join(item(result, "injecting").items)
    assert "NEVER let chlorine and acid meet" in doing
    assert "label" in doing
    assert "people and animals out" in doing
    assert "backflow" in item(result, "injecting").items[0]
    assert any("NEVER mix" in caution for caution in CALCULATOR.cautions)


@pytest.mark.parametrize("kind", ["liquid", "granular", "acid"])
def test_chlorine_and_acid_never_meet_in_spanish_either(kind):
    with use_language("es"):
        steps = item(answered(chemical__kind=kind)[0], "injecting").items
        cautions = [tr(caution) for caution in CALCULATOR.cautions]
    both = [text for text in (*steps, *cautions) if "cloro y ácido" in text]
    assert len(both) == 2
    assert all(text.startswith("NUNCA") and "el gas mata" in text for text in both)
    poured = next(text for text in steps if "nunca el agua" in text)
    assert poured.startswith("Vierta el ácido en el agua" if kind == "acid" else "Agregue el cloro")
    assert "protección contra reflujo" in steps[0]
    assert "no inyecte nada" in steps[0]


def test_the_travel_time_of_the_line_adds_the_pipe_before_it():
    _, with_pipe = answered(travel__main="18 m", travel__bore="21 mm")
    _, without = answered(travel__main="0 m")
    # Volume over flow: pi/4 x 0.021^2 x 18 / (1.8 / 3600).
    assert with_pipe["travel_time"]["value"] - without["travel_time"]["value"] == pytest.approx(
        12.469, abs=0.01
    )


def test_a_longer_line_takes_longer():
    times = [answered(travel__length=f"{n} m")[1]["travel_time"]["value"] for n in (10, 45, 90)]
    assert times == sorted(times)
    assert times[0] < times[-1]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"chemical__chlorine": ""}, "chemical.chlorine"),
        ({"chemical__percent": ""}, "chemical.percent"),
        ({"chemical__kind": "acid", "chemical__acid": ""}, "chemical.acid"),
        ({"chemical__kind": "granular", "chemical__stock": ""}, "chemical.stock"),
        ({"travel__by": "time", "travel__time": ""}, "travel.time"),
        ({"travel__length": ""}, "travel.length"),
        ({"travel__length": "1 cm"}, "travel.length"),
        ({"travel__length": "5000 m", "line__spacing": "2 cm"}, "travel.length"),
        ({"travel__bore": ""}, "travel.bore"),
        ({"travel__pressure": "10 bar"}, "travel.pressure"),
        ({"line__spacing": ""}, "line.spacing"),
        ({"ground__row_slope": "30 %", "travel__length": "400 m"}, "travel.pressure"),
        ({"filter__area": "0.0001 cm2"}, "filter.area"),
    ],
)
def test_what_is_missing_or_too_much_is_told_at_its_field(changes, field):
    with pytest.raises(InputError) as caught:
        answer(document(**changes))
    assert caught.value.field == field


def test_a_reading_with_markup_is_refused_and_units_with_it_too():
    with pytest.raises(InputErrors):
        answer(document(lab__iron="1 <b>mg/L</b>"))


def test_all_numbers_are_finite_in_both_systems():
    for system in ("us", "metric"):
        _, result, shown = answer(document(system))
        assert to_data(result, shown)
        assert items(result, Number)
        assert items(result, Steps)


@pytest.mark.parametrize(
    ("iron", "hazard"), [("0.05 mg/L", "low"), ("0.4 mg/L", "moderate"), ("2 mg/L", "high")]
)
def test_upkeep_gets_the_hazard_and_the_filter(iron, hazard):
    document = default_document(CALCULATORS["water-filter"], "metric")
    document["lab"] = {"iron": iron}
    document["filter"]["kind"] = "disc"
    _, result, system = answer(document)
    (carry,) = [each for each in CALCULATORS["water-filter"].carries if each.to == "upkeep"]
    taken = carried_values(carry, result, system)
    assert taken == {"water.hazard": hazard, "filter.kind": "disc"}


def test_without_a_report_upkeep_goes_by_the_source():
    document = default_document(CALCULATORS["water-filter"], "metric")
    document["lab"] = {}
    _, result, system = answer(document)
    (carry,) = [each for each in CALCULATORS["water-filter"].carries if each.to == "upkeep"]
    assert carried_values(carry, result, system)["water.hazard"] == "unknown"
