"""Build the whole static site into ``build/site``: pages, runtime, icons, offline manifest.

Runs in the project's virtual environment. The old site stays until the new one is complete
and has passed its checks.
"""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

from check_site import check_site
from common import (
    BUILD,
    CACHE,
    PACKAGE,
    ROOT,
    SCRIPTS,
    SITE,
    StopError,
    fingerprint,
    guarded,
    is_fresh,
    run,
    say,
    set_fresh,
    sha256,
)
from join_modules import join
from make_icons import write_icons
from offline_manifest import write_manifest
from pack_browser import pack_all
from page_policy import write_policies
from site_languages import FIRST, OTHERS, language_of, without_language
from squeeze import squeeze_pages

#: Where the search keeps what it knows of words; English needs none of it.
LUNR = "assets/javascripts/lunr"
#: What MkDocs writes that has no use here. A site map needs to know the address at which it is
#: served, and this site must run at any; the rest only helps developers or searches in other
#: languages.
UNUSED = ("sitemap.xml", "sitemap.xml.gz", "objects.inv")


def trimmed_lock(pyodide: Path) -> str:
    """Return Pyodide's lock file without packages: ours come in archives of our own."""
    lock = json.loads((pyodide / "pyodide-lock.json").read_text(encoding="utf-8"))
    return json.dumps({"info": lock["info"], "packages": {}})


#: What is changed in Pyodide's loader: it may be given the module, compiled already, and a
#: promise of the standard library.
LOADER_CHANGES = (
    ("function Ie(e){let t=K(e);", "function Ie(e){let t=e.then?e:K(e);"),
    ("instantiateWasm:Fe(e.indexURL)", "instantiateWasm:Fe(e.indexURL,e.wasmModule)"),
    ("function Fe(e){", "function Fe(e,m){"),
    ('}=F(e+"pyodide.asm.wasm"),', '}=m?{}:F(e+"pyodide.asm.wasm"),'),
    (
        "try{let i;r?i=",
        "try{let i;m?i={module:m,instance:await WebAssembly.instantiate(m,a)}:r?i=",
    ),
)


def adapted_loader(text: str) -> str:
    """Return Pyodide's loader with our changes and without the address of its source map.

    Raises
    ------
    StopError
        When the loader does not read as it did in the pinned release.
    """
    lines = [line for line in text.splitlines() if not line.startswith("//# sourceMappingURL")]
    text = "\n".join(lines) + "\n"
    for old, new in LOADER_CHANGES:
        if text.count(old) != 1:
            raise StopError(f"Pyodide's loader (pyodide.mjs) does not hold {old!r} exactly once.")
        text = text.replace(old, new)
    return text


#: Where the page's worker finds how the WebAssembly files are called.
WASM_PLACE = "/* WASM_FILES */ {}"


def copy_runtime(site: Path, pyodide: Path, packed: list[Path]) -> None:
    """Put what runs Python in the browser below ``assets/runtime``.

    WebAssembly files are named after their bytes too, and the page's worker is told their names.

    Raises
    ------
    StopError
        When the worker has no place for the names, or the loader is not the pinned one.
    """
    target = site / "assets" / "runtime"
    target.mkdir(parents=True)
    names = {}
    for path in (pyodide / "pyodide.asm.js", pyodide / "pyodide.asm.wasm", *packed):
        name = path.name
        if path.suffix == ".wasm":
            name = f"{path.stem}.{sha256(path)[:12]}{path.suffix}"
            names[path.name] = name
        shutil.copyfile(path, target / name)
    worker = site / "assets" / "js" / "core-worker.js"
    text = worker.read_text(encoding="utf-8")
    if text.count(WASM_PLACE) != 1:
        raise StopError("The page's worker (core-worker.js) has no place for the runtime's names.")
    told = f"/* WASM_FILES */ {json.dumps(names, sort_keys=True)}"
    worker.write_text(text.replace(WASM_PLACE, told), encoding="utf-8")
    # Named .js because many plain servers send .mjs with a type that browsers refuse.
    loader = adapted_loader((pyodide / "pyodide.mjs").read_text(encoding="utf-8"))
    (target / "pyodide.js").write_text(loader, encoding="utf-8")
    (target / "pyodide-lock.json").write_text(trimmed_lock(pyodide), encoding="utf-8")


def postpone_search(site: Path) -> None:
    """Let the theme's search worker start only when somebody searches.

    Raises
    ------
    StopError
        When the theme does not bring exactly one search worker.
    """
    found = list(site.glob("assets/javascripts/workers/search.*.js"))
    if len(found) != 1:
        raise StopError(f"The theme brings {len(found)} search workers, one was expected.")
    before = site / "assets" / "js" / "late-search.js"
    search = found[0].read_text(encoding="utf-8")
    search = "\n".join(line for line in search.splitlines() if not line.startswith("//# source"))
    text = before.read_text(encoding="utf-8")
    found[0].write_text(f"{text}\nfunction startSearch() {{\n{search}\n}}\n", encoding="utf-8")
    before.unlink()


def remove_unused(site: Path) -> None:
    """Remove what the theme brings along and this site never loads."""
    for name in UNUSED:
        path = site / name
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
    for path in site.rglob("*.map"):
        path.unlink()


def separate_search(site: Path) -> None:
    """Give each language a search of its own: its pages, and what is known of its words."""
    path = site / "search" / "search_index.json"
    index = json.loads(path.read_text(encoding="utf-8"))
    own: dict[str, list[dict[str, str]]] = {code: [] for code in (FIRST, *OTHERS)}
    for entry in index["docs"]:
        own[language_of(entry["location"])].append(entry)
    for code in OTHERS:
        for entry in own[code]:
            entry["location"] = without_language(entry["location"])
        target = site / code / "search" / "search_index.json"
        target.parent.mkdir(parents=True)
        known = (site / LUNR / "min" / f"lunr.{code}.min.js").is_file()
        config = {**index["config"], "lang": [code if known else FIRST]}
        write_compact(target, {**index, "config": config, "docs": own[code]})
    write_compact(path, {**index, "docs": own[FIRST]})
    kept = {f"lunr.{code}.min.js" for code in OTHERS} | {"lunr.stemmer.support.min.js"}
    for file in (site / LUNR).rglob("*"):
        if file.is_file() and file.name not in kept:
            file.unlink()


def write_compact(path: Path, value: object) -> None:
    """Write JSON without spaces."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    path.write_text(text, encoding="utf-8")


def copy_icons(target: Path) -> None:
    """Put the icons into a site; they are drawn when that has changed by which they are."""
    drawn = CACHE / "icons"
    mark = fingerprint([SCRIPTS / "make_icons.py"])
    if not is_fresh("icons", mark, drawn):
        shutil.rmtree(drawn, ignore_errors=True)
        drawn.mkdir(parents=True)
        write_icons(drawn)
        set_fresh("icons", mark)
    shutil.copytree(drawn, target, dirs_exist_ok=True)


#: MkDocs' own announcement of another program has no place in our output.
QUIET = {"NO_MKDOCS_2_WARNING": "1", "DISABLE_MKDOCS_2_WARNING": "true"}


def assemble(
    fresh: Path,
    pyodide: Path,
    packed: list[Path],
    modules: Path | None = None,
    change: Callable[[Path], None] = lambda site: None,
) -> str:
    """Make a whole site in a folder, check it, and return its release.

    Parameters
    ----------
    fresh : Path
        Where it shall stand; what is there goes.
    pyodide : Path
        Folder of Pyodide.
    packed : list of Path
        What takes the place of Pyodide's own archives.
    modules : Path, optional
        Folder with the package ``evenrow`` that makes the pages; the installed one by default.
    change : callable
        What else is done to the site before it is checked and its files are listed.

    Raises
    ------
    StopError
        When the pages cannot be built, or the site fails its checks.
    """
    shutil.rmtree(fresh, ignore_errors=True)
    config = ["-f", ROOT / "mkdocs.yml", "-d", fresh]
    run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--clean", "-q", *config],
        why="Building the pages",
        env={**QUIET, **({"PYTHONPATH": str(modules)} if modules else {})},
    )
    remove_unused(fresh)
    separate_search(fresh)
    postpone_search(fresh)
    join(fresh / "assets" / "js" / "core-worker.js")
    copy_runtime(fresh, pyodide, packed)
    copy_icons(fresh / "assets" / "img")
    change(fresh)
    squeeze_pages(fresh)
    write_policies(fresh)
    check_site(fresh)
    return write_manifest(fresh)


def build() -> Path:
    """Build the site when anything that goes into it has changed; return its folder.

    Raises
    ------
    StopError
        When something cannot be fetched or verified, or the site fails its checks.
    """
    pyodide, packed = pack_all()
    inputs = [
        ROOT / "site_src",
        ROOT / "mkdocs.yml",
        PACKAGE,
        SCRIPTS / "requirements" / "site.txt",
        *sorted(SCRIPTS.glob("*.py")),
        *packed,
    ]
    mark = fingerprint(inputs)
    if is_fresh("site", mark, SITE / "sw.js"):
        return SITE
    say("building the site into build/site")
    fresh = BUILD / "site.new"
    release = assemble(fresh, pyodide, packed)
    shutil.rmtree(SITE, ignore_errors=True)
    fresh.rename(SITE)
    set_fresh("site", mark)
    say(f"the site is built, release {release}")
    return SITE


if __name__ == "__main__":
    guarded(lambda: print(build()))
