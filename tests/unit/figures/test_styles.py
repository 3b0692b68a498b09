"""Every class that a drawing uses has a rule in the style sheets, and no drawing styles itself."""

import re
from pathlib import Path

import pytest

import evenrow.figures

ROOT = Path(__file__).parents[3]
CSS = "".join(
    (Path(evenrow.figures.__file__).parent / name).read_text(encoding="utf-8")
    for name in ("chart.css", "plan.css")
)
MODULES = sorted(Path(evenrow.figures.__file__).parent.glob("*.py"))
#: Marks for scripts and for elements whose look is that of what they are in.
BARE = {"er-options", "er-hatched"}


def classes(source):
    """Return the names of classes in a module; those with a number in them once with a 1."""
    found = re.findall(r"er-[a-z]+(?:-[a-z]+)*(?:-\{[^}]*\})?", source)
    return {re.sub(r"\{[^}]*\}", "1", name) for name in found} - BARE


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_every_class_has_a_rule(path):
    names = classes(path.read_text(encoding="utf-8"))
    bare = [name for name in names if not re.search(rf"\.{name}(?![\w-])", CSS)]
    assert bare == []


def test_there_are_classes_and_a_missing_rule_would_be_seen():
    assert sum(len(classes(path.read_text(encoding="utf-8"))) for path in MODULES) > 40
    assert not re.search(r"\.er-nothing(?![\w-])", CSS)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_no_drawing_carries_styles_scripts_or_links(path):
    source = path.read_text(encoding="utf-8")
    assert not re.search(r'style="|<style|<script|\son[a-z]+="|href=', source)
