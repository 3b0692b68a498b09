"""What the scripts share: places, plain stops, running other programs, stamps."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

#: A clone, or the folder of an installed package that is laid out like one.
ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = ROOT / "scripts"
#: Our package: in a clone below the root, installed above it.
PACKAGE = ROOT / "pycore" / "evenrow" if (ROOT / "pycore").is_dir() else ROOT.parent
#: Whether a clone is at hand, with the package's own build files.
IS_CLONE = (ROOT / "pyproject.toml").is_file()
#: Where things are fetched and made; an installed package is no place for them.
WORK = Path(os.environ.get("EVENROW_WORK") or ROOT)
CACHE = WORK / ".cache"
VENV = WORK / ".venv"
BUILD = WORK / "build"
if not IS_CLONE:
    # Last, so that the build's own packages come before those installed beside ours.
    sys.path.append(str(PACKAGE.parent))
SITE = BUILD / "site"


class StopError(Exception):
    """The script cannot go on; the message is one plain paragraph for a person."""


def say(text: str) -> None:
    """Print one line of progress at once."""
    print(f"evenrow: {text}", flush=True)


def run(
    command: Sequence[str | Path],
    *,
    why: str,
    cwd: Path = ROOT,
    env: Mapping[str, str] | None = None,
    quiet: bool = True,
) -> str:
    """Run a program and return what it printed.

    Parameters
    ----------
    command : sequence of str or Path
        Program and arguments.
    why : str
        What the program was wanted for; opens the message when it fails.
    cwd : Path
        Folder to run in.
    env : mapping, optional
        Variables to set on top of the present environment.
    quiet : bool
        Keep the output back unless the program fails.

    Raises
    ------
    StopError
        When the program is missing or fails.
    """
    words = [str(word) for word in command]
    try:
        done = subprocess.run(
            words,
            cwd=cwd,
            env={**os.environ, **(env or {})},
            stdout=subprocess.PIPE if quiet else None,
            stderr=subprocess.PIPE if quiet else None,
            text=True,
            stdin=subprocess.DEVNULL,
        )
    except FileNotFoundError as error:
        raise StopError(f"{why}: the program {words[0]!r} was not found.") from error
    if done.returncode != 0:
        tail = "\n".join(((done.stdout or "") + (done.stderr or "")).strip().splitlines()[-25:])
        raise StopError(f"{why}: {words[0]} ended with status {done.returncode}.\n{tail}".rstrip())
    return done.stdout or ""


def sha256(path: Path) -> str:
    """Return the SHA-256 of a file, in hex."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def fingerprint(paths: Iterable[Path], *extra: str) -> str:
    """Return one hash over the names and contents of files, folders and texts."""
    digest = hashlib.sha256()
    for top in paths:
        files = sorted(p for p in top.rglob("*") if p.is_file()) if top.is_dir() else [top]
        for file in files:
            if "__pycache__" in file.parts or not file.exists():
                continue
            digest.update(file.relative_to(top.parent).as_posix().encode() + b"\0")
            digest.update(bytes.fromhex(sha256(file)))
    for text in extra:
        digest.update(text.encode() + b"\0")
    return digest.hexdigest()


def is_fresh(name: str, mark: str, *results: Path) -> bool:
    """Whether step `name` was last finished for the same inputs and its results still stand."""
    stamp = CACHE / "stamps" / f"{name}.json"
    if not stamp.exists() or not all(result.exists() for result in results):
        return False
    try:
        return json.loads(stamp.read_text(encoding="utf-8")) == {"mark": mark}
    except ValueError:
        return False


def set_fresh(name: str, mark: str) -> None:
    """Remember that step `name` is finished for these inputs."""
    stamp = CACHE / "stamps" / f"{name}.json"
    stamp.parent.mkdir(parents=True, exist_ok=True)
    stamp.write_text(json.dumps({"mark": mark}), encoding="utf-8")


def venv_python() -> Path:
    """Return the Python of the project's own virtual environment."""
    windows = VENV / "Scripts" / "python.exe"
    return windows if windows.exists() else VENV / "bin" / "python"


def guarded(main: object) -> None:
    """Run ``main()`` and end the process: plain text and status 1 on a `StopError`."""
    try:
        status = main()  # type: ignore[operator]
    except StopError as stop:
        print(f"\nevenrow: stopped. {stop}", file=sys.stderr)
        sys.exit(1)
    except KeyboardInterrupt:
        print()
        sys.exit(130)
    sys.exit(status or 0)
