"""Build a co-op's own site, for ``evenrow site``: our package with the co-op's catalogue inside.

The pages are made by a copy of the package that holds the co-op's folder as ``evenrow/own``, and
the browser gets the same: our packed package, compiled once for all, with these few files added.
Everything has been read and checked by the command before; what the packed Python answers is
checked again here.
"""

from __future__ import annotations

import argparse
import gzip
import json
import shutil
import tomllib
import zipfile
from functools import partial
from pathlib import Path

from build_site import assemble
from common import BUILD, CACHE, PACKAGE, StopError, guarded, say
from pack_browser import DATE, PACKED, check_mark, check_packed, pack_all
from page_weight import page_weights

#: Where our package, and its packed form, are made the co-op's own.
STAGE = CACHE / "own"
#: A fixed date makes the same site give the same zip.
ZIP_MODE = 0o644 << 16


def own_modules(own: Path) -> Path:
    """Return a folder with our package, the co-op's folder inside."""
    modules = STAGE / "modules"
    shutil.rmtree(modules, ignore_errors=True)
    unused = shutil.ignore_patterns("__pycache__", "*.pyc", "site_files")
    shutil.copytree(PACKAGE, modules / "evenrow", ignore=unused)
    shutil.copytree(own, modules / "evenrow" / "own")
    return modules


def own_packed(own: Path, packed: list[Path]) -> list[Path]:
    """Return the packed files with the co-op's folder added to our package.

    They stand in a folder of their own, with their plain twins, as `check_packed` wants them.
    """
    folder = STAGE / "packed-own"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(PACKED, folder)
    core = folder / "core.zip"
    with zipfile.ZipFile(core, "a", zipfile.ZIP_STORED) as archive:
        for path in sorted(own.iterdir()):
            info = zipfile.ZipInfo(f"evenrow/own/{path.name}", DATE)
            info.external_attr = ZIP_MODE
            archive.writestr(info, path.read_bytes())
    small = gzip.compress(core.read_bytes(), compresslevel=9, mtime=0)
    core.with_suffix(".pack").write_bytes(small)
    return [folder / path.name for path in packed]


def name_site(site: Path, own: Path) -> None:
    """Say whose site it is, and where it opens, where a phone asks when the site is installed."""
    host = tomllib.loads(own.joinpath("site.toml").read_text(encoding="utf-8"))
    path = site / "app.webmanifest"
    told = json.loads(path.read_text(encoding="utf-8"))
    told |= {"name": host["name"], "short_name": host["name"]}
    if host["language"] != "en":
        told["start_url"] = f"./{host['language']}/"
    path.write_text(json.dumps(told, ensure_ascii=False, indent=2), encoding="utf-8")


def zipped(site: Path, target: Path) -> None:
    """Write a site as a zip, in a folder of its name, the same bytes for the same site."""
    part = target.with_name(target.name + ".part")
    with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(p for p in site.rglob("*") if p.is_file()):
            name = f"{target.stem}/{path.relative_to(site).as_posix()}"
            info = zipfile.ZipInfo(name, DATE)
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, ZIP_MODE
            archive.writestr(info, path.read_bytes())
    part.replace(target)


def replace_site(fresh: Path, out: Path) -> None:
    """Put a finished site in the place of an earlier one, which goes only then."""
    out.parent.mkdir(parents=True, exist_ok=True)
    beside = out.with_name(out.name + ".new")
    shutil.rmtree(beside, ignore_errors=True)
    # Copied first: the two may lie on different disks.
    shutil.copytree(fresh, beside)
    shutil.rmtree(out, ignore_errors=True)
    beside.rename(out)


def report(site: Path, target: Path, release: str) -> None:
    """Say what was made and how much of it there is."""
    files = [path for path in site.rglob("*") if path.is_file()]
    total = sum(path.stat().st_size for path in files) / 1e6
    page, heaviest = max(page_weights(site).items(), key=lambda pair: pair[1])
    say(f"the site stands in {site}: {len(files)} files, {total:.1f} MB, release {release}")
    say("checked: every link leads somewhere, nothing is loaded from elsewhere")
    say(f"the heaviest page before Python is {page}, {heaviest:.0f} kB")
    say(f"zipped: {target}, {target.stat().st_size / 1e6:.1f} MB")


def main() -> None:
    """Build, check, put in place, zip, report."""
    parser = argparse.ArgumentParser(description="Build a co-op's own site; see evenrow site.")
    parser.add_argument("--own", type=Path, required=True, help="folder made by evenrow site")
    parser.add_argument("--out", type=Path, required=True, help="folder for the site")
    options = parser.parse_args()
    own, out = options.own.resolve(), options.out.absolute()
    if not own.joinpath("site.toml").is_file():
        raise StopError(f"{own} holds no site.toml; call evenrow site, which makes it.")
    pyodide, packed = pack_all(check=False)
    packed = own_packed(own, packed)
    check_packed(pyodide, STAGE / "packed-own", check_mark(packed))
    say("building the pages")
    fresh = BUILD / "own.new"
    release = assemble(fresh, pyodide, packed, own_modules(own), partial(name_site, own=own))
    replace_site(fresh, out)
    shutil.rmtree(fresh)
    target = out.with_name(out.name + ".zip")
    zipped(out, target)
    report(out, target, release)


if __name__ == "__main__":
    guarded(main)
