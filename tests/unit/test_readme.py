"""What the README and the pages show works as it stands there."""

import doctest
import os
import re
import shlex
from pathlib import Path

import pytest

from evenrow.calculators.registry import answer
from evenrow.cli import main
from evenrow.documents import from_text

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
#: What is read by people: the README first.
TEXTS = [ROOT / "README.md", *sorted((ROOT / "site_src").rglob("*.md"))]


def commands(text):
    """Return the commands that a text shows: the lines of its code that begin with our name."""
    return re.findall(r"^(?: {4,}|\t+|\$ )evenrow (?!=)(\S.*?)(?:\s{2,}#.*)?$", text, flags=re.M)


SHOWING = [path for path in TEXTS if commands(path.read_text("utf-8"))]


def test_the_library_example_gives_what_it_says():
    test = doctest.DocTestParser().get_doctest(README, {}, "README", "README.md", 0)
    assert len(test.examples) >= 5
    assert doctest.DocTestRunner().run(test).failed == 0


def test_the_design_file_is_answered():
    lines = README.split("evenrow = 1\n")[1].split("\n\nWhat is left out")[0]
    text = "evenrow = 1\n" + re.sub(r"^ {4}", "", lines, flags=re.M)
    _, result, _ = answer(from_text(text))
    assert result.headline.value == 1


def test_commands_are_found_wherever_code_shows_them():
    text = "    evenrow a --b 'c d'   # e\n    evenrow = 1\nevenrow x\n$ evenrow f > g\n"
    assert commands(text) == ["a --b 'c d'", "f > g"]


def test_the_readme_and_the_guides_show_commands():
    names = [path.relative_to(ROOT).as_posix() for path in SHOWING]
    assert names[0] == "README.md"
    assert {"site_src/guides/index.md", "site_src/es/guides/index.md"} <= set(names)


def test_no_command_is_shown_where_it_would_not_be_run():
    # Code between fences stands at the edge of the page, where it is not looked for.
    for path in TEXTS:
        assert not re.search(r"^(?:```|~~~)", path.read_text("utf-8"), flags=re.M), path


@pytest.mark.parametrize("path", SHOWING, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_command_that_is_shown_ends_well(path, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for command in commands(path.read_text("utf-8")):
        words, _, target = command.partition(" > ")
        assert main(shlex.split(words)) == 0, command
        printed = capsys.readouterr().out
        assert printed or "--out" in words, command
        if target:
            Path(target).write_text(printed, "utf-8")


def test_the_scripts_of_the_readme_know_what_it_says_of_them():
    shown = set(re.findall(r"\./scripts/(\w+)", README))
    assert shown == {"run", "test"}
    assert all(os.access(ROOT / "scripts" / name, os.X_OK) for name in shown)
    program = (ROOT / "scripts" / "run_site.py").read_text("utf-8")
    options = re.findall(r"`(?:\./scripts/run )?(--[a-z-]+)[^`]*`", README)
    assert {"--no-serve", "--port", "--base"} <= set(options)
    assert [each for each in options if f'"{each}"' not in program] == []
