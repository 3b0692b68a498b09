"""An update that is left half-way, a browser that keeps no sites, and an installable site."""

from __future__ import annotations

import json
import shutil

import pytest
from browser_helpers import ROOT, SITE, ServedSite, wait_live, wait_offline_ready

from offline_manifest import write_manifest

pytestmark = pytest.mark.browser


@pytest.fixture
def copied_site(tmp_path):
    folder = tmp_path / "site"
    shutil.copytree(SITE, folder)
    site = ServedSite(folder)
    yield site, folder
    site.stop()


def release(folder, words):
    """Change the first page and write the manifest anew."""
    page = folder / "index.html"
    text = page.read_text(encoding="utf-8")
    page.write_text(text.replace("</h1>", f" {words}</h1>", 1), encoding="utf-8")
    shutil.copy(ROOT / "site_src" / "sw.js", folder / "sw.js")
    write_manifest(folder)


def heading(page):
    return page.locator("h1").first.inner_text()


def test_a_page_closed_in_the_middle_of_an_update_does_no_harm(copied_site, open_context):
    site, folder = copied_site
    watched = open_context()
    page = watched.page(site.address)
    wait_offline_ready(page)
    old = heading(page)
    release(folder, "SECOND")
    # Begun and left: nobody waits for it.
    page.evaluate("navigator.serviceWorker.getRegistration().then(r => void r.update())")
    page.close()
    again = watched.page(site.address)
    assert heading(again) == old
    again.wait_for_selector('[data-bar="update"]')
    again.click('[data-bar="update"] button')
    again.wait_for_selector("h1:has-text('SECOND')")


def test_a_browser_that_keeps_no_sites_says_so_and_works(shared_site, open_context):
    watched = open_context()
    watched.context.add_init_script(
        """if (navigator.serviceWorker)
             navigator.serviceWorker.register = () => Promise.reject(new Error("refused"));"""
    )
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.wait_for_selector(".er-offline:has-text('this browser did not allow it')")
    assert watched.errors == []


def test_the_site_can_be_installed(shared_site, open_context):
    page = open_context().page(shared_site.address)
    wait_offline_ready(page)
    ask = page.context.new_cdp_session(page)
    manifest = ask.send("Page.getAppManifest")
    assert manifest["url"] == f"{shared_site.address}app.webmanifest"
    assert manifest["errors"] == []
    found = json.loads(manifest["data"])
    sizes = {icon["sizes"] for icon in found["icons"]}
    assert {"192x192", "512x512"} <= sizes
    for icon in found["icons"]:
        assert page.request.get(shared_site.address + icon["src"]).ok
    # A private window, as every test has, is the one thing that may stand in the way.
    hindered = ask.send("Page.getInstallabilityErrors")["installabilityErrors"]
    assert {each["errorId"] for each in hindered} <= {"in-incognito"}
