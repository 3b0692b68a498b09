"""What the README shows works as it stands there."""

import doctest
import re
import shlex
from pathlib import Path

from evenrow.calculators.registry import answer
from evenrow.cli import main
from evenrow.documents import from_text

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")


def test_the_library_example_gives_what_it_says():
    test = doctest.DocTestParser().get_doctest(README, {}, "README", "README.md", 0)
    assert len(test.examples) >= 5
    assert doctest.DocTestRunner().run(test).failed == 0


def test_the_design_file_is_answered():
    lines = README.split("evenrow = 1\n")[1].split("\n\nWhat is left out")[0]
    text = "evenrow = 1\n" + re.sub(r"^ {4}", "", lines, flags=re.M)
    _, result, _ = answer(from_text(text))
    assert result.headline.value == 1


def test_the_commands_end_well(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    commands = re.findall(r"^    evenrow ([a-z].*?)(?:\s{2,}#.*)?$", README, flags=re.M)
    assert len(commands) == 5
    for command in commands:
        words, _, target = command.partition(" > ")
        assert main(shlex.split(words)) == 0, command
        printed = capsys.readouterr().out
        if target:
            Path(target).write_text(printed, "utf-8")
