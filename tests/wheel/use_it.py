"""Run in an environment with nothing but the wheel: what people do first works. Prints versions."""

import json
import platform
import subprocess
import sys
from importlib.metadata import distribution
from pathlib import Path

import numpy

import evenrow
from evenrow.batch import row_of, run
from evenrow.catalogue import device
from evenrow.hydraulics import Lateral, solve_lateral


def library() -> None:
    """Design a field, and solve one lateral."""
    answer = evenrow.design_of(evenrow.demo("market-garden"))
    assert answer.headline.value == len(answer.design.zones)
    json.dumps(answer.to_dict(), allow_nan=False)
    assert "<svg" in answer._repr_html_()
    line = device("dripline-16")
    row = Lateral(emitter=line.emitter, count=62, spacing=0.3048, diameter=line.diameter)
    assert round(float(solve_lateral(row, 10.5).eu), 3) == 0.961  # as the README says
    with evenrow.use_language("es"):
        assert evenrow.answer_of(evenrow.demo("raspberries")).headline.label == "Zonas"


def command(folder: Path) -> None:
    """Go from a demo to its answer with the command."""
    evenrow_command = Path(sys.executable).with_name("evenrow")

    def ask(*words: str) -> str:
        return subprocess.run(
            [evenrow_command, *words], capture_output=True, text=True, check=True, cwd=folder
        ).stdout

    assert ask("--version") == f"evenrow {evenrow.__version__}\n"
    (folder / "field.toml").write_text(ask("demo", "raspberries-by-the-shed"), "utf-8")
    assert "Zones" in ask("design", "field.toml")
    assert "1 designed" in ask("batch", "field.toml", "--out", "table.csv")


def batch(folder: Path) -> None:
    """Work out two designs in processes of their own."""
    text = (folder / "field.toml").read_text("utf-8")
    (folder / "again.toml").write_text(text, "utf-8")
    found = run([folder], folder / "library.csv", processes=2)
    assert found.counts == {"designed": 2}
    assert row_of(folder / "again.toml")["zones"] == 1


def package() -> None:
    """Look at what was installed: typed, pure, with its data, and not from a clone."""
    files = {str(path) for path in distribution("evenrow").files or ()}
    assert "evenrow/py.typed" in files
    assert not [name for name in files if name.endswith((".so", ".pyd")) or "tests/" in name]
    assert "site-packages" in evenrow.__file__


if __name__ == "__main__":
    place = Path(sys.argv[1])
    package()
    library()
    command(place)
    batch(place)
    print(f"Python {platform.python_version()}, NumPy {numpy.__version__}: works")
