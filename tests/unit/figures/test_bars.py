"""Bars: as high as their values, named, with room for every name."""

import pytest

from evenrow.figures.bars import Mark, Station, bar_chart, histogram, pressure_budget
from evenrow.figures.frame import Limit

SVG = "{http://www.w3.org/2000/svg}"
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def boxes(root, kind):
    return [
        tuple(float(r.get(k)) for k in ("x", "y", "width", "height"))
        for r in root.iter(f"{SVG}rect")
        if r.get("class") == kind
    ]


def test_bars_are_as_high_as_their_values(drawn):
    root = drawn.read(histogram([0, 1, 2, 3], [2, 4, 0], x_label="x", y_label="n", alternative="a"))
    heights = [box[3] for box in boxes(root, "er-bar-box")]
    assert heights[1] == pytest.approx(2 * heights[0], rel=0.01)
    assert heights[2] == 0
    assert drawn.outside(root) == []


def test_a_value_among_the_classes_has_its_line_and_one_far_away_a_side(drawn):
    marks = [Mark(label="mean", x=1.5), Mark(label="wanted", x=-40.0, limit=True)]
    root = drawn.read(
        histogram([0, 1, 2], [2, 4], x_label="x", y_label="n", marks=marks, alternative="a")
    )
    assert "mean" in drawn.texts(root)
    assert "← wanted" in drawn.texts(root)
    lines = [p for p in root.iter(f"{SVG}path") if p.get("class") in ("er-measured", "er-limit")]
    assert len(lines) == 1
    middle = boxes(root, "er-bar-box")[1]
    assert middle[0] < drawn.ends(lines[0].get("d"))[0][0] < middle[0] + middle[2]


def test_months_have_their_bars_and_the_limit_its_level(drawn):
    root = drawn.read(
        bar_chart(
            MONTHS, range(12), y_label="min", limits=[Limit(label="most", y=20.0)], alternative="a"
        )
    )
    assert set(MONTHS) <= set(drawn.texts(root))
    bars = boxes(root, "er-bar-box")
    assert [b[3] for b in bars] == sorted(b[3] for b in bars)
    limit = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "er-limit")
    assert drawn.ends(limit.get("d"))[0][1] < min(b[1] for b in bars)
    assert drawn.outside(root) == []


def test_names_that_would_touch_are_left_out(drawn):
    names = [f"a long name {i}" for i in range(12)]
    root = drawn.read(bar_chart(names, [1.0] * 12, y_label="n", alternative="a"))
    assert 1 <= sum(text in names for text in drawn.texts(root)) < 12
    assert drawn.outside(root, slack=30) == []


def budget(*lefts, **changes):
    stations = [Station(label=f"place {i}", left=left) for i, left in enumerate(lefts)]
    return pressure_budget(stations, unit="bar", alternative="a", **changes)


def test_what_was_taken_ends_where_the_bar_before_ended(drawn):
    root = drawn.read(budget(3.0, 2.0, 1.0, band=(0.5, 1.2), band_label="may have"))
    bars, taken = boxes(root, "er-bar-box"), boxes(root, "er-taken")
    assert len(taken) == 2
    for before, here, piece in zip(bars, bars[1:], taken, strict=False):
        assert piece[0] == pytest.approx(here[0] + here[2], abs=0.2)
        assert piece[0] + piece[2] == pytest.approx(before[0] + before[2], abs=0.2)
    assert "− 1" in drawn.texts(root)
    assert "may have" in drawn.texts(root)
    assert drawn.outside(root) == []


def test_falling_ground_gives_back(drawn):
    root = drawn.read(budget(1.0, 1.5))
    assert boxes(root, "er-taken") == []
    assert len(boxes(root, "er-gained")) == 1
    assert "+ 0.5" in drawn.texts(root)
