"""Pytest plugin that writes down what the published checks compare: ``--record FILE``.

It looks on while ``pytest.approx`` and ``numpy.testing.assert_allclose`` do their work, and notes
for each comparison the statement it stands in, what was expected, what came out and what is
allowed. The tests know nothing of it. ``./scripts/record_checks`` calls it.
"""

from __future__ import annotations

import ast
import inspect
import json
import re
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

#: Marks of a figure by the words beside it. Of several that match the first holds: the weakest.
MARKS = (
    ("from memory", r"from memory"),
    ("common practice", r"common practice"),
    ("computed by a reference library", r"\blibrar(?:y|ies)\b|\bengine\b"),
    ("computed from its definition", r"computed|definition|exact|integral|symmetr|invariant"),
    ("published", r"published|printed|handbook|table|example|FAO|eq\."),
)
#: Where neither the check nor its module says anything.
UNMARKED = "not said"
#: Longest statement that is shown. [characters]
LONGEST = 220

_notes: list[dict[str, Any]] = []
_running: list[pytest.Item] = []


def mark_of(*words: str) -> str:
    """Return the mark that the first of these texts names."""
    for text in words:
        for name, pattern in MARKS:
            if re.search(pattern, text, re.IGNORECASE):
                return name
    return UNMARKED


@cache
def _parsed(path: str) -> tuple[list[str], ast.Module]:
    text = Path(path).read_text("utf-8")
    return text.splitlines(), ast.parse(text)


def statement_at(path: str, line: int) -> tuple[str, str]:
    """Return the statement of a test file around a line, and the comments beside it."""
    lines, tree = _parsed(path)
    simple = (ast.Assert, ast.Expr, ast.Assign, ast.Return)
    around = [
        node
        for node in ast.walk(tree)
        if isinstance(node, simple) and node.lineno <= line <= (node.end_lineno or 0)
    ]
    if not around:
        return lines[line - 1].strip(), ""
    node = max(around, key=lambda each: each.lineno)
    end = node.end_lineno or node.lineno
    first = node.lineno - 1
    while first > 0 and lines[first - 1].lstrip().startswith("#"):
        first -= 1
    said = " ".join(text.partition("#")[2].strip() for text in lines[first:end] if "#" in text)
    code = re.sub(r"\s+", " ", ast.unparse(node))
    return (code if len(code) <= LONGEST else code[: LONGEST - 1] + "…"), said


@cache
def _function(path: str, name: str) -> tuple[str, str]:
    """Return the comments on a test's first line and above it, and its docstring."""
    lines, tree = _parsed(path)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name == name:
            body = node.body[0].lineno
            first = min([node.lineno, *(d.lineno for d in node.decorator_list)]) - 1
            while first > 0 and lines[first - 1].startswith("#"):
                first -= 1
            found = [text.partition("# ")[2] for text in lines[first : body - 1] if "# " in text]
            inner = lines[body - 2].strip() if body > node.lineno + 1 else ""
            return " ".join([*found, inner.lstrip("# ")]).strip(), ast.get_docstring(node) or ""
    return "", ""


def _place() -> tuple[str, int] | None:
    """Return the line of the running test's function from which the comparison was reached."""
    if not _running:
        return None
    item = _running[-1]
    path, name = str(item.path), getattr(item, "originalname", item.name)
    frame = inspect.currentframe()
    while frame is not None:
        if frame.f_code.co_filename == path and frame.f_code.co_name == name:
            return path, frame.f_lineno
        frame = frame.f_back
    return None


def note(expected: Any, ours: Any, allowed: Any) -> None:
    """Write down a comparison of numbers; anything else is no figure."""
    place = _place()
    try:
        wanted, got = np.broadcast_arrays(np.asarray(expected, float), np.asarray(ours, float))
        bound = np.broadcast_to(np.asarray(allowed, float), wanted.shape)
    except (TypeError, ValueError):
        return
    if place is None or not wanted.size:
        return
    path, line = place
    code, said = statement_at(path, line)
    apart = np.abs(got - wanted).ravel()
    with np.errstate(divide="ignore", invalid="ignore"):
        worst = int(np.nanargmax(np.where(bound.ravel() > 0, apart / bound.ravel(), apart)))
    item = _running[-1]
    function = getattr(item, "originalname", item.name)
    _notes.append(
        {
            "module": Path(path).stem,
            "test": function,
            "line": line,
            "code": code,
            "said": said,
            "values": int(wanted.size),
            "expected": float(wanted.ravel()[worst]),
            "ours": float(got.ravel()[worst]),
            "allowed": float(bound.ravel()[worst]),
        }
    )


class Watched:
    """What ``pytest.approx`` returns, and a look at what it is compared with."""

    __array_ufunc__ = None
    __array_priority__ = 100

    def __init__(self, inner: Any, expected: Any) -> None:
        self.inner, self.expected = inner, expected

    def __eq__(self, ours: object) -> bool:
        """Compare, and write it down."""
        note(self.expected, ours, _allowed(self.inner, self.expected))
        return bool(self.inner == ours)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return repr(self.inner)


def _allowed(inner: Any, expected: Any) -> Any:
    """Return the tolerance of an approx as pytest has it: the larger of relative and absolute."""
    size = np.abs(np.asarray(expected, float))
    given_rel, given_abs = inner.rel, inner.abs
    share = 0.0 if given_rel is None and given_abs is not None else (given_rel or 1e-6)
    return np.maximum(share * size, 1e-12 if given_abs is None else given_abs)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that names the file."""
    parser.addoption("--record", type=Path, required=True, help="file to write the comparisons to")


def pytest_configure(config: pytest.Config) -> None:
    """Look on at both ways to compare."""
    approx, allclose = pytest.approx, np.testing.assert_allclose

    def watched(expected: Any, rel: Any = None, abs: Any = None, nan_ok: bool = False) -> Any:
        inner = approx(expected, rel=rel, abs=abs, nan_ok=nan_ok)
        if isinstance(expected, (dict, str)) or expected is None:
            return inner
        return Watched(inner, expected)

    def closely(
        actual: Any, desired: Any, rtol: float = 1e-7, atol: float = 0.0, **more: Any
    ) -> None:
        note(desired, actual, atol + rtol * np.abs(np.asarray(desired, float)))
        allclose(actual, desired, rtol=rtol, atol=atol, **more)

    pytest.approx = watched  # type: ignore[assignment]
    np.testing.assert_allclose = closely  # type: ignore[assignment]


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Any:
    """Remember which test runs."""
    _running.append(item)
    yield
    _running.pop()


def _merged() -> list[dict[str, Any]]:
    """Return one entry for each statement: how many values, and the one nearest its bound."""
    found: dict[tuple[str, int], dict[str, Any]] = {}
    for each in _notes:
        key = (each["module"], each["line"])
        old = found.get(key)
        if old is None:
            found[key] = dict(each)
            continue
        total = old["values"] + each["values"]
        if _share(each) > _share(old):
            found[key] = dict(each)
        found[key]["values"] = total
    return [found[key] for key in sorted(found)]


def _share(each: dict[str, Any]) -> float:
    return abs(each["ours"] - each["expected"]) / (each["allowed"] or 1e-300)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write everything, by module."""
    paths = {Path(str(item.path)) for item in session.items}
    modules = []
    for path in sorted(paths):
        _, tree = _parsed(str(path))
        about = ast.get_docstring(tree) or ""
        title, _, source = about.partition("\n\n")
        tests = sorted(
            {getattr(i, "originalname", i.name) for i in session.items if i.path == path}
        )
        checks = []
        for each in _merged():
            if each["module"] == path.stem:
                on_test, doc = _function(str(path), each["test"])
                each["mark"] = mark_of(each["said"], on_test, doc, source, title)
                each["said"] = " ".join(filter(None, (each["said"], on_test, doc)))
                checks.append(each)
        compared = {each["test"] for each in checks}
        modules.append(
            {
                "module": path.stem,
                "title": title,
                "source": source,
                "mark": mark_of(source, title),
                "checks": checks,
                "conditions": [name for name in tests if name not in compared],
            }
        )
    target: Path = session.config.getoption("--record")
    target.write_text(json.dumps(modules, indent=1, ensure_ascii=False) + "\n", "utf-8")
    if exitstatus:
        sys.stderr.write("checks failed: what was recorded is not to be kept\n")
