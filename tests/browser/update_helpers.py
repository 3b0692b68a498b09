"""What the tests of new releases share: making one, and how a page stands to it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from browser_helpers import ROOT
from playwright.sync_api import Page

from offline_manifest import write_manifest


def release(folder: Path, words: str) -> None:
    """Change the first page of a copied site and write the manifest anew."""
    page = folder / "index.html"
    text = page.read_text(encoding="utf-8")
    page.write_text(text.replace("</h1>", f" {words}</h1>", 1), encoding="utf-8")
    shutil.copy(ROOT / "site_src" / "sw.js", folder / "sw.js")
    write_manifest(folder)


def heading(page: Page) -> str:
    """Return the page's first heading."""
    return page.locator("h1").first.inner_text()


def comes(page: Page) -> bool:
    """Look for a new release, wait until it is kept or given up; return whether one waits now."""
    return bool(
        page.evaluate(
            """navigator.serviceWorker.getRegistration().then(async r => {
                 await r.update().catch(() => {});
                 const coming = r.installing;
                 if (coming) {
                   await new Promise(done => coming.addEventListener("statechange", done));
                 }
                 return Boolean(r.waiting);
               })"""
        )
    )


def kept_sets(page: Page) -> list[dict[str, Any]]:
    """Return the complete sets of pages that the device keeps, each file with its hash."""
    found: list[dict[str, Any]] = page.evaluate(
        """async () => {
          const sets = [];
          for (const name of (await caches.keys()).filter(n => n.includes(":site:"))) {
            const cache = await caches.open(name);
            const done = (await cache.keys()).find(key => key.url.endsWith("__complete__"));
            if (done) sets.push(await (await cache.match(done)).json());
          }
          return sets;
        }"""
    )
    return found


def take_over(page: Page, words: str) -> None:
    """Wait until a release is offered, take it, and wait for its words in the first heading."""
    page.wait_for_selector('[data-bar="update"]')
    page.click('[data-bar="update"] button')
    page.wait_for_selector(f"h1:has-text('{words}')")
