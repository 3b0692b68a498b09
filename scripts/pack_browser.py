"""Pack the Python that the browser gets: trimmed, compiled, in three archives.

``python_stdlib`` and ``numpy`` change only with the runtime; ``core`` holds our package and the
pure packages it needs, and changes with every release. All hold compiled files for exactly the
Python inside Pyodide (compiled by that Python, under Node.js), so that the browser neither
downloads tests and line tables (`short_lines.py`) nor spends its time compiling. Each is a zip
without compression inside, made small as a whole (``.pack``: gzip): that takes a sixth less than
compressing file by file, and Python reads it sooner. NumPy's two binary modules stand beside them
as WebAssembly files of their own, which browsers compile while they arrive.
"""

from __future__ import annotations

import gzip
import json
import shutil
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

from common import (
    CACHE,
    PACKAGE,
    ROOT,
    SCRIPTS,
    StopError,
    fingerprint,
    guarded,
    is_fresh,
    run,
    say,
    set_fresh,
)
from fetch_runtime import fetch_all
from needed_modules import imported, module_name

PACKED = CACHE / "packed"
STAGE = CACHE / "stage"
PAGE_MODULES = ROOT / "site_src" / "assets" / "js"
#: Parts of NumPy that nothing here imports; they are a third of its bytes. A part that is
#: needed after all fails the check of the packed Python (`check_python.mjs`).
NUMPY_UNUSED = (
    "numpy/random/",
    "numpy/f2py/",
    "numpy/fft/",
    "numpy/ma/",
    "numpy/polynomial/",
    "numpy/testing/",
    "numpy/compat/",
    "numpy/core/",
    "numpy/_pyinstaller/",
    "numpy/_core/include/",
    "numpy/_core/lib/",
    "numpy/_core/cversions",
    "numpy/_core/_multiarray_tests",
    "numpy/_core/_operand_flag_tests",
    "numpy/_core/_rational_tests",
    "numpy/_core/_struct_ufunc_tests",
    "numpy/_core/_umath_tests",
    "numpy/_core/_simd.",
    "numpy/lib/recfunctions",
    "numpy/lib/user_array",
    "numpy/lib/_user_array_impl",
    "numpy/linalg/lapack_lite",
    "numpy/typing/mypy_plugin",
    "numpy/distutils/",
    "numpy/doc/",
    "numpy/_configtool",
    "numpy/conftest.py",
    "numpy/ctypeslib",
    "numpy/matlib",
)
#: Modules of NumPy that only write documentation into others.
NUMPY_EMPTIED = ("numpy/_core/_add_newdocs.py", "numpy/_core/_add_newdocs_scalars.py")
#: NumPy's binary modules; `binary-modules.js` names the same.
BINARY_MODULES = ("numpy._core._multiarray_umath", "numpy.linalg._umath_linalg")
#: Files that read docstrings while they are imported.
DOCUMENTED = ("pyodide/", "_pyodide/", "numpy/_core/multiarray.py", "numpy/_core/overrides.py")
#: What the runtime imports by itself, without an import statement that could be read.
STDLIB_ROOTS = (
    "_pyodide._future_helper",
    "_pyodide.docstring",
    "_pyodide.jsbind",
    "pyodide._package_loader",
    "pyodide.code",
    "pyodide.common",
    "pyodide.webloop",
    "encodings.aliases",
    "encodings.ascii",
    "encodings.cp437",
    "encodings.idna",
    "encodings.latin_1",
    "encodings.utf_8",
    "encodings.utf_8_sig",
    "_strptime",
    "_sysconfigdata__emscripten_wasm32-emscripten",
    "codecs",
    "importlib.readers",
    "importlib.resources.readers",
    "io",
    "linecache",
    "random",
    "site",
    "traceback",
    "warnings",
    "zipimport",
)
#: What needs processes, a terminal, a network or another system, none of which is in the
#: browser's worker, or helps only developers.
STDLIB_CUT = {
    "_aix_support",
    "_android_support",
    "_apple_support",
    "_ios_support",
    "_pydatetime",
    "_pyio",
    "_pyrepl",
    "argparse",
    "asyncio.proactor_events",
    "asyncio.windows_events",
    "asyncio.windows_utils",
    "cmd",
    "code",
    "concurrent.futures.process",
    "ctypes._aix",
    "ctypes.macholib",
    "ctypes.wintypes",
    "doctest",
    "email._header_value_parser",
    "email.headerregistry",
    "email.policy",
    "ftplib",
    "getpass",
    "http",
    "importlib._bootstrap",
    "importlib._bootstrap_external",
    "multiprocessing",
    "netrc",
    "ntpath",
    "nturl2path",
    "pdb",
    "pickletools",
    "plistlib",
    "pydoc",
    "pydoc_data",
    "pyodide.console",
    "pyodide.http",
    "rlcompleter",
    "runpy",
    "socketserver",
    "ssl",
    "statistics",
    "tarfile",
    "unittest",
    "urllib.error",
    "urllib.request",
    "urllib.response",
    "webbrowser",
    "xml",
    "xmlrpc",
}
#: Tests, and what only older Pythons or other systems import.
PURE_UNUSED = (
    "pint/testsuite/",
    "pint/testing.py",
    "platformdirs/__main__.py",
    "platformdirs/android.py",
    "platformdirs/macos.py",
    "platformdirs/windows.py",
    "segno/cli.py",
    "segno/helpers.py",
    "typing_extensions.py",
)
#: Modules that only write files of many kinds, of which none is asked for.
PURE_EMPTIED = ("segno/writers.py",)
#: Parts of our package that have no place in a browser.
NOT_PACKED = {
    "__main__.py",
    "batch",
    "cli.py",
    "library.py",
    "notebook.css",
    "site",
    "site_files",
}
#: Style sheets of drawings, which are files of the site by themselves.
SITE_STYLES = {"chart.css", "plan.css"}
#: A fixed date makes the same input give the same bytes, hence the same release hash.
DATE = (2020, 1, 1, 0, 0, 0)


def wanted(name: str, unused: Iterable[str]) -> bool:
    """Whether a member of a wheel belongs into the browser."""
    return not (
        name.endswith(("/", ".pyi", ".pxd", ".h", ".a", ".typed"))
        or "/tests/" in name
        or ".dist-info/" in name
        or name.startswith(tuple(unused))
    )


def unpack(wheels: Iterable[Path], folder: Path, unused: Iterable[str]) -> None:
    """Unpack the wanted members of some wheels into one folder.

    Licence texts are kept beside the code that they cover.

    Raises
    ------
    StopError
        When a member's name leads out of the folder.
    """
    for wheel in wheels:
        with zipfile.ZipFile(wheel) as archive:
            for name in archive.namelist():
                licence = ".dist-info/" in name and "LICEN" in name.upper()
                metadata = name.endswith(".dist-info/METADATA")
                if wanted(name, unused) or metadata or (licence and not name.endswith("/")):
                    target = (folder / name).resolve()
                    if not target.is_relative_to(folder.resolve()):
                        raise StopError(f"{wheel.name} holds a file for another folder: {name}")
                    target.parent.mkdir(parents=True, exist_ok=True)
                    target.write_bytes(archive.read(name))


def unpack_pure(pure: Path, folder: Path) -> None:
    """Unpack the pure packages without what nothing here uses of them."""
    unpack(sorted(pure.glob("*.whl")), folder, PURE_UNUSED)
    for name in PURE_EMPTIED:
        (folder / name).write_text("", encoding="utf-8")


def pack(folder: Path, target: Path) -> None:
    """Write a folder as a zip with sorted names and one fixed date, and its compressed twin."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            info = zipfile.ZipInfo(path.relative_to(folder).as_posix(), DATE)
            info.external_attr = 0o644 << 16
            archive.writestr(info, path.read_bytes())
    small = gzip.compress(target.read_bytes(), compresslevel=9, mtime=0)
    target.with_suffix(".pack").write_bytes(small)


def compile_with_pyodide(pyodide: Path, folder: Path, trim: dict[str, list[str]] | None) -> None:
    """Replace the .py files below `folder` by compiled ones, made by Pyodide's own Python."""
    plan = folder.with_suffix(".json")
    plan.write_text(json.dumps({"trim": trim, "documented": DOCUMENTED}), encoding="utf-8")
    run(
        ["node", SCRIPTS / "compile_python.mjs", pyodide, folder, plan],
        why="Compiling the Python files for the browser",
    )


Fill = Callable[[Path], None]


def packed(
    name: str, pyodide: Path, mark: str, fill: Fill, trim: dict[str, list[str]] | None = None
) -> Path:
    """Make one archive unless it is there for the same inputs; return it as it is published."""
    target = PACKED / f"{name}.zip"
    published = target.with_suffix(".pack")
    if is_fresh(f"pack-{name}", mark, target, published):
        return published
    say(f"packing {name} for the browser")
    folder = STAGE / name
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    fill(folder)
    compile_with_pyodide(pyodide, folder, trim)
    PACKED.mkdir(parents=True, exist_ok=True)
    pack(folder, target)
    set_fresh(f"pack-{name}", mark)
    return published


def binary_modules(wheel: Path) -> list[Path]:
    """Write NumPy's binary modules as WebAssembly files named after the module.

    Raises
    ------
    StopError
        When the wheel does not hold exactly one file for each.
    """
    PACKED.mkdir(parents=True, exist_ok=True)
    written = []
    with zipfile.ZipFile(wheel) as archive:
        for module in BINARY_MODULES:
            start = module.replace(".", "/") + "."
            found = [n for n in archive.namelist() if n.startswith(start) and n.endswith(".so")]
            if len(found) != 1:
                raise StopError(f"{wheel.name} holds {len(found)} files for {module}.")
            target = PACKED / f"{module}.wasm"
            target.write_bytes(archive.read(found[0]))
            written.append(target)
    return written


def imports_of(folder: Path) -> set[str]:
    """Return the dotted names that the sources below a folder may import."""
    names: set[str] = set()
    for path in folder.rglob("*.py"):
        name = module_name(path.relative_to(folder))
        names |= imported(path.read_text(encoding="utf-8"), name, path.name == "__init__.py")
    return names


def packed_source() -> Path:
    """Return a copy of our package as the browser gets it, as source.

    What builds sites is not in it: it runs other programs, which a browser cannot.
    """
    folder = STAGE / "source" / "evenrow"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(PACKAGE, folder, ignore=_not_packed)
    return folder


def _not_packed(folder: str, names: list[str]) -> set[str]:
    """Return which of the names in a folder of our package stay out of the browser."""
    left = {name for name in names if name in ("__pycache__", "py.typed") or name[-4:] == ".pyc"}
    left |= set(names) & SITE_STYLES
    return left | (set(names) & NOT_PACKED if Path(folder) == PACKAGE else set())


def stdlib_roots(numpy_wheel: Path, pure: Path, core_source: Path) -> list[str]:
    """Return what our package, NumPy and the pure packages may import from elsewhere."""
    folder = STAGE / "imports"
    shutil.rmtree(folder, ignore_errors=True)
    unpack([numpy_wheel], folder, NUMPY_UNUSED)
    unpack_pure(pure, folder)
    shutil.copytree(core_source, folder / "evenrow")
    ours = {path.stem for path in folder.iterdir()}
    names = {name for name in imports_of(folder) if name.split(".")[0] not in ours}
    return sorted(names | set(STDLIB_ROOTS))


def check_packed(pyodide: Path, folder: Path, mark: str) -> None:
    """Let the packed Python answer everything, started in both ways, unless it has done so.

    Raises
    ------
    StopError
        When something that our package needs was trimmed away, or a start from a snapshot
        gives other answers than a plain one.
    """
    name = f"check-{folder.name}"
    if is_fresh(name, mark):
        return
    say("checking the packed Python")
    run(
        ["node", SCRIPTS / "check_python.mjs", pyodide, folder, PAGE_MODULES],
        why="Running the packed Python",
    )
    set_fresh(name, mark)


def pack_all(*, check: bool = True) -> tuple[Path, list[Path]]:
    """Fetch and pack; return Pyodide's folder and the files that take the place of its own.

    Without `check` whoever calls lets the packed Python answer, when more has been added to it.
    """
    pyodide, numpy_wheel, pure = fetch_all()
    tools = [
        SCRIPTS / "pack_browser.py",
        SCRIPTS / "needed_modules.py",
        SCRIPTS / "short_lines.py",
        SCRIPTS / "compile_python.mjs",
        SCRIPTS / "package-lock.json",
    ]
    core_source = packed_source()
    roots = stdlib_roots(numpy_wheel, pure, core_source)

    def fill_stdlib(folder: Path) -> None:
        unpack([pyodide / "python_stdlib.zip"], folder, ())

    def fill_numpy(folder: Path) -> None:
        unpack([numpy_wheel], folder, NUMPY_UNUSED)
        for path in folder.rglob("*.so"):
            path.unlink()  # stands beside the archive
        for name in NUMPY_EMPTIED:
            (folder / name).write_text("", encoding="utf-8")

    def fill_core(folder: Path) -> None:
        unpack_pure(pure, folder)
        shutil.copytree(core_source, folder / "evenrow")

    trim = {"roots": roots, "cut": sorted(STDLIB_CUT)}
    stdlib_mark = fingerprint([*tools, numpy_wheel], *roots)
    files = [
        packed("python_stdlib", pyodide, stdlib_mark, fill_stdlib, trim),
        packed("numpy", pyodide, fingerprint([*tools, numpy_wheel]), fill_numpy),
        packed("core", pyodide, fingerprint([*tools, pure, core_source]), fill_core),
        *binary_modules(numpy_wheel),
    ]
    if check:
        check_packed(pyodide, PACKED, check_mark(files))
    return pyodide, files


def check_mark(files: list[Path]) -> str:
    """Return what an answer of the packed Python follows from, as one hash."""
    checks = [SCRIPTS / "check_python.mjs", SCRIPTS / "check_python.py"]
    starts = [PAGE_MODULES / name for name in ("binary-modules.js", "python-start.js")]
    return fingerprint([*files, *checks, *starts])


if __name__ == "__main__":
    guarded(lambda: print(*pack_all()[1], sep="\n"))
