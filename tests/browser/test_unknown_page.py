"""An address that leads nowhere: the site's own page, at any depth, with and without a network."""

from __future__ import annotations

import pytest
from browser_helpers import BASE, wait_offline_ready
from playwright.sync_api import expect

pytestmark = pytest.mark.browser


def lost(page, site, path):
    """Open an address that leads nowhere; check that the page says so and leads back."""
    answer = page.goto(site.address + path)
    assert answer.status == 404
    assert page.locator("h1").inner_text() == "There is no page here"
    expect(page.locator("html")).to_have_attribute("data-base", BASE)
    page.click("main li a:has-text('Whole field')")
    page.wait_for_url(f"{site.address}whole-field/")


@pytest.mark.parametrize("path", ["whole-feild/", "run-length/deeper/still"])
def test_an_unknown_address_leads_back(shared_site, open_context, path):
    page = open_context(service_workers="block").context.new_page()
    lost(page, shared_site, path)


def test_an_unknown_address_leads_back_offline(own_site, open_context):
    watched = open_context()
    page = watched.page(f"{own_site.address}about/")
    wait_offline_ready(page)
    own_site.stop()
    watched.context.set_offline(True)
    lost(page, own_site, "whole-feild/and/more")
