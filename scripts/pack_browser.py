"""Pack the Python that the browser gets: trimmed, compiled, in two archives.

``numpy.zip`` changes only with the runtime; ``core.zip`` holds our package and the pure
packages it needs, and changes with every release. Both hold compiled files for exactly the
Python inside Pyodide (compiled by that Python, under Node.js), so that the browser neither
downloads tests nor spends its time compiling.
"""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterable
from pathlib import Path

from common import (
    CACHE,
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

PACKED = CACHE / "packed"
STAGE = CACHE / "stage"
#: Parts of NumPy that nothing here imports; they are a third of its bytes. A part that is
#: needed after all fails the browser tests at once.
NUMPY_UNUSED = (
    "numpy/random/",
    "numpy/f2py/",
    "numpy/fft/",
    "numpy/polynomial/",
    "numpy/testing/",
    "numpy/_pyinstaller/",
    "numpy/_core/include/",
    "numpy/_core/lib/",
    "numpy/_core/_multiarray_tests",
    "numpy/_core/_operand_flag_tests",
    "numpy/_core/_rational_tests",
    "numpy/_core/_struct_ufunc_tests",
    "numpy/_core/_umath_tests",
    "numpy/_core/_simd.",
    "numpy/distutils/",
    "numpy/doc/",
    "numpy/conftest.py",
)
PURE_UNUSED = ("pint/testsuite/", "pint/testing.py", "platformdirs/__main__.py")
#: A fixed date makes the same input give the same bytes, hence the same release hash.
DATE = (2020, 1, 1, 0, 0, 0)


def wanted(name: str, unused: Iterable[str]) -> bool:
    """Whether a member of a wheel belongs into the browser."""
    return not (
        name.endswith(("/", ".pyi", ".h", ".a", ".typed"))
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


def pack(folder: Path, target: Path) -> None:
    """Write a folder as a zip with sorted names and one fixed date."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            info = zipfile.ZipInfo(path.relative_to(folder).as_posix(), DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, path.read_bytes())


def compile_with_pyodide(pyodide: Path, folder: Path) -> None:
    """Replace the .py files below `folder` by compiled ones, made by Pyodide's own Python."""
    run(
        ["node", SCRIPTS / "compile_python.mjs", pyodide, folder],
        why="Compiling the Python files for the browser",
    )


def packed(name: str, pyodide: Path, mark: str, fill: object) -> Path:
    """Make one archive unless it is there for the same inputs."""
    target = PACKED / f"{name}.zip"
    if is_fresh(f"pack-{name}", mark, target):
        return target
    say(f"packing {name}.zip for the browser")
    folder = STAGE / name
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    fill(folder)  # type: ignore[operator]
    compile_with_pyodide(pyodide, folder)
    PACKED.mkdir(parents=True, exist_ok=True)
    pack(folder, target)
    set_fresh(f"pack-{name}", mark)
    return target


def pack_all() -> tuple[Path, Path, Path]:
    """Fetch and pack; return Pyodide's folder and the two archives."""
    pyodide, numpy_wheel, pure = fetch_all()
    tools = [SCRIPTS / "pack_browser.py", SCRIPTS / "compile_python.mjs"]
    tools.append(SCRIPTS / "package-lock.json")
    core_source = ROOT / "pycore" / "evenrow"

    def fill_numpy(folder: Path) -> None:
        unpack([numpy_wheel], folder, NUMPY_UNUSED)

    def fill_core(folder: Path) -> None:
        unpack(sorted(pure.glob("*.whl")), folder, PURE_UNUSED)
        skip = shutil.ignore_patterns("__pycache__", "*.pyc", "py.typed")
        shutil.copytree(core_source, folder / "evenrow", ignore=skip)

    numpy_zip = packed("numpy", pyodide, fingerprint([*tools, numpy_wheel]), fill_numpy)
    core_zip = packed("core", pyodide, fingerprint([*tools, pure, core_source]), fill_core)
    return pyodide, numpy_zip, core_zip


if __name__ == "__main__":
    guarded(lambda: print(*pack_all(), sep="\n"))
