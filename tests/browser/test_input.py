"""Bad input: said at its field, the rest kept; hostile links: plain words, no script."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from browser_helpers import form_values, problem, wait_live

from evenrow import share

pytestmark = pytest.mark.browser

VECTORS = json.loads(
    (Path(__file__).parents[1] / "vectors" / "links.json").read_text(encoding="utf-8")
)
BAD = {
    "empty": "",
    "negative": "-5",
    "zero": "0",
    "huge": "1e99",
    "wrong dimension": "5 kg",
    "not a number": "NaN",
    "infinite": "inf",
    "text": "a foot or so",
    "markup": "<img src=x onerror=window.hacked=1>",
    "emoji": "🍓",
    "code": "__import__('os')",
    "a megabyte": "9" * 1_000_000,
}


def test_bad_values_are_said_at_their_field_and_nothing_else_is_lost(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.fill('[name="limits.eu"]', "88")
    wait_live(page)
    kept = form_values(page)
    for name, text in BAD.items():
        page.fill('[name="line.spacing"]', text)
        wait_live(page)
        said = problem(page, "line.spacing")
        assert said, f"{name}: nothing is said at the field"
        assert len(said) < 600, name
        assert page.get_attribute('[name="line.spacing"]', "aria-invalid") == "true"
        now = form_values(page)
        assert now.pop("line.spacing") == text
        assert now == {key: value for key, value in kept.items() if key != "line.spacing"}, name
        assert page.locator(".er-problem li").count() == 1, name
        # The last good answer stays in sight.
        assert page.locator(".er-result .er-headline-value").inner_text(), name
    page.fill('[name="line.spacing"]', kept["line.spacing"])
    wait_live(page)
    assert problem(page, "line.spacing") == ""
    assert page.locator(".er-problem").count() == 0
    assert page.evaluate("window.hacked") is None
    assert watched.errors == []


def test_a_unit_typed_in_the_box_counts_and_switches_the_chooser_off(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    chooser = page.locator('[data-unit-of="line.spacing"]')
    page.fill('[name="line.spacing"]', "0.5")
    chooser.select_option("m")
    wait_live(page)
    headline = page.get_attribute(".er-headline .er-value", "data-value")
    page.fill('[name="line.spacing"]', "500 mm")
    assert chooser.is_disabled()
    wait_live(page)
    assert float(page.get_attribute(".er-headline .er-value", "data-value")) == pytest.approx(
        float(headline), rel=1e-9
    )
    page.fill('[name="line.spacing"]', "12")
    assert chooser.is_enabled()


def test_lines_of_a_table_can_be_added_and_removed(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}source-flow/")
    wait_live(page)
    rows = page.locator('[data-table="source.readings"] > .er-rows > .er-row')
    count = rows.count()
    page.click('[data-table="source.readings"] > .er-add')
    assert rows.count() == count + 1
    # An empty line is no reading: nothing is found wrong.
    assert page.locator(".er-problem").count() == 0
    page.fill(f'[name="source.readings.{count}.volume"]', "5")
    page.fill(f'[name="source.readings.{count}.time"]', "a while")
    wait_live(page)
    assert problem(page, f"source.readings.{count}.time")
    page.fill(f'[name="source.readings.{count}.time"]', "44")
    wait_live(page)
    assert page.locator(".er-problem").count() == 0
    rows.first.locator(".er-remove").click()
    wait_live(page)
    assert rows.count() == count
    assert page.input_value(f'[name="source.readings.{count - 1}.time"]') == "44"
    assert watched.errors == []


def test_hostile_links_get_plain_words_and_run_nothing(shared_site, open_context):
    watched = open_context()
    dialogs: list[str] = []
    page = watched.page(f"{shared_site.address}whole-field/")
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    wait_live(page)
    cases = [case for case in VECTORS["bad"] if case["fragment"].startswith("design=")]
    assert len(cases) > 20
    for case in cases:
        page.evaluate(
            "f => { document.querySelector('[data-bar=link]')?.remove(); location.hash = f; }",
            case["fragment"],
        )
        bar = page.wait_for_selector('[data-bar="link"] p')
        said = bar.inner_text()
        assert "link" in said.lower(), (case["name"], said)
        assert len(said) < 200, case["name"]
    assert dialogs == []
    assert page.evaluate("({}).polluted") is None
    wait_live(page)
    assert page.locator(".er-headline-value").inner_text()
    assert watched.errors == []


def test_markup_in_a_link_stays_text(shared_site, open_context):
    evil = "<img src=x onerror=window.hacked=1><script>window.hacked=1</script>"
    document = {
        "evenrow": 1,
        "calculator": "whole-field",
        "units": "us",
        "name": evil[:80],
        "about": evil,
        "rows": [{"crop": evil[:40], "count": evil, "length": evil, "spacing": "9 ft", "lines": 1}],
        evil[1:4]: evil,
    }
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/#{share.encode(document)}")
    wait_live(page)
    assert page.input_value('[name="rows.0.length"]') == evil
    assert problem(page, "rows.0.length")
    assert page.locator('[data-bar="unknown"]').inner_text().startswith("Left out")
    assert page.locator(".er-calc img, .er-result script").count() == 0
    assert page.evaluate("window.hacked") is None
    assert watched.errors == []


def test_a_link_for_another_page_goes_there(shared_site, open_context):
    watched = open_context()
    fragment = share.encode({"evenrow": 1, "calculator": "zones", "units": "us"})
    page = watched.page(f"{shared_site.address}#{fragment}")
    page.wait_for_url("**/zones/#design=*")
    elsewhere = share.encode({"evenrow": 1, "calculator": "toaster"})
    page = watched.page(f"{shared_site.address}zones/#{elsewhere}")
    assert "does not have" in page.locator('[data-bar="link"] p').inner_text()


def test_a_damaged_link_says_whose_figures_these_are(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/#design=1.broken")
    said = page.locator('[data-bar="link"] p')
    assert "not the sender’s design but our example" in said.inner_text()
    assert "#" not in page.url
    assert page.locator(".er-sticky-label").text_content()
    wait_live(page)
    page.fill('[name="rows.0.length"]', "57.5")
    wait_live(page)
    page.goto(f"{shared_site.address}about/")
    page.goto(f"{shared_site.address}whole-field/#design=1.broken")
    assert "what you typed here before" in said.inner_text()
    assert page.input_value('[name="rows.0.length"]') == "57.5"


def test_an_empty_table_is_asked_for_before_it_is_found_wrong(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.select_option('[name="source.kind"]', "pump")
    wait_live(page)
    table = page.locator('[data-table="source.pump_curve"]')
    slot = page.locator('[data-table="source.pump_curve"] > .er-error')
    assert "add the first entry" in slot.inner_text()
    assert "er-wanted" in slot.get_attribute("class")
    assert page.locator(".er-problem.er-wanted").count() == 1
    add = table.locator(":scope > .er-add")
    assert add.inner_text() == "Add the first entry"
    add.click()
    assert table.locator(".er-rows > .er-row").count() == 2
    assert add.inner_text() == "Add another"
    labels = [row.get_attribute("aria-label") for row in table.locator(".er-rows > .er-row").all()]
    assert [label[-5:] for label in labels] == ["row 1", "row 2"]
    # Left empty all the same: now it is a mistake.
    page.focus('[name="rows.0.length"]')
    assert "er-wanted" not in slot.get_attribute("class")
    assert page.locator(".er-problem.er-wanted").count() == 0
