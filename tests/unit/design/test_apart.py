"""A value that breaks its limit never reads like the limit."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.apart import apart
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.limits import shortfalls
from evenrow.design.solve import design
from evenrow.units import parse


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.4, ("0.0392\u00a0bar", "0.0392\u00a0bar")),  # the same value
        (0.39, ("0.0382\u00a0bar", "0.0392\u00a0bar")),
        (0.3999, ("0.03922\u00a0bar", "0.03923\u00a0bar")),
        (0.39999, ("0.039226\u00a0bar", "0.039227\u00a0bar")),
        (0.4 - 1e-7, ("just below 0.0392\u00a0bar", "0.0392\u00a0bar")),
        (0.4 + 1e-7, ("just above 0.0392\u00a0bar", "0.0392\u00a0bar")),
    ],
)
def test_as_many_digits_as_it_takes_then_words(value, shown):
    assert apart(value, 0.4, "pressure", "metric") == shown


def test_a_share_just_short_of_the_one_wanted():
    assert apart(0.84996, 0.85, "share", "us") == ("84.996\u00a0%", "85\u00a0%")
    assert apart(0.8499, 0.85, "share", "us") == ("84.99\u00a0%", "85\u00a0%")
    assert apart(0.845, 0.85, "share", "us") == ("84.5\u00a0%", "85\u00a0%")


@given(
    st.floats(1e-3, 1e3),
    st.floats(-0.2, 0.2),
    st.sampled_from(["us", "metric"]),
    st.sampled_from(["pressure", "flow", "velocity", "share"]),
)
def test_different_values_never_read_the_same_and_keep_their_order(bound, part, system, quantity):
    value = bound * (1.0 + part)
    one, other = apart(value, bound, quantity, system)
    assert (one == other) == (value == bound)
    if value == bound:
        return
    if one.startswith("just "):
        assert one == f"just {'below' if value < bound else 'above'} {other}"
    else:
        assert (parse(one, quantity) < parse(other, quantity)) == (value < bound)


def test_sentences_about_limits_that_are_hardly_broken():
    found = design(field_of(*read(CALCULATOR, demo("school-garden"))))
    least = found.field.line.device.emitter.head_min
    (zone,) = found.zones
    low = replace(zone, emitter_head_min=least * (1 - 1e-7))
    (short,) = shortfalls(found.field, found.candidate, [low])
    assert "is just below 0.0392\u00a0bar, below the 0.0392\u00a0bar that" in short.text
    uneven = replace(zone, eu=found.field.eu * (1 - 2e-4))
    (short,) = shortfalls(found.field, found.candidate, [uneven])
    reached, wanted = short.text.split(" of ")[1].split(", below the ")
    assert parse(reached, "share") < parse(wanted.removesuffix(" wanted"), "share")
