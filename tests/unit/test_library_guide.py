"""Every command and every program of the library's guide does what the guide says."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from evenrow.batch import read_table
from evenrow.batch.columns import BAD_INPUT, DESIGNED, FAULT, IMPOSSIBLE
from evenrow.cli import main

GUIDE = (Path(__file__).parents[2] / "site_src" / "library.md").read_text("utf-8")
SHELL = re.findall(r"^```sh\n(.*?)^```", GUIDE, flags=re.S | re.M)
#: What the tests of the wheel do in an environment of its own.
ELSEWHERE = ("pip install",)


def test_the_commands_run_as_they_stand(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (table,) = re.findall(r"leaves the\ndesign as it is:\n\n((?: {4}.*\n)+)", GUIDE)
    Path("variants.csv").write_text(re.sub(r"^ {4}", "", table, flags=re.M), "utf-8")
    lines = [re.sub(r"\s+#.*", "", line) for block in SHELL for line in block.splitlines()]
    commands = [line for line in lines if line and not line.startswith(ELSEWHERE)]
    assert len(commands) == 3
    for command in commands:
        words, _, target = command.partition(" > ")
        assert main(shlex.split(words)[1:]) == 0, command
        printed = capsys.readouterr().out
        if target:
            Path(target).write_text(printed, "utf-8")
    assert [row["status"] for row in read_table("table.csv")] == [DESIGNED]
    names = [row["design"] for row in read_table("answers.csv")]
    assert names == ["variants.csv:short", "variants.csv:weak tap"]


@pytest.mark.parametrize("status", [DESIGNED, IMPOSSIBLE, BAD_INPUT, FAULT])
def test_every_status_is_explained(status):
    assert f"| `{status}` |" in GUIDE


def test_the_same_function_maps_on_a_local_cluster(tmp_path, capsys):
    (program,) = re.findall(r"^```python\n(.*?)^```", GUIDE, flags=re.S | re.M)
    assert main(["demo", "raspberries"]) == 0
    (tmp_path / "field.toml").write_text(capsys.readouterr().out, "utf-8")
    (tmp_path / "other.toml").write_text("evenrow = 1\nrows = 5\n", "utf-8")
    (tmp_path / "program.py").write_text(program, "utf-8")
    words = [sys.executable, "program.py"]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    run = subprocess.run(words, capture_output=True, text=True, cwd=tmp_path, env=env)
    assert run.returncode == 0, run.stderr
    rows = read_table(tmp_path / "region.csv")
    assert [row["status"] for row in rows] == [DESIGNED, BAD_INPUT]
    assert rows[0]["zones"] == 1
