"""A small calculator with every kind of field, so that these tests need no hydraulics."""

import pytest

from evenrow.calculators import registry
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
from evenrow.errors import ImpossibleError, InputError

FIELDS = (
    Field(
        name="source.pressure",
        label="Pressure",
        kind="pressure",
        help="At the tap.",
        default={"us": "45 psi", "metric": "3 bar"},
        above=0.0,
        hi=150.0,
    ),
    Field(
        name="source.kind",
        label="Kind",
        kind="choice",
        help="What it is.",
        default="tap",
        choices=(Choice(value="tap", label="Tap"), Choice(value="pump", label="Pump")),
    ),
    Field(name="source.filter", label="Filter", kind="flag", help="Is there one?", default="yes"),
    Field(
        name="slope",
        label="Slope",
        kind="slope",
        help="Along the rows.",
        lo=-0.3,
        hi=0.3,
        required=False,
    ),
    Field(name="note", label="Note", kind="text", help="Yours.", hi=20, required=False),
    Field(
        name="reserve",
        label="Reserve",
        kind="share",
        help="Kept back.",
        default="10 %",
        lo=0.0,
        hi=0.9,
        assumed=True,
    ),
    Field(
        name="rows",
        label="Rows",
        kind="table",
        help="One line per kind.",
        columns=(
            Field(name="length", label="Length", kind="length", help="x", above=0.0, hi=2000.0),
            Field(name="count", label="Count", kind="count", help="x", lo=1, hi=100),
        ),
        rows={
            "us": ({"length": "62 ft", "count": "5"},),
            "metric": ({"length": "20 m", "count": "5"},),
        },
        row_limits=(1, 3),
    ),
)


def run(inputs, system):
    total = sum(row["length"] * row["count"] for row in inputs["rows"])
    if inputs["note"] == "clash":
        raise InputError("the two do not go together", field="slope", code="clash")
    if inputs["note"] == "impossible":
        raise ImpossibleError("it starves", limit="flow", changes=("fewer rows",))
    if inputs["note"] == "fault":
        raise ZeroDivisionError("a slip")
    if inputs["note"] == "nan":
        total = float("nan")
    return Result(
        headline=Number(
            name="total",
            label="Total length",
            value=total,
            kind="length",
            rule="Sum over the rows.",
            source="common practice, no source",
        ),
        verdict="That is how much line to buy. " * 6,
        notices=(Notice(level="warning", text="Mind the <b>ends</b>."),),
        sections=(
            Section(
                title="Rows",
                items=(
                    Number(name="n", label="Rows", value=3, kind="count"),
                    Number(name="slope", label="Slope", value=inputs["slope"], kind="slope"),
                    Fact(name="limit", label="What limits", text="Nothing.", rule="Looked."),
                    Table(
                        name="list",
                        title="List",
                        columns=(
                            Column(name="part", label="Part"),
                            Column(name="length", label="Length", kind="length"),
                        ),
                        rows=(("a long line of words " * 6, 1.0), ("end", 123.456), (None, None)),
                        note="Measured along the row.",
                    ),
                    Steps(name="order", title="Order", items=("First.", "Then.")),
                    Figure(name="plan", title="Plan", svg="<svg></svg>", alternative="Rows."),
                ),
            ),
        ),
    )


CALCULATOR = Calculator(
    id="small",
    title="Small",
    question="How much line?",
    fields=FIELDS,
    run=run,
    examples={
        "A field": lambda: {
            "evenrow": 1,
            "calculator": "small",
            "units": "us",
            "source": {"pressure": "45 psi", "kind": "tap", "filter": True},
            "rows": [{"length": "62 ft", "count": 5}],
        }
    },
    cautions=("Follow your local code.",),
)


@pytest.fixture
def calculator():
    return CALCULATOR


@pytest.fixture
def registered(monkeypatch):
    """The registry with the small calculator alone, wherever it is used."""
    from evenrow import cli
    from evenrow.calculators import web

    for module in (registry, web, cli):
        monkeypatch.setattr(module, "CALCULATORS", {CALCULATOR.id: CALCULATOR})
    return CALCULATOR
