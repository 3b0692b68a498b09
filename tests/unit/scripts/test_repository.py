"""Rules for the repository itself that a reader cannot check by eye."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
#: Lines; longer files are two topics.
LONGEST = 450


def tracked():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def test_locked_requirements_have_hashes_and_name_no_index():
    for name in ("site", "test", "browser"):
        text = (ROOT / "scripts" / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
        pins = re.findall(r"^\S+==\S+.*$", text, re.MULTILINE)
        assert len(pins) > 3
        assert all(pin.rstrip().endswith("\\") for pin in pins), name
        assert not re.search(r"https?:|--index|--find-links", text), name


def test_npm_lock_has_integrity_and_names_no_registry():
    text = (ROOT / "scripts" / "package-lock.json").read_text(encoding="utf-8")
    assert '"integrity": "sha512-' in text
    assert "resolved" not in text
    assert "http" not in text


def test_no_file_of_the_runtime_is_tracked():
    heavy = [p.name for p in tracked() if p.suffix in (".whl", ".wasm", ".zip", ".so", ".pyc")]
    assert heavy == []


def test_code_files_stay_short():
    long = {}
    for path in tracked():
        if path.suffix in (".py", ".js", ".mjs", ".css", ".sh"):
            count = len(path.read_text(encoding="utf-8").splitlines())
            if count > LONGEST:
                long[str(path.relative_to(ROOT))] = count
    assert long == {}
