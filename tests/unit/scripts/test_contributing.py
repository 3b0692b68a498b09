"""The map is that of the imports, and the worked changes of the page apply and do what they say."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import layers_hook as layers

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "site_src" / "contributing.md").read_text("utf-8")
DIFFS = re.findall(r"^```diff\n(.*?)^```", PAGE, flags=re.S | re.M)

LOOK = """
import evenrow
from evenrow.catalogue import device
from evenrow.cli import main
assert device("dripline-12").spacings == (0.2, 0.3)
document = {"evenrow": 1, "calculator": "line-water", "length": "1 m", "bore": "2 cm"}
assert evenrow.answer_of(document).headline.kind == "volume"
with evenrow.use_language("pt"):
    assert evenrow.answer_of(evenrow.demo("raspberries")).headline.label == "Zonas"
answer = evenrow.design_of(evenrow.demo("raspberries"))
rules = [part.rule for part in answer.design.parts.parts]
assert any("two where it has more than six parts" in rule for rule in rules)
assert main(["line-water", "--length", "2 m"]) == 0
"""


def test_the_worked_changes_apply_and_work(tmp_path):
    assert len(DIFFS) == 5
    skip = shutil.ignore_patterns("__pycache__", "fixtures", "golden", "browser")
    for name in ("pycore", "tests"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=skip)
    (tmp_path / "site_src").mkdir()
    shutil.copy(ROOT / "mkdocs.yml", tmp_path)
    for number, diff in enumerate(DIFFS):
        file = tmp_path / f"{number}.diff"
        file.write_text(diff, "utf-8")
        run = subprocess.run(
            ["git", "apply", "--verbose", file.name], cwd=tmp_path, capture_output=True, text=True
        )
        assert run.returncode == 0, f"the change no longer applies:\n{diff}\n{run.stderr}"
    words = ["-m", "pytest", "-q", "-p", "no:cacheprovider", "tests/published/test_pipe_volume.py"]
    for what in (["-c", LOOK], words):
        run = subprocess.run(
            [sys.executable, *what], cwd=tmp_path, capture_output=True, text=True,
            env={"PYTHONPATH": str(tmp_path / "pycore")},
        )  # fmt: skip
        assert run.returncode == 0, run.stdout + run.stderr


def test_the_picture_shows_every_part_once_and_only_needed_arrows():
    edges = layers.arrows()
    assert {"hydraulics", "design", "cli", "batch", "library"} <= set(edges)
    svg = layers.picture()
    for part in edges:
        assert svg.count(f">{part}</text>") == 1
    shown = layers.needed(edges)
    assert ("design", "catalogue") in shown
    assert ("cli", "hydraulics") not in shown
    rank = layers.ranks(edges)
    assert all(rank[part] > rank[other] for part in edges for other in edges[part])


def test_parts_in_a_circle_are_an_error():
    with pytest.raises(ValueError, match="a -> b -> a"):
        layers.ranks({"a": {"b"}, "b": {"a"}})
