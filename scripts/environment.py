"""Make the project's own virtual environment from the hash-locked requirements.

Standard library only: this runs before anything is installed.
"""

from __future__ import annotations

import importlib.util
import shutil
import sys

from common import (
    IS_CLONE,
    ROOT,
    SCRIPTS,
    VENV,
    StopError,
    fingerprint,
    guarded,
    is_fresh,
    run,
    say,
    set_fresh,
    venv_python,
)

OLDEST = (3, 11)


def check_python() -> None:
    """Stop with a plain message when this Python cannot build Evenrow."""
    have = ".".join(map(str, sys.version_info[:3]))
    if sys.version_info[:2] < OLDEST:
        raise StopError(
            f"Evenrow needs Python 3.11 or newer; this is {have}. On Debian 12 or newer install "
            "the package python3, or name another Python: PYTHON=/path/to/python3 ./scripts/run"
        )
    if any(importlib.util.find_spec(name) is None for name in ("venv", "ensurepip")):
        raise StopError(
            f"This Python ({have}) cannot make virtual environments. On Debian install the "
            "package python3-venv (as root: apt-get install python3-venv) and run this again."
        )


def _mark(which: str) -> str:
    """Return what an environment follows from, as one hash."""
    own = [ROOT / name for name in ("pyproject.toml", "setup.py")] if IS_CLONE else []
    lock = SCRIPTS / "requirements" / f"{which}.txt"
    return fingerprint([lock, *own], sys.version, str(VENV))


def ensure(which: str) -> None:
    """Bring ``.venv`` to the state of ``scripts/requirements/<which>.txt``.

    Parameters
    ----------
    which : {"site", "test"}
        Which lock file to install; "test" holds everything of "site".

    Raises
    ------
    StopError
        When Python is too old or something cannot be fetched or verified.
    """
    check_python()
    lock = SCRIPTS / "requirements" / f"{which}.txt"
    # The test set contains the site set, so a finished test set serves both.
    if is_fresh(f"venv-{which}", _mark(which), venv_python()) or (
        which == "site" and is_fresh("venv-test", _mark("test"), venv_python())
    ):
        return
    if not venv_python().exists():
        say("making the virtual environment .venv")
        shutil.rmtree(VENV, ignore_errors=True)
        run([sys.executable, "-m", "venv", VENV], why="Making the virtual environment")
    pip = [venv_python(), "-m", "pip", "--disable-pip-version-check", "-q", "install"]
    say(f"installing the locked packages of scripts/requirements/{which}.txt")
    try:
        run(
            [*pip, "--require-hashes", "-r", lock],
            why="Installing the Python packages",
        )
    except StopError as stop:
        raise StopError(
            f"{stop}\nEither the Python package registry cannot be reached from here, or a file "
            "does not match its recorded hash. Check the network and run this again; nothing "
            "half-installed is kept as finished."
        ) from stop
    if IS_CLONE:
        run(
            [*pip, "--no-deps", "--no-build-isolation", "-e", ROOT],
            why="Installing the evenrow package itself",
        )
    set_fresh(f"venv-{which}", _mark(which))


if __name__ == "__main__":
    guarded(lambda: ensure(sys.argv[1]))
