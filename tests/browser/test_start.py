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
#: What is kept lies in a file of the site's own; the cache holds its hash.
OPENED = """
  const name = (await caches.keys()).find(n => n.includes(":snapshot:"));
  const cache = await caches.open(name);
  const [key] = await cache.keys();
  const headers = new Headers((await cache.match(key)).headers);
  const folder = await navigator.storage.getDirectory();
  const file = await folder.getFileHandle(headers.get("x-file"));
  const whole = await (await file.getFile()).arrayBuffer();
  const write = async bytes => {
    const stream = await file.createWritable();
    await stream.write(bytes);
    await stream.close();
  };
"""
SPOIL = f"""async bytes => {{
  {OPENED}
  await write(bytes ? new Uint8Array(bytes) : whole.slice(0, 1e6));
}}"""
FILES_LEFT = """async () => {
  const names = [];
  for await (const name of (await navigator.storage.getDirectory()).keys()) names.push(name);
  return names.filter(name => name.startsWith("snapshot"));
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
    assert len(page.evaluate(FILES_LEFT)) == 1
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
    assert page.evaluate(FILES_LEFT) == []


TRIES = """async tries => {
  const name = (await caches.keys()).find(n => n.includes(":snapshot:"));
  const cache = await caches.open(name);
  const [key] = await cache.keys();
  await cache.put(`${key.url}-trying`, new Response(tries));
}"""
RUBBISH_WITH_ITS_HASH = f"""async () => {{
  {OPENED}
  const bytes = new Uint8Array(whole);
  bytes.fill(0, bytes.length >> 1);
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  headers.set("x-sha256", [...digest].map(byte => byte.toString(16).padStart(2, "0")).join(""));
  await write(bytes);
  await cache.put(key, new Response("", {{ headers }}));
}}"""
NO_FILES = """
delete StorageManager.prototype.getDirectory;
"""
NO_ROOM = """
Cache.prototype.put = async () => { throw new DOMException("full", "QuotaExceededError"); };
"""


@pytest.mark.parametrize(("tries", "start"), [("2", "kept"), ("3", "plain"), ("x", "plain")])
def test_only_starts_that_fail_again_and_again_are_given_up(
    shared_site, open_context, tries, start
):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    keep_start(page)
    page.evaluate(TRIES, tries)
    page.reload()
    wait_live(page)
    page.wait_for_selector(f'.er-status[data-start="{start}"]')
    assert page.evaluate(KEPT) == (["snapshot"] if start == "kept" else ["snapshot-refused"])


def test_memory_that_python_cannot_live_with_is_dropped(shared_site, open_context):
    watched = open_context()
    page = watched.page(f"{shared_site.address}run-length/")
    keep_start(page)
    numbers = shown_numbers(page)
    page.evaluate(RUBBISH_WITH_ITS_HASH)
    page.reload()
    wait_live(page)
    page.wait_for_selector('.er-status[data-start="plain"]')
    assert shown_numbers(page) == numbers
    assert page.evaluate(KEPT) == ["snapshot-refused"]


def test_without_room_on_the_device_every_start_is_plain(shared_site, open_context):
    watched = open_context(service_workers="block")
    # The worker that would keep the start runs on a full device.
    watched.context.route(
        "**/assets/js/core-worker.js",
        lambda route: route.fulfill(
            body=NO_ROOM + route.fetch().text(), content_type="text/javascript"
        ),
    )
    page = watched.page(f"{shared_site.address}run-length/")
    for _ in range(2):
        wait_live(page)
        page.wait_for_selector('.er-status[data-start="plain"]')
        page.wait_for_timeout(3000)  # the worker has tried to keep it by then
        assert page.evaluate(KEPT) == []
        page.reload()


def test_a_binary_module_that_does_not_arrive_is_told_and_tried_again(shared_site, open_context):
    watched = open_context(service_workers="block")
    broken = [True]
    watched.context.route(
        "**/*_umath_linalg.*.wasm",
        lambda route: route.abort() if broken[0] else route.continue_(),
    )
    page = watched.page(f"{shared_site.address}run-length/")
    page.wait_for_selector("text=The live calculator did not start", timeout=LIVE_MS)
    broken[0] = False
    page.click("text=Try again")
    wait_live(page)


def test_later_visits_take_compiled_code_from_the_browsers_own_cache(
    own_site, open_context, tmp_path
):
    # A real profile: private windows keep too little.
    watched = open_context(profile=tmp_path)
    page = watched.page(f"{own_site.address}run-length/")
    keep_start(page)
    # Only there are the files still: neither with the service worker nor on a server.
    gone = page.evaluate(
        """async () => {
          const name = (await caches.keys()).find(n => n.includes(":runtime:"));
          const cache = await caches.open(name);
          const keys = (await cache.keys()).filter(key => key.url.endsWith(".wasm"));
          return Promise.all(keys.map(key => cache.delete(key)));
        }"""
    )
    assert gone == [True, True, True]
    own_site.stop()
    page.reload()
    wait_live(page)
    page.wait_for_selector('.er-status[data-start="kept"]')


def test_without_files_of_the_sites_own_the_cache_keeps_the_start(shared_site, open_context):
    watched = open_context(service_workers="block")
    watched.context.route(
        "**/assets/js/core-worker.js",
        lambda route: route.fulfill(
            body=NO_FILES + route.fetch().text(), content_type="text/javascript"
        ),
    )
    page = watched.page(f"{shared_site.address}run-length/")
    wait_live(page)
    for _ in range(LIVE_MS // 250):
        if page.evaluate(KEPT) == ["snapshot"]:
            break
        page.wait_for_timeout(250)
    assert page.evaluate(FILES_LEFT) == []
    page.reload()
    wait_live(page)
    page.wait_for_selector('.er-status[data-start="kept"]')
