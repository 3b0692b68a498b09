"""The map of cups: every cup once, rows in their order, nothing on top of another."""

import xml.etree.ElementTree as ET

from evenrow.figures.cup_map import MOST, MapCup, cup_map

PLACES = (0.0, 1 / 3, 2 / 3, 1.0)


def drawn(cups):
    text = cup_map(cups, alternative="four rows & their cups")
    ET.fromstring(text)
    return text


def test_each_cup_is_drawn_with_its_words_and_the_low_ones_differ():
    cups = [
        MapCup(row=f"row {r}", place=p, said=f"{90 + 4 * r + i} %", low=r == 2)
        for r in (1, 2)
        for i, p in enumerate(PLACES)
    ]
    text = drawn(cups)
    assert [f">{cup.said}<" in text for cup in cups] == [True] * 8
    assert text.count("er-mark-3") == 4 + 1  # One in the key.
    assert text.count("er-mark-1") == 4
    assert text.index(">row 1<") < text.index(">row 2<")


def test_before_measuring_there_is_no_key():
    text = drawn([MapCup(row="row 1", place=p) for p in PLACES])
    assert "er-mark-3" not in text
    assert "lowest" not in text


def test_cups_at_one_place_get_lines_of_their_own():
    text = drawn([MapCup(row="", place=0.0, said=f"{i} %") for i in range(3)])
    assert drawn([MapCup(row="", place=0.0)]).count("er-series-1") == 1
    assert text.count("er-series-1") == 3


def test_names_are_escaped_and_very_many_lines_end():
    text = drawn([MapCup(row=f"<b>{i}", place=0.5) for i in range(100)])
    assert "<b>" not in text
    assert text.count("er-series-1") == MOST
