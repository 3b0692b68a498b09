"""Readings as laboratories write them, and what is no reading."""

import math

import pytest

from evenrow.calculators.lab_values import Reading, read_dose, read_reading
from evenrow.errors import InputError

MG = 1e-3


@pytest.mark.parametrize(
    ("text", "name", "low", "high"),
    [
        ("0.4 mg/L", "iron", 0.4 * MG, 0.4 * MG),
        ("0,4", "iron", 0.4 * MG, 0.4 * MG),
        ("400 ppb", "iron", 0.4 * MG, 0.4 * MG),
        ("400 µg/L as Fe", "iron", 0.4 * MG, 0.4 * MG),
        ("0.4 ppm", "iron", 0.4 * MG, 0.4 * MG),
        ("<0.1", "iron", 0.0, 0.1 * MG),
        ("< 0.1 mg/l", "iron", 0.0, 0.1 * MG),
        ("≤0.1 mg/L", "iron", 0.0, 0.1 * MG),
        ("less than 0.1 mg/L", "iron", 0.0, 0.1 * MG),
        (">2 mg/L", "iron", 2 * MG, math.inf),
        ("menos de 0.1 mg/L", "iron", 0.0, 0.1 * MG),
        ("más de 2 mg/L", "iron", 2 * MG, math.inf),
        ("mayor que 2 mg/L", "iron", 2 * MG, math.inf),
        ("no detectado", "iron", 0.0, 0.0),
        ("n.d.", "iron", 0.0, 0.0),
        ("ND", "iron", 0.0, 0.0),
        ("1 mmol/L", "iron", 55.845 * MG, 55.845 * MG),
        ("2 mmol/L", "hardness", 200.174 * MG, 200.174 * MG),
        ("4 meq/L", "hardness", 200.172 * MG, 200.172 * MG),
        ("10 °dH", "hardness", 178.48 * MG, 178.48 * MG),
        ("20 °f", "hardness", 200.0 * MG, 200.0 * MG),
        ("10 gpg", "hardness", 171.18 * MG, 171.18 * MG),
        ("210 mg/L CaCO3", "hardness", 210 * MG, 210 * MG),
        ("2 meq/L", "bicarbonate", 122.034 * MG, 122.034 * MG),
        ("7.4", "ph", 7.4, 7.4),
        ("pH 7.4".removeprefix("pH "), "ph", 7.4, 7.4),
        ("0.8 dS/m", "ec", 0.08, 0.08),
        ("800 µS/cm", "ec", 0.08, 0.08),
        ("0.8 mmhos/cm", "ec", 0.08, 0.08),
        ("8000/mL", "bacteria", 8e9, 8e9),
        ("8000 CFU/mL", "bacteria", 8e9, 8e9),
        ("5000 MPN/100 mL", "bacteria", 5e7, 5e7),
        ("1.5e4", "bacteria", 1.5e10, 1.5e10),
        ("<1 /mL", "bacteria", 0.0, 1e6),
    ],
)
def test_readings(text, name, low, high):
    found = read_reading(text, name, "lab.x")
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize("text", [None, "", "  ", "-", "–", "n/a"])
def test_not_tested(text):
    assert read_reading(text, "iron", "lab.iron") is None


@pytest.mark.parametrize(
    ("text", "name", "code"),
    [
        ("plenty", "iron", "not_a_number"),
        ("-1 mg/L", "iron", "out_of_range"),
        ("< -1", "iron", "out_of_range"),
        ("nan", "iron", "not_finite"),
        ("inf", "iron", "not_finite"),
        ("1,234 mg/L", "iron", "ambiguous"),
        ("7 cubits", "iron", "unknown_unit"),
        ("0.4 - 0.6 mg/L", "iron", "unknown_unit"),
        ("<", "iron", "not_a_number"),
        ("2000 kg/m3", "iron", "out_of_range"),
        ("5 mmol/L", "suspended", "unknown_unit"),
        ("15", "ph", "out_of_range"),
        ("7 mg/L", "ph", "unknown_unit"),
        ("n.d.", "ph", "not_a_number"),
        ("0.8", "ec", "no_unit"),
        ("0.8 mg/L", "ec", "unknown_unit"),
        ("8000 mg/L", "bacteria", "unknown_unit"),
        ("9" * 1000, "iron", "too_long"),
        ("<script>alert(1)</script>", "iron", "not_a_number"),
    ],
)
def test_what_is_no_reading_is_refused_at_its_field(text, name, code):
    with pytest.raises(InputError) as caught:
        read_reading(text, name, "lab.x")
    assert (caught.value.field, caught.value.code) == ("lab.x", code)
    assert caught.value.accepted


def test_a_less_than_counts_as_its_bound_and_a_more_than_as_its_own():
    assert Reading(0.0, 0.1, "<0.1").likely == 0.1
    assert Reading(2.0, math.inf, ">2").likely == 2.0
    assert Reading(0.0, 0.1, "<0.1").below
    assert not Reading(0.1, 0.1, "0.1").below


def test_doses():
    assert read_dose("10 ppm", "f", "x") == pytest.approx(0.01)
    for text in (None, "", "<5", "0", "n.d.", "200 g/L", "ten"):
        with pytest.raises(InputError) as caught:
            read_dose(text, "f", "x")
        assert caught.value.field == "f"
