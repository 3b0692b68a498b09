import json
import subprocess
import sys
import time

import pytest

from evenrow import units
from evenrow.errors import InputError
from evenrow.units import format_number, format_value, from_unit, menu, parse, system_unit, to_unit
from evenrow.words import use_language

FT, IN, GAL = 0.3048, 0.0254, 0.003785411784
PSI = 6894.757293168361 / 9806.65


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("62 ft", "length", 62 * FT),
        ("62 FT.", "length", 62 * FT),
        ("18.9 m", "length", 18.9),
        ("18.9\u00a0m", "length", 18.9),
        ("12in", "spacing", 12 * IN),
        ("1e3 m", "length", 1000),
        ("2,5 m", "length", 2.5),
        ("0,234 m", "length", 0.234),
        ("1.234 m", "length", 1.234),
        ("12,34 m", "length", 12.34),
        ("1,234.5 ft", "length", 1234.5 * FT),
        ("1.234,5 m", "length", 1234.5),
        ("1,234,567 mm", "length", 1234.567),
        ("1 234 m", "length", 1234),
        ("1\u202f234 m", "length", 1234),
        ("1\u2009234,5 m", "length", 1234.5),
        ("−3 m", "length", -3),
        ("- 3 m", "length", -3),
        ("+3 m", "length", 3),
        (".5 in", "diameter", 0.5 * IN),
        ("5'6\"", "length", 66 * IN),
        ("5′ 6½″", "length", 66.5 * IN),
        ("5' 6", "length", 66 * IN),
        ("-5 ft 6 in", "length", -66 * IN),
        ("5ft6in", "length", 66 * IN),
        ("0 ft 6 in", "length", 6 * IN),
        ("1 1/2 in", "diameter", 1.5 * IN),
        ("1-1/2 in", "diameter", 1.5 * IN),
        ("1½ in", "diameter", 1.5 * IN),
        ('3/4"', "diameter", 0.75 * IN),
        ("15 mil", "thickness", 15e-3 * IN),
        ("0.5 gal/h", "emitter_flow", 0.5 * GAL / 3600),
        ("310 gph", "flow", 310 * GAL / 3600),
        ("5 gpm", "flow", 5 * GAL / 60),
        ("5 gallons per minute", "flow", 5 * GAL / 60),
        ("1 m³/h", "flow", 1 / 3600),
        ("1 m3/h", "flow", 1 / 3600),
        ("1 m^3/h", "flow", 1 / 3600),
        ("6 L/min", "flow", 1e-4),
        ("6 lpm", "flow", 1e-4),
        ("0.45 gal/min/100ft", "line_flow", 0.45 * GAL / 60 / (100 * FT)),
        ("0.45 gal/min per 100 ft", "line_flow", 0.45 * GAL / 60 / (100 * FT)),
        ("5 L/h/m", "line_flow", 5e-3 / 3600),
        ("5 L/h per m", "line_flow", 5e-3 / 3600),
        ("15 psi", "pressure", 15 * PSI),
        ("2 bar", "pressure", 2e5 / 9806.65),
        ("100 kPa", "pressure", 1e5 / 9806.65),
        ("10 m", "pressure", 10),
        ("10 mH2O", "pressure", 10),
        ("10 m of water", "pressure", 10),
        ("30 ft of head", "pressure", 30 * FT),
        ("12 in of water", "pressure", 12 * IN),
        ("1.2 %", "slope", 0.012),
        ("1:80", "slope", 1 / 80),
        ("-1:80", "slope", -1 / 80),
        ("1/80", "slope", 1 / 80),
        ("1 in 80", "slope", 1 / 80),
        ("1.2 ft per 100 ft", "slope", 0.012),
        ("12 mm/m", "slope", 0.012),
        ("90%", "share", 0.9),
        ("68 °F", "temperature", 20),
        ("68F", "temperature", 20),
        ("20 degrees C", "temperature", 20),
        ("293.15 K", "temperature", 20),
        ("41 s", "time", 41),
        ("90 min", "duration", 5400),
        ("1 h 30 min", "duration", 5400),
        ("1h30", "duration", 5400),
        ("1 h 30 min 10 s", "duration", 5410),
        ("5 gal", "volume", 5 * GAL),
        ("3 cubic metres", "volume", 3),
        ("2 acre-inch", "volume", 2 * 4046.8564224 * IN),
        ("900 sq ft", "area", 900 * FT * FT),
        ("2 lb 8 oz", "mass", 2.5 * 0.45359237),
        ("0.5", "number", 0.5),
        # Not in the table: Pint works these out.
        ("5 cc/sec", "flow", 5e-6),
        ("3 g*m/s2/cm2", "pressure", 30 / 9806.65),
        ("2 ha*mm/day", "flow", 20 / 86400),
    ],
)
def test_what_people_write_is_understood(text, quantity, value):
    assert parse(text, quantity) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "quantity", "code"),
    [
        ("", "length", "missing"),
        (" \u00a0", "length", "missing"),
        ("62", "length", "no_unit"),
        (62, "length", "no_unit"),
        ("0.9", "share", "no_unit"),
        ("1,234 ft", "length", "ambiguous"),
        ("12,345 m", "length", "ambiguous"),
        ("3 psi", "length", "wrong_dimension"),
        ("3 m", "flow", "wrong_dimension"),
        ("3 m2", "length", "wrong_dimension"),
        ("3 f", "length", "wrong_dimension"),
        ("3 degc/m", "temperature", "wrong_dimension"),
        ("3 degc*m", "length", "wrong_dimension"),
        ("0.5 m", "number", "wrong_dimension"),
        ("10 m", "duration", "wrong_dimension"),
        ("5'", "time", "wrong_dimension"),
        ("3 furlong", "length", "unknown_unit"),
        ("3 ms", "length", "unknown_unit"),
        ("3 ML", "volume", "unknown_unit"),
        ("5 <b>m</b>", "length", "unknown_unit"),
        ("5 m**9**9", "length", "unknown_unit"),
        ("5 m9", "length", "unknown_unit"),
        ("5 m*m*m*m*m", "length", "unknown_unit"),
        ("9**9**9", "length", "unknown_unit"),
        ("5 m; import os", "length", "unknown_unit"),
        ("5 🌱", "length", "unknown_unit"),
        ("five m", "length", "not_a_number"),
        ("🌱", "length", "not_a_number"),
        ("٣ m", "length", "not_a_number"),
        ("<script>alert(1)</script>", "length", "not_a_number"),
        ("__import__('os')", "length", "not_a_number"),
        ("1.2.3 m", "length", "not_a_number"),
        ("1,23,4 m", "length", "not_a_number"),
        ("1.234,567,8 m", "length", "not_a_number"),
        ("5, m", "length", "not_a_number"),
        ("1/0 in", "length", "not_a_number"),
        ("1:0", "slope", "not_a_number"),
        ("5.5 ft 6 in", "length", "not_a_number"),
        ("5 ft 12 in", "length", "not_a_number"),
        ("5 ft -6 in", "length", "unknown_unit"),
        ("5 ft 6 ft", "length", "not_a_number"),
        ("1'234", "length", "not_a_number"),
        ("nan", "length", "not_finite"),
        ("NaN m", "length", "not_finite"),
        ("-inf m", "length", "not_finite"),
        ("∞ m", "length", "not_finite"),
        (float("nan"), "length", "not_finite"),
        (float("inf"), "length", "not_finite"),
        (10**5000, "length", "not_finite"),
        ("1e400 m", "length", "too_large"),
        ("1e20 m", "length", "too_large"),
        ("9" * 60 + " m", "length", "too_large"),
        ("9" * 1_000_000, "length", "too_long"),
        (True, "length", "wrong_type"),
        (None, "length", "wrong_type"),
        (["62 ft"], "length", "wrong_type"),
    ],
    ids=lambda value: str(value)[:30] if not isinstance(value, int) else "number",
)
def test_what_cannot_be_understood_is_refused_at_its_field(text, quantity, code):
    with pytest.raises(InputError) as caught:
        parse(text, quantity, field="rows.2.length")
    error = caught.value
    assert error.code == code, str(error)
    assert error.field == "rows.2.length"
    assert error.message
    assert error.accepted == units.QUANTITIES[quantity].accepted
    assert len(str(error)) < 400


def test_an_ambiguous_number_is_refused_with_both_readings():
    with pytest.raises(InputError) as caught:
        parse("1,234 ft", "length")
    assert "1234" in caught.value.hint
    assert "1.234" in caught.value.hint


def test_the_message_names_what_the_unit_measures():
    with pytest.raises(InputError, match="“psi” measures a pressure"):
        parse("3 psi", "length")


def test_a_pasted_megabyte_is_refused_without_reading_it():
    text = "9" * 1_000_000
    best = min(_seconds(text) for _ in range(20))
    assert best < 200e-6


def _seconds(text):
    start = time.perf_counter()
    with pytest.raises(InputError):
        parse(text, "length")
    return time.perf_counter() - start


def test_a_bare_number_takes_the_default_unit():
    assert parse("62", "length", default_unit="ft") == pytest.approx(62 * FT)
    assert parse(20, "temperature", default_unit="°C") == 20
    assert parse("62 m", "length", default_unit="ft") == 62


def test_all_unit_texts_that_are_shown_are_in_the_table_and_no_pint_is_loaded():
    code = (
        "import sys\n"
        "from evenrow.units import *\n"
        "for name in QUANTITIES:\n"
        "    for unit in (*menu(name), system_unit(name, 'us'), system_unit(name, 'metric')):\n"
        "        from_unit(1.0, name, unit)\n"
        "parse('5 ft 6 in', 'length')\n"
        "assert 'pint' not in sys.modules\n"
        "parse('5 cc/sec', 'flow')\n"
        "assert 'pint' in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env={"PYTHONPATH": _package_root()})


def _package_root():
    from pathlib import Path

    return str(Path(units.__file__).parent.parent)


def test_menus_begin_with_the_units_of_the_two_systems():
    for name in units.QUANTITIES:
        offered = menu(name)
        if name == "number":
            assert offered == ()
            continue
        assert offered[0] == system_unit(name, "us")
        assert system_unit(name, "metric") in offered
        assert len(set(offered)) == len(offered)


def test_the_examples_in_messages_can_be_read():
    for quantity in units.QUANTITIES.values():
        assert parse(quantity.example_us, quantity.name) > 0
        assert parse(quantity.example_metric, quantity.name) > 0


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0, 3, "0"),
        (-0.0, 3, "0"),
        (62, 3, "62"),
        (62.04, 3, "62"),
        (1.5, 3, "1.5"),
        (1.005, 5, "1.005"),
        (9.996, 3, "10"),
        (999.6, 3, "1000"),
        (1234.56, 3, "1235"),
        (27154.286, 3, "27\u202f154"),
        (1234567.8, 9, "1\u202f234\u202f567.8"),
        (0.0125, 3, "0.0125"),
        (0.00001234, 3, "0.0000123"),
        (1.2e-7, 3, "1.2e-7"),
        (2e20, 3, "2e20"),
        (-5.25, 3, "−5.25"),
        (-0.0004, 1, "−0.0004"),
    ],
)
def test_numbers_are_shown_as_people_read_them(value, digits, text):
    assert format_number(value, digits) == text


@pytest.mark.parametrize(
    ("value", "quantity", "system", "text"),
    [
        (18.8976, "length", "us", "62\u00a0ft"),
        (18.8976, "length", "metric", "18.9\u00a0m"),
        (15 * PSI, "pressure", "us", "15\u00a0psi"),
        (1e-15, "pressure", "us", "0\u00a0psi"),
        (-1e-12, "length", "us", "0\u00a0ft"),
        (0.012, "slope", "us", "1.2\u00a0%"),
        (20, "temperature", "us", "68\u00a0°F"),
        (5400, "duration", "us", "1\u00a0h\u00a030\u00a0min"),
        (7199.9, "duration", "us", "2\u00a0h"),
        (2700, "duration", "metric", "45\u00a0min"),
        (45, "duration", "metric", "45\u00a0s"),
        (5, "count", "us", "5"),
        (0.5, "number", "us", "0.5"),
        (None, "length", "us", "–"),
    ],
)
def test_values_are_shown_in_the_units_of_the_system(value, quantity, system, text):
    assert format_value(value, quantity, system) == text


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
@pytest.mark.parametrize("quantity", ["length", "duration", "number"])
def test_what_is_not_finite_is_never_shown(value, quantity):
    with pytest.raises(ValueError, match="finite"):
        format_value(value, quantity, "us")


def test_to_unit_undoes_from_unit():
    for name in units.QUANTITIES:
        for unit in menu(name) or ("",):
            assert to_unit(from_unit(12.5, name, unit), name, unit) == pytest.approx(12.5)


def test_errors_are_plain_data():
    with pytest.raises(InputError) as caught:
        parse("5 <b>m</b>", "length", field="x")
    json.dumps(caught.value.to_dict())


def test_units_are_shown_and_read_in_the_language_in_use():
    with use_language("es"):
        shown = format_value(1e-5, "line_flow", "metric")
        assert shown.endswith("L/h por m")
        with pytest.raises(InputError, match=r"un largo, como 62 ft o 18\.9 m"):
            parse("3 chain", "length")
    assert parse(shown, "line_flow") == pytest.approx(1e-5, rel=1e-3)
    assert parse("4 ft de agua", "pressure") == parse("4 ft of water", "pressure")
    assert parse("1 en 80", "slope") == parse("1 in 80", "slope") == 1 / 80
