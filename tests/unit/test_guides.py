"""The guides: their figures are those that the package works with, in every language alike."""

import re
from pathlib import Path

import pytest

from evenrow.agronomy.upkeep import FLUSH_VELOCITY
from evenrow.agronomy.water_quality import BOUNDS, MG_PER_L
from evenrow.agronomy.wetting import wetted_depth, wetted_width
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.catalogue.growing import crops, soils
from evenrow.units import format_value
from evenrow.words import LANGUAGES

PAGES = Path(__file__).parents[2] / "site_src"
NAMES = sorted(path.name for path in (PAGES / "guides").glob("*.md"))
OTHERS = [code for code in LANGUAGES if code != "en"]
CAUTION = re.compile(r"^!!! (\w+)", re.MULTILINE)
#: Lines of the table of the water test, in their order.
CLASSES = ("suspended", "ph", "dissolved", "iron", "manganese", "sulphide")
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def guide(name, code="en"):
    folder = PAGES if code == "en" else PAGES / code
    return (folder / "guides" / name).read_text(encoding="utf-8")


def cells(text):
    """Return the rows of the tables of a page, without headings."""
    rows = re.findall(r"^\| (.*) \|$", text, flags=re.MULTILINE)
    return [row.split(" | ") for row in rows]


@pytest.mark.parametrize("code", OTHERS)
def test_every_guide_has_a_twin(code):
    assert sorted(path.name for path in (PAGES / code / "guides").glob("*.md")) == NAMES


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("code", OTHERS)
def test_twins_have_the_same_steps_cautions_links_and_numbers(code, name):
    one, other = guide(name), guide(name, code)
    for pattern in (r"^#+ ", r"^\d+\. ", r"^\| ", r"^!!! \w+"):
        found = [re.findall(pattern, text, flags=re.MULTILINE) for text in (one, other)]
        assert found[0] == found[1], pattern
    links = [re.findall(r"\]\(((?!https?:)[^)]+)\)", text) for text in (one, other)]
    assert links[0] == links[1]
    if name != "index.md":  # its commands ask in the units of the language
        assert sorted(NUMBER.findall(one)) == sorted(NUMBER.findall(other))


@pytest.mark.parametrize("code", OTHERS)
def test_formulas_are_the_same_in_every_language(code):
    one, other = (
        (folder / "formulas.md").read_text(encoding="utf-8") for folder in (PAGES, PAGES / code)
    )
    for pattern in (r"^(?:#+ |> |- |\*\*)", r"FAO-56|[12]\d{3}\)"):
        found = [re.findall(pattern, text, flags=re.MULTILINE) for text in (one, other)]
        assert found[0] == found[1], pattern
    assert sorted(NUMBER.findall(one)) == sorted(NUMBER.findall(other))


def test_the_glossaries_tell_the_same_words():
    anchors = {
        code: re.findall(r"\{ #([a-z-]+) \}", guide("glossary.md", code)) for code in LANGUAGES
    }
    for code in OTHERS:
        assert sorted(anchors[code]) == sorted(anchors["en"])
    assert len(anchors["en"]) == len(set(anchors["en"]))


@pytest.mark.parametrize("code", list(LANGUAGES))
def test_work_that_can_hurt_has_its_caution(code):
    for name in NAMES:
        if name not in ("index.md", "glossary.md", "limits.md", "row-length.md"):
            assert CAUTION.search(guide(name, code)), name


@pytest.mark.parametrize("code", list(LANGUAGES))
@pytest.mark.parametrize(
    "name", [name for name in NAMES if name not in ("glossary.md", "limits.md")]
)
def test_a_guide_is_short(code, name):
    text = re.sub(r"<!--.*?-->|^---\n.*?\n---", "", guide(name, code), flags=re.DOTALL)
    assert len(text.split()) <= 550


@pytest.mark.parametrize("row", range(2))
def test_the_longest_rows_are_those_of_the_calculator(row):
    device = ("tape-16-thick", "dripline-16")[row]
    table = next(r for r in cells(guide("row-length.md")) if device.split("-")[0] in r[0])
    told = [re.fullmatch(r"(\d+) ft \(([\d.]+) m\)", each) for each in table[1:]]
    for slope, found in zip(("0 %", "1 %", "-1 %"), told, strict=True):
        document = default_document(CALCULATORS["run-length"], "us")
        for field, value in (
            ("line.device", device),
            ("line.spacing", "12 in"),
            ("ground.row_slope", slope),
            ("pressure", ""),
            ("limits.eu", "85 %"),
        ):
            put(document, field, value)
        _, result, _ = answer(document)
        length = result.headline.value
        assert float(found[1]) == pytest.approx(length / 0.3048, rel=0.002)
        assert float(found[2]) == pytest.approx(length, rel=0.005)


@pytest.mark.parametrize("code", list(LANGUAGES))
def test_the_wet_patches_are_drawn_as_they_are_reckoned(code):
    assert code in LANGUAGES
    drawing = (PAGES / "drawings" / "soil.svg").read_text(encoding="utf-8")
    patches = re.findall(r"M([\d.]+) 52A([\d.]+) ([\d.]+) 0 0 0", drawing)
    labels = re.findall(r">(\d+) × (\d+) cm<", drawing)
    said = guide("soil-water.md", code)
    for soil, patch, label in zip(("sand", "loam", "clay-loam"), patches, labels, strict=True):
        given = (4e-3, soils()[soil].conductivity, 2e-3 / 3600)
        wide, deep = float(wetted_width(*given)), float(wetted_depth(*given))
        assert [int(each) for each in label] == [round(100 * wide), round(100 * deep)]
        # 2 units to the centimetre; the first of an arc is half of its width.
        assert float(patch[1]) == pytest.approx(100 * wide, abs=1)
        assert float(patch[2]) == pytest.approx(200 * deep, abs=2)
        assert re.search(rf"\b{label[0]} (?:by|por) {label[1]} cm", said)


def test_roots_and_what_may_go_are_those_of_the_crops():
    text = guide("soil-water.md")
    for crop, word in (
        ("lettuce", "lettuce"),
        ("tomato", "tomatoes"),
        ("raspberry", "raspberries"),
    ):
        found = crops()[crop]
        low, high = (f"{depth:g}" for depth in found.root_depth)
        assert f"{word} {low} to {high} m" in text
        assert f"{word} " + ("bears " if crop == "lettuce" else "") + f"{found.depletion:g}" in text


@pytest.mark.parametrize("code", list(LANGUAGES))
def test_the_classes_of_water_are_those_of_the_calculator(code):
    rows = [row for row in cells(guide("water-test.md", code)) if NUMBER.match(row[1])]
    assert len(rows) == len(CLASSES)
    for name, row in zip(CLASSES, rows, strict=True):
        per = 1.0 if name == "ph" else MG_PER_L
        told = [float(NUMBER.match(cell)[0]) for cell in row[1:]]
        assert told == pytest.approx([BOUNDS[name].moderate / per, BOUNDS[name].severe / per])


def test_flushing_is_as_fast_as_the_upkeep_wants():
    speed = format_value(FLUSH_VELOCITY, "velocity", "us", 2).replace("\u00a0", " ")
    assert speed in guide("flush-start.md")
