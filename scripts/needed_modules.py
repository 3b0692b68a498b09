"""Which modules of a library can be imported at all, starting from some of them.

Runs in the building Python and inside Pyodide: standard library only. Every import statement
counts, wherever it stands, so that the answer holds more than one run happens to import.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from pathlib import Path


def module_name(path: Path) -> str:
    """Return the dotted name of a source file's module; the path is relative to the library."""
    parts = path.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(source: str, name: str, package: bool) -> set[str]:
    """Return the dotted names that a module's import statements may mean.

    Parameters
    ----------
    source : str
        Text of the module.
    name : str
        Its dotted name, from which relative imports are counted.
    package : bool
        Whether it is a package (an ``__init__``).
    """
    found: set[str] = set()
    home = name.split(".") if package else name.split(".")[:-1]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = home[: len(home) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            # "from a import b" may mean a module a.b or something inside a.
            found.update([base, *(f"{base}.{alias.name}" for alias in node.names)])
    return found


def is_below(name: str, tops: Iterable[str]) -> bool:
    """Whether a module is one of `tops` or lies inside one."""
    return any(name == top or name.startswith(f"{top}.") for top in tops)


def needed(
    sources: Mapping[str, tuple[str, bool]], roots: Iterable[str], cut: set[str]
) -> set[str]:
    """Return the modules that importing `roots` can lead to.

    Parameters
    ----------
    sources : mapping
        Text of each module of the library and whether it is a package, by dotted name.
    roots : iterable of str
        Where to start; names that are not in the library are passed over.
    cut : set of str
        Modules that are left out with all inside them, whoever imports them.
    """
    found: set[str] = set()
    waiting = list(roots)
    while waiting:
        name = waiting.pop()
        if name in found or is_below(name, cut):
            continue
        if "." in name:
            waiting.append(name.rpartition(".")[0])
        if name in sources:
            found.add(name)
            text, package = sources[name]
            waiting.extend(imported(text, name, package))
    return found


def read_library(folder: Path) -> dict[str, tuple[str, bool]]:
    """Return the sources below a folder as `needed` takes them."""
    return {
        module_name(path.relative_to(folder)): (
            path.read_text(encoding="utf-8"),
            path.name == "__init__.py",
        )
        for path in sorted(folder.rglob("*.py"))
    }


def trim(folder: Path, roots: Iterable[str], cut: set[str]) -> None:
    """Remove the modules below a folder that `roots` cannot lead to."""
    keep = needed(read_library(folder), roots, cut)
    for path in folder.rglob("*.py"):
        if module_name(path.relative_to(folder)) not in keep:
            path.unlink()
