"""The service counter: a customer's answers in, a link, its code and a poster out."""

from __future__ import annotations

import pytest
from browser_helpers import numbers_in, shown_numbers, wait_live
from test_field_sheet import read_code

from evenrow import share
from evenrow.calculators import html
from evenrow.calculators.registry import answer
from evenrow.catalogue import builtin

pytestmark = pytest.mark.browser


def test_a_customer_leaves_with_a_link_a_code_and_a_poster(shared_site, open_context):
    watched = open_context(device_scale_factor=3, locale="de-DE")
    page = watched.page(f"{shared_site.address}counter/")
    wait_live(page)
    page.fill('[name="rows.0.length"]', "21")
    page.click("summary:has-text('Name and notes')")
    page.fill('[name="name"]', "Customer at the gate")
    wait_live(page)
    page.click(".er-counter-make")
    link = page.input_value(".er-link")
    assert link.startswith(f"{shared_site.address}whole-field/#design=1.")
    document = share.decode(link)
    assert document["name"] == "Customer at the gate"
    assert document["rows"][0]["length"] == "21 m"
    assert document["catalogue"] == builtin().label
    assert read_code(page, ".er-counter-code svg") == link
    # What the clerk sees is what the customer gets.
    calculator, result, system = answer(document)
    expected = numbers_in(html.result_html(calculator, result, system))
    assert shown_numbers(page) == pytest.approx(expected, rel=1e-9, abs=1e-12)

    page.click(".er-counter-poster")
    page.wait_for_selector(".er-sheet-view")
    assert "Scan me in the field" in page.locator(".er-sheet-paper .poster").inner_text()
    assert read_code(page, ".er-sheet-paper svg.code") == link
    page.keyboard.press("Escape")
    page.wait_for_selector(".er-sheet-view", state="detached")

    # The next answer is for another customer: what was made goes.
    page.fill('[name="rows.0.length"]', "22")
    page.wait_for_selector(".er-link", state="detached")
    # What stands at the counter is nobody's own design.
    page.goto(f"{shared_site.address}whole-field/")
    wait_live(page)
    assert page.input_value('[name="rows.0.length"]') != "22"
    assert watched.errors == []


def test_a_value_that_cannot_be_used_makes_no_code(shared_site, open_context):
    watched = open_context(locale="de-DE")
    page = watched.page(f"{shared_site.address}counter/")
    wait_live(page)
    page.fill('[name="main.length"]', "-5")
    page.click(".er-counter-make")
    page.wait_for_selector(".er-bar:has-text('There is no code of this')")
    assert page.locator(".er-link").count() == 0


def test_a_link_from_another_catalogue_says_so(shared_site, open_context):
    watched = open_context(locale="de-DE")
    document = {"evenrow": 1, "calculator": "run-length", "units": "metric"}
    document |= {"line": {"device": "tape-22"}, "catalogue": "Valley <shop> 2025"}
    page = watched.page(f"{shared_site.address}run-length/#{share.encode(document)}")
    wait_live(page)
    bar = page.locator(".er-bar:has-text('from a link')").inner_text()
    assert "Valley <shop> 2025" in bar
    assert builtin().label in bar
    document["catalogue"] = builtin().label
    page = watched.page(f"{shared_site.address}run-length/#{share.encode(document)}")
    wait_live(page)
    bar = page.locator(".er-bar:has-text('from a link')").inner_text()
    assert "catalogue" not in bar
    assert watched.errors == []
