"""A block in the browser: our solve in Pyodide against a network engine in WebAssembly.

Both run in one page, turn by turn. The engine comes from npm, pinned by hash in
``engine/package-lock.json``; it is fetched for this benchmark alone.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from common import CACHE, ROOT, run

sys.path.insert(0, str(Path(__file__).parent))
import network
import start

__all__ = ["browser_block_vs_engine"]

PINS = Path(__file__).parent / "engine"
TURNS = 5
ROWS, COUNT = 100, 1000

PAGE = """<!doctype html><title>block</title><script type="module">
import { loadPyodide } from "./pyodide.mjs";
import { Project, Workspace } from "./engine/index.mjs";
const EMITTER_FLOW = 29, INIT_FLOW = 10;
const median = (list) => list.sort((a, b) => a - b)[list.length >> 1];
try {
  const here = (name) => new URL(name, import.meta.url).href;
  const python = await loadPyodide({ indexURL: here("./") });
  await python.loadPackage(here("NUMPY"));
  const archive = await (await fetch("./evenrow.zip")).arrayBuffer();
  python.unpackArchive(archive, "zip", { extractDir: "/pack" });
  python.runPython(`
import sys
sys.path.insert(0, "/pack")
import numpy as np
from evenrow.hydraulics.block import solve_block
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.source import SourceCurve
tank = SourceCurve.from_tank(10.0)
lateral = Lateral(Emitter(1.0e-3 / 3600.0, 10.0, 0.5, 0.05, 5.0, 20.0), COUNT, 0.3, 0.022,
                  friction="swamee-jain")
header = Header(np.full(ROWS, 1.5), 0.16, friction="swamee-jain")
def solve():
    global solved
    solved = solve_block(tank, [], [], header, [lateral], 0)
`);
  const workspace = new Workspace();
  await workspace.loadModule();
  const engine = new Project(workspace);
  workspace.writeFile("net.inp", await (await fetch("./net.inp")).text());
  engine.open("net.inp", "net.rpt", "net.bin");
  engine.openH();
  const timed = (action) => {
    const start = performance.now();
    action();
    return performance.now() - start;
  };
  const theirs = () => { engine.initH(INIT_FLOW); engine.runH(); };
  const ours = python.globals.get("solve");
  theirs(); ours();
  const a = [], b = [];
  for (let i = 0; i < TURNS; i++) { a.push(timed(theirs)); b.push(timed(() => ours())); }
  const flows = python.runPython("solved.flows").toJs();
  const places = await (await fetch("./places.json")).json();
  let apart = 0;
  places.forEach((node, i) => {
    const q = engine.getNodeValue(node, EMITTER_FLOW) * 0.3048 ** 3;
    apart = Math.max(apart, Math.abs(flows[i] / q - 1));
  });
  window.answer = { theirs: median(a), ours: median(b), apart };
} catch (error) {
  window.answer = { error: String(error && error.stack || error) };
}
</script>"""


def _engine() -> Path:
    """Install the pinned engine; return its module."""
    folder = CACHE / "engine"
    module = folder / "node_modules" / "epanet-js" / "dist" / "index.mjs"
    if not module.is_file():
        folder.mkdir(parents=True, exist_ok=True)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(PINS / name, folder)
        run(
            ["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund"],
            why="Fetching the engine for the browser", cwd=folder,
        )  # fmt: skip
    return module


def _write(folder: Path) -> None:
    """Write page, runtime, package and the engine's model."""
    files = start.stock_files()
    wheel = next(name for name in files if name.startswith("numpy"))
    for name, path in files.items():
        shutil.copyfile(path, folder / name)
    dist = _engine().parent
    (folder / "engine" / "slim").mkdir(parents=True)
    for name in ("index.mjs", "slim/index.mjs"):
        shutil.copyfile(dist / name, folder / "engine" / name)
    package = ROOT / "pycore" / "evenrow"
    with zipfile.ZipFile(folder / "evenrow.zip", "w") as archive:
        for path in sorted(package.rglob("*.py")):
            archive.write(path, path.relative_to(package.parent))
    model = network.block_model(
        network.TANK, None, [], [network.Branch(network._header(ROWS))],
        [network._lateral(COUNT)], [[0] * ROWS],
    )  # fmt: skip
    (folder / "net.inp").write_text(model.text(), encoding="ascii")
    (folder / "places.json").write_text(json.dumps([n for row in model.emitters for n in row]))
    page = PAGE.replace("NUMPY", wheel).replace("COUNT", str(COUNT)).replace("ROWS", str(ROWS))
    (folder / "index.html").write_text(page.replace("TURNS", str(TURNS)), encoding="utf-8")


def browser_block_vs_engine() -> dict[str, Any]:
    """Solve 100 equal laterals of 1,000 emitters on one header, both in one page."""
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
            page.goto(url)
            answer = None
            # Polled from outside: the served policy forbids evaluating text inside.
            for _ in range(start.WAIT_MS // 200):
                answer = page.evaluate("window.answer")
                if answer:
                    break
                page.wait_for_timeout(200)
    if not answer:
        raise RuntimeError("the page gave no answer")
    if "error" in answer:
        raise RuntimeError(answer["error"])
    if answer["apart"] > 1e-3:
        raise RuntimeError(f"the two disagree by {answer['apart']:.3%}: nothing to compare")
    return {
        "name": "block of 100 x 1,000 emitters in the browser, engine time over ours",
        "value": round(answer["theirs"] / answer["ours"], 2), "target": 5.0, "better": "higher",
        "unit": "x",
        "method": f"one page in headless Chromium, medians of {TURNS} interleaved solves: engine "
        f"in WebAssembly {answer['theirs']:.0f} ms (initialise and solve), ours in Pyodide "
        f"{answer['ours']:.0f} ms with all emitter flows; largest difference of an emitter flow "
        f"{answer['apart']:.1e}",
    }  # fmt: skip


if __name__ == "__main__":
    print(browser_block_vs_engine())
