"""Unit factors against NIST Special Publication 811 (2008 edition), appendix B.

The factors of ``data/unit_factors.csv`` are computed from the exact definitions there (inch,
pound, US gallon of 231 cubic inches, standard gravity). The short table below holds the
factors as appendix B prints them, to seven digits; mark: from memory.
"""

import csv
from pathlib import Path

import pytest

from evenrow.units import from_unit, parse, to_unit

GRAVITY, DENSITY = 9.80665, 1000.0

PRINTED = [
    # unit text, quantity, factor to SI as printed; pressures in pascal
    ("ft", "length", 3.048e-1),
    ("in", "length", 2.54e-2),
    ("mil", "thickness", 2.54e-5),
    ("mile", "length", 1.609344e3),
    ("acre", "area", 4.046856e3),
    ("gal", "volume", 3.785412e-3),
    ("gal/min", "flow", 6.309020e-5),
    ("gal/h", "emitter_flow", 1.051503e-6),
    ("gal/d", "flow", 4.381264e-8),
    ("ft3/min", "flow", 4.719474e-4),
    ("psi", "pressure", 6.894757e3),
    ("bar", "pressure", 1e5),
    ("ft of water", "pressure", 2.989067e3),
    ("in of water", "pressure", 2.490889e2),
    ("lb", "mass", 4.535924e-1),
    ("oz", "mass", 2.834952e-2),
]


@pytest.mark.parametrize(("unit", "quantity", "factor"), PRINTED)
def test_factors_as_printed(unit, quantity, factor):
    value = from_unit(1.0, quantity, unit)
    if quantity == "pressure":
        value *= DENSITY * GRAVITY
    assert value == pytest.approx(factor, rel=2e-7)


def rows():
    path = Path(__file__).parent / "data" / "unit_factors.csv"
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line[0] != "#"]
    return list(csv.DictReader(lines))


#: How the table names a unit -> what a user types, and the quantity.
TYPED = {
    "gallon (US)": ("gal", "volume"),
    "gallon": ("gal", "volume"),
    "gal": ("gal", "volume"),
    "m3": ("m3", "volume"),
    "L": ("L", "volume"),
    "ft3": ("ft3", "volume"),
    "acre-inch": ("acre-inch", "volume"),
    "acre-foot": ("acre-foot", "volume"),
    "ft2 x inch": ("ft2·in", "volume"),
    "gpm": ("gpm", "flow"),
    "gph": ("gph", "flow"),
    "m3/s": ("m3/s", "flow"),
    "L/s": ("L/s", "flow"),
    "L/h": ("L/h", "flow"),
    "psi": ("psi", "pressure"),
    "Pa": ("Pa", "pressure"),
    "bar": ("bar", "pressure"),
    "kPa": ("kPa", "pressure"),
    "ft of water (conventional)": ("ft of water", "pressure"),
    "m of water (conventional)": ("m of water", "pressure"),
    "inch of water (conventional)": ("in of water", "pressure"),
    "acre (international)": ("acre", "area"),
    "m2": ("m2", "area"),
    "mil": ("mil", "length"),
    "um": ("um", "length"),
    "inch": ("inch", "length"),
    "mm": ("mm", "length"),
}
#: Other definitions of the foot and of water, and numbers that are no unit factor.
LEFT_OUT = {
    ("ft of water (39.2 F)", "Pa"),
    ("acre (US survey)", "m2"),
    ("in/h per (gph per in2)", "-"),
    ("velocity constant", "ft/s"),
}


def test_every_row_of_the_table_is_used_or_left_out_by_name():
    pairs = {(row["from"], row["to"]) for row in rows()}
    assert {pair for pair in pairs if not {*pair} <= TYPED.keys()} == LEFT_OUT


USED = [row for row in rows() if (row["from"], row["to"]) not in LEFT_OUT]


@pytest.mark.parametrize("row", USED, ids=lambda row: f"{row['from']} to {row['to']}")
def test_factors_from_exact_definitions(row):
    start, quantity = TYPED[row["from"]]
    end, _ = TYPED[row["to"]]
    value = to_unit(parse(f"1 {start}", quantity), quantity, end)
    assert value == pytest.approx(float(row["factor"]), rel=5e-10)


def test_the_velocity_constant_of_american_tables():
    # v [ft/s] = 0.4085 Q [gal/min] / D^2 [in]: one gallon a minute through a one-inch bore.
    import math

    area = math.pi / 4 * from_unit(1.0, "diameter", "in") ** 2
    velocity = to_unit(from_unit(1.0, "flow", "gal/min") / area, "velocity", "ft/s")
    assert velocity == pytest.approx(0.4084976873, rel=1e-9)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (68, 20), (-40, -40), (98.6, 37)]
)
def test_temperatures(fahrenheit, celsius):
    # NIST SP 811, B.8: t/°C = (t/°F - 32) / 1.8
    assert from_unit(fahrenheit, "temperature", "°F") == pytest.approx(celsius, abs=1e-9)
    assert to_unit(celsius, "temperature", "°F") == pytest.approx(fahrenheit, abs=1e-9)


def test_pressure_is_metres_of_water():
    assert parse("1 psi", "pressure") == pytest.approx(0.7030695796, rel=1e-9)
