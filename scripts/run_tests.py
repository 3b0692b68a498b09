"""What ``./scripts/test`` does once the virtual environment stands: every check, one summary."""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable

from build_site import build
from common import ROOT, VENV, StopError, guarded, say
from find_browsers import find_all


def tool(name: str) -> str:
    """Return the path of a program of the project's environment."""
    return str(VENV / "bin" / name)


def command(*words: str) -> Callable[[], int]:
    """Return a step that runs one program and shows what it prints."""

    def step() -> int:
        print(flush=True)
        return subprocess.run(words, cwd=ROOT, stdin=subprocess.DEVNULL).returncode

    return step


def build_step() -> int:
    """Build the site; find the browsers."""
    build()
    find_all()
    return 0


def python_tests() -> list[str]:
    """Return the test folders that need no browser."""
    return [
        str(path.relative_to(ROOT))
        for path in sorted((ROOT / "tests").iterdir())
        if path.is_dir() and path.name not in ("browser", "web", "vectors", "__pycache__")
    ]


def node_tests() -> list[str]:
    """Return the test files for node."""
    return [str(path) for path in sorted((ROOT / "tests" / "web").glob("*.test.mjs"))]


def steps() -> dict[str, Callable[[], int]]:
    """Return all checks by name, quick ones first."""
    pytest = [sys.executable, "-m", "pytest", "-q"]
    return {
        "lint": command(tool("ruff"), "check", "."),
        "format": command(tool("ruff"), "format", "--check", "."),
        "types": command(tool("mypy")),
        "python": command(*pytest, *python_tests()),
        "site": build_step,
        "node": command("node", "--test", "--test-reporter=spec", *node_tests()),
        "browser": command(*pytest, "--durations=5", "tests/browser"),
    }


def main() -> int:
    """Run the checks; all of them, also after one fails."""
    known = steps()
    parser = argparse.ArgumentParser(prog="./scripts/test", description="Run every check.")
    parser.add_argument("only", nargs="*", choices=[*known, []], help="run only these")
    chosen = parser.parse_args().only or list(known)
    results: dict[str, tuple[bool, float]] = {}
    for name in chosen:
        say(f"{name} …")
        start = time.monotonic()
        try:
            good = known[name]() == 0
        except StopError as stop:
            print(f"evenrow: {name}: {stop}", file=sys.stderr)
            good = False
        results[name] = (good, time.monotonic() - start)
    print("\nSummary")
    for name, (good, seconds) in results.items():
        print(f"  {name:<8} {'passed' if good else 'FAILED'}  {seconds:6.1f} s")
    failed = sum(not good for good, _ in results.values())
    print(f"\nchecks: {len(results) - failed} passed, {failed} failed", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    guarded(main)
