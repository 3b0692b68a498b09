"""Nothing is asked from any other place, and the site runs under a sub-path."""

from __future__ import annotations

import pytest
from browser_helpers import SITE, wait_live, wait_offline_ready

pytestmark = pytest.mark.browser

PAGES = sorted(
    path.parent.relative_to(SITE).as_posix().replace(".", "", 1)
    for path in SITE.rglob("index.html")
)


def test_all_pages_are_covered():
    assert {"", "about", "formulas", "whole-field"} <= set(PAGES)


@pytest.mark.parametrize("size", [(390, 844), (1280, 800)], ids=["phone", "desk"])
def test_no_page_asks_elsewhere_or_scrolls_sideways(shared_site, open_context, size):
    watched = open_context(viewport={"width": size[0], "height": size[1]}, is_mobile=size[0] < 500)
    for path in PAGES:
        page = watched.page(f"{shared_site.address}{path}/" if path else shared_site.address)
        if page.locator(".er-calc").count():
            wait_live(page)
            # All folded parts open: the widest that the page can be.
            page.eval_on_selector_all("details", "all => all.forEach(e => (e.open = true))")
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
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
    page.click(".md-search__input")
    page.keyboard.type("backflow")
    page.wait_for_selector(".md-search-result__item a")
    assert all(url.startswith((shared_site.address, "data:")) for url in watched.requests)
    assert watched.errors == []


def test_each_file_is_transferred_once_on_a_first_visit(own_site, open_context, tmp_path):
    # A real profile: private windows keep too little for a second use.
    watched = open_context(profile=tmp_path)
    page = watched.page(f"{own_site.address}run-length/")
    wait_live(page)
    wait_offline_ready(page)
    # The second asking, by the service worker, is answered "not modified": nothing is sent twice.
    sent = [path for path, status in own_site.seen if status == 200 and "/runtime/" in path]
    assert len(sent) >= 6
    assert len(sent) == len(set(sent)), sorted(sent)
    assert watched.errors == []
