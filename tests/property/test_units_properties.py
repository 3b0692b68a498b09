import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.errors import InputError
from evenrow.units import QUANTITIES, format_number, format_value, from_unit, menu, parse, to_unit

NAMES = st.sampled_from(sorted(QUANTITIES))
SYSTEMS = st.sampled_from(["us", "metric"])
SIZES = st.floats(min_value=1e-5, max_value=1e6)
SIGNED = st.builds(math.copysign, SIZES, st.sampled_from([1.0, -1.0]))
#: Pieces that look like values, so that the search reaches deep into the grammar.
PIECES = st.sampled_from(
    [
        *"0123456789.,'\"/*^-+:% eE½°³µ",
        " ft",
        " in",
        "gal",
        "min",
        "m",
        "per 100 ft",
        "of water",
        "h",
    ]
)
TEXTS = st.one_of(st.text(max_size=80), st.lists(PIECES, max_size=12).map("".join))


@settings(max_examples=400, deadline=None)
@given(text=TEXTS, quantity=NAMES)
def test_any_text_gives_a_finite_number_or_an_input_error(text, quantity):
    try:
        value = parse(text, quantity, field="x")
    except InputError as error:
        refusal = error
    else:
        assert math.isfinite(value)
        return
    assert refusal.field == "x"
    assert refusal.message


@given(value=SIGNED, quantity=NAMES, data=st.data())
def test_every_unit_of_a_menu_goes_there_and_back(value, quantity, data):
    unit = data.draw(st.sampled_from(menu(quantity) or ("",)))
    si = from_unit(value, quantity, unit)
    assert to_unit(si, quantity, unit) == pytest.approx(value, rel=1e-9, abs=1e-9)
    if value > 0 or quantity != "number":
        assert parse(f"{value!r} {unit}", quantity) == pytest.approx(si, rel=1e-12)


@given(number=SIGNED, quantity=NAMES, system=SYSTEMS)
def test_what_is_shown_can_be_read_back(number, quantity, system):
    unit = QUANTITIES[quantity].us if system == "us" else QUANTITIES[quantity].metric
    value = from_unit(number, quantity, unit)
    text = format_value(value, quantity, system, 12)
    slack = 30.0 if quantity == "duration" else 1e-9 * max(1.0, abs(value))
    assert parse(text, quantity) == pytest.approx(value, rel=1e-9, abs=slack)


@given(value=st.floats(-1e300, 1e300), digits=st.integers(1, 15))
def test_numbers_keep_their_digits(value, digits):
    text = format_number(value, digits)
    plain = text.replace("\u202f", "").replace("−", "-")
    assert float(plain) == pytest.approx(value, rel=0.5000001 * 10 ** (1 - digits), abs=0)
    assert text != "−0"
    if 1e-6 <= abs(value) < 1e15:
        assert "e" not in text


@given(whole=st.integers(0, 500), part=st.integers(0, 11), fraction=st.integers(0, 7))
def test_feet_and_inches_in_every_spelling(whole, part, fraction):
    inches = f"{part} {fraction}/8"
    expected = whole * 0.3048 + (part + fraction / 8) * 0.0254
    for text in (f"{whole}' {inches}\"", f"{whole} ft {inches} in", f"{whole}ft {inches}″"):
        assert parse(text, "length") == pytest.approx(expected, rel=1e-12, abs=1e-15)


@given(st.integers(1, 999), st.integers(0, 999), st.integers(0, 99))
def test_points_and_commas_in_both_ways_of_writing(thousands, rest, cents):
    expected = thousands * 1000 + rest + cents / 100
    english = f"{thousands},{rest:03d}.{cents:02d} m"
    continental = f"{thousands}.{rest:03d},{cents:02d} m"
    spaced = f"{thousands}\u202f{rest:03d},{cents:02d} m"
    for text in (english, continental, spaced):
        assert parse(text, "length") == pytest.approx(expected, rel=1e-12)
