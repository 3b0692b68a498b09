"""A page that runs a piece of Python in the browser as often as it is asked to."""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import tomli_w
from playwright.sync_api import Page, sync_playwright

from common import ROOT

sys.path.insert(0, str(Path(__file__).parent))
import start

PAGE = """<!doctype html><title>work</title><script type="module">
import { loadPyodide } from "./pyodide.mjs";
try {
  const here = (name) => new URL(name, import.meta.url).href;
  const python = await loadPyodide({ indexURL: here("./") });
  await python.loadPackage(here("NUMPY"));
  const archive = await (await fetch("./evenrow.zip")).arrayBuffer();
  python.unpackArchive(archive, "zip", { extractDir: "/pack" });
  python.runPython(await (await fetch("./work.py")).text());
  const whole = python.globals.get("whole");
  window.run = (name) => {
    const start = performance.now();
    const found = whole(name);
    return { seconds: (performance.now() - start) / 1000, found };
  };
  window.answer = { ready: true };
} catch (error) {
  window.answer = { error: String(error && error.stack || error) };
}
</script>"""


def _write(folder: Path, work: str, beside: Sequence[Path]) -> None:
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
        for path in beside:
            archive.write(path, path.name)
    text = f'import sys\nsys.path.insert(0, "/pack")\n{work}'
    (folder / "work.py").write_text(text, encoding="utf-8")
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


def interleaved(
    names: Sequence[str], work: str, turns: int, *, beside: Sequence[Path] = (), apart: float = 1e-9
) -> dict[str, tuple[list[float], list[float]]]:
    """Run work turn by turn in the browser and here.

    Parameters
    ----------
    names : sequence of str
        What is run, in turn.
    work : str
        Python that defines ``whole(name) -> float``; both run the same text.
    turns : int
        How often each is timed, after one run that warms both.
    beside : sequence of Path
        Modules that `work` imports; here they stand on the path already.
    apart : float
        Largest relative difference of what `whole` returns.

    Returns
    -------
    dict
        By name the times in the browser and here [s].

    Raises
    ------
    RuntimeError
        If the page does not start, or the results are not the same.
    """
    here: dict[str, Any] = {}
    exec(work, here)
    whole: Callable[[str], float] = here["whole"]
    times: dict[str, tuple[list[float], list[float]]] = {name: ([], []) for name in names}
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "site"
        folder.mkdir()
        _write(folder, work, beside)
        with (
            start.served(folder) as url,
            sync_playwright() as playwright,
            start.profile(playwright, Path(temporary) / "profile") as context,
        ):
            page = context.new_page()
            _ready(page, url)
            for turn in range(turns + 1):
                for name in names:
                    begin = time.perf_counter()
                    found = whole(name)
                    seconds = time.perf_counter() - begin
                    answer = page.evaluate("(name) => window.run(name)", name)
                    if abs(answer["found"] / found - 1.0) > apart:
                        raise RuntimeError(f"{name}: the browser's answer is another")
                    if turn:
                        times[name][0].append(answer["seconds"])
                        times[name][1].append(seconds)
    return times
