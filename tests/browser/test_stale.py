"""An answer that is not for what stands in the form never passes for one, on screen or paper."""

from __future__ import annotations

import re

import pytest
from browser_helpers import LIVE_MS, wait_live
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

LENGTH = '[name="rows.0.length"]'
#: A4 without its margins, at 96 pixels to the inch.
PAPER = {"width": 700, "height": 1000}


def test_the_built_answer_is_marked_until_the_first_reply(shared_site, open_context):
    watched = open_context(service_workers="block")
    held = []

    def hold(route):
        held.append(route)

    # Python never comes, until it is let through.
    watched.context.route("**/core.pack", hold)
    page = watched.page(f"{shared_site.address}whole-field/")
    calc = page.locator(".er-calc")
    status = page.locator(".er-status")
    expect(calc).to_have_attribute("data-phase", "built")
    expect(calc).not_to_have_class(re.compile("er-stale"))
    assert page.locator(".er-sticky-value").text_content() == "1"
    assert "Live" not in status.inner_text()

    page.fill(LENGTH, "57.5")
    expect(calc).to_have_class(re.compile("er-stale"))
    page.reload()
    expect(page.locator(LENGTH)).to_have_value("57.5")
    expect(calc).to_have_class(re.compile("er-stale"))
    expect(status).to_contain_text("Working out your values…")
    assert "Live" not in status.inner_text()
    assert page.locator(".er-sticky-label").text_content() == "Working…"
    # Full contrast, but said in words that it is old.
    assert page.evaluate("getComputedStyle(document.querySelector('.er-answer')).opacity") == "1"
    said = "getComputedStyle(document.querySelector('.er-headline'), '::after').content"
    assert page.evaluate(said) == '"earlier values"'

    page.emulate_media(media="print")
    assert not page.locator(".er-answer").is_visible()
    assert "not worked out yet" in page.locator(".er-not-yet").inner_text()
    page.emulate_media(media="screen")
    for _ in range(LIVE_MS // 250):
        if held:
            break
        page.wait_for_timeout(250)
    for route in held:
        route.continue_()
    watched.context.unroute("**/core.pack")
    wait_live(page)
    expect(calc).not_to_have_class(re.compile("er-stale"))
    expect(status).to_contain_text("Live")
    page.emulate_media(media="print")
    assert page.locator(".er-answer").is_visible()
    assert not page.locator(".er-not-yet").is_visible()


def test_a_refused_value_leaves_the_answer_marked(shared_site, open_context):
    page = open_context().page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.fill(LENGTH, "a few")
    page.wait_for_selector(".er-problem")
    assert "er-stale" in page.get_attribute(".er-calc", "class")
    expect(page.locator(".er-status")).to_contain_text("earlier values")
    page.fill(LENGTH, "57.5")
    expect(page.locator(".er-calc")).not_to_have_class(re.compile("er-stale"))


def test_a_design_on_paper(shared_site, open_context):
    watched = open_context(color_scheme="dark", viewport=PAPER)
    page = watched.page(f"{shared_site.address}whole-field/")
    wait_live(page)
    page.select_option(".er-example", "Raspberries by the shed")
    wait_live(page)
    dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
    paper = page.pdf(format="A4")
    pages = len(re.findall(rb"/Type\s*/Page\b", paper))
    # The whole answer with its drawings; the field sheet is what fits on two sides.
    assert 1 <= pages <= 12

    page.emulate_media(media="print", color_scheme="dark")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != dark
    ink = page.evaluate("getComputedStyle(document.body).getPropertyValue('--er-ink')")
    assert ink == "#10231d"
    head = page.locator(".er-print-head").inner_text()
    assert "Raspberries by the shed" in head
    assert "/whole-field/#design=1." in head
    values = page.locator(".er-print-values").inner_text()
    assert "62 ft" in values
    assert "hose tap" in values
    assert page.locator(".er-form").is_hidden()
    assert page.locator(".er-button:visible, .er-why:not([open]):visible").count() == 0
    above = page.locator(".er-headline").bounding_box()["y"]
    assert above < page.locator(".er-print-values").bounding_box()["y"]
    cut = page.evaluate(
        """[...document.querySelectorAll(".er-calc table")].filter(
             e => e.getBoundingClientRect().right > innerWidth).map(e => e.caption?.textContent)"""
    )
    assert cut == []
    assert watched.errors == []
