"""Nothing is asked from any other place, and the site runs under a sub-path."""

from __future__ import annotations

import pytest
from access_helpers import SCHEMES
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
        for number, scheme in enumerate(SCHEMES):
            # The switch itself: a page that is open does not follow the system.
            page.eval_on_selector(f"#__palette_{number}", "choice => choice.click()")
            page.wait_for_selector(f"body[data-md-color-scheme={scheme}]")
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


def test_the_worker_reaches_no_network_once_python_runs(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    wait_offline_ready(page)  # from here on nothing else is fetched
    (worker,) = [each for each in page.workers if each.url.endswith("core-worker.js")]
    before = len(watched.requests)
    elsewhere = f"{shared_site.origin}/elsewhere"
    said = worker.evaluate(
        """async (address) => {
          const ways = {
            fetch: () => fetch(address),
            ancestor: () => (WorkerGlobalScope.prototype.fetch ?? fetch).call(self, address),
            XMLHttpRequest: () => new XMLHttpRequest().open("GET", address),
            WebSocket: () => new WebSocket(address.replace("http", "ws")),
            EventSource: () => new EventSource(address),
            importScripts: () => importScripts(address),
            Worker: () => new Worker(address),
            cache: () => caches.open("x").then((cache) => cache.add(address)),
            again: () => delete self.fetch && fetch(address),
          };
          const said = {};
          for (const [name, way] of Object.entries(ways)) {
            try {
              await way();
              said[name] = "let through";
            } catch (error) {
              said[name] = String(error);
            }
          }
          return said;
        }""",
        elsewhere,
    )
    assert len(said) == 9
    # Deleting is refused in other words than calling.
    assert "let through" not in said.values()
    assert all("no network" in words for name, words in said.items() if name != "again"), said
    assert watched.requests[before:] == []
    assert not any("elsewhere" in path for path, _ in shared_site.seen)
    # Still at work.
    page.fill('[name="line.spacing"]', "17.5")
    wait_live(page)
    assert watched.errors == []
