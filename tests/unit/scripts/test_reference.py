"""The reference shows every public name, and nothing that is not there."""

import re
from importlib import import_module
from pathlib import Path

import pytest

import evenrow
import evenrow.agronomy
import evenrow.batch
import evenrow.catalogue
import evenrow.hydraulics

PAGES = sorted((Path(__file__).parents[3] / "site_src" / "reference").glob("*.md"))
TARGETS = [name for path in PAGES for name in re.findall(r"^::: (\S+)$", path.read_text(), re.M)]


def target(name):
    """Return what a dotted name of the reference is."""
    try:
        return import_module(name)
    except ModuleNotFoundError:
        module, _, last = name.rpartition(".")
        return getattr(import_module(module), last)


@pytest.mark.parametrize("name", TARGETS)
def test_what_is_shown_is_there_and_documented(name):
    assert target(name).__doc__


def test_nothing_is_shown_twice():
    assert len(set(TARGETS)) == len(TARGETS) > 100


@pytest.mark.parametrize(
    "package",
    [evenrow, evenrow.batch, evenrow.catalogue, evenrow.hydraulics],
    ids=lambda package: package.__name__,
)
def test_every_public_name_is_shown(package):
    shown = [target(name) for name in TARGETS]
    modules = {
        each.__name__ for each in shown if hasattr(each, "__path__") or hasattr(each, "__file__")
    }
    plain = {"__version__", "FRICTION_LAWS", "COLUMNS", "Row"}  # values: named in the texts
    missing = [
        name
        for name in set(package.__all__) - plain
        if getattr(package, name) not in shown
        and getattr(getattr(package, name), "__module__", "") not in modules
    ]
    assert missing == []
