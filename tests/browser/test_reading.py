"""Without scripts, with a keyboard, with thick fingers."""

from __future__ import annotations

import pytest
from browser_helpers import wait_live

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
             ".er-calc :is(button, select, input[type=text], summary, .er-sticky)")]
           .filter(e => e.checkVisibility() && !e.closest(".er-why"))
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
