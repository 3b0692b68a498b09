"""On a host that lets nobody set headers: no word on caching, plain types for most kinds.

Below a project's path, as free hosts put it. The whole job, no network, and a new release.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from browser_helpers import (
    SITE,
    ServedSite,
    numbers_in,
    shown_numbers,
    wait_live,
    wait_offline_ready,
)
from update_helpers import comes, release, take_over

import serve

pytestmark = pytest.mark.browser

WASM = next(iter((SITE / "assets" / "runtime").glob("pyodide.asm.*.wasm")), SITE / "none")


class PlainHandler(serve.StaticHandler):
    """Knows the types of pages, scripts, styles and pictures only, and says nothing of caching."""

    extensions_map = {  # noqa: RUF012
        "": "application/octet-stream",
        ".html": "text/html",
        ".js": "application/javascript",
        ".css": "text/css",
        ".svg": "image/svg+xml",
        ".png": "image/png",
        ".json": "text/plain",
    }

    def guess_type(self, path: object) -> str:
        """Ask nobody else."""
        return self.extensions_map.get(Path(str(path)).suffix, self.extensions_map[""])

    def end_headers(self) -> None:
        """Leave caching to the browser."""
        super(serve.StaticHandler, self).end_headers()


@pytest.fixture
def plain_host(tmp_path):
    """A copy of the site on such a host, and the copy."""
    folder = tmp_path / "site"
    shutil.copytree(SITE, folder)
    site = ServedSite(folder, PlainHandler)
    yield site, folder
    if site.thread.is_alive():
        site.stop()


def test_the_host_is_as_plain_as_it_says(plain_host, open_context):
    site, _ = plain_host
    ask = open_context().context.request
    for name, kind in (
        (WASM.relative_to(SITE).as_posix(), "application/octet-stream"),
        ("assets/runtime/core.pack", "application/octet-stream"),
        ("app.webmanifest", "application/octet-stream"),
    ):
        answer = ask.get(site.address + name)
        assert answer.headers["content-type"] == kind
        assert "cache-control" not in answer.headers
    moved = ask.get(f"{site.address}run-length", max_redirects=0)
    assert (moved.status, moved.headers["location"]) == (301, "/some/co-op/run-length/")


def test_the_main_job_works_there_and_without_a_network(plain_host, open_context):
    site, _ = plain_host
    watched = open_context()
    page = watched.page(f"{site.address}run-length")  # typed without its slash
    assert page.url == f"{site.address}run-length/"
    built = numbers_in(
        page.context.request.get(page.url).text().split('<template class="er-result-us"')[0]
    )
    wait_live(page)
    assert set(shown_numbers(page)) == set(built)
    page.fill('[name="line.spacing"]', "20")
    wait_live(page)
    numbers = shown_numbers(page)
    page.click(".er-share")
    link = page.input_value(".er-link")
    wait_offline_ready(page)
    page.close()

    watched.context.set_offline(True)
    site.stop()
    reopened = watched.page(link)
    wait_live(reopened)
    assert shown_numbers(reopened) == numbers
    reopened.goto(f"{site.address}about")
    assert reopened.url == f"{site.address}about/"
    assert reopened.locator("h1").inner_text()
    assert watched.errors == []


def test_a_new_release_arrives_whole_though_the_browser_may_keep_old_files(
    plain_host, open_context
):
    site, folder = plain_host
    watched = open_context()
    page = watched.page(site.address)
    wait_offline_ready(page)
    release(folder, "SECOND")
    assert comes(page) is True
    take_over(page, "SECOND")
