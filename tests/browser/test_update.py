"""A new release: all or nothing, and only when the user says so."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from browser_helpers import ROOT, SITE, ServedSite, wait_offline_ready

from offline_manifest import write_manifest

pytestmark = pytest.mark.browser


@pytest.fixture
def copied_site(tmp_path):
    folder = tmp_path / "site"
    shutil.copytree(SITE, folder)
    site = ServedSite(folder)
    yield site, folder
    site.stop()


def release(folder: Path, words: str) -> None:
    """Change the first page and write the manifest anew."""
    page = folder / "index.html"
    text = page.read_text(encoding="utf-8")
    page.write_text(text.replace("</h1>", f" {words}</h1>", 1), encoding="utf-8")
    shutil.copy(ROOT / "site_src" / "sw.js", folder / "sw.js")
    write_manifest(folder)


def heading(page) -> str:
    return page.locator("h1").first.inner_text()


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
    page.click('[data-bar="update"] button')
    page.wait_for_selector("h1:has-text('SECOND')")
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
    outcome = page.evaluate(
        """navigator.serviceWorker.getRegistration().then(r => r.update().catch(() => r)).then(
             () => navigator.serviceWorker.getRegistration()).then(async r => {
               const coming = r.installing;
               if (coming) await new Promise(done => coming.addEventListener("statechange", done));
               return [coming?.state ?? "gone", Boolean(r.waiting)];
             })"""
    )
    assert outcome == ["redundant", False] or outcome == ["gone", False]
    page.reload()
    assert heading(page) == old
    assert names <= set(page.evaluate("caches.keys()"))
