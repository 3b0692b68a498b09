"""Pieces of SVG: escaped, short, the same every time."""

from xml.etree import ElementTree

import pytest

from evenrow.figures import svg


@pytest.mark.parametrize(
    ("value", "text"), [(1.0, "1"), (1.25, "1.2"), (-0.04, "0"), (-3.06, "-3.1"), (640, "640")]
)
def test_coordinates_are_short(value, text):
    assert svg.num(value) == text


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="not finite"):
        svg.num(value)


@pytest.mark.parametrize(
    "said", ["</text><script>", "a\x00b", "\ud800", "x\u202ey", "\"&'", "\ufffe"]
)
def test_hostile_words_stay_words(said):
    root = ElementTree.fromstring(svg.text(0, 0, said).encode())
    assert len(root) == 0
    assert "\u202e" not in root.text


def test_a_name_with_quotes_cannot_leave_its_attribute():
    made = svg.group("", title="t", option='" onclick="x')
    root = ElementTree.fromstring(made)
    assert root.get("data-option") == '" onclick="x'
    assert root.get("onclick") is None


def test_ids_are_plain():
    with pytest.raises(ValueError, match="letters"):
        svg.drawing("", kind="k", height=1, name='a"', title="", desc="")


def test_words_are_cut_to_fit():
    assert svg.fit("short", 500) == "short"
    cut = svg.fit("a very long name of a crop", 120)
    assert cut.endswith("…")
    assert svg.width_of(cut) <= 120
    assert svg.width_of("水") > 1.5 * svg.width_of("w")
