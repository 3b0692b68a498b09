"""What the tests of access share: all pages, each with all that can be unfolded."""

from __future__ import annotations

from browser_helpers import SITE, ServedSite, Watched, wait_live
from playwright.sync_api import Page

PAGES = sorted(
    path.parent.relative_to(SITE).as_posix().replace(".", "", 1)
    for path in SITE.rglob("index.html")
)
#: The pages that are looked at one by one for a long while: those in Spanish are made alike, which
#: the build makes sure of, so that a few of each kind stand for them.
LOOKED_AT = [
    path
    for path in PAGES
    if not path.startswith("es")
    or path in ("es", "es/run-length", "es/whole-field", "es/guides", "es/guides/winter")
]
#: The palettes by the name that the theme gives them, in the order of its switch.
SCHEMES = ("default", "slate")


def open_unfolded(watched: Watched, site: ServedSite, path: str) -> Page:
    """Open a page, wait for its live answer if it has one, and unfold everything."""
    page = watched.page(f"{site.address}{path}/" if path else site.address)
    if page.locator(".er-calc").count():
        wait_live(page)
    page.eval_on_selector_all("details", "all => all.forEach(e => (e.open = true))")
    return page
