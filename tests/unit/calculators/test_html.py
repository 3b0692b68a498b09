"""Forms and answers as HTML: everything escaped, named, and readable back."""

import json
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from evenrow.calculators.html import form_html, result_html
from evenrow.calculators.html_form import split_quantity
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS
from evenrow.calculators.result import (
    Column,
    Fact,
    Figure,
    Notice,
    Number,
    Result,
    Section,
    Steps,
    Table,
)
from evenrow.calculators.spec import Calculator, Choice, Field

EVIL = "\"'><script>alert(1)</script><img src=x onerror=alert(1)>&amp;"
VOID = {"input", "img", "br", "hr", "meta", "link", "path", "rect", "circle", "line"}


class Reader(HTMLParser):
    """Collects tags and checks that they close in order."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.open, self.texts = [], [], []
        self.feed(html)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append(data)

    def all(self, tag, **wanted):
        names = {key.rstrip("_").replace("_", "-"): value for key, value in wanted.items()}
        return [
            attrs
            for found, attrs in self.tags
            if found == tag and all(attrs.get(key) == value for key, value in names.items())
        ]


FIELDS = (
    Field(name="a.length", label="Length", kind="length", help="How long.", default="62 ft"),
    Field(name="slope", label="Slope", kind="slope", help="Up or down.", lo=-0.3, default="0 %"),
    Field(name="count", label="Count", kind="count", help="How many.", lo=1, default="5"),
    Field(
        name="kind",
        label="Kind",
        kind="choice",
        help="Which.",
        choices=(Choice(value="a", label="A"), Choice(value="b", label="B")),
        default="b",
    ),
    Field(name="timer", label="Timer", kind="flag", help="Is there one?", default="yes"),
    Field(
        name="rows",
        label="Rows",
        kind="table",
        help="One line each.",
        columns=(Field(name="length", label="Length", kind="length", help="Of a row."),),
        rows={"us": ({"length": "62 ft"},), "metric": ({"length": "20 m"}, {"length": "9 m"})},
        group="Rows",
    ),
    Field(name="more", label="More", kind="text", help="More.", required=False, folded=True),
)


def calculator(**changes):
    made = Calculator(
        id="test-one",
        title="Test",
        question="?",
        fields=FIELDS,
        run=lambda inputs, system: RESULT,
        examples={},
        cautions=("Mind the gap.",),
    )
    return replace(made, **changes)


RESULT = Result(
    headline=Number(name="run", label="Run", value=18.8976, kind="length", rule="R.", source="S."),
    verdict="Fine.",
)


@pytest.mark.parametrize(
    ("text", "quantity", "system", "expected"),
    [
        ("62 ft", "length", "metric", ("62", "ft")),
        ("1,5 m", "length", "us", ("1,5", "m")),
        ("-0.5 %", "slope", "us", ("-0.5", "%")),
        ("2.8 gal/min", "flow", "metric", ("2.8", "gal/min")),
        ("5'6\"", "length", "us", ("5'6\"", "ft")),
        ("3 furlong", "length", "metric", ("3 furlong", "m")),
        ("62", "length", "us", ("62", "ft")),
        ("", "length", "metric", ("", "m")),
    ],
)
def test_a_quantity_splits_into_box_and_chooser(text, quantity, system, expected):
    assert split_quantity(text, quantity, system) == expected


def test_every_control_has_label_help_and_a_slot_for_its_error():
    form = Reader(form_html(calculator(), default_document(calculator(), "metric")))
    ids = {attrs["id"] for _, attrs in form.tags if "id" in attrs}
    controls = [
        attrs
        for tag, attrs in form.tags
        if tag in ("input", "select", "textarea")
        if attrs.get("name") not in (None, "er-units")
    ]
    assert len(controls) >= 9
    for attrs in controls:
        assert form.all("label", for_=attrs["id"]), attrs["name"]
        assert set(attrs["aria-describedby"].split()) <= ids


def test_keypads_fit_what_may_be_typed():
    form = Reader(form_html(calculator(), {}))
    pads = {a["name"]: a.get("inputmode") for t, a in form.tags if t == "input" and "name" in a}
    assert pads["a.length"] == "text"  # no lower bound: a minus sign may be needed
    assert pads["slope"] == "text"
    assert pads["count"] == "numeric"
    bounded = (replace(FIELDS[0], above=0.0),)
    form = Reader(form_html(calculator(fields=bounded), {}))
    assert form.all("input", name="a.length")[0]["inputmode"] == "decimal"


def test_the_form_is_filled_from_the_document():
    document = {
        "units": "us",
        "a": {"length": "7 m"},
        "kind": "a",
        "timer": "no",
        "rows": [{"length": "1 ft"}, {"length": "2 m"}],
        "name": "Back field",
    }
    form = Reader(form_html(calculator(), document))
    assert form.all("input", name="a.length")[0]["value"] == "7"
    chosen = [a["value"] for a in form.all("option") if "selected" in a]
    assert chosen[:1] == ["m"]
    assert "checked" not in form.all("input", name="timer")[0]
    assert [form.all("input", name=f"rows.{i}.length")[0]["value"] for i in (0, 1)] == ["1", "2"]
    assert form.all("input", name="name")[0]["value"] == "Back field"
    assert form.all("form")[0]["data-units"] == "us"


def test_both_systems_of_defaults_go_along():
    form = Reader(form_html(calculator(), {}))
    table = next(a for _, a in form.tags if a.get("data-table") == "rows")
    assert json.loads(table["data-rows-metric"]) == [{"length": "20 m"}, {"length": "9 m"}]
    assert json.loads(table["data-rows-us"]) == [{"length": "62 ft"}]
    field = next(a for _, a in form.tags if a.get("data-field") == "a.length")
    assert (field["data-unit-us"], field["data-unit-metric"]) == ("ft", "m")


def test_nothing_typed_can_become_markup_in_the_form():
    document = {"name": EVIL, "about": EVIL, "a": {"length": EVIL}, "rows": [{"length": EVIL}]}
    named = calculator(title=EVIL, examples={EVIL: lambda: {"about": EVIL}})
    form = Reader(form_html(named, document))
    assert not form.all("img")
    assert [a.get("type") for a in form.all("script")] == ["application/json"]
    assert form.all("input", name="a.length")[0]["value"] == EVIL
    assert not any(key.startswith("on") for _, attrs in form.tags for key in attrs)
    data = form_html(named, document).split('class="er-example-data">')[1].split("</script>")[0]
    assert json.loads(data) == {EVIL: {"about": EVIL}}


def test_rows_that_are_no_tables_are_left_out():
    for rows in ("5", 5, ["x", {"length": "3 m"}], {"length": "3 m"}):
        form = Reader(form_html(calculator(), {"rows": rows}))
        assert len(form.all("input", name="rows.0.length")) == (1 if isinstance(rows, list) else 0)


def test_an_answer_carries_its_full_figures():
    result = replace(
        RESULT,
        sections=(
            Section(
                title="S",
                items=(
                    Number(name="n", label="N", value=np.float64(1 / 3), kind="number"),
                    Number(name="none", label="N", value=None, kind="length"),
                    Number(name="c", label="C", value=4, kind="count"),
                    Table(
                        name="t",
                        title="T",
                        columns=(
                            Column(name="q", label="Q", kind="length"),
                            Column(name="w", label="W"),
                        ),
                        rows=((2 / 3, "x"), (None, None)),
                    ),
                ),
            ),
        ),
    )
    answer = Reader(result_html(calculator(), result, "us"))
    figures = {a["data-name"]: a["data-value"] for a in answer.all("span") if "data-value" in a}
    assert figures["run"] == "18.8976"
    assert float(figures["n"]) == 1 / 3
    assert figures["none"] == ""
    assert figures["c"] == "4.0"
    assert float(figures["t.0.q"]) == 2 / 3
    assert figures["t.1.q"] == ""
    assert "62 ft" in " ".join(answer.texts).replace("\u00a0", " ")


def test_nothing_in_an_answer_can_become_markup():
    result = Result(
        headline=Fact(name=EVIL, label=EVIL, text=EVIL, rule=EVIL, source=EVIL),
        verdict=EVIL,
        sections=(
            Section(
                title=EVIL,
                items=(
                    Number(name=EVIL, label=EVIL, value=1.0, kind="length", rule=EVIL, source=EVIL),
                    Table(
                        name=EVIL,
                        title=EVIL,
                        columns=(
                            Column(name=EVIL, label=EVIL),
                            Column(name="d", label=EVIL, detail=True),
                        ),
                        rows=((EVIL, EVIL),),
                        note=EVIL,
                    ),
                    Steps(name=EVIL, title=EVIL, items=(EVIL,)),
                    Figure(name=EVIL, title=EVIL, svg="<svg></svg>", alternative=EVIL),
                ),
            ),
        ),
        notices=(Notice(level="note", text=EVIL), Notice(level="warning", text=EVIL)),
    )
    answer = Reader(result_html(calculator(cautions=(EVIL,)), result, "metric"))
    assert not answer.all("img")
    assert not answer.all("script")
    assert not any(key.startswith("on") for _, attrs in answer.tags for key in attrs)
    assert answer.all("div", role="img", aria_label=EVIL)


def test_warnings_stand_before_the_rest_and_cautions_last():
    result = replace(
        RESULT,
        sections=(Section(title="Middle", items=(Fact(name="f", label="F", text="f"),)),),
        notices=(Notice(level="note", text="Late."), Notice(level="warning", text="Early.")),
    )
    html = result_html(calculator(), result, "us")
    order = [html.index(text) for text in ("Early.", "Middle", "Late.", "Mind the gap.")]
    assert order == sorted(order)


@pytest.mark.parametrize("name", CALCULATORS)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_forms_of_all_calculators_are_well_formed(name, system):
    made = CALCULATORS[name]
    form = Reader(form_html(made, default_document(made, system)))
    for field in made.fields:
        marks = ("data-field", "data-table")
        assert any(a.get(m) == field.name for _, a in form.tags for m in marks), field.name


def drawn(*items, title="Parts"):
    result = replace(RESULT, sections=(Section(title=title, items=items),))
    return Reader(result_html(calculator(), result, "metric"))


def test_a_column_that_says_nothing_in_any_row_is_left_out():
    columns = (Column(name="a", label="Named"), Column(name="b", label="Length", kind="length"))
    empty = Table(name="t", title="T", columns=columns, rows=(("x", None), ("y", None)))
    assert "Length" not in drawn(empty).texts
    once = replace(empty, rows=(("x", None), ("y", 2.0)))
    answer = drawn(once)
    assert "Length" in answer.texts
    assert [a["data-name"] for a in answer.all("span") if "data-name" in a][1:] == [
        "t.0.b",
        "t.1.b",
    ]
    assert "Length" in drawn(replace(empty, rows=())).texts


def test_a_title_is_not_said_twice():
    table = Table(name="t", title="Parts", columns=(Column(name="a", label="A"),), rows=(("x",),))
    assert drawn(table).all("caption") == [{"class": "er-unseen"}]
    assert drawn(table, title="Water").all("caption") == [{}]
    steps = Steps(name="s", title="Parts", items=("One.",))
    assert drawn(steps).texts.count("Parts") == 1
    assert drawn(steps, title="Water").texts.count("Parts") == 1


def test_a_drawing_is_one_picture_to_those_who_hear_it():
    svg = '<svg class="c" role="img" aria-label="a &gt; b"><g></g></svg>'
    answer = drawn(Figure(name="f", title="F", svg=svg, alternative="a > b"))
    pictures = [a for _, a in answer.tags if a.get("role") == "img"]
    assert pictures == [{"role": "img", "aria-label": "a > b"}]
    assert answer.all("svg") == [{"aria-hidden": "true", "focusable": "false", "class": "c"}]


def test_a_drawing_whose_parts_can_be_reached_names_itself():
    svg = '<svg role="group" aria-labelledby="t"><title id="t">T</title><g tabindex="0"></g></svg>'
    answer = drawn(Figure(name="f", title="F", svg=svg, alternative="a"))
    assert answer.all("svg") == [{"role": "group", "aria-labelledby": "t"}]
    # What can be reached by key must not stand in something hidden or in one silent picture.
    assert not any(a.get("aria-hidden") or a.get("role") == "img" for _, a in answer.tags)


def test_tables_keep_their_meaning_when_laid_out_as_cards():
    table = Table(name="t", title="T", columns=(Column(name="a", label="A"),), rows=(("x",),))
    answer = drawn(table)
    roles = {"table": "table", "thead": "rowgroup", "tbody": "rowgroup", "tr": "row"}
    for tag, role in {**roles, "th": "columnheader", "td": "cell"}.items():
        assert {a.get("role") for a in answer.all(tag)} == {role}, tag


def test_jumps_lead_to_the_sections():
    sections = tuple(
        Section(title=t, items=(Fact(name=t, label=t, text=t),)) for t in ("One", "Two", "Three")
    )
    answer = Reader(result_html(calculator(), replace(RESULT, sections=sections), "us"))
    assert [a["href"][1:] for a in answer.all("a")] == [a["id"] for a in answer.all("section")]
    short = Reader(result_html(calculator(), replace(RESULT, sections=sections[:2]), "us"))
    assert short.all("a") == []


def test_rows_of_a_table_are_told_apart_and_an_empty_one_asks_for_the_first():
    form = Reader(form_html(calculator(), {"rows": [{"length": "3 m"}, {"length": "4 m"}]}))
    rows = [a["aria-label"] for a in form.all("div", class_="er-row")]
    assert rows == ["Rows, row 1", "Rows, row 2", "Rows, row __number__"]
    assert "Add another" in form.texts
    assert "Add the first entry" in Reader(form_html(calculator(), {})).texts
