"""An update that breaks off or is broken: the old release goes on whole, the next try succeeds."""

from __future__ import annotations

import json
import os

import pytest
from browser_helpers import wait_live, wait_offline_ready
from update_helpers import comes, heading, kept_sets, release, take_over

import serve

pytestmark = pytest.mark.browser


def test_a_network_that_goes_in_the_middle_leaves_the_old_release_whole(
    copied_site, open_context, monkeypatch
):
    site, folder = copied_site
    watched = open_context()
    page = watched.page(f"{site.address}run-length/")
    wait_live(page)
    wait_offline_ready(page)
    page.reload()  # from here on every answer comes from the kept release
    wait_live(page)
    (old,) = kept_sets(page)

    # Many files change, and the third of them is the last that arrives.
    for name in ("about", "formulas", "run-length", "speed", "zones", "parts-list"):
        changed = folder / name / "index.html"
        changed.write_text(changed.read_text(encoding="utf-8") + "<!-- new -->", encoding="utf-8")
    release(folder, "SECOND")
    arrive = [3]
    whole = serve.StaticHandler.send_head

    def cut_off(handler):
        if handler.path.endswith("index.html"):
            arrive[0] -= 1
            if arrive[0] < 0:
                raise ConnectionError("the network is gone")
        return whole(handler)

    monkeypatch.setattr(serve.StaticHandler, "send_head", cut_off)
    assert comes(page) is False
    assert arrive[0] < 0
    assert kept_sets(page) == [old]
    page.reload()
    wait_live(page)
    assert "<!-- new -->" not in page.content()
    assert page.locator('[data-bar="update"]').count() == 0

    # The network is back: the next try goes on and ends well, still only when asked for.
    monkeypatch.setattr(serve.StaticHandler, "send_head", whole)
    assert comes(page) is True
    assert "<!-- new -->" not in page.content()
    with page.expect_navigation():
        page.click('[data-bar="update"] button')
    page.goto(site.address)
    page.wait_for_selector("h1:has-text('SECOND')")
    (new,) = kept_sets(page)
    assert new != old


@pytest.mark.parametrize("same_date", [False, True], ids=["other dates", "the same date"])
def test_a_broken_service_worker_is_never_used_and_the_next_good_one_is_offered(
    copied_site, open_context, same_date
):
    site, folder = copied_site
    watched = open_context()
    page = watched.page(site.address)
    wait_offline_ready(page)
    old = heading(page)
    release(folder, "SECOND")
    worker = folder / "sw.js"
    good = worker.read_text(encoding="utf-8")
    put_up = worker.stat().st_mtime

    def put(text, number):
        # Servers tell files apart by dates in whole seconds, and some keep the dates of an upload.
        worker.write_text(text, encoding="utf-8")
        when = put_up if same_date else put_up + 2 * number
        os.utime(worker, (when, when))

    wrong_list = good.replace('"about/index.html"', '"about/not-there.html"', 1)
    for number, broken in enumerate((wrong_list, good[: len(good) // 2])):
        assert broken != good
        put(broken, number)
        assert comes(page) is False
        page.reload()
        assert heading(page) == old
    put(good, 2)
    page.reload()
    page.wait_for_selector('[data-bar="update"]')
    assert heading(page) == old
    take_over(page, "SECOND")


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
    take_over(again, "SECOND")


def test_a_browser_that_keeps_no_sites_says_so_and_works(shared_site, open_context):
    watched = open_context()
    watched.context.add_init_script(
        """if (navigator.serviceWorker)
             navigator.serviceWorker.register = () => Promise.reject(new Error("refused"));"""
    )
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    page.wait_for_selector(".er-offline:has-text('this browser does not allow it')")
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
