"""Undo and redo, examples, two designs side by side, values that go on to other pages."""

from __future__ import annotations

import json

import pytest
from browser_helpers import LIVE_MS, form_values, shown_numbers, wait_live, wait_offline_ready
from playwright.sync_api import expect

from evenrow.calculators.comparing import compare
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS

pytestmark = pytest.mark.browser

SPACING = '[name="line.spacing"]'
EU = '[name="limits.eu"]'
FLOW = '[name="flow"]'


def test_changes_are_undone_and_done_again_also_after_a_reload(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    first = form_values(page)
    undo, redo = page.locator(".er-undo"), page.locator(".er-redo")
    expect(undo).to_have_attribute("aria-disabled", "true")
    page.fill(SPACING, "17.5")
    page.fill(EU, "88")
    page.select_option('[name="line.device"]', index=0)
    last = form_values(page)
    undo.click()
    undo.click()
    expect(page.locator(EU)).not_to_have_value("88")
    expect(page.locator(".er-steps-back [role=status]")).to_contain_text("Emission uniformity")
    page.reload()
    expect(page.locator(SPACING)).to_have_value("17.5")
    redo.click()
    expect(page.locator(EU)).to_have_value("88")
    # By keys, outside of the boxes that undo by themselves.
    page.locator(".er-answer-title").click()
    page.keyboard.press("Control+Shift+Z")
    assert form_values(page) == last
    expect(redo).to_have_attribute("aria-disabled", "true")
    page.keyboard.press("Control+Z")
    page.keyboard.press("Control+Z")
    page.keyboard.press("Control+Z")
    assert form_values(page) == first
    page.keyboard.press("Control+Z")
    assert form_values(page) == first
    page.keyboard.press("Control+Y")
    expect(page.locator(SPACING)).to_have_value("17.5")
    wait_live(page)
    assert watched.errors == []


def test_undo_keeps_out_of_text_boxes(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.fill(EU, "88")
    page.click(SPACING)
    page.keyboard.press("Control+A")
    page.keyboard.type("17")
    page.keyboard.press("Control+Z")
    # The box undid its own typing; the field before it stands.
    expect(page.locator(SPACING)).not_to_have_value("17")
    expect(page.locator(EU)).to_have_value("88")


def test_start_over_and_removed_rows_are_undone(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}zones/")
    wait_live(page)
    page.click('[data-table="rows"] .er-add')
    page.fill('[name="rows.1.count"]', "3")
    typed = form_values(page)
    page.click('[data-table="rows"] .er-row:nth-child(2) .er-remove')
    page.click(".er-undo")
    assert form_values(page) == typed
    page.click(".er-reset")
    page.click(".er-undo")
    assert form_values(page) == typed


def test_an_example_leaves_ones_own_and_one_tap_brings_it_back(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.fill('[name="rows.0.length"]', "57.5")
    mine = form_values(page)
    for name in ("Market garden", "Raspberries by the shed"):
        page.select_option(".er-example", name)
        expect(page.locator('[data-bar="link"]')).to_contain_text(name)
    expect(page.locator('[name="rows.0.length"]')).to_have_value("62")
    page.fill('[name="rows.0.length"]', "63")
    # What was made of the example stays too, and has an address.
    page.reload()
    expect(page.locator('[name="rows.0.length"]')).to_have_value("63")
    page.click("text=Show the example as it was")
    expect(page.locator('[name="rows.0.length"]')).to_have_value("62")
    page.click("text=Back to what I typed")
    assert form_values(page) == mine
    page.reload()
    expect(page.locator('[name="rows.0.length"]')).to_have_value("57.5")
    assert watched.errors == []


def test_the_address_of_an_example_opens_it(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/#demo=market-garden")
    expect(page.locator('[data-bar="link"]')).to_contain_text("Market garden")
    page.goto(f"{shared_site.address}about/")
    page.goto(f"{shared_site.address}whole-field/#demo=nothing-of-this-name")
    expect(page.locator('[data-bar="demo"]')).to_contain_text("no example")
    assert watched.errors == []


def test_two_designs_are_shown_side_by_side_offline_and_on_a_phone(own_site, open_context):
    watched = open_context(viewport={"width": 390, "height": 844}, locale="de-DE")
    page = watched.page(f"{own_site.address}zones/")
    wait_live(page)
    page.click(".er-keep")
    expect(page.locator(".er-keep-said")).to_contain_text("Saved on this device")
    page.fill(FLOW, "0.5")
    wait_live(page)
    wait_offline_ready(page)
    watched.context.set_offline(True)
    own_site.stop()
    page.click(".er-to-compare")
    page.click(".er-compare-go")
    page.wait_for_selector(".er-side-by-side", timeout=LIVE_MS)

    left = default_document(CALCULATORS["zones"], "metric")
    right = json.loads(json.dumps(left))
    left["flow"] = "0.5 m³/h"
    expected = compare(left, right, "metric")
    tables = page.eval_on_selector_all(
        ".er-side-by-side tbody",
        "all => all.map(e => [...e.rows].map(r => [...r.cells].map(c => c.textContent)))",
    )
    inputs = [[each[key] for key in ("label", "left", "right")] for each in expected["inputs"]]
    keys = ("label", "left", "right", "difference")
    results = [[each[key] for key in keys] for each in expected["results"]]
    assert tables == [inputs, results]
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    cut = page.eval_on_selector_all(
        ".er-side-by-side tbody :is(th, td)",
        "all => all.filter(e => e.getBoundingClientRect().right > innerWidth).length",
    )
    assert cut == 0
    page.emulate_media(media="print")
    assert page.locator(".er-side-by-side").first.is_visible()
    assert (
        page.locator(".er-saved-list, .er-compare-form, .er-button").locator("visible=true").count()
        == 0
    )
    assert watched.errors == []


def test_a_design_without_an_answer_is_compared_with_its_reason(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.click(".er-keep")
    page.wait_for_selector(".er-open-design:visible")
    page.fill(FLOW, "<img src=x>")
    page.click(".er-to-compare")
    page.click(".er-compare-go")
    page.wait_for_selector(".er-side-by-side", timeout=LIVE_MS)
    expect(page.locator(".er-compare-output .er-warning")).to_contain_text("has no answer")
    assert page.locator(".er-compare-output img").count() == 0
    assert watched.errors == []


def test_values_go_on_to_the_next_page_and_can_be_taken_back(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    page.fill('[name="rows.0.length"]', "80")
    wait_live(page)
    before = form_values(page)

    page.goto(f"{shared_site.address}source-flow/")
    wait_live(page)
    usable = shown_numbers(page)["usable_flow"]
    page.click('.er-carry[data-to="zones"]')
    bar = page.locator('[data-bar="replaced"]')
    expect(bar).to_contain_text("Filled in from Source flow: Usable flow of the source.")
    assert page.url.endswith("/zones/")
    # The other page's own values stand; only the flow came.
    now = form_values(page)
    assert {k for k in now if now[k] != before[k]} <= {"flow", "flow:unit"}
    assert now["flow:unit"] == "gal/min"
    assert float(now["flow"]) * 3.785411784e-3 / 60 == pytest.approx(usable, rel=1e-4)
    # Not twice: a reload fills nothing in again.
    page.fill(FLOW, "3")
    page.reload()
    expect(page.locator(FLOW)).to_have_value("3")
    expect(bar).to_have_count(0)
    page.click(".er-undo")
    page.click(".er-undo")
    assert form_values(page) == before
    assert watched.errors == []


def test_rows_and_flow_go_from_zones_to_the_parts_list(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "2")
    page.fill('[name="rows.0.length"]', "57.5")
    page.select_option('[name="header.place"]', "middle")
    wait_live(page)
    page.wait_for_selector('.er-calc[data-phase="current"]')
    numbers = shown_numbers(page)
    assert numbers["zones"] == 2
    page.click('.er-carry[data-to="parts-list"]')
    expect(page.locator('[data-bar="replaced"]')).to_contain_text("Rows")
    expect(page.locator('[name="rows.0.length"]')).to_have_value("57.5")
    expect(page.locator('[name="zones"]')).to_have_value("2")
    expect(page.locator('[name="header.place"]')).to_have_value("middle")
    wait_live(page)
    page.click("text=Put back what I had")
    expect(page.locator('[name="zones"]')).to_have_value("1")
    assert watched.errors == []


def test_zones_of_a_field_go_to_the_watering_time(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/#demo=market-garden")
    expect(page.locator('[data-bar="link"]')).to_contain_text("Market garden")
    page.wait_for_selector('.er-calc[data-phase="current"]', timeout=LIVE_MS)
    numbers = shown_numbers(page)
    zones = int(numbers["zones"])
    assert zones > 1
    page.click('.er-carry[data-to="watering-time"]')
    expect(page.locator('[data-bar="replaced"]')).to_contain_text(
        "Filled in from Whole field: Flow of one emitter, Zones"
    )
    rows = page.locator('[data-table="zones"] .er-row')
    expect(rows).to_have_count(zones)
    wait_live(page)
    assert page.locator(".er-problem").count() == 0
    for index in range(zones):
        unit = page.input_value(f'[data-unit-of="zones.{index}.flow"]')
        assert unit == "gal/min"
        flow = float(page.input_value(f'[name="zones.{index}.flow"]')) * 3.785411784e-3 / 60
        assert flow == pytest.approx(numbers[f"zones.{index}.flow"], rel=1e-4)
        assert page.input_value(f'[name="zones.{index}.row_length"]') == ""
    assert watched.errors == []


def test_an_answer_for_earlier_values_takes_nothing_along(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.fill(FLOW, "plenty")
    page.wait_for_selector(".er-stale")
    page.click('.er-carry[data-to="parts-list"]')
    expect(page.locator('[data-bar="carry"]')).to_contain_text("earlier values")
    assert page.url.endswith("/zones/")
    assert watched.errors == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_is_tapped_is_large_named_and_reached_by_key(scheme, shared_site, open_context):
    watched = open_context(viewport={"width": 390, "height": 844}, color_scheme=scheme)
    page = watched.page(f"{shared_site.address}zones/")
    wait_live(page)
    page.click(".er-keep")
    page.wait_for_selector(".er-open-design:visible")
    page.fill(FLOW, "2")
    small = """all => all.filter(e => e.offsetParent && e.getBoundingClientRect().height < 43.5)
                        .map(e => e.textContent)"""
    for path in ("", "saved/"):
        if path:
            page.goto(f"{shared_site.address}{path}")
            page.wait_for_selector(".er-saved-entry")
        inside = ".er-calc" if not path else ".er-saved"
        tapped = f"{inside} :is(button, a.er-button, select, .er-saved-name a)"
        assert page.eval_on_selector_all(tapped, small) == []
        unnamed = """all => all.filter(e => e.offsetParent &&
            !(e.ariaLabel || e.textContent.trim() || e.labels?.length)).length"""
        assert page.eval_on_selector_all(tapped, unnamed) == 0
        assert page.evaluate("document.documentElement.scrollWidth") == 390
    page.locator(".er-import").focus()
    reached = []
    for _ in range(6):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.textContent"))
    assert reached[1:] == ["Rename", "Duplicate", "File (TOML)", "File (JSON)", "Delete"]
    assert watched.errors == []


def test_a_design_is_checked_with_its_cups_and_the_check_is_kept_in_it(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.fill(EU, "84")
    wait_live(page)
    page.click('.er-carry[data-to="field-check"]')
    page.wait_for_url("**/field-check/")
    expect(page.locator('[data-bar="replaced"]')).to_contain_text("Filled in from Whole field")
    cups = page.locator('[data-table="cups"] .er-row [name$=".volume"]')
    expect(cups).to_have_count(16)
    expect(page.locator(".er-verdict").first).to_contain_text("Set these 16 cups")
    for number in range(16):
        cups.nth(number).fill(f"{60 + number % 3} mL")
    expect(page.locator(".er-verdict").first).to_contain_text("Excellent", timeout=LIVE_MS)
    wait_live(page)
    page.click('.er-carry[data-to="upkeep"]')
    page.wait_for_url("**/upkeep/")
    # The log that stood there is invented: the check takes its place, dated today.
    log = page.locator('[data-table="checks.log"] .er-row')
    expect(log).to_have_count(1)
    today = page.evaluate("new Date().toLocaleDateString('sv')")
    expect(log.locator('[name$=".date"]')).to_have_value(today)
    wait_live(page)
    page.click('.er-carry[data-to="whole-field"]')
    page.wait_for_url("**/whole-field/")
    expect(page.locator('[data-table="checks.log"] .er-row')).to_have_count(1)
    expect(page.locator(EU)).to_have_value("84")
    assert watched.errors == []
