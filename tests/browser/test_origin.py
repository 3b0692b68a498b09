"""Nothing is asked from any other place, and the site runs under a sub-path."""

from __future__ import annotations

import pytest
from browser_helpers import wait_live, wait_offline_ready
from conftest import SITE

pytestmark = pytest.mark.browser

PAGES = sorted(
    path.parent.relative_to(SITE).as_posix().replace(".", "", 1)
    for path in SITE.rglob("index.html")
)


def test_all_pages_are_covered():
    assert {"", "about", "formulas", "whole-field"} <= set(PAGES)


@pytest.mark.parametrize("size", [(390, 844), (1280, 800)], ids=["phone", "desk"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_asks_elsewhere_or_scrolls_sideways(shared_site, open_context, size, scheme):
    watched = open_context(
        viewport={"width": size[0], "height": size[1]}, color_scheme=scheme, is_mobile=size[0] < 500
    )
    for path in PAGES:
        page = watched.page(f"{shared_site.address}{path}/" if path else shared_site.address)
        if page.locator(".er-calc").count():
            wait_live(page)
            # All folded parts open: the widest that the page can be.
            page.eval_on_selector_all("details", "all => all.forEach(e => (e.open = true))")
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size[0], f"{path or 'start'} is {wide} wide"
        page.close()
    assert watched.requests
    foreign = [
        url
        for url in watched.requests
        if not url.startswith((shared_site.address, "data:", "blob:"))
    ]
    assert foreign == []
    assert watched.errors == []


def test_search_finds_pages_without_asking_elsewhere(shared_site, open_context):
    watched = open_context()
    page = watched.page(shared_site.address)
    page.fill(".md-search__input", "backflow")
    page.wait_for_selector(".md-search-result__item a")
    assert all(url.startswith((shared_site.address, "data:")) for url in watched.requests)
    assert watched.errors == []


def test_each_file_is_transferred_once_on_a_first_visit(own_site, open_context):
    watched = open_context()
    sent: dict[str, int] = {}

    def count(response):
        if response.status == 200 and not response.from_service_worker:
            sent[response.url] = sent.get(response.url, 0) + 1

    watched.context.on("response", count)
    page = watched.page(f"{own_site.address}run-length/")
    wait_live(page)
    wait_offline_ready(page)
    heavy = {url: n for url, n in sent.items() if "/assets/runtime/" in url}
    assert len(heavy) >= 6
    assert all(n == 1 for n in heavy.values()), heavy
