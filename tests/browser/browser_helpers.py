"""What the browser tests do again and again."""

from __future__ import annotations

import re
import threading
from html import unescape
from pathlib import Path

from playwright.sync_api import BrowserContext, ConsoleMessage, Page

import serve

ROOT = Path(__file__).resolve().parents[2]
SITE = ROOT / "build" / "site"
BASE = "/some/co-op/"

#: Longest wait for Python to start and answer. [ms]
LIVE_MS = 90_000


class ServedSite:
    """The site at an address of its own; can be switched off, as a lost network would."""

    def __init__(
        self, folder: Path = SITE, handler: type[serve.StaticHandler] = serve.StaticHandler
    ) -> None:
        self.server = serve.make_server(folder, base=BASE, handler=handler)
        #: (path, status) of every answer.
        self.seen: list[tuple[str, int]] = []
        self.server.seen = self.seen  # type: ignore[attr-defined]
        self.address = serve.address(self.server, BASE)
        self.origin = self.address.removesuffix(BASE)
        self.thread = threading.Thread(target=self.server.serve_forever, daemon=True)
        self.thread.start()

    def stop(self) -> None:
        """Stop answering for good."""
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()


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
        # The worker asks the browser's own cache, which holds little in a private window.
        if "net::ERR_CACHE_MISS" in message.text:
            return
        if message.type in ("error", "warning"):
            self.errors.append(f"{message.type}: {message.text}")

    def page(self, address: str) -> Page:
        """Open a page."""
        page = self.context.new_page()
        page.goto(address)
        return page


def wait_live(page: Page) -> None:
    """Wait until the answer on the page comes from Python in this browser."""
    page.wait_for_selector('.er-result[data-live="true"]:not([aria-busy])', timeout=LIVE_MS)


def wait_offline_ready(page: Page) -> None:
    """Wait until the site says that it works without a network."""
    # Selectors, not functions: the pages' own policy forbids evaluating text.
    page.wait_for_selector(".er-offline:has-text('Ready offline')", timeout=LIVE_MS)


def shown_numbers(page: Page) -> dict[str, float]:
    """Return every number of the answer by name, in SI."""
    pairs = page.eval_on_selector_all(
        ".er-result .er-value",
        "all => all.filter(e => e.dataset.value).map(e => [e.dataset.name, e.dataset.value])",
    )
    return {name: float(value) for name, value in pairs}


def problem(page: Page, field: str) -> str:
    """Return the message that stands at a field, "" when none is shown."""
    slot = page.locator(f'[data-field="{field}"] > .er-error, [data-table="{field}"] > .er-error')
    return slot.inner_text() if slot.is_visible() else ""


def numbers_in(html: str) -> dict[str, float]:
    """Return every number of an answer's HTML by name, in SI, as CPython wrote it."""
    pairs = re.findall(r'data-name="([^"]*)"[^>]*data-value="([^"]+)"', html)
    return {unescape(name): float(value) for name, value in pairs}


def form_values(page: Page) -> dict[str, str]:
    """Return what stands in every control of the form, by name."""
    return dict(
        page.eval_on_selector_all(
            ".er-form [name]:not([name=er-units]), .er-form .er-unit",
            """all => all.map(e => [
                e.name || e.dataset.unitOf + ":unit", e.type === "checkbox" ? e.checked : e.value
            ])""",
        )
    )
