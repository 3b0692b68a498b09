"""The built site, served under a sub-path on loopback, and a real browser to use it."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
SITE = ROOT / "build" / "site"
BASE = "/some/co-op/"
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# Test modules are imported by path alone, so their helpers need a place on the path.
sys.path[:0] = [str(ROOT / "scripts"), str(Path(__file__).parent)]
import serve  # noqa: E402


class ServedSite:
    """The site at an address of its own; can be switched off, as a lost network would."""

    def __init__(self, folder: Path = SITE) -> None:
        self.server = serve.make_server(folder, base=BASE)
        self.address = serve.address(self.server, BASE)
        self.origin = self.address.removesuffix(BASE)
        self.thread = threading.Thread(target=self.server.serve_forever, daemon=True)
        self.thread.start()

    def stop(self) -> None:
        """Stop answering for good."""
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, or the one that EVENROW_CHROMIUM names."""
    path = os.environ.get("EVENROW_CHROMIUM", "/usr/bin/chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def shared_site() -> Iterator[ServedSite]:
    """One server for all tests that leave it running."""
    if not (SITE / "sw.js").is_file():
        pytest.fail("build/site is missing: ./scripts/test builds it before these tests")
    site = ServedSite()
    yield site
    site.stop()


@pytest.fixture
def own_site() -> Iterator[ServedSite]:
    """A server that the test may stop."""
    site = ServedSite()
    yield site
    if site.thread.is_alive():
        site.stop()


class Watched:
    """A browser context whose console and requests are watched from the first page on."""

    def __init__(self, context: BrowserContext) -> None:
        self.context = context
        self.errors: list[str] = []
        self.requests: list[str] = []
        context.on("request", lambda request: self.requests.append(request.url))
        context.on("console", self._hear)
        context.on("weberror", lambda error: self.errors.append(str(error.error)))

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.errors.append(f"{message.type}: {message.text}")

    def page(self, address: str) -> Page:
        """Open a page."""
        page = self.context.new_page()
        page.goto(address)
        return page


@pytest.fixture
def open_context(browser: Browser) -> Iterator[Callable[..., Watched]]:
    """Make watched contexts (a fresh browser profile each); all close with the test."""
    made: list[BrowserContext] = []

    def make(**options: Any) -> Watched:
        options.setdefault("viewport", {"width": 1280, "height": 800})
        options.setdefault("locale", "en-US")
        context = browser.new_context(**options)
        context.set_default_timeout(30_000)
        made.append(context)
        return Watched(context)

    yield make
    for context in made:
        context.close()
