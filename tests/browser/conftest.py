"""The built site, served under a sub-path on loopback, and a real browser to use it."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, sync_playwright

CHROMIUM = os.environ.get("EVENROW_CHROMIUM", "/usr/bin/chromium")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# Test modules are imported by path alone, so their helpers need a place on the path.
HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1] / "scripts"), str(HERE)]
from browser_helpers import SITE, ServedSite, Watched  # noqa: E402


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, or the one that EVENROW_CHROMIUM names."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
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


@pytest.fixture
def copied_site(tmp_path: Path) -> Iterator[tuple[ServedSite, Path]]:
    """A server of a copy of the site, and the copy, which the test may change."""
    folder = tmp_path / "site"
    shutil.copytree(SITE, folder)
    site = ServedSite(folder)
    yield site, folder
    site.stop()


@pytest.fixture
def open_context(browser: Browser) -> Iterator[Callable[..., Watched]]:
    """Make watched contexts, each a fresh private window; all close with the test.

    With ``profile=`` (a folder) it is a profile on disk instead, in a browser of its own.
    """
    made: list[BrowserContext] = []

    def make(**options: Any) -> Watched:
        options.setdefault("viewport", {"width": 1280, "height": 800})
        options.setdefault("locale", "en-US")
        profile = options.pop("profile", None)
        if profile is None:
            context = browser.new_context(**options)
        else:
            context = browser.browser_type.launch_persistent_context(
                profile, executable_path=CHROMIUM, args=list(FLAGS), **options
            )
        context.set_default_timeout(30_000)
        made.append(context)
        return Watched(context)

    yield make
    for context in made:
        context.close()
