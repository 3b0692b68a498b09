"""What only the browser tests need: three engines by Debian's packages, a checker by npm."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from common import CACHE, SCRIPTS, StopError, fingerprint, guarded, is_fresh, run, say, set_fresh
from fetch_runtime import apt_install, find_npm

#: Each program with Debian's package that brings it. xvfb-run gives WebKit a screen in memory.
PROGRAMS = {
    os.environ.get("EVENROW_CHROMIUM", "/usr/bin/chromium"): "chromium",
    os.environ.get("EVENROW_FIREFOX", "/usr/bin/firefox-esr"): "firefox-esr",
    "WebKitWebDriver": "webkit2gtk-driver",
    "xvfb-run": "xvfb",
    "xauth": "xauth",
}
CHECKERS = CACHE / "checkers"
#: Checks a page against the rules of WCAG that a program can check.
AXE = CHECKERS / "node_modules" / "axe-core" / "axe.min.js"


def find_browsers() -> None:
    """Make sure that Chromium, Firefox and WebKit are there.

    Raises
    ------
    StopError
        When one is missing and cannot be installed: none is left out.
    """
    missing = {program: name for program, name in PROGRAMS.items() if not shutil.which(program)}
    if not missing:
        return
    names = sorted(set(missing.values()))
    if shutil.which("apt-get") and os.geteuid() == 0:
        say(f"installing {', '.join(names)} from Debian's packages")
        apt_install(*names)
        still = [program for program in missing if not shutil.which(program)]
        if not still:
            return
        raise StopError(f"{', '.join(names)} came from Debian, but not {', '.join(still)}.")
    raise StopError(
        f"The browser tests need {', '.join(missing)}, which were not found. On Debian install "
        f"them (as root: apt-get install {' '.join(names)}); another Chromium or Firefox is named "
        "by EVENROW_CHROMIUM=/path and EVENROW_FIREFOX=/path."
    )


def fetch_axe() -> Path:
    """Return the accessibility checker's script, fetched by npm and checked against its lock.

    Raises
    ------
    StopError
        When it cannot be fetched or is not what the lock file says.
    """
    inputs = [SCRIPTS / "package.json", SCRIPTS / "package-lock.json"]
    mark = fingerprint(inputs)
    if is_fresh("checkers", mark, AXE):
        return AXE
    find_npm()
    say("fetching the accessibility checker from npm")
    CHECKERS.mkdir(parents=True, exist_ok=True)
    for path in inputs:
        shutil.copy(path, CHECKERS)
    run(
        ["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund"],
        why="Fetching the accessibility checker",
        cwd=CHECKERS,
    )
    set_fresh("checkers", mark)
    return AXE


def find_all() -> None:
    """Bring everything that the browser tests need."""
    find_browsers()
    fetch_axe()


if __name__ == "__main__":
    guarded(find_all)
