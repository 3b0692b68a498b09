"""What the README and the pages show works as it stands there."""

import doctest
import os
import re
import shlex
import shutil
from pathlib import Path

import pytest

from evenrow.calculators.registry import answer
from evenrow.cli import main
from evenrow.documents import from_text

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
#: What is read by people: the README first.
TEXTS = [ROOT / "README.md", *sorted((ROOT / "site_src").rglob("*.md"))]


#: Code between fences: its language, and what it says.
FENCE = re.compile(r"^```([\w-]*)[^\n]*\n(.*?)^```[ \t]*$", re.M | re.S)


def commands(text):
    """Return the commands that a text shows: in indented code, between fences, in a sentence."""
    typed = [found[2] for found in FENCE.finditer(text) if found[1] in ("", "sh", "console")]
    outside = FENCE.sub("", text)
    found = re.findall(r"^ {4,}evenrow (?!=)(\S.*?)(?:\s{2,}#.*)?$", outside, flags=re.M)
    for code in typed:
        found += re.findall(r"^(?:\$ )?evenrow (?!=)(\S.*?)(?:\s{2,}#.*)?$", code, flags=re.M)
    return [*found, *re.findall(r"`evenrow ([^`]+)`", outside)]


#: Its commands need the table that it shows: see `test_library_guide.py`.
LIBRARY = ROOT / "site_src" / "library.md"
SHOWING = [path for path in TEXTS if path != LIBRARY and commands(path.read_text("utf-8"))]


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
    text = """    evenrow a --b 'c d'   # e
    evenrow = 1
evenrow x
A word, `evenrow f > g`.

```toml
evenrow = 1
```

evenrow y

```sh
evenrow h
$ evenrow i --j
```

```toml
evenrow = 1
```
"""
    assert commands(text) == ["a --b 'c d'", "h", "i --j", "f > g"]


def test_the_readme_and_the_guides_show_commands():
    names = [path.relative_to(ROOT).as_posix() for path in SHOWING]
    assert names[0] == "README.md"
    assert {
        "site_src/guides/index.md",
        "site_src/es/guides/index.md",
        "site_src/own-site.md",
    } <= set(names)


@pytest.mark.parametrize("path", SHOWING, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_command_that_is_shown_ends_well(path, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOT / "tests" / "fixtures" / "hill-coop", tmp_path / "catalogue")
    for command in commands(path.read_text("utf-8")):
        # A word in capitals stands for a folder of one's own.
        words, _, target = command.replace(" DIR", " catalogue").partition(" > ")
        # A whole site is built by the tests of that; here everything before it.
        check = ["--check"] if words.startswith("site ") else []
        assert main([*shlex.split(words), *check]) == 0, command
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
