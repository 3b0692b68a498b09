"""Answers that an earlier build worked out, kept for as long as they would come out the same.

An answer follows from our package, its own catalogue inside, and from what makes the pages.
Whatever of these changes, everything is worked out anew.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path

import evenrow
from common import CACHE, SCRIPTS, fingerprint

KEPT = CACHE / "answers"
#: What beside our package makes what is kept.
MAKERS = ("kept_answers.py", "run_table_pages.py", "mkdocs_hooks.py", "*_hook.py")
#: States of the package that are kept side by side: those of a few catalogues.
MOST = 4


@cache
def folder() -> Path:
    """Return where the answers of this state of the package are; the oldest other states go."""
    makers = [path for name in MAKERS for path in sorted(SCRIPTS.glob(name))]
    made = KEPT / fingerprint([Path(evenrow.__file__).parent, *makers])
    made.mkdir(parents=True, exist_ok=True)
    made.touch()
    states = sorted(KEPT.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    for old in states[MOST:]:
        shutil.rmtree(old, ignore_errors=True)
    return made


def kept(name: str, make: Callable[[], str]) -> str:
    """Return a text from an earlier build, or make and keep it.

    Parameters
    ----------
    name : str
        What the text follows from beside the package: page, language, unit system.
    make : callable
        Makes the text.
    """
    path = folder() / sha256(name.encode()).hexdigest()
    if path.is_file():
        return path.read_bytes().decode("utf-8")
    text = make()
    part = path.with_suffix(".part")
    # Bytes both times, so that no line end is changed; whole or not at all.
    part.write_bytes(text.encode("utf-8"))
    part.replace(path)
    return text
