"""A new release: all or nothing, and only when the user says so."""

from __future__ import annotations

import pytest
from browser_helpers import wait_offline_ready
from update_helpers import comes, heading, release, take_over

pytestmark = pytest.mark.browser


def test_an_update_waits_for_the_user_and_copies_what_has_not_changed(copied_site, open_context):
    site, folder = copied_site
    watched = open_context()
    page = watched.page(site.address)
    wait_offline_ready(page)
    old = heading(page)

    release(folder, "SECOND")
    page.reload()
    page.wait_for_selector('[data-bar="update"]')
    assert heading(page) == old
    before = len(watched.requests)
    take_over(page, "SECOND")
    assert not any("/assets/runtime/" in url for url in watched.requests[before:])
    names = page.evaluate("caches.keys()")
    assert len([name for name in names if ":site:" in name]) == 1
    assert len([name for name in names if ":runtime:" in name]) == 1
    assert all(name.startswith("evenrow:/some/co-op/:") for name in names)


def test_a_damaged_release_never_replaces_a_good_one(copied_site, open_context):
    site, folder = copied_site
    watched = open_context()
    page = watched.page(site.address)
    wait_offline_ready(page)
    old = heading(page)
    names = set(page.evaluate("caches.keys()"))

    release(folder, "SECOND")
    # One file is not what the manifest says, as in the middle of an upload.
    first = folder / "index.html"
    first.write_text(first.read_text(encoding="utf-8") + "<!-- half -->", encoding="utf-8")
    page.reload()
    assert comes(page) is False
    page.reload()
    assert heading(page) == old
    assert names <= set(page.evaluate("caches.keys()"))
