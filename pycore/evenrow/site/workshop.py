"""Where a site is built: in a clone, or from the files that an installed package carries."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import evenrow
from evenrow.errors import InputError
from evenrow.site.order import Order, write_own
from evenrow.words import tr

PACKAGE = Path(evenrow.__file__).parent
#: Names the folder for what the build fetches and makes on its way (`scripts/common.py`).
WORK_VARIABLE = "EVENROW_WORK"


@dataclass(frozen=True, kw_only=True)
class Workshop:
    """Where the pages and the scripts of the build stand, and where the build may write."""

    source: Path
    work: Path


def find_workshop(package: Path = PACKAGE) -> Workshop:
    """Return where this copy of the package can build a site.

    Parameters
    ----------
    package : Path
        Folder of the package.

    Raises
    ------
    InputError
        Code ``no_site_files``: the copy has neither a clone around it nor the files inside.
    """
    inside, clone = package / "site_files", package.parent.parent
    if inside.joinpath("scripts", "build_own_site.py").is_file():
        cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
        work = os.environ.get(WORK_VARIABLE) or cache / "evenrow" / evenrow.__version__
        return Workshop(source=inside, work=Path(work))
    if clone.joinpath("scripts", "build_own_site.py").is_file():
        return Workshop(source=clone, work=Path(os.environ.get(WORK_VARIABLE) or clone))
    raise InputError(
        tr("this copy of Evenrow does not hold the pages that a site is built from"),
        code="no_site_files",
        field="site",
        given=str(package),
        accepted=tr("an installed wheel of Evenrow, or a clone of its repository"),
    )


def build_site(order: Order) -> int:
    """Build the site of an order.

    Parameters
    ----------
    order : Order
        What was read and found sound.

    Returns
    -------
    int
        Exit status of the build, which has said itself what stopped it: 0 when the site stands
        at ``order.out``, with a zip of it beside.

    Raises
    ------
    InputError
        When this copy of the package cannot build a site.
    """
    workshop = find_workshop()
    scripts = workshop.source / "scripts"
    environment = {**os.environ, WORK_VARIABLE: str(workshop.work)}
    # The build runs a Python of its own, in which this package's own paths have no place.
    environment.pop("PYTHONPATH", None)
    with tempfile.TemporaryDirectory() as folder:
        own = Path(folder)
        write_own(order, own)
        words = ["--own", str(own), "--out", str(order.out.absolute())]
        for command in (
            [sys.executable, str(scripts / "environment.py"), "site"],
            [_python(workshop.work), str(scripts / "build_own_site.py"), *words],
        ):
            status = subprocess.run(command, env=environment, stdin=subprocess.DEVNULL).returncode
            if status:
                return status
    return 0


def _python(work: Path) -> str:
    """Return the Python of the environment that the build has made."""
    windows = work / ".venv" / "Scripts" / "python.exe"
    return str(windows if windows.exists() else work / ".venv" / "bin" / "python")
