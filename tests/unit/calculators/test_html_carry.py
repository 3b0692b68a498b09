import json
import re
from html import unescape

from evenrow.calculators.html_carry import carried_values, carry_html
from evenrow.calculators.result import Column, Fact, Number, Result, Section, Table
from evenrow.calculators.spec import Calculator, Carry

EVIL = '"><script>alert(1)</script>'


def calculator(*carries):
    return Calculator(
        id="one",
        title="One",
        question="How?",
        fields=(),
        run=lambda inputs, system: None,
        examples={},
        carries=carries,
    )


def number(value):
    return Number(name="flow", label="Flow", value=value, kind="flow")


def attribute(html, name):
    return json.loads(unescape(re.search(rf'{name}="([^"]*)"', html)[1]))


def test_numbers_are_written_in_the_readers_units():
    carry = Carry(to="two", label="Two", numbers={"flow": "in.flow"}, inputs={"a.b": "c"})
    result = Result(headline=number(1e-3 / 3.6), verdict="")
    for system, text in (("metric", "1\u00a0m³/h"), ("us", "4.4029\u00a0gal/min")):
        html = carry_html(calculator(carry), result, system)
        assert attribute(html, "data-values") == {"in.flow": text}
        assert attribute(html, "data-inputs") == {"a.b": "c"}
        assert 'href="../two/"' in html


def test_a_number_that_the_answer_lacks_is_left_out():
    carry = Carry(to="two", label="Two", numbers={"flow": "flow", "gone": "gone"})
    for headline in (number(None), Fact(name="flow", label="Flow", text="much")):
        html = carry_html(calculator(carry), Result(headline=headline, verdict=""), "us")
        assert attribute(html, "data-values") == {}


def test_nothing_is_written_where_nothing_goes_on():
    assert carry_html(calculator(), Result(headline=number(1.0), verdict=""), "us") == ""


def test_texts_cannot_become_markup():
    carry = Carry(to=EVIL, label=EVIL, numbers={"flow": EVIL}, inputs={EVIL: EVIL})
    html = carry_html(calculator(carry), Result(headline=number(1.0), verdict=""), "us")
    assert "<script" not in html
    assert attribute(html, "data-inputs") == {EVIL: EVIL}


def test_rows_of_a_table_go_over_by_their_columns():
    table = Table(
        name="zones",
        title="Zones",
        columns=(
            Column(name="zone", label="Zone", kind="count"),
            Column(name="crop", label="Crop"),
            Column(name="flow", label="Flow", kind="flow"),
        ),
        rows=((1, "beans", 1e-3 / 3.6), (2, "", None)),
    )
    result = Result(
        headline=number(1.0), verdict="", sections=(Section(title="Zones", items=(table,)),)
    )
    columns = {"crop": "name", "flow": "flow"}
    carry = Carry(to="two", label="Two", tables={"zones": ("parts", columns), "gone": ("x", {})})
    assert carried_values(carry, result, "metric") == {
        "parts": [{"name": "beans", "flow": "1\u00a0m³/h"}, {}]
    }
