"""The look-up pages show the package's numbers, all of them, and stop a build that lacks one."""

from html.parser import HTMLParser
from types import SimpleNamespace

import pytest
from mkdocs.exceptions import PluginError

import late_parts
import run_table_hook
from evenrow.calculators.run_table import SLOPES, TARGET, TARGETS, run_tables, shown_length
from run_table_pages import CARD_SLOPES, MARKS, card_html, look_up_html, slope_words


class Cells(HTMLParser):
    """Collects the cells of the tables, each with its line, pressure, target, spacing, slope."""

    def __init__(self):
        super().__init__()
        self.at = {}
        self.place = 0
        self.inside = ""
        self.cells = {}

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        for name in ("data-device", "data-pressure", "data-eu", "data-spacing"):
            if name in found:
                self.at[name] = found[name]
        if tag == "tr":
            self.place = -1
        if tag == "td":
            self.place += 1
            self.cells[self.key] = {"b": "", "i": "", "sup": ""}
        self.inside = tag

    def handle_endtag(self, tag):
        self.inside = ""

    def handle_data(self, data):
        if self.inside in ("b", "i", "sup") and self.key in self.cells:
            self.cells[self.key][self.inside] += data

    @property
    def key(self):
        names = ("data-device", "data-pressure", "data-eu", "data-spacing")
        return (*(self.at.get(name, "") for name in names), self.place)


def cells_of(html):
    reader = Cells()
    reader.feed(html)
    return reader.cells


def test_the_table_holds_every_length_and_what_stops_it():
    cells = cells_of(look_up_html("../run-length/"))
    expected = {}
    for table in run_tables():
        for s, spacing in enumerate(table.spacings):
            for g in range(len(SLOPES)):
                for h, pressure in enumerate(table.pressures):
                    for e, target in enumerate(TARGETS):
                        key = (table.device.code, pressure.text, target, spacing, g)
                        length = float(table.length[s, g, h, e])
                        expected[key] = {
                            "b": shown_length(length, "us"),
                            "i": shown_length(length, "metric"),
                            "sup": MARKS.get(str(table.limit[s, g, h, e]), ""),
                        }
    assert cells == expected


def test_the_card_holds_the_rated_pressure_and_the_usual_target():
    cells = cells_of(card_html())
    seen = set()
    for (code, _, _, spacing, place), found in cells.items():
        table = next(table for table in run_tables() if table.device.code == code)
        rated = next(i for i, pressure in enumerate(table.pressures) if pressure.rated)
        at = (
            table.spacings.index(spacing), SLOPES.index(CARD_SLOPES[place]), rated,
            TARGETS.index(TARGET),
        )  # fmt: skip
        length = float(table.length[at])
        assert found["b"] == shown_length(length, "us")
        assert found["i"] == shown_length(length, "metric")
        seen.add((code, spacing))
    assert {code for code, _ in seen} == {table.device.code for table in run_tables()}
    assert len(seen) == 2 * len(run_tables())


def test_only_numbers_that_are_true_in_either_unit_are_shown():
    # The sign of "none" and "over" hangs on the length, not on the unit switch.
    for found in cells_of(look_up_html("x")).values():
        if found["b"].startswith("over"):
            assert found["i"].startswith("over")
        if found["b"] == "none":
            assert found["i"] == "none"


@pytest.mark.parametrize(
    ("slope", "words"),
    [("-0.5 %", "falls 0.5\u00a0%"), ("0 %", "level"), ("2 %", "climbs 2\u00a0%")],
)
def test_slopes_are_said_in_words(slope, words):
    assert slope_words(slope) == words


def page(url):
    return SimpleNamespace(file=SimpleNamespace(url=url))


def finished(content, *, page):
    """Return a page as it is when it is finished."""
    return late_parts.filled(run_table_hook.on_page_content(content, page=page))


def test_the_hook_puts_each_on_its_page_and_links_to_the_calculator():
    run_table_hook.on_pre_build()
    table, card = run_table_hook.MADE
    shown = finished(f"a{table}b", page=page("run-length-table/"))
    assert 'href="../run-length/"' in shown
    assert table not in shown
    shown = finished(f"a{card}b", page=page("pocket-card/"))
    assert 'class="er-pocket' in shown
    assert run_table_hook.on_page_content("plain", page=page("about/")) == "plain"
    shown = finished(table, page=page("es/run-length-table/"))
    assert 'href="../run-length/"' in shown
    assert "Cinta o manguera de goteo" in shown
    assert "Tape or dripline" not in shown
    with pytest.raises(PluginError, match="each language"):
        run_table_hook.on_post_build()
    run_table_hook.on_page_content(card, page=page("es/pocket-card/"))
    run_table_hook.on_post_build()


@pytest.mark.parametrize("times", [(0, 1), (1, 0), (2, 1)])
def test_the_hook_stops_a_build_that_lacks_or_doubles_one(times):
    run_table_hook.on_pre_build()
    for comment, count in zip(run_table_hook.MADE, times, strict=True):
        run_table_hook.on_page_content(comment * count, page=page("x/"))
    with pytest.raises(PluginError, match="not once"):
        run_table_hook.on_post_build()
