"""The files around the code say what is so: versions agree, what they call is there."""

import re
from pathlib import Path

import pytest
import yaml

import evenrow

ROOT = Path(__file__).parents[3]


def loaded(name):
    return yaml.safe_load((ROOT / name).read_text("utf-8"))


def test_the_citation_is_of_this_version():
    citation = loaded("CITATION.cff")
    assert citation["version"] == evenrow.__version__
    assert citation["license"] == "MIT"
    assert f"\n## {evenrow.__version__}" in (ROOT / "CHANGELOG.md").read_text("utf-8")


@pytest.mark.parametrize("name", [".ci/examples/actions.yml", ".ci/examples/pipeline.yml"])
def test_examples_for_forges_call_what_a_person_calls(name):
    assert "'./.ci/run'" in str(loaded(name))
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o100


def test_hooks_before_a_commit_are_checks_of_the_tests():
    (repository,) = loaded(".pre-commit-config.yaml")["repos"]
    assert repository["repo"] == "local"
    known = (ROOT / "scripts" / "run_tests.py").read_text("utf-8")
    for hook in repository["hooks"]:
        program = hook["entry"].split()[0].removeprefix(".venv/bin/")
        assert program == "python" or f'tool("{program}")' in known


def test_files_that_are_named_are_there():
    for name in ("SECURITY.md", "site_src/contributing.md"):
        text = (ROOT / name).read_text("utf-8")
        named = re.findall(r"`((?:tests|scripts|site_src|pycore)/[\w./-]+\.\w+)`", text)
        assert named
        assert [path for path in named if not (ROOT / path).exists()] == []
