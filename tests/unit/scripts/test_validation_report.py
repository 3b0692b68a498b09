"""The validation report belongs to the published checks as they stand and tells what they found."""

import ast
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import validation_hook as hook
import validation_recorder as recorder

ROOT = Path(__file__).parents[3]
CHECKS = sorted((ROOT / "tests" / "published").glob("test_*.py"))
RECORD = json.loads(hook.RECORD.read_text("utf-8"))
STALE = "run ./scripts/record_checks"


def names_in(path):
    tree = ast.parse(path.read_text("utf-8"))
    functions = (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))
    return {node.name for node in functions if node.name.startswith("test_")}


def test_every_module_and_every_test_is_in_it():
    assert [module["module"] for module in RECORD] == [path.stem for path in CHECKS], STALE
    for path, module in zip(CHECKS, RECORD, strict=True):
        told = {check["test"] for check in module["checks"]} | set(module["conditions"])
        assert told == names_in(path), STALE


def test_every_check_is_still_a_statement_of_its_test():
    for path, module in zip(CHECKS, RECORD, strict=True):
        lines = range(1, len(path.read_text("utf-8").splitlines()) + 1)
        there = {recorder.statement_at(str(path), line)[0] for line in lines}
        assert [check["code"] for check in module["checks"] if check["code"] not in there] == [], (
            STALE
        )


def test_every_check_is_within_what_it_allows_and_has_a_mark():
    checks = [check for module in RECORD for check in module["checks"]]
    assert len(checks) > 150
    for check in checks:
        assert abs(check["ours"] - check["expected"]) <= check["allowed"] * (1 + 1e-9), check
        assert check["mark"] in hook.MARKS[:-1], f"{check['module']}: say where the figure is from"


def recorded(tmp_path, folder):
    out = tmp_path / "record.json"
    path = os.pathsep.join([str(ROOT / "scripts"), *sys.path])
    words = ["-m", "pytest", "-q", "-p", "validation_recorder", "-p", "no:cacheprovider"]
    run = subprocess.run(
        [sys.executable, *words, "--record", out, folder],
        capture_output=True, text=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": path},
    )  # fmt: skip
    return run, json.loads(out.read_text("utf-8"))


def test_the_record_is_made_again_the_same(tmp_path):
    path = CHECKS[0]
    run, (again,) = recorded(tmp_path, path)
    assert run.returncode == 0, run.stdout
    (kept,) = [module for module in RECORD if module["module"] == path.stem]
    assert len(again["checks"]) == len(kept["checks"]) > 0
    for one, other in zip(again["checks"], kept["checks"], strict=True):
        assert one["values"] == other["values"]
        assert one["ours"] == pytest.approx(other["ours"], rel=1e-6)


def test_what_is_compared_is_seen_and_a_wrong_figure_still_fails(tmp_path):
    file = tmp_path / "test_small.py"
    file.write_text(
        '"""A title.\n\nA handbook, table 3."""\n'
        "import numpy as np\nimport pytest\n\n"
        "def near(a, b):\n    assert a == pytest.approx(b, abs=0.5)\n\n"
        "def test_some():\n    near(1.25, 1.0)\n"
        "    np.testing.assert_allclose([1.0, 2.0], [1.0, 2.1], rtol=0.1)  # mark: from memory\n"
        "    assert np.array([3.0]) == pytest.approx(np.array([4.0]), rel=0.5)\n\n"
        "def test_wrong():\n    assert 1.0 == pytest.approx(2.0)\n\n"
        "def test_range():\n    assert 1 < 2\n",
        "utf-8",
    )
    run, (module,) = recorded(tmp_path, file)
    assert run.returncode == 1
    assert "1 failed, 2 passed" in run.stdout
    assert (module["title"], module["conditions"]) == ("A title.", ["test_range"])
    first, second, third, wrong = module["checks"]
    assert first["code"] == "near(1.25, 1.0)"
    assert (first["expected"], first["ours"], first["allowed"]) == (1.0, 1.25, 0.5)
    assert first["mark"] == "published"
    assert (second["expected"], second["ours"], second["values"]) == (2.1, 2.0, 2)
    assert second["mark"] == "from memory"
    assert third["allowed"] == pytest.approx(2.0)
    assert wrong["ours"] == 1.0


def test_the_page_shows_figures_and_escapes_code():
    module = {
        "module": "test_of_it", "title": "T", "source": "S", "mark": "published",
        "conditions": ["test_order"],
        "checks": [{"test": "t", "line": 1, "code": "a < b", "said": "", "mark": "published",
                    "values": 3, "expected": 2.0, "ours": 2.5, "allowed": 1.0}],
    }  # fmt: skip
    html = hook.report([module])
    assert "a &lt; b" in html
    assert "<td>2</td><td>2.5</td><td>2.5e-01</td><td>1.0e+00</td>" in html
    assert "Conditions: order." in html
    assert html.count("<circle") == 1
    assert hook.difference({"expected": 0.0, "ours": 0.25}) == 0.25
