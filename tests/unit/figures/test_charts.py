"""Charts: whole, escaped, with round axes."""

from itertools import pairwise
from xml.etree import ElementTree

import pytest

from evenrow.figures.charts import HEIGHT, POINTS, WIDTH, Limit, Series, line_chart, ticks

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
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in drawn)


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
    assert all(0 <= y <= HEIGHT for _, y in drawn)


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


def two(first, second, **names):
    return [
        Series(label=names.get("one", "one"), x=[0.0, 10.0], y=[5.0, first]),
        Series(label=names.get("other", "other"), x=[0.0, 10.0], y=[5.0, second]),
    ]


def places_of(drawn, svg, words):
    root = drawn.read(svg)
    return [
        (float(t.get("x")), float(t.get("y"))) for t in root.iter(f"{SVG}text") if t.text in words
    ]


def test_names_stand_at_the_line_ends_where_they_fit(drawn):
    svg = chart(series=two(4.0, 1.0), limits=[])
    lines = drawn.read(svg).findall(f"{SVG}polyline")
    ends = [tuple(map(float, line.get("points").split()[-1].split(","))) for line in lines]
    for (x, y), (end_x, end_y) in zip(places_of(drawn, svg, ("one", "other")), ends, strict=True):
        assert 0 < x - end_x < 20
        assert abs(y - end_y) < 10


@pytest.mark.parametrize(
    "series", [two(4.0, 3.98), two(4.0, 1.0, one="a name that is far too long for a margin")]
)
def test_else_they_stand_in_a_legend(drawn, series):
    svg = chart(series=series, limits=[])
    first = min(
        float(pair.split(",")[1])
        for pair in drawn.read(svg).find(f"{SVG}polyline").get("points").split()
    )
    named = places_of(drawn, svg, {s.label for s in series})
    assert len(named) == 2
    assert all(y < first for _, y in named)


def test_series_differ_without_colour(drawn):
    svg = chart(series=two(4.0, 1.0), limits=[])
    outlines = {
        p.get("class"): p.get("d")
        for p in drawn.read(svg).iter(f"{SVG}path")
        if "er-mark" in p.get("class")
    }
    assert {"er-mark er-mark-1", "er-mark er-mark-2"} == set(outlines)
    assert "a" in outlines["er-mark er-mark-1"]
    assert "h" in outlines["er-mark er-mark-2"]


def test_the_lowest_point_is_never_thinned_away(drawn):
    values = [10.0] * 5000
    values[1234] = 2.0
    line = points(
        chart(series=[Series(label="p", x=list(map(float, range(5000))), y=values)], limits=[])
    )
    levels = sorted(y for _, y in line)
    assert levels[-1] > levels[0] + 50


def test_a_limits_name_keeps_clear_of_the_line(drawn):
    svg = chart(
        series=[Series(label="p", x=[0.0, 100.0], y=[9.0, 5.3])],
        limits=[Limit(label="lowest", y=5.0)],
    )
    ((x, y),) = places_of(drawn, svg, ("lowest",))
    line = points(svg)
    # The line comes down to the limit at the right, so that its name stands at the left or below.
    assert x < 320 or y > line[-1][1]
