"""What ``./scripts/bench`` does: find the benchmarks, run them, print and write ratios.

A benchmark is a function that a module in ``scripts/benchmarks`` names in its ``__all__``.
It takes no argument and returns ``value``, ``target``, ``better``
("lower" or "higher"), ``unit`` and ``method``; its name is the name of the function.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from common import SCRIPTS, StopError, guarded, say

Benchmark = Callable[[], dict[str, Any]]


def discover(folder: Path = SCRIPTS / "benchmarks") -> dict[str, Benchmark]:
    """Return the benchmarks by name."""
    found: dict[str, Benchmark] = {}
    for path in sorted(folder.glob("*.py")):
        spec = importlib.util.spec_from_file_location(f"benchmarks_{path.stem}", path)
        if spec is None or spec.loader is None:
            raise StopError(f"{path} cannot be loaded.")
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module  # dataclasses look their module up by name
        spec.loader.exec_module(module)
        found.update((name, getattr(module, name)) for name in getattr(module, "__all__", ()))
    return found


def reached(result: dict[str, Any]) -> bool:
    """Whether a result is at its target or better."""
    if result["better"] == "lower":
        return bool(result["value"] <= result["target"])
    return bool(result["value"] >= result["target"])


def main() -> int:
    """Run the chosen benchmarks."""
    known = discover()
    parser = argparse.ArgumentParser(prog="./scripts/bench", description="Measure Evenrow.")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the results as a list")
    parser.add_argument("--only", nargs="+", choices=list(known), metavar="NAME", help="run these")
    options = parser.parse_args()
    results = []
    for name in options.only or known:
        say(f"{name} …")
        results.append({**known[name](), "name": name})
    print()
    for result in results:
        mark = "reached" if reached(result) else "MISSED"
        bound = "at most" if result["better"] == "lower" else "at least"
        print(
            f"{result['name']}: {result['value']:.3g} {result['unit']} "
            f"(target {bound} {result['target']:g}: {mark})\n    {result['method']}"
        )
    if options.json:
        keys = ("name", "value", "target", "better", "unit", "method")
        rows = [{key: result[key] for key in keys} for result in results]
        options.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.path.insert(0, str(SCRIPTS))
    guarded(main)
