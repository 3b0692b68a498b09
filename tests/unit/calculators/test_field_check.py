"""Field check: from cups to what is wrong."""

import pytest

from evenrow.calculators.data import numbers
from evenrow.calculators.field_check import CALCULATOR
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import answer
from evenrow.calculators.result import Figure
from evenrow.calculators.troubles import SYMPTOMS
from evenrow.errors import InputError, InputErrors

PLACES = ("near", "third", "two-thirds", "far")


def document(volumes, *, pressures=None, system="metric", **changes):
    """Return a document of cups in mL, four to a row; `pressures` in bar, None = not taken."""
    found = default_document(CALCULATOR, system)
    found["cups"] = [
        {"place": PLACES[i % 4], "row": str(i // 4 + 1), "volume": f"{v} mL"}
        for i, v in enumerate(volumes)
    ]
    for cup, pressure in zip(found["cups"], pressures or (), strict=False):
        if pressure is not None:
            cup["pressure"] = f"{pressure} bar"
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


def answered(volumes, **changes):
    _, result, system = answer(document(volumes, **changes))
    return result, numbers(result, system)


def text_of(result, name):
    for section in result.sections:
        for item in section.items:
            if item.name == name:
                return getattr(item, "text", None) or " ".join(item.items)
    raise AssertionError(name)


SOUND = [62, 60, 64, 61, 63, 62, 60, 65, 61, 63, 62, 64, 60, 61, 63, 62]
STEADY = [1.03, None, None, 1.02] * 4


def test_even_cups_are_excellent_and_left_alone():
    result, found = answered(SOUND, pressures=STEADY)
    assert found["dulq"]["value"] > 0.95
    assert result.verdict.startswith("Excellent")
    assert text_of(result, "cause") == "nothing stands out"
    assert text_of(result, "level").startswith("as it should be")
    assert not [n for n in result.notices if n.level == "warning"]


def test_figures_by_hand():
    # 10, 20, 30, 40 mL: low quarter 10 / 25; standard deviation 12.91 over 25.
    _, found = answered([10, 20, 30, 40])
    assert found["dulq"]["value"] == pytest.approx(0.4)
    assert found["cv"]["value"] == pytest.approx(0.51640, abs=1e-5)
    assert found["statistical_uniformity"]["value"] == pytest.approx(0.48360, abs=1e-5)
    assert found["mean_flow"]["value"] == pytest.approx(25e-6 / 120)
    assert found["low_flow"]["value"] == pytest.approx(10e-6 / 120)
    assert found["uniformity_low"]["value"] < 0.4836 < found["uniformity_high"]["value"]


def test_a_cup_with_its_own_time():
    asked = document([60, 60, 60, 60])
    asked["cups"][0] |= {"volume": "30 mL", "time": "1 min"}
    _, result, system = answer(asked)
    assert numbers(result, system)["dulq"]["value"] == pytest.approx(1.0)


def test_scattered_low_cups_at_even_pressure_are_clogging():
    volumes = list(SOUND)
    volumes[1], volumes[6], volumes[8], volumes[15] = 25, 30, 28, 31
    result, found = answered(volumes, pressures=STEADY)
    assert text_of(result, "cause") == "clogging or wear"
    assert "scattered" in text_of(result, "next")
    assert found["rest_share"]["value"] > 0.9


def test_low_far_ends_at_even_pressure_are_dirt_in_the_ends():
    volumes = [v if i % 4 < 3 else 30 + i / 10 for i, v in enumerate(SOUND)]
    result, _ = answered(volumes, pressures=STEADY)
    assert text_of(result, "cause") == "clogging or wear"
    assert "far ends" in text_of(result, "next")


def test_one_low_row_is_that_row():
    volumes = [v if i // 4 != 2 else 30 + i / 10 for i, v in enumerate(SOUND)]
    result, _ = answered(volumes, pressures=STEADY)
    assert "all in row 3" in text_of(result, "next")


def test_flow_that_follows_the_pressure_is_pressure():
    pressures = [1.4, 1.1, 0.8, 0.5] * 4
    volumes = [62 * (p / 1.03) ** 0.5 for p in pressures]
    result, found = answered(volumes, pressures=pressures)
    assert text_of(result, "cause") == "pressure differs from place to place"
    assert found["pressure_share"]["value"] > 0.8
    assert found["pressure_eu"]["value"] == pytest.approx(found["dulq"]["value"], rel=1e-6)


def test_manufacture_explains_what_is_no_more_than_it():
    volumes = [62 * (1 + 0.15 * (-1) ** i) for i in range(16)]
    result, _ = answered(volumes, pressures=[1.03] * 16, expected__cv="16 %")
    assert text_of(result, "cause") == "the emitters as they were made"


def test_without_pressures_no_telling():
    volumes = [*SOUND[:12], 20, 21, 25, 22]
    result, found = answered(volumes)
    assert "without pressures" in text_of(result, "cause")
    assert found["pressure_share"]["value"] is None
    assert "pressure_eu" not in found


@pytest.mark.parametrize(
    ("factor", "pressures", "words"),
    [
        (0.7, STEADY, "pressure does not explain it"),
        (0.7, None, "a gauge would tell"),
        (1.3, STEADY, "wear"),
        (0.7, [0.505, None, None, 0.505] * 4, "as it should be"),  # root of 0.49 is 0.7
    ],
)
def test_the_level_is_judged_at_the_pressure_measured(factor, pressures, words):
    result, _ = answered([factor * v for v in SOUND], pressures=pressures)
    assert words in text_of(result, "level")


def test_no_flow_expected_is_not_compared():
    _, found = answered(SOUND, expected__flow=None)
    assert "level_ratio" not in found


def test_dry_cups_are_named_with_their_row():
    volumes = list(SOUND)
    volumes[7] = 0
    result, _ = answered(volumes)
    assert "Dry: cup 8 (row 2, far end)." in [n.text for n in result.notices]


def test_a_negative_cup_is_refused_in_its_row():
    volumes = list(SOUND)
    volumes[4] = -5
    with pytest.raises(InputErrors) as caught:
        answer(document(volumes))
    assert [(e.field, e.code) for e in caught.value.errors] == [("cups.4.volume", "out_of_range")]


@pytest.mark.parametrize("volumes", [[], [60], [60, 60, 60], [0, 0, 0, 0]])
def test_too_few_or_all_dry_is_refused_at_the_cups(volumes):
    with pytest.raises(InputError) as caught:
        answer(document(volumes))
    assert caught.value.field == "cups"
    assert caught.value.hint


def test_few_cups_are_answered_with_a_warning():
    result, _ = answered(SOUND[:4])
    assert any("Only 4 cups" in n.text for n in result.notices)


@pytest.mark.parametrize("symptom", [c.value for c in SYMPTOMS if c.value != "none"])
def test_a_trouble_needs_no_cups_and_goes_with_them(symptom):
    alone, _ = answered([], symptom=symptom)
    first = alone.sections[0].items[0]
    assert len(alone.headline.text) < 45  # it stands in one line at the foot of a phone
    assert first.items[0] in alone.verdict
    assert len(first.items) >= 5
    both, found = answered(SOUND, symptom=symptom)
    assert both.sections[0].items[0] == first
    assert found["dulq"]["value"] > 0.9


def test_the_map_names_rows_and_distances():
    result, _ = answered(SOUND, zone__rows="24", zone__length="60 m")
    words = text_of(result, "cup_map").replace("\u00a0", " ")
    assert "rows 1, 9, 16, 24" in words
    for place in ("20 m", "40 m", "60 m"):
        assert place in words
    thirds, _ = answered(SOUND, zone__rows=None, zone__length=None)
    assert "one third" in text_of(thirds, "cup_map")


def test_a_narrower_band_asks_for_more_cups():
    needed = [
        answered(SOUND, sure__half_width=width)[1]["cups_needed"]["value"]
        for width in ("10 %", "4 %", "1 %", "0.5 %")
    ]
    assert needed == sorted(needed)
    assert needed[0] < needed[-1]


def test_all_alike_is_drawn_too():
    result, found = answered([50] * 16)
    assert found["dulq"]["value"] == 1.0
    figures = [i for s in result.sections for i in s.items if isinstance(i, Figure)]
    around, spread = figures
    assert spread.svg.startswith("<svg")
    assert "16 cups" in spread.alternative
    assert around.svg.count(">100 %<") == 16
    assert "lowest quarter" not in around.svg


def test_the_map_marks_the_lowest_quarter():
    result, _ = answered([60, 62, 61, 30] * 4)
    around = next(i for s in result.sections for i in s.items if i.name == "cups_map")
    assert around.svg.count("er-mark-3") == 4 + 1  # One in the key.
    assert "cup 4 (row 1, far end): 56 %" in around.alternative


def with_design(volumes, should):
    """Return an answer to cups of mL in two minutes, each with what the design has there."""
    found = document(["0"] * len(should))
    for cup, volume, expected in zip(found["cups"], volumes, should, strict=True):
        cup["volume"] = "" if volume is None else f"{volume} mL"
        cup["expected"] = f"{expected * 30} mL/h"
    _, result, system = answer(found)
    return result, numbers(result, system)


def test_cups_not_measured_yet_are_told_what_they_should_catch():
    result, found = with_design([None] * 4, [60, 61, 62, 63])
    assert result.headline.text == "4"
    table = next(i for s in result.sections for i in s.items if i.name == "to_set")
    assert [row[3] for row in table.rows] == [f"{v}\N{NO-BREAK SPACE}mL" for v in (60, 61, 62, 63)]
    assert "dulq" not in found


def test_cups_without_a_volume_are_left_out_and_named():
    volumes = [*SOUND]
    volumes[2] = volumes[5] = None
    result, found = with_design(volumes, [62] * 16)
    assert any("left out: 3, 6." in notice.text for notice in result.notices)
    kept, _ = answered([v for v in volumes if v is not None]), None
    assert found["cv"]["value"] == pytest.approx(kept[1]["cv"]["value"])
    # Names are those of the table, not of what is left.
    low = [*volumes]
    low[9] = 10
    result, _ = with_design(low, [62] * 16)
    assert "cup 10 (row 3, one third)" in text_of(result, "design_says")


def test_three_measured_cups_are_too_few_whatever_the_rows():
    with pytest.raises(InputError) as caught:
        with_design([60, 61, 62, None, None], [60] * 5)
    assert (caught.value.field, caught.value.code) == ("cups", "too_few")


@pytest.mark.parametrize(
    ("volumes", "should", "words"),
    [
        ([60, 58, 56, 54] * 4, [60, 58, 56, 54] * 4, "as designed"),
        ([45, 44, 46, 45] * 4, [60, 58, 61, 60] * 4, "all give less"),
        ([75, 74, 76, 75] * 4, [60, 58, 61, 60] * 4, "more than designed"),
        ([60, 55, 66, 59] * 4, [60] * 16, "spread more than new emitters"),
        ([60, 59, 61, 60] * 4, [60] * 16, "no more than new emitters"),
        ([60] * 15 + [20], [60] * 16, "far below it are cup 16"),
    ],
)
def test_the_comparison_with_the_design_says_what_is_off(volumes, should, words):
    result, found = with_design(volumes, should)
    assert words in text_of(result, "design_says")
    assert found["design_ratio"]["value"] == pytest.approx(sum(volumes) / sum(should))


def test_spread_of_the_design_by_hand():
    # 50, 50, 70, 70: mean 60, lowest quarter 50; the cups are all at 90 % of it.
    _, found = with_design([45, 45, 63, 63], [50, 50, 70, 70])
    assert found["design_dulq"]["value"] == pytest.approx(50 / 60)
    assert found["design_cv"]["value"] == pytest.approx(11.547 / 60, rel=1e-4)
    assert found["apart_cv"]["value"] == pytest.approx(0.0, abs=1e-9)
    assert found["design_ratio"]["value"] == pytest.approx(0.9)


def test_without_a_design_nothing_is_compared_with_it():
    _, found = answered(SOUND)
    assert "design_ratio" not in found
