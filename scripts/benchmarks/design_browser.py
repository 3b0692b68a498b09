"""A whole design in the browser against the same design in CPython."""

from __future__ import annotations

import json
import statistics
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
import browser_work

from evenrow.design.demos import NAMES

__all__ = ["design_browser_vs_cpython"]

TURNS = 5

#: What both run; the same text, so that neither does less.
WORK = """
from evenrow.calculators.instruction_sections import instruction_sections
from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.solve import design

FIELDS = {name: field_of(*read(CALCULATOR, demo(name))) for name in NAMES}

def whole(name):
    found = design(FIELDS[name])
    instruction_sections(found, FIELDS[name].system)
    return float(sum(zone.flow for zone in found.zones))
"""


def design_browser_vs_cpython() -> dict[str, Any]:
    """Design the four demos whole, instructions with them, turn by turn in both."""
    work = f"NAMES = {json.dumps(list(NAMES))}\n{WORK}"
    times = browser_work.interleaved(NAMES, work, TURNS)
    medians = {name: tuple(map(statistics.median, both)) for name, both in times.items()}
    listed = ", ".join(
        f"{name} {a * 1e3:.0f} and {b * 1e3:.0f} ms" for name, (a, b) in medians.items()
    )
    value = statistics.geometric_mean(a / b for a, b in medians.values())
    return {
        "name": "whole design in the browser over CPython", "value": round(value, 2),
        "target": 4.0, "better": "lower", "unit": "x",
        "method": f"geometric mean over the demos of medians of {TURNS} interleaved designs with "
        f"their instructions, headless Chromium and this Python: {listed}; flows equal to 1e-9",
    }  # fmt: skip


if __name__ == "__main__":
    print(design_browser_vs_cpython())
