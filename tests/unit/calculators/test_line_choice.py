"""The answer on tape or dripline as people read it."""

import pytest

from evenrow.calculators.data import numbers
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text
from evenrow.catalogue import devices
from evenrow.catalogue.growing import crops
from evenrow.errors import InputError


def document(system="us", **changes):
    found = default_document(CALCULATORS["line-choice"], system)
    for key, value in changes.items():
        put(found, key.replace("__", "."), value)
    return found


def rows(result, name):
    found = [i for s in result.sections for i in s.items if getattr(i, "name", "") == name]
    return found[0].rows if found else ()


def test_the_default_is_lettuce_on_loam_with_two_or_three_tapes():
    _, result, system = answer(document())
    assert "tape" in result.headline.text
    assert numbers(result, system)["lines"]["value"] in (2, 3)
    assert [s.title for s in result.sections][:2] == ["What gets wet", "How to lay it"]


def test_every_line_has_a_row_and_the_refused_ones_come_last():
    _, result, _ = answer(document(regulated="no"))
    suiting, out = rows(result, "suiting"), rows(result, "ruled_out")
    assert suiting
    labels = sorted(row[0] for row in (*suiting, *out))
    assert labels == sorted(device.label for device in devices().values())
    assert all(row[-1] for row in out)


def test_nothing_that_fits_still_answers_with_the_table():
    _, result, system = answer(document(regulated="no", pressure="100 psi"))
    assert result.headline.text.startswith("none")
    assert rows(result, "suiting") == ()
    assert len(rows(result, "ruled_out")) == len(devices())
    assert "pressure regulator" in to_text(result, system)


def test_a_bed_without_its_width_is_asked_for_and_a_row_is_not():
    with pytest.raises(InputError) as caught:
        answer(document(planting__bed_width=""))
    assert caught.value.field == "planting.bed_width"
    answer(document(planting__bed_width="", planting__layout="row"))


def test_own_root_width_and_share_change_the_number_of_lines():
    def lines(**changes):
        _, result, system = answer(
            document(planting__layout="row", planting__crop="tomato", **changes)
        )
        return numbers(result, system)["lines"]["value"]

    assert lines() == 1
    assert lines(planting__root_width="4 ft") >= 2
    assert lines(planting__root_width="2.9 ft", planting__share="100 %") > 1


def test_a_line_that_stays_follows_the_crop_unless_told():
    def best(**changes):
        return answer(document(planting__layout="row", **changes))[1].headline.text

    assert "dripline" in best(planting__crop="raspberry")
    assert "tape" in best(planting__crop="raspberry", planting__stays="season")
    assert "dripline" in best(planting__crop="tomato", planting__stays="years")


def test_a_missing_regulator_is_warned_of_where_lines_would_burst():
    def warned(**changes):
        notices = answer(document(**changes))[1].notices
        return any(n.level == "warning" and "regulator" in n.text for n in notices)

    assert warned(regulated="no")
    assert not warned(regulated="no", pressure="8 psi")
    assert not warned()


def test_buried_lines_carry_the_caution_on_digging():
    _, result, _ = answer(document(planting__buried="yes"))
    assert any(n.level == "caution" and "dig" in n.text for n in result.notices)
    _, result, _ = answer(document())
    assert not any(n.level == "caution" for n in result.notices)


@pytest.mark.parametrize("crop", list(crops()))
def test_every_crop_has_an_answer_on_light_and_heavy_soil(crop):
    for soil in ("sand", "clay"):
        layout = "bed" if crops()[crop].bedded else "row"
        asked = document(
            "metric", planting__crop=crop, planting__soil=soil, planting__layout=layout
        )
        _, result, system = answer(asked)
        assert len(rows(result, "suiting")) + len(rows(result, "ruled_out")) == len(devices())
        assert to_text(result, system)
