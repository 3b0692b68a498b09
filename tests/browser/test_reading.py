"""Without scripts, with a keyboard, with thick fingers."""

from __future__ import annotations

import pytest
from browser_helpers import wait_live
from playwright.sync_api import expect

from evenrow.calculators.registry import CALCULATORS

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("name", CALCULATORS)
def test_a_page_reads_with_scripts_off(name, shared_site, open_context):
    watched = open_context(java_script_enabled=False)
    page = watched.page(f"{shared_site.address}{name}/")
    assert page.locator(".er-headline-value").inner_text()
    assert page.locator("noscript").count()
    assert "Scripts are off" in page.locator(".er-form").inner_text()
    assert page.locator(".er-form label:visible").count() > 2
    # What needs scripts does not pretend to work.
    assert page.locator(".er-button:visible").count() == 0
    assert page.locator(".er-status:visible, .er-toolbar:visible, .er-sticky:visible").count() == 0


def test_every_control_has_a_name_and_its_help(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}whole-field/")
    wait_live(page)
    nameless = page.evaluate(
        """[...document.querySelectorAll(".er-form [name]:not([name=er-units])")].filter(e =>
             !e.labels?.length || !e.getAttribute("aria-describedby")?.split(" ").every(
               id => document.getElementById(id))).map(e => e.name)"""
    )
    assert nameless == []
    doubled = page.evaluate(
        """(() => { const ids = [...document.querySelectorAll("[id]")].map(e => e.id);
             return ids.filter((id, i) => ids.indexOf(id) !== i); })()"""
    )
    assert doubled == []


def test_what_is_tapped_is_large_enough(shared_site, open_context):
    page = open_context(
        viewport={"width": 390, "height": 844}, is_mobile=True, has_touch=True
    ).page(f"{shared_site.address}whole-field/")
    wait_live(page)
    small = page.evaluate(
        """[...document.querySelectorAll(
             ".er-calc :is(button, select, input:not([type=radio]), summary, .er-sticky, nav a)," +
             ".er-footer a")]
           .filter(e => e.checkVisibility())
           .map(e => [e.className || e.name || e.textContent, e.getBoundingClientRect().height])
           .filter(([, height]) => height < 44)"""
    )
    assert small == []


def test_the_answer_stays_in_sight_on_a_phone(shared_site, open_context):
    page = open_context(viewport={"width": 390, "height": 844}, is_mobile=True).page(
        f"{shared_site.address}run-length/"
    )
    wait_live(page)
    sticky = page.locator(".er-sticky")
    assert sticky.is_visible()
    value = page.locator(".er-headline-value").text_content()
    assert sticky.locator("strong").inner_text() == value
    sticky.click()
    page.wait_for_selector(".er-sticky.er-away", state="attached")


def test_the_form_can_be_used_by_keyboard_alone(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.focus('[name="line.spacing"]')
    page.keyboard.press("Control+A")
    page.keyboard.type("18 in")
    page.keyboard.press("Enter")
    wait_live(page)
    assert page.url.endswith("/run-length/")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"


def test_a_phone_reader_finds_the_parts_of_a_long_answer(shared_site, open_context):
    page = open_context(viewport={"width": 390, "height": 844}, is_mobile=True).page(
        f"{shared_site.address}whole-field/"
    )
    wait_live(page)
    address = page.url
    jump = page.locator(".er-jumps a").last
    part = page.locator(jump.get_attribute("href"))
    jump.click()
    expect(part).to_be_in_viewport()
    assert page.url == address
    assert page.locator(".er-quick .er-button").all_inner_texts() == [
        "Copy link",
        "Print",
        "Field sheet",
    ]
    # Reasons of single parts wait behind "Why"; on a wide screen they stand there.
    assert page.locator(".er-detail[open]").count() == 0
    assert page.locator(".er-detail").count() > 3
    small = page.evaluate(
        """[...document.querySelectorAll(".er-calc .er-help, .er-calc p, .er-status")]
           .filter(e => e.checkVisibility() && parseFloat(getComputedStyle(e).fontSize) < 16)
           .map(e => e.className)"""
    )
    assert small == []
    box = page.locator('[name="rows.0.length"]')
    assert box.bounding_box()["width"] > 180


def test_on_a_wide_screen_the_page_scrolls_and_the_headline_stays(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}whole-field/")
    wait_live(page)
    assert page.locator(".er-detail[open]").count() > 3
    scrollers = page.evaluate(
        """[...document.querySelectorAll(".er-tell, .er-result, .er-answer")].filter(
             e => getComputedStyle(e).overflowY !== "visible").length"""
    )
    assert scrollers == 0
    page.locator(".er-section").last.scroll_into_view_if_needed()
    expect(page.locator(".er-headline-value")).to_be_in_viewport()
