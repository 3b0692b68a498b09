"""How soon the page answers, and how much it transfers, against a stock Pyodide load.

Both sides run in the same browser, from the same kind of server, turn by turn. Stock means:
a module worker that loads Pyodide with its own files, NumPy from the published wheel and Pint
and its helpers from their wheels, imports both and converts one quantity.
"""

from __future__ import annotations

import gzip
import os
import shutil
import statistics
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright

from build_site import build
from fetch_runtime import fetch_all
from serve import address, make_server

__all__ = [
    "first_visit_bytes_vs_stock",
    "recompute_vs_stock",
    "start_first_vs_stock",
    "start_later_vs_stock",
]

CHROMIUM = os.environ.get("EVENROW_CHROMIUM", "/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PAGE = "run-length/"
TURNS = 5
CHANGES = 7
WAIT_MS = 180_000
#: How long a visitor stays after the answer: what is kept for later visits is kept by then.
STAY_MS = 3000

STOCK_PAGE = """<!doctype html><title>stock</title><script type="module">
new Worker("worker.js", { type: "module" }).onmessage = ({ data }) => {
  window.answer = data;
  window.answeredAt = performance.now();
};
</script>"""
STOCK_WORKER = """
import { loadPyodide } from "./pyodide.mjs";
const wheels = WHEELS;
const python = await loadPyodide({ indexURL: new URL("./", import.meta.url).href });
await python.loadPackage(["numpy", ...wheels.map((name) => new URL(name, import.meta.url).href)]);
postMessage(python.runPython(`
import numpy, pint
float(numpy.float64(pint.UnitRegistry()("62 ft").to("m").magnitude))
`));
"""
#: Notes when the first answer from Python is on the page.
WATCH = """
new MutationObserver(() => {
  if (!window.answeredAt && document.querySelector('.er-result[data-live="true"]')) {
    window.answeredAt = performance.now();
  }
}).observe(document, { subtree: true, childList: true, attributes: true });
"""

#: Notes how long each request takes until what follows from its reply is on the page.
TIME_REQUESTS = """
window.took = [];
window.Worker = class extends Worker {
  constructor(...given) {
    super(...given);
    this.addEventListener("message", ({ data }) => {
      if (!data || data.reply === undefined) return;
      const { asked } = this;
      setTimeout(() => window.took.push(performance.now() - asked));
    });
  }
  postMessage(message) {
    this.asked = performance.now();
    super.postMessage(message);
  }
};
"""


def stock_files() -> dict[str, Path]:
    """Return the files of the stock load by name."""
    pyodide, numpy_wheel, pure = fetch_all()
    names = (
        "pyodide.mjs",
        "pyodide.asm.js",
        "pyodide.asm.wasm",
        "python_stdlib.zip",
        "pyodide-lock.json",
    )
    files = {name: pyodide / name for name in names}
    files[numpy_wheel.name] = numpy_wheel
    ours_alone = ("tomli", "segno")  # Pint does not need them
    wheels = sorted(p for p in pure.glob("*.whl") if not p.name.startswith(ours_alone))
    files.update({p.name: p for p in wheels})
    return files


def write_stock_site(folder: Path) -> None:
    """Write the stock page, its worker and the stock files."""
    files = stock_files()
    for name, path in files.items():
        shutil.copyfile(path, folder / name)
    wheels = [name for name in files if name.endswith(".whl") and not name.startswith("numpy")]
    worker = STOCK_WORKER.replace("WHEELS", repr(wheels))
    (folder / "worker.js").write_text(worker, encoding="utf-8")
    (folder / "index.html").write_text(STOCK_PAGE, encoding="utf-8")


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a folder on loopback; yield its address."""
    server = make_server(folder)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield address(server)
    finally:
        server.shutdown()
        server.server_close()


@contextmanager
def profile(playwright: Playwright, folder: Path) -> Iterator[BrowserContext]:
    """Start a browser on a profile folder."""
    context = playwright.chromium.launch_persistent_context(
        folder, executable_path=CHROMIUM, args=FLAGS
    )
    try:
        context.add_init_script(WATCH)
        yield context
    finally:
        context.close()


def answered(page: Page, url: str) -> float:
    """Open an address; return the seconds from its navigation to the answer."""
    page.goto(url)
    # Polled from outside: the pages' policy forbids evaluating text inside.
    for _ in range(WAIT_MS // 50):
        at = page.evaluate("window.answeredAt")
        if at:
            return float(at) / 1000
        page.wait_for_timeout(50)
    raise RuntimeError(f"no answer from {url}")


def first_visit(playwright: Playwright, url: str) -> float:
    """Return the seconds to the answer in a new profile."""
    with tempfile.TemporaryDirectory() as folder, profile(playwright, Path(folder)) as context:
        return answered(context.new_page(), url)


def later_visits(playwright: Playwright, url: str, folder: Path) -> Callable[[], float]:
    """Visit once and let the browser keep what it keeps; return what times a later visit."""
    with profile(playwright, folder) as context:
        page = context.new_page()
        answered(page, url)
        if page.locator(".er-offline").count():
            page.wait_for_selector(".er-offline:has-text('Ready offline')", timeout=WAIT_MS)
        page.wait_for_timeout(STAY_MS)
        # A second visit lets the browser keep compiled code too, on both sides.
        answered(page, url)
        page.wait_for_timeout(STAY_MS)

    def again() -> float:
        with profile(playwright, folder) as context:
            return answered(context.new_page(), url)

    return again


def compare(ours: Callable[[], float], stock: Callable[[], float]) -> tuple[float, float]:
    """Return the medians of both, taken turn by turn."""
    pairs = [(ours(), stock()) for _ in range(TURNS)]
    mine, theirs = zip(*pairs, strict=True)
    return statistics.median(mine), statistics.median(theirs)


def started(later: bool) -> dict[str, Any]:
    """Compare the time to the first answer on a first or a later visit."""
    site = build()
    with tempfile.TemporaryDirectory() as temporary:
        base = Path(temporary)
        (base / "stock").mkdir()
        write_stock_site(base / "stock")
        with served(site) as a, served(base / "stock") as b, sync_playwright() as playwright:
            urls = (a + PAGE, b)
            if later:
                mine, theirs = (
                    later_visits(playwright, url, base / f"profile{i}")
                    for i, url in enumerate(urls)
                )
            else:
                mine, theirs = (
                    lambda url=url: first_visit(playwright, url)  # type: ignore[misc]
                    for url in urls
                )
            ours, stock = compare(mine, theirs)
    visit = "a later visit, browser started anew" if later else "a first visit, new profile"
    return {
        "value": round(ours / stock, 4),
        "target": 0.35 if later else 0.85,
        "better": "lower",
        "unit": "x",
        "method": f"{visit}: {ours:.2f} s from navigation to the first live answer of the "
        f"run-length page, over {stock:.2f} s of a stock load of Pyodide, NumPy and Pint; "
        f"medians of {TURNS} turns each, interleaved in one run, files from loopback",
    }


def start_first_vs_stock() -> dict[str, Any]:
    """Time to the first live answer on a first visit over a stock load."""
    return started(later=False)


def start_later_vs_stock() -> dict[str, Any]:
    """Time to the first live answer on a later visit over a stock load."""
    return started(later=True)


def recompute_vs_stock() -> dict[str, Any]:
    """Time from one changed value's request to its answer on the page, over a stock load."""
    site = build()
    with tempfile.TemporaryDirectory() as temporary:
        base = Path(temporary)
        (base / "stock").mkdir()
        write_stock_site(base / "stock")
        with (
            served(site) as a,
            served(base / "stock") as b,
            sync_playwright() as playwright,
            profile(playwright, base / "ours") as context,
        ):
            stock_load = later_visits(playwright, b, base / "stock-profile")
            context.add_init_script(TIME_REQUESTS)
            page = context.new_page()
            answered(page, a + PAGE)
            spacings = iter(range(100))

            def recompute() -> float:
                before = page.evaluate("window.took.length")
                page.fill('[name="line.spacing"]', f"{20 + next(spacings) / 10:.1f}")
                for _ in range(WAIT_MS // 50):
                    page.wait_for_timeout(50)
                    took = page.evaluate("window.took")
                    if len(took) > before:
                        return float(took[-1]) / 1000
                raise RuntimeError("no answer to a changed value")

            recompute()  # the first change of a form, before anything is warm
            ours, stock = compare(
                lambda: statistics.median(recompute() for _ in range(CHANGES)), stock_load
            )
    return {
        "value": round(ours / stock, 4),
        "target": 0.02,
        "better": "lower",
        "unit": "x",
        "method": f"{ours * 1000:.0f} ms from a request of the run-length page, one value changed, "
        "to the answer on the page (the pause that waits for the typing to end is left out), over "
        f"{stock:.2f} s of a stock load of Pyodide, NumPy and Pint on a later visit; medians of "
        f"{TURNS} turns, of {CHANGES} changes each, interleaved in one run",
    }


def zipped(paths: list[Path]) -> int:
    """Return the bytes of files as a server with gzip would send them."""
    return sum(len(gzip.compress(path.read_bytes(), 9, mtime=0)) for path in paths)


def first_visit_bytes_vs_stock() -> dict[str, Any]:
    """Bytes of a first visit, everything kept for offline use, over the stock runtime's."""
    site = build()
    ours = zipped([path for path in site.rglob("*") if path.is_file()])
    stock = zipped(list(stock_files().values()))
    return {
        "value": round(ours / stock, 4),
        "target": 0.85,
        "better": "lower",
        "unit": "x",
        "method": f"{ours / 1e6:.3f} MB of the whole site (pages, scripts, runtime, packages), "
        f"each file gzipped, over {stock / 1e6:.3f} MB of the stock runtime with NumPy and Pint",
    }
