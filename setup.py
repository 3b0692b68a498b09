"""Puts what ``evenrow site`` builds from into the wheel; everything else is in pyproject.toml.

Pages and scripts stay where a clone has them. A wheel carries a copy in ``evenrow/site_files``,
laid out like the repository, so that the same scripts build from either.
"""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

ROOT = Path(__file__).resolve().parent
#: What stays out: what only developers run, and what programs leave behind.
LEFT_OUT = shutil.ignore_patterns(
    "__pycache__", "*.pyc", "node_modules", "benchmarks", "*.in", "bench", "lock", "run", "test"
)


class BuildWithSite(build_py):
    """Build the package, and put the site's sources inside."""

    def run(self) -> None:
        """Copy them, but for an editable install, which has the clone itself."""
        super().run()
        if self.editable_mode:
            return
        target = Path(self.build_lib) / "evenrow" / "site_files"
        shutil.rmtree(target, ignore_errors=True)
        target.mkdir(parents=True)
        for name in ("mkdocs.yml", "CHANGELOG.md"):
            shutil.copy(ROOT / name, target)
        for folder in ("site_src", "scripts"):
            shutil.copytree(ROOT / folder, target / folder, ignore=LEFT_OUT)


setup(cmdclass={"build_py": BuildWithSite})
