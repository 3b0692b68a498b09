"""Charts: whole, escaped, with round axes."""

from itertools import pairwise
from xml.etree import ElementTree

import pytest

from evenrow.figures.charts import POINTS, Limit, Series, line_chart, ticks

SVG = "{http://www.w3.org/2000/svg}"


def chart(**changes):
    arguments = {
        "series": [Series(label="pressure", x=[0.0, 10.0, 20.0], y=[10.0, 8.0, 7.0])],
        "x_label": "distance (m)",
        "y_label": "pressure (bar)",
        "limits": [Limit(label="lowest", y=5.0)],
        "alternative": "Pressure falls from 10 to 7.",
    }
    arguments.update(changes)
    return line_chart(arguments.pop("series"), **arguments)


def points(svg):
    line = ElementTree.fromstring(svg).find(f"{SVG}polyline")
    return [tuple(map(float, pair.split(","))) for pair in line.get("points").split()]


def test_it_is_well_formed_and_says_what_it_shows():
    root = ElementTree.fromstring(chart())
    assert root.get("role") == "img"
    assert root.get("aria-label") == "Pressure falls from 10 to 7."
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert "distance (m)" in texts
    assert "lowest" in texts


def test_lower_values_are_drawn_lower_and_inside():
    drawn = points(chart())
    assert [y for _, y in drawn] == sorted(y for _, y in drawn)
    assert [x for x, _ in drawn] == sorted(x for x, _ in drawn)
    assert all(0 <= x <= 640 and 0 <= y <= 280 for x, y in drawn)


def test_markup_in_words_stays_words():
    svg = chart(alternative='"><script>', x_label="<b>", limits=[Limit(label="&", y=5.0)])
    assert "<script>" not in svg
    assert "<b>" not in svg
    ElementTree.fromstring(svg)


def test_many_points_are_thinned_but_the_ends_stay():
    many = [float(i) for i in range(5000)]
    drawn = points(chart(series=[Series(label="p", x=many, y=many)], limits=[]))
    assert len(drawn) <= POINTS
    assert drawn[0][1] > drawn[-1][1]


@pytest.mark.parametrize("values", [[3.0, 3.0], [0.0, 0.0], [-2.0, -2.0]])
def test_a_flat_line_still_has_an_axis(values):
    drawn = points(chart(series=[Series(label="p", x=[0.0, 1.0], y=values)], limits=[]))
    assert all(0 <= y <= 280 for _, y in drawn)


def test_a_single_point_is_a_chart_too():
    ElementTree.fromstring(chart(series=[Series(label="p", x=[0.1], y=[10.0])]))


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (7.2, 15.0), (-3.0, 4.0), (0.0, 382.0)])
def test_ticks_are_round_and_cover_the_range(low, high):
    found = ticks(low, high)
    assert found[0] <= low
    assert found[-1] >= high
    assert 3 <= len(found) <= 12
    steps = {round(b - a, 9) for a, b in pairwise(found)}
    assert len(steps) == 1
