"""Pictures of every page of the built site, for people who look at its design.

Each page on a phone and on a desk, light and dark, and one page that shows them side by side.
"""

from __future__ import annotations

import argparse
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from build_site import build
from common import ROOT, guarded, say
from find_browsers import find_browsers
from serve import address, make_server

CHROMIUM = os.environ.get("EVENROW_CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]
PICTURES = ROOT / "build" / "pictures"
#: Width and height of a screen [CSS pixels].
SCREENS = {"phone": (390, 844), "desk": (1280, 800)}
COLOURS = ("light", "dark")
#: The answer of the values that a form holds, or a page without a form.
READY = '.er-result[data-live="true"], body:not(:has(.er-calc))'
WAIT_MS = 120_000


def pages_of(site: Path) -> list[str]:
    """Return the addresses of all pages below the site's own, in order."""
    return sorted(
        f"{path.parent.relative_to(site).as_posix()}/".removeprefix("./")
        for path in site.rglob("index.html")
    )


@contextmanager
def served(site: Path) -> Iterator[str]:
    """Serve the built site on this machine and give its address."""
    server = make_server(site)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield address(server)
    finally:
        server.shutdown()
        server.server_close()


def darken(page: Page) -> None:
    """Tap the switch to dark colours, where they are light."""
    if page.locator("body").get_attribute("data-md-color-scheme") != "slate":
        page.eval_on_selector("#__palette_1", "choice => choice.click()")
        page.wait_for_selector('body[data-md-color-scheme="slate"]')


def take(browser: Browser, base: str, name: str, pages: list[str], colours: str) -> None:
    """Take the pictures of all pages on one screen in one choice of colours."""
    width, height = SCREENS[name]
    context = browser.new_context(
        viewport={"width": width, "height": height}, reduced_motion="reduce"
    )
    page = context.new_page()
    for path in pages:
        page.goto(base + path)
        page.wait_for_selector(READY, state="attached", timeout=WAIT_MS)
        if colours == "dark":
            darken(page)
        page.screenshot(path=PICTURES / file_name(path, name, colours), full_page=True)
    context.close()


def file_name(path: str, screen: str, colours: str) -> str:
    """Return the file of one picture."""
    return f"{path.strip('/').replace('/', '-') or 'start'}-{screen}-{colours}.png"


def side_by_side(pages: list[str]) -> str:
    """Return the page that shows all pictures."""
    rows = "".join(
        f"<h2>{escape(path or 'start')}</h2><p>"
        + "".join(
            f'<a href="{escape(file_name(path, screen, colours))}">'
            f'<img src="{escape(file_name(path, screen, colours))}" height="600" '
            f'alt="{screen}, {colours}"></a> '
            for screen in SCREENS
            for colours in COLOURS
        )
        + "</p>"
        for path in pages
    )
    return f'<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>Pages</title>{rows}</html>'


def main() -> int:
    """Build the site and take the pictures."""
    parser = argparse.ArgumentParser(
        prog="./scripts/pictures",
        description="Take pictures of every page, on a phone and on a desk, light and dark.",
    )
    parser.add_argument(
        "only", nargs="*", help="pages such as zones/ or es/run-length/; all if none"
    )
    asked = parser.parse_args().only
    site = build()
    find_browsers()
    known = pages_of(site)
    pages = [path for path in known if not asked or path in asked]
    if missing := set(asked) - set(known):
        parser.error(f"no such page: {', '.join(sorted(missing))}; there are: {' '.join(known)}")
    PICTURES.mkdir(parents=True, exist_ok=True)
    with served(site) as base, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for screen in SCREENS:
            for colours in COLOURS:
                say(f"{len(pages)} pages, {screen}, {colours}")
                take(browser, base, screen, pages, colours)
        browser.close()
    (PICTURES / "index.html").write_text(side_by_side(pages), encoding="utf-8")
    say(f"the pictures are in {PICTURES.relative_to(ROOT)}, side by side in its index.html")
    return 0


if __name__ == "__main__":
    guarded(main)
