"""A chart and the site's style sheets agree: nothing that is drawn is left without a style."""

import re
from pathlib import Path

import pytest

from evenrow.figures import charts

ROOT = Path(__file__).parents[3]
#: Charts bring their own style sheets, pages the rest.
CSS = (ROOT / "site_src" / "assets" / "css", ROOT / "pycore" / "evenrow" / "figures")
STYLES = {
    path.name: path.read_text(encoding="utf-8")
    for folder in CSS
    for path in sorted(folder.glob("*.css"))
}


def drawn():
    """Return a chart with everything that a chart can hold."""
    lines = [charts.Series(label=str(n), x=(0, 1), y=(n, n + 1)) for n in range(5)]
    return charts.line_chart(
        lines,
        x_label="x",
        y_label="y",
        limits=[charts.Limit(label="most", y=3)],
        alternative="Lines.",
    )


def classes():
    """Return the classes of that chart, and all that the module names."""
    source = Path(charts.__file__).read_text(encoding="utf-8")
    found = re.findall(r'class="([^"{}]*)"', drawn() + source)
    return {name for text in found for name in text.split()}


def rule(selector):
    """Return what the style sheets say for one selector, in charts or anywhere; all rules."""
    pattern = re.compile(
        r"(?:^|[,{}\n])\s*(?:\.er-chart )?" + re.escape(selector) + r"\s*[,{][^}]*\}", re.M
    )
    return "".join(found for text in STYLES.values() for found in pattern.findall(text))


def test_every_class_of_a_chart_has_a_rule():
    names = classes()
    assert len(names) >= 10
    assert [name for name in sorted(names) if not rule(f".{name}")] == []


def test_lines_are_strokes_and_letters_are_filled():
    assert "fill: none" in rule(".er-chart polyline")
    assert "fill: var(--er-ink)" in rule(".er-chart text")
    for name in ("er-grid", "er-axis", "er-limit", "er-series"):
        assert "stroke: var(--er-" in rule(f".{name}"), name


def test_each_line_can_be_told_in_one_colour():
    dashes = [
        re.search(r"stroke-dasharray: ([^;]+);", rule(f".er-series-{n}"))[1] for n in range(1, 6)
    ]
    assert len(set(dashes)) == len(dashes)


@pytest.mark.parametrize("name", ["er-series-9", "er-chart-x"])
def test_a_class_without_a_rule_would_be_seen(name):
    assert not rule(f".{name}")
