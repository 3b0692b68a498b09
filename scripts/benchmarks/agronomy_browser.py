"""Crop water, checks and upkeep in the browser against the same in CPython."""

from __future__ import annotations

import statistics
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
import agronomy
import browser_work

__all__ = ["agronomy_browser_vs_cpython"]

TURNS = 15
#: Pages whose whole answers are timed, and the two parts of the crop water that take longest.
PAGES = ("watering-time", "field-check", "water-filter", "upkeep")
NAMES = ("eto", "plan", "days", *PAGES)

#: What both run; the same text, so that neither does less.
WORK = """
import datetime

from agronomy import ours, plan, weather

from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.text import to_text

WEATHER = weather()

def table():
    w, lines = WEATHER, ["date,Tmax (°C),Tmin (°C),RH max (%),RH min (%),wind (m/s),rain (mm)"]
    for i in range(365):
        values = [w["tmax"], w["tmin"], 100 * w["rh_max"], 100 * w["rh_min"], w["wind"]]
        cells = [f"{each[i]:.1f}" for each in values] + [f"{1000 * w['rain'][i]:.1f}"]
        lines.append(",".join([str(w["dates"][i]), *cells]))
    return "\\n".join(lines)

DOCUMENTS = {name: default_document(CALCULATORS[name], "metric") for name in PAGES}
DOCUMENTS["days"] = default_document(CALCULATORS["watering-time"], "metric")
put(DOCUMENTS["days"], "weather.way", "table")
put(DOCUMENTS["days"], "weather.table", table())
put(DOCUMENTS["days"], "weather.latitude", "41.3")

def whole(name):
    if name == "eto":
        return float(ours(WEATHER).eto.sum())
    if name == "plan":
        return plan(WEATHER).total_volume
    _, result, system = answer(DOCUMENTS[name])
    return float(len(to_text(result, system)))
"""


def agronomy_browser_vs_cpython() -> dict[str, Any]:
    """Time crop water and whole answers of the pages about it, turn by turn in both."""
    work = f"PAGES = {PAGES!r}\n{WORK}"
    times = browser_work.interleaved(
        NAMES, work, TURNS, beside=[Path(agronomy.__file__)], apart=1e-9
    )
    # All are over in a blink, and whatever else the machine does can only add to them.
    least = {name: (min(there), min(here)) for name, (there, here) in times.items()}
    listed = ", ".join(
        f"{name} {a * 1e3:.1f} and {b * 1e3:.1f} ms" for name, (a, b) in least.items()
    )
    value = statistics.geometric_mean(a / b for a, b in least.values())
    return {
        "value": round(value, 2),
        "target": 4.0,
        "better": "lower",
        "unit": "x",
        "method": f"geometric mean of the least of {TURNS} interleaved runs, headless Chromium and "
        "this Python: 30 years of reference evapotranspiration, the plan made from them, the "
        "watering time with a year of daily weather, and the answers of four pages to their forms: "
        f"{listed}; results equal",
    }


if __name__ == "__main__":
    print(agronomy_browser_vs_cpython())
