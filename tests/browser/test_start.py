"""The kept start: a later visit starts from it, and never depends on it."""

from __future__ import annotations

import pytest
from browser_helpers import LIVE_MS, shown_numbers, wait_live, wait_offline_ready

pytestmark = pytest.mark.browser

KEPT = """caches.keys().then(async names => {
  const name = names.find(n => n.includes(":snapshot:"));
  if (!name) return [];
  return (await (await caches.open(name)).keys()).map(r => r.url.split("/").pop());
})"""
SPOIL = """async bytes => {
  const name = (await caches.keys()).find(n => n.includes(":snapshot:"));
  const cache = await caches.open(name);
  const [key] = await cache.keys();
  const whole = await (await cache.match(key)).arrayBuffer();
  await cache.put(key, new Response(bytes ? new Uint8Array(bytes) : whole.slice(0, 1e6)));
}"""


def keep_start(page):
    """Wait until the start is kept on the device."""
    wait_live(page)
    wait_offline_ready(page)
    for _ in range(LIVE_MS // 250):
        if page.evaluate(KEPT) == ["snapshot"]:
            return
        page.wait_for_timeout(250)
    pytest.fail("no start was kept")


def test_a_later_visit_starts_from_the_kept_start_with_the_same_numbers(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}whole-field/")
    keep_start(page)
    assert page.get_attribute(".er-status", "data-start") == "plain"
    numbers = shown_numbers(page)
    page.reload()
    wait_live(page)
    page.wait_for_selector('.er-status[data-start="kept"]')
    assert shown_numbers(page) == numbers
    # Files that Python reads late are there too: Pint's own units, and the file format.
    page.fill('[name="rows.0.length"]', "3 chain")
    wait_live(page)
    assert watched.errors == []


@pytest.mark.parametrize("bytes_", [[1, 2, 3], None], ids=["rubbish", "cut short"])
def test_a_spoilt_start_is_dropped_and_python_starts_plainly(shared_site, open_context, bytes_):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    keep_start(page)
    numbers = shown_numbers(page)
    page.evaluate(SPOIL, bytes_)
    page.reload()
    wait_live(page)
    page.wait_for_selector('.er-status[data-start="plain"]')
    assert shown_numbers(page) == numbers
    assert page.evaluate(KEPT) == ["snapshot-refused"]


def test_a_start_that_never_came_back_is_not_tried_again(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    keep_start(page)
    page.evaluate(
        """async () => {
          const name = (await caches.keys()).find(n => n.includes(":snapshot:"));
          const cache = await caches.open(name);
          const [key] = await cache.keys();
          await cache.put(`${key.url}-trying`, new Response(""));
        }"""
    )
    page.reload()
    wait_live(page)
    page.wait_for_selector('.er-status[data-start="plain"]')
    assert page.evaluate(KEPT) == ["snapshot-refused"]
