"""How long the site takes to build beside its bare pages, and how much each page loads.

Bare means: the same program, theme and Markdown files, without our hooks and templates, and
nothing done to the pages afterwards.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from build_site import QUIET, assemble, build
from common import ROOT, run
from kept_answers import folder
from pack_browser import pack_all
from page_weight import MOST_KB, page_weights

__all__ = ["page_weight_kb", "site_build_vs_bare"]

TURNS = 3
BARE = """INHERIT: {config}
docs_dir: {pages}
hooks: []
strict: false
theme:
  custom_dir: {nothing}
  palette:
    scheme: default
extra:
  alternate: []
"""


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _bare(scratch: Path) -> None:
    """Build the pages alone."""
    config = scratch / "bare.yml"
    command = [sys.executable, "-m", "mkdocs", "build", "-q", "-f", config, "-d", scratch / "bare"]
    run(command, why="Building the bare pages", env=QUIET)


def site_build_vs_bare() -> dict[str, Any]:
    """Return the time of the whole build of the site over that of its bare pages."""
    pyodide, packed = pack_all()
    with tempfile.TemporaryDirectory() as name:
        scratch = Path(name)
        nothing = scratch / "nothing"
        nothing.mkdir()
        text = BARE.format(config=ROOT / "mkdocs.yml", pages=ROOT / "site_src", nothing=nothing)
        (scratch / "bare.yml").write_text(text, encoding="utf-8")

        def whole() -> None:
            assemble(scratch / "whole", pyodide, packed)

        _bare(scratch)
        for path in folder().iterdir():
            path.unlink()
        first = _seconds(whole)
        pairs = [(_seconds(whole), _seconds(lambda: _bare(scratch))) for _ in range(TURNS)]
    bare = statistics.median(b for _, b in pairs)
    return {
        "value": statistics.median(a / b for a, b in pairs),
        "target": 4.0,
        "better": "lower",
        "unit": "ratio",
        "method": "Pages, forms and answers, runtime, icons, policies, checks and manifest over "
        f"MkDocs with the same theme and pages and nothing of ours ({bare:.2g} s), turn by turn, "
        f"median of {TURNS}, {os.cpu_count()} processors. The answers to the default values and "
        "the packed Python are those of an earlier build of the same package; working out all "
        "answers anew, as after a change of the package, takes "
        f"{first / bare:.2g} times the bare build.",
    }


def page_weight_kb() -> dict[str, Any]:
    """Return what the heaviest page loads before Python."""
    weights = page_weights(build())
    page, heaviest = max(weights.items(), key=lambda pair: pair[1])
    return {
        "value": heaviest,
        "target": MOST_KB,
        "better": "lower",
        "unit": "kB",
        "method": f"HTML, style sheets and scripts of {page}, the heaviest of {len(weights)} "
        "pages, its modules and its worker followed, each compressed by gzip (level 6), in kB of "
        "1000 bytes; Pyodide, NumPy, our package, drawings and the search index left out. The "
        f"median page has {statistics.median(weights.values()):.0f} kB.",
    }
