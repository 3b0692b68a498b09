"""Write the release manifest into the built site's service worker.

The manifest lists every file with its SHA-256. Runtime files (Pyodide and NumPy) stand in a
list of their own, so that an update of the site copies them instead of fetching them again.
"""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

from common import StopError, sha256

PLACE = '/* RELEASE */ { release: "", runtime: "", python: "", files: {}, runtimeFiles: {} }'
PYTHON_PLACE = re.compile(r'/\* PYTHON_ID \*/ "[0-9a-f]*"')
RUNTIME_FOLDER = "assets/runtime/"
#: Changes with our code, not with the runtime.
CORE = "assets/runtime/core.pack"
#: Not part of the offline copy: the worker itself, and what only servers and crawlers read.
LEFT_OUT = ("sw.js", "sitemap.xml", "sitemap.xml.gz")
#: Nor long pages for programmers, which say so at their head: a phone in a field needs none. Of the
#: versions the newest page is wanted, which the bar of an update leads to.
FAR_PAGES = ("contributing/", "gallery/", "reference/", "validation/", "versions/")


def release_hash(files: dict[str, str]) -> str:
    """Return one short hash over names and hashes of files."""
    text = json.dumps(files, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def collect(site: Path) -> tuple[dict[str, str], dict[str, str]]:
    """Return {path: SHA-256} of the site's files and of the runtime's files."""
    files: dict[str, str] = {}
    runtime: dict[str, str] = {}
    for path in sorted(p for p in site.rglob("*") if p.is_file()):
        name = path.relative_to(site).as_posix()
        if name in LEFT_OUT or name.startswith(FAR_PAGES):
            continue
        heavy = name.startswith(RUNTIME_FOLDER) and name != CORE
        (runtime if heavy else files)[name] = sha256(path)
    return files, runtime


def write_python_id(site: Path) -> str:
    """Tell the page's worker which Python it runs; names its snapshot on the device.

    Our package is in the snapshot too, and its form and how Python starts are the worker's: the
    name changes with each of them.
    """
    worker = site / "assets" / "js" / "core-worker.js"
    text, count = PYTHON_PLACE.subn('/* PYTHON_ID */ ""', worker.read_text(encoding="utf-8"))
    files, runtime = collect(site)
    how = hashlib.sha256(text.encode()).hexdigest()
    python_id = release_hash({**runtime, CORE: files.get(CORE, ""), "worker": how})
    text = text.replace('/* PYTHON_ID */ ""', f'/* PYTHON_ID */ "{python_id}"')
    if count != 1:
        raise StopError("The page's worker (core-worker.js) has no place for its Python's hash.")
    worker.write_text(text, encoding="utf-8")
    return python_id


def write_manifest(site: Path) -> str:
    """Fill in the service worker of a built site; return the release hash.

    Raises
    ------
    StopError
        When the service worker has no place for the manifest or the runtime is missing.
    """
    worker = site / "sw.js"
    text = worker.read_text(encoding="utf-8")
    if text.count(PLACE) != 1:
        raise StopError("The built service worker (sw.js) has no place for the release manifest.")
    python_id = write_python_id(site)
    files, runtime = collect(site)
    if "index.html" not in files or not any(name.endswith(".wasm") for name in runtime):
        raise StopError("The built site is incomplete: its first page or its runtime is missing.")
    release = {
        "release": release_hash({**files, **runtime}),
        "runtime": release_hash(runtime),
        "python": python_id,
        "files": files,
        "runtimeFiles": runtime,
    }
    worker.write_text(text.replace(PLACE, json.dumps(release, sort_keys=True)), encoding="utf-8")
    return str(release["release"])
