"""What the browser tests do again and again."""

from __future__ import annotations

import re
from html import unescape

from playwright.sync_api import Page

#: Longest wait for Python to start and answer. [ms]
LIVE_MS = 90_000


def wait_live(page: Page) -> None:
    """Wait until the answer on the page comes from Python in this browser."""
    page.wait_for_selector('.er-result[data-live="true"]:not([aria-busy])', timeout=LIVE_MS)


def wait_offline_ready(page: Page) -> None:
    """Wait until the site says that it works without a network."""
    page.wait_for_function(
        "document.querySelector('.er-offline')?.textContent.startsWith('Ready offline')",
        timeout=LIVE_MS,
    )


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
