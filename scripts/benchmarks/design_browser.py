"""A whole design in the browser against the same design in CPython."""

from __future__ import annotations

import json
import shutil
import statistics
import sys
import tempfile
import time
import zipfile
from pathlib import Path
from typing import Any

import tomli_w
from playwright.sync_api import Page, sync_playwright

from common import ROOT

sys.path.insert(0, str(Path(__file__).parent))
import start

from evenrow.design.demos import NAMES

__all__ = ["design_browser_vs_cpython"]

TURNS = 5

#: What both run; the same text, so that neither does less.
WORK = """
from evenrow.calculators.instruction_sections import instruction_sections
from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.solve import design

FIELDS = {name: field_of(*read(CALCULATOR, demo(name))) for name in NAMES}

def whole(name):
    found = design(FIELDS[name])
    instruction_sections(found, FIELDS[name].system)
    return float(sum(zone.flow for zone in found.zones))
"""

PAGE = """<!doctype html><title>design</title><script type="module">
import { loadPyodide } from "./pyodide.mjs";
try {
  const here = (name) => new URL(name, import.meta.url).href;
  const python = await loadPyodide({ indexURL: here("./") });
  await python.loadPackage(here("NUMPY"));
  const archive = await (await fetch("./evenrow.zip")).arrayBuffer();
  python.unpackArchive(archive, "zip", { extractDir: "/pack" });
  python.runPython(await (await fetch("./work.py")).text());
  const whole = python.globals.get("whole");
  window.design = (name) => {
    const start = performance.now();
    const flow = whole(name);
    return { seconds: (performance.now() - start) / 1000, flow };
  };
  window.answer = { ready: true };
} catch (error) {
  window.answer = { error: String(error && error.stack || error) };
}
</script>"""


def _write(folder: Path) -> None:
    """Write page, runtime and package."""
    files = start.stock_files()
    wheel = next(name for name in files if name.startswith("numpy"))
    for name, path in files.items():
        shutil.copyfile(path, folder / name)
    package = ROOT / "pycore" / "evenrow"
    with zipfile.ZipFile(folder / "evenrow.zip", "w") as archive:
        for path in sorted(package.rglob("*")):
            if path.suffix in (".py", ".toml", ".json"):
                archive.write(path, path.relative_to(package.parent))
        writer = Path(tomli_w.__file__).parent
        for path in sorted(writer.glob("*.py")):
            archive.write(path, path.relative_to(writer.parent))
    names = f'import sys\nsys.path.insert(0, "/pack")\nNAMES = {json.dumps(list(NAMES))}\n'
    (folder / "work.py").write_text(names + WORK, encoding="utf-8")
    (folder / "index.html").write_text(PAGE.replace("NUMPY", wheel), encoding="utf-8")


def _ready(page: Page, url: str) -> None:
    page.goto(url)
    answer = None
    # Polled from outside: the served policy forbids evaluating text inside.
    for _ in range(start.WAIT_MS // 200):
        answer = page.evaluate("window.answer")
        if answer:
            break
        page.wait_for_timeout(200)
    if not answer or "error" in answer:
        raise RuntimeError(answer["error"] if answer else "the page gave no answer")


def design_browser_vs_cpython() -> dict[str, Any]:
    """Design the four demos whole, instructions with them, turn by turn in both."""
    here: dict[str, Any] = {"NAMES": list(NAMES)}
    exec(WORK, here)
    ours: dict[str, list[float]] = {name: [] for name in NAMES}
    browser: dict[str, list[float]] = {name: [] for name in NAMES}
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "site"
        folder.mkdir()
        _write(folder)
        with (
            start.served(folder) as url,
            sync_playwright() as playwright,
            start.profile(playwright, Path(temporary) / "profile") as context,
        ):
            page = context.new_page()
            _ready(page, url)
            for turn in range(TURNS + 1):
                for name in NAMES:
                    begin = time.perf_counter()
                    flow = here["whole"](name)
                    seconds = time.perf_counter() - begin
                    answer = page.evaluate("(name) => window.design(name)", name)
                    if abs(answer["flow"] / flow - 1.0) > 1e-9:
                        raise RuntimeError(f"{name}: the browser's design is another")
                    if turn:  # the first warms both
                        ours[name].append(seconds)
                        browser[name].append(answer["seconds"])
    medians = {
        name: (statistics.median(browser[name]), statistics.median(ours[name])) for name in NAMES
    }
    listed = ", ".join(
        f"{name} {a * 1e3:.0f} and {b * 1e3:.0f} ms" for name, (a, b) in medians.items()
    )
    value = statistics.geometric_mean(a / b for a, b in medians.values())
    return {
        "name": "whole design in the browser over CPython", "value": round(value, 2),
        "target": 4.0, "better": "lower", "unit": "x",
        "method": f"geometric mean over the demos of medians of {TURNS} interleaved designs with "
        f"their instructions, headless Chromium and this Python: {listed}; flows equal to 1e-9",
    }  # fmt: skip


if __name__ == "__main__":
    print(design_browser_vs_cpython())
