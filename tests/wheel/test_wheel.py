"""The wheel, built and used in environments with nothing else in them.

Every Python from 3.11 on that this machine has is tried, with the oldest and with the newest
packages that the wheel allows; which these were is printed (``pytest -rP``).
"""

import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
NEEDED = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
UV = Path(sys.executable).with_name("uv")
MINORS = range(11, 16)
#: The last Python for which the oldest NumPy that we allow has wheels.
LAST_FOR_OLDEST = 12


def pythons():
    """Return a Python of each version that is found: by its name, or kept by pyenv."""
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    found = {sys.version_info.minor: sys.executable}
    for minor in MINORS:
        tries = [*kept.glob(f"3.{minor}.*/bin/python"), shutil.which(f"python3.{minor}")]
        for path in filter(None, tries):
            asked = [path, "-c", "import sys; print(sys.version_info.minor)"]
            run = subprocess.run(asked, capture_output=True, text=True)
            if run.returncode == 0 and int(run.stdout) == minor:
                found.setdefault(minor, str(path))
    return found


PYTHONS = pythons()
CASES = [
    (minor, resolution)
    for minor in sorted(PYTHONS)
    for resolution in ("lowest-direct", "highest")
    if resolution == "highest" or minor <= LAST_FOR_OLDEST
]


@pytest.fixture(scope="session")
def wheel(tmp_path_factory):
    """Build the wheel from a copy: building writes beside the sources."""
    copy = tmp_path_factory.mktemp("source")
    documents = ("README.md", "LICENSE", "CHANGELOG.md")
    for name in ("pyproject.toml", "setup.py", "mkdocs.yml", *documents):
        shutil.copy(ROOT / name, copy)
    skip = shutil.ignore_patterns("__pycache__", "*.egg-info", "node_modules")
    for name in ("pycore", "site_src", "scripts"):
        shutil.copytree(ROOT / name, copy / name, ignore=skip)
    out = tmp_path_factory.mktemp("wheel")
    words = ["build", "-q", "--wheel", "--no-build-isolation", "--python", sys.executable]
    subprocess.run([UV, *words, "-o", out, copy], check=True)
    (made,) = out.glob("*.whl")
    return made


@pytest.fixture(scope="session")
def environment(wheel, tmp_path_factory):
    """Return what makes an environment with the wheel in it, each once."""
    made = {}

    def make(minor, resolution):
        if (minor, resolution) not in made:
            place = tmp_path_factory.mktemp(f"python3{minor}") / "env"
            subprocess.run([UV, "venv", "-q", "--python", PYTHONS[minor], place], check=True)
            python = place / "bin" / "python"
            words = ["--resolution", resolution, "--only-binary", ":all:"]
            # Named by themselves, so that the oldest of each is taken, not of what they need.
            install = [UV, "pip", "install", "-q", "--python", python, *words, wheel, *NEEDED]
            subprocess.run(install, check=True)
            made[minor, resolution] = python
        return made[minor, resolution]

    return make


def test_the_wheel_is_pure_and_holds_what_it_should(wheel):
    assert wheel.name.endswith("-py3-none-any.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    tops = {name.partition("/")[0].partition("-")[0] for name in names}
    assert tops == {"evenrow"}
    for name in ("py.typed", "figures/plan.css", "notebook.css", "languages/es/batch.json"):
        assert f"evenrow/{name}" in names
    sources = {p.relative_to(ROOT / "pycore").as_posix() for p in (ROOT / "pycore").rglob("*.py")}
    assert sources <= set(names)


@pytest.mark.parametrize(("minor", "resolution"), CASES, ids=lambda value: str(value))
def test_it_works_in_a_bare_environment(environment, tmp_path, minor, resolution):
    words = [
        environment(minor, resolution),
        "-I",
        "-W",
        "error",
        Path(__file__).parent / "use_it.py",
    ]
    run = subprocess.run([*words, tmp_path], capture_output=True, text=True, cwd=tmp_path)
    print(run.stdout)
    assert run.returncode == 0, run.stderr
    assert run.stdout.startswith(f"Python 3.{minor}.")
    assert ("NumPy 1.26" in run.stdout) == (resolution == "lowest-direct")


def test_types_reach_whoever_uses_it(environment, tmp_path):
    python = environment(min(PYTHONS), "highest")
    program = tmp_path / "program.py"
    right = (
        "import evenrow\n"
        "from evenrow.batch import run\n"
        "answer = evenrow.design_of(evenrow.demo('raspberries'))\n"
        "zones: int = len(answer.design.zones)\n"
        "done: int = run(['a.toml'], 'b.csv').kept\n"
    )
    for more, good in (("", True), ("wrong: int = answer.verdict\n", False)):
        program.write_text(right + more, "utf-8")
        words = ["-m", "mypy", "--strict", "--python-executable", python, program]
        found = subprocess.run(
            [sys.executable, *words], capture_output=True, text=True, cwd=tmp_path
        )
        assert (found.returncode == 0) == good, found.stdout
        assert good or 'has type "str"' in found.stdout
