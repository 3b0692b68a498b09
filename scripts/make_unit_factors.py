"""Write pycore/evenrow/unit_factors.json: what Pint makes of the common unit texts.

Run it after a change to unit_registry.txt or to the list below; a test compares the file
with what Pint gives.  ``--check`` only compares and exits with status 1 on a difference.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FILE = ROOT / "pycore" / "evenrow" / "unit_factors.json"

_VOLUMES = "l litre litres liter liters gal gallon gallons"
_TIMES = "s sec min minute h hr hour"
_FLOWS = "gal/min gpm gal/h gph l/h lph l/min lpm"


def _each(tops: str, bottoms: str) -> str:
    """Return every pair of a unit on top and a unit below."""
    return " ".join(f"{top}/{bottom}" for top in tops.split() for bottom in bottoms.split())


#: dimension -> unit keys that need no Pint at run time.
COMMON = {
    "length": "m metre metres meter meters ft foot feet in inch inches cm mm um micron microns "
    "mil mils yd yard yards km mi mile miles",
    "area": "m2 ft2 in2 cm2 mm2 acre acres ac ha hectare hectares",
    "volume": f"{_VOLUMES} ml m3 ft3 in3 qt quart quarts acre*ft acre*in",
    "flow": _each(_VOLUMES, _TIMES) + " gpm gph lpm lph lps ml/min m3/h m3/hr m3/hour m3/min m3/s "
    "ft3/s ft3/min gal/d gal/day",
    "line_flow": _each(_FLOWS, "100ft ft 100m m"),
    "time": "s sec secs second seconds min mins minute minutes h hr hrs hour hours d day days",
    "velocity": "m/s ft/s m/min ft/min cm/s km/h mi/h mph mm/h cm/h in/h mm/d mm/day in/day",
    "mass": "kg g lb lbs pound pounds oz ounce ounces gram grams",
    "pressure": "psi bar bars kpa mpa mbar pa m metre metres meter meters ft foot feet in inch "
    "inches cm mm mwater ftwater inwater cmwater",
    "ratio": "percent pct m/m ft/ft cm/m mm/m in/ft ft/100ft m/100m in/100ft cm/100m",
    "temperature": "degc degf c f k celsius fahrenheit",
}


def text() -> str:
    """Return the contents of the file."""
    from evenrow.units import pint_scale

    factors = {
        dimension: {key: list(pint_scale(key, dimension)) for key in keys.split()}
        for dimension, keys in COMMON.items()
    }
    lines = [
        f" {json.dumps(dimension)}: {{\n"
        + ",\n".join(f"  {json.dumps(key)}: {json.dumps(pair)}" for key, pair in units.items())
        + "\n }"
        for dimension, units in factors.items()
    ]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def main() -> int:
    """Write the file, or with ``--check`` compare it; return the exit status."""
    sys.path.insert(0, str(ROOT / "pycore"))
    if not FILE.exists():
        FILE.write_text(json.dumps({dimension: {} for dimension in COMMON}), encoding="utf-8")
    wanted = text()
    if "--check" in sys.argv[1:]:
        return int(FILE.read_text(encoding="utf-8") != wanted)
    FILE.write_text(wanted, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
