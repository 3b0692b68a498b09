"""Fetch what runs Python in the browser, and check every byte of it.

Three things are needed, none of them kept in the repository:

- Pyodide itself, from its npm package; npm checks it against ``package-lock.json``.
- The NumPy wheel for WebAssembly. Pyodide's own lock file holds its SHA-256, so the same
  bytes may come from anywhere: a folder that the user names, our cache, the official
  release, or a PyPI wheel that happens to carry a copy.
- Pint and its helpers, pure wheels from PyPI, pinned by hash in ``requirements/browser.txt``.

Whatever cannot be verified stops the build.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

from common import (
    CACHE,
    SCRIPTS,
    StopError,
    fingerprint,
    guarded,
    is_fresh,
    run,
    say,
    set_fresh,
    sha256,
    venv_python,
)

RUNTIME = CACHE / "runtime"
PYODIDE = RUNTIME / "npm" / "node_modules" / "pyodide"
PURE = RUNTIME / "pure"
#: Folder in which the user may have put the NumPy wheel.
WHEELS_VARIABLE = "EVENROW_WHEELS"
#: A PyPI wheel that carries Pyodide's NumPy wheel as one of its members.
CARRIER = "open-webui==0.9.6"
CARRIER_FOLDER = "open_webui/frontend/pyodide/"
TIMEOUT = 30


def find_npm() -> None:
    """Make sure that node and npm are there, by Debian's packages when we are root."""
    if shutil.which("node") and shutil.which("npm"):
        return
    if shutil.which("apt-get") and os.geteuid() == 0:
        say("installing nodejs and npm from Debian's packages")
        apt_install("nodejs", "npm")
        return
    raise StopError(
        "Node.js and npm are needed to fetch Python for the browser and were not found. On "
        "Debian install the packages nodejs and npm (as root: apt-get install nodejs npm)."
    )


def apt_install(*names: str) -> None:
    """Install Debian packages; only for root."""
    quiet = {"DEBIAN_FRONTEND": "noninteractive"}
    run(["apt-get", "update", "-q"], why="Updating Debian's package lists", env=quiet)
    run(
        ["apt-get", "install", "-y", "-q", "--no-install-recommends", *names],
        why=f"Installing {', '.join(names)} from Debian's packages",
        env=quiet,
    )


def fetch_pyodide() -> None:
    """Install the pinned npm package into the cache; npm verifies its integrity hash."""
    inputs = [SCRIPTS / "package.json", SCRIPTS / "package-lock.json"]
    mark = fingerprint(inputs)
    if is_fresh("pyodide", mark, PYODIDE / "pyodide.asm.wasm"):
        return
    find_npm()
    say("fetching Pyodide from npm")
    folder = RUNTIME / "npm"
    folder.mkdir(parents=True, exist_ok=True)
    for path in inputs:
        shutil.copy(path, folder)
    try:
        run(
            ["npm", "ci", "--omit=dev", "--ignore-scripts", "--no-audit", "--no-fund"],
            why="Fetching Pyodide",
            cwd=folder,
        )
    except StopError as stop:
        raise StopError(
            f"{stop}\nEither the npm registry cannot be reached from here, or the package does "
            "not match the hash in scripts/package-lock.json. Nothing unverified was kept."
        ) from stop
    set_fresh("pyodide", mark)


def numpy_entry() -> dict[str, str]:
    """Return what Pyodide's own lock file says of its NumPy wheel."""
    lock = json.loads((PYODIDE / "pyodide-lock.json").read_text(encoding="utf-8"))
    entry: dict[str, str] = lock["packages"]["numpy"]
    return entry


def verified(path: Path, digest: str) -> bool:
    """Whether the file is there and has exactly the bytes of that SHA-256."""
    return path.is_file() and sha256(path) == digest


def from_folder(name: str, digest: str, target: Path) -> str:
    """Copy the wheel from the folder that the user named."""
    named = os.environ.get(WHEELS_VARIABLE)
    if not named:
        return f"no folder is named by {WHEELS_VARIABLE}"
    source = Path(named) / name
    if not source.is_file():
        return f"{WHEELS_VARIABLE}={named} holds no such file"
    if not verified(source, digest):
        return f"the file in {WHEELS_VARIABLE}={named} does not match its hash"
    shutil.copy(source, target)
    return ""


def from_release(name: str, digest: str, target: Path) -> str:
    """Download the wheel from the official release, where Pyodide itself points to."""
    script = (PYODIDE / "pyodide.mjs").read_text(encoding="utf-8")
    version = json.loads((PYODIDE / "package.json").read_text(encoding="utf-8"))["version"]
    base = re.search(r"`(https://[^`$]+/v)\$\{\w+\}(/full/)`", script)
    if not base:
        return "the Pyodide package names no release address"
    address = base[1] + version + base[2] + name
    try:
        with urllib.request.urlopen(address, timeout=TIMEOUT) as answer:
            target.write_bytes(answer.read())
    except (urllib.error.URLError, OSError) as error:
        return f"the official release cannot be reached ({getattr(error, 'reason', error)})"
    return "" if verified(target, digest) else "the official release sent other bytes"


#: Runs in the project's environment, which has remotezip: argv = address, member, target.
READ_MEMBER = """
import sys
from remotezip import RemoteZip
with RemoteZip(sys.argv[1], timeout=60) as archive:
    open(sys.argv[3], "wb").write(archive.read(sys.argv[2]))
"""


def from_carrier(name: str, digest: str, target: Path) -> str:
    """Read the one member out of the carrier wheel, without downloading all of it."""
    pip = [venv_python(), "-m", "pip", "--disable-pip-version-check", "-q", "install"]
    asked = ["--dry-run", "--no-deps", "--ignore-installed", "--ignore-requires-python"]
    try:
        text = run(
            [*pip, *asked, "--only-binary=:all:", "--report", "-", CARRIER],
            why=f"Asking pip where {CARRIER} is",
        )
        address = json.loads(text)["install"][0]["download_info"]["url"]
        run(
            [venv_python(), "-c", READ_MEMBER, address, CARRIER_FOLDER + name, target],
            why=f"Reading {name} out of {CARRIER}",
        )
    except (StopError, ValueError, KeyError, IndexError) as error:
        return f"{CARRIER} cannot be read ({str(error).splitlines()[0]})"
    return "" if verified(target, digest) else f"the copy in {CARRIER} has other bytes"


WAYS: tuple[Callable[[str, str, Path], str], ...] = (from_folder, from_release, from_carrier)


def fetch_numpy() -> Path:
    """Return the verified NumPy wheel for WebAssembly, fetching it when needed.

    Raises
    ------
    StopError
        When no way gives the bytes with the recorded hash; names each way tried.
    """
    entry = numpy_entry()
    name, digest = entry["file_name"], entry["sha256"]
    wheel = RUNTIME / name
    if verified(wheel, digest):
        return wheel
    say(f"fetching {name}")
    tried = []
    with tempfile.TemporaryDirectory(dir=RUNTIME) as folder:
        part = Path(folder) / name
        for way in WAYS:
            trouble = way(name, digest, part)
            if not trouble:
                part.replace(wheel)
                return wheel
            tried.append(trouble)
    raise StopError(
        f"NumPy for the browser ({name}) could not be had: {'; '.join(tried)}. If you have the "
        f"file, put it in a folder and name that folder: {WHEELS_VARIABLE}=/folder ./scripts/run"
    )


def fetch_pure() -> Path:
    """Return the folder of the pure wheels for the browser, fetched and verified by pip."""
    lock = SCRIPTS / "requirements" / "browser.txt"
    mark = fingerprint([lock])
    if is_fresh("pure", mark, PURE):
        return PURE
    say("fetching the pure Python packages for the browser")
    shutil.rmtree(PURE, ignore_errors=True)
    pip = [venv_python(), "-m", "pip", "--disable-pip-version-check", "-q", "download"]
    try:
        run(
            [*pip, "--require-hashes", "--no-deps", "--only-binary=:all:", "-d", PURE, "-r", lock],
            why="Fetching Pint and its helpers",
        )
    except StopError as stop:
        shutil.rmtree(PURE, ignore_errors=True)
        raise StopError(
            f"{stop}\nEither the Python package registry cannot be reached from here, or a file "
            "does not match its recorded hash."
        ) from stop
    set_fresh("pure", mark)
    return PURE


def fetch_all() -> tuple[Path, Path, Path]:
    """Fetch everything; return Pyodide's folder, the NumPy wheel, the pure wheels' folder."""
    RUNTIME.mkdir(parents=True, exist_ok=True)
    fetch_pyodide()
    return PYODIDE, fetch_numpy(), fetch_pure()


if __name__ == "__main__":
    guarded(lambda: print(*fetch_all(), sep="\n"))
