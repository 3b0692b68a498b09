"""The arrows between the parts of the package, read from the syntax tree."""

import ast
import sys
from pathlib import Path

import pytest

import evenrow

ROOT = Path(evenrow.__file__).parent
MODULES = sorted(ROOT.rglob("*.py"))

#: What every part may use: the family of errors and the words in their language.
_ALL = {"errors", "words"}
_UNITS = {*_ALL, "numerals", "quantities", "unit_text"}
_PHYSICS = {*_ALL, "hydraulics", "agronomy"}
#: part -> parts that it may import. A part is the first name behind "evenrow.".
ALLOWED = {
    # What the package offers by its own name; loaded when it is asked for, see its `_LATER`.
    "": {"errors", "library", "words"},
    "words": set(),
    "errors": {"words"},
    "quantities": {"words"},
    "numerals": _ALL,
    "unit_text": {*_ALL, "numerals"},
    "units": _UNITS,
    "structure": set(),
    "documents": {*_ALL, "structure"},
    "share": {*_ALL, "documents", "structure"},
    "hydraulics": _ALL,
    "agronomy": {*_ALL, "hydraulics"},
    "catalogue": {*_PHYSICS, "units", "structure"},
    "design": {*_PHYSICS, "units", "catalogue"},
    "figures": {*_PHYSICS, "units", "catalogue", "design"},
    "calculators": {
        *_PHYSICS,
        "",
        "numerals",
        "units",
        "documents",
        "catalogue",
        "design",
        "figures",
    },
    "site": {"", *_ALL, "catalogue", "calculators"},
    "library": {*_ALL, "documents", "share", "units", "catalogue", "design", "calculators"},
    "batch": {"", *_ALL, "documents", "units", "catalogue", "design", "calculators"},
    "cli": {
        "",
        *_ALL,
        "documents",
        "share",
        "units",
        "catalogue",
        "calculators",
        "batch",
        "site",
    },
    "__main__": {"cli"},
}
#: Everything else that a part may import beside the standard library.
OUTSIDE = {
    "units": {"pint"},
    "documents": {"tomli_w"},
    "hydraulics": {"numpy"},
    "agronomy": {"numpy"},
    "catalogue": {"numpy"},
    "design": {"numpy"},
    "figures": {"numpy"},
    "calculators": {"numpy", "segno"},
    # Only for Parquet; not installed with the package.
    "batch": {"pyarrow"},
}


def part_of(name):
    """Return the part of a dotted module name inside the package."""
    return name.partition(".")[2].partition(".")[0]


def imports(tree):
    """Yield the absolute dotted names that a module imports, at any depth of its code."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            if node.module == "evenrow":
                yield from (f"evenrow.{alias.name}" for alias in node.names)
            else:
                yield node.module


def faults(part, tree):
    """Return what a module of `part` imports and must not."""
    found = []
    for name in imports(tree):
        top = name.partition(".")[0]
        if top == "evenrow":
            if part_of(name) not in ALLOWED[part] | {part}:
                found.append(name)
        elif top not in sys.stdlib_module_names and top not in OUTSIDE.get(part, set()):
            found.append(name)
    return found


def name_of(path):
    relative = path.relative_to(ROOT).with_suffix("")
    return ".".join(("evenrow", *relative.parts)).removesuffix(".__init__")


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_point_one_way(path):
    part = part_of(name_of(path))
    assert part in ALLOWED, f"{part} has no place in the layers yet"
    assert faults(part, ast.parse(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("part", "line"),
    [
        ("hydraulics", "from evenrow.units import parse"),
        ("hydraulics", "from evenrow import units"),
        ("catalogue", "import evenrow.design.field"),
        ("design", "def f():\n    import pint"),
        ("calculators", "from evenrow.cli import main"),
        ("calculators", "import js"),
        ("cli", "from pyodide.ffi import to_js"),
        ("errors", "import numpy"),
    ],
)
def test_a_wrong_arrow_is_seen(part, line):
    assert len(faults(part, ast.parse(line))) == 1
