"""Random fields: a design that keeps its limits, or an explained impossibility; never a crash."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import devices
from evenrow.design.field import field_of
from evenrow.design.limits import shortfalls
from evenrow.design.solve import design
from evenrow.errors import ImpossibleError

FOOT, PSI_BAR = 0.3048, 0.0689475729


def steps(low, high, step):
    """Values as a tape measure or a gauge gives them."""
    return st.integers(round(low / step), round(high / step)).map(lambda n: round(n * step, 6))


rows = st.fixed_dictionaries(
    {
        "crop": st.sampled_from(["", "leek", "bean"]),
        "count": st.integers(1, 8),
        "length": steps(2.0, 250.0, 0.5),
        "spacing": steps(0.5, 4.0, 0.1),
        "lines": st.integers(1, 3),
    }
)
fields = st.fixed_dictionaries(
    {
        "static": steps(0.6, 6.0, 0.1),
        "seconds": steps(3.0, 120.0, 1.0),
        "rows": st.lists(rows, min_size=1, max_size=3),
        "device": st.sampled_from(list(devices())),
        "spacing": st.sampled_from([0.2, 0.3, 0.5]),
        "slope": steps(-0.03, 0.03, 0.001),
        "header_slope": steps(-0.03, 0.03, 0.001),
        "place": st.sampled_from(["end", "middle"]),
        "feed": st.sampled_from(["end", "tee"]),
        "main": steps(0.0, 80.0, 1.0),
    }
)


def document(f, *, us=False):
    length = (lambda m: f"{m / FOOT!r} ft") if us else (lambda m: f"{m!r} m")
    return {
        "evenrow": 1,
        "calculator": "whole-field",
        "units": "us" if us else "metric",
        "source": {
            "kind": "hose-tap",
            "static_pressure": f"{f['static'] / PSI_BAR!r} psi" if us else f"{f['static']!r} bar",
            "readings": [{"volume": "20 L", "time": f"{f['seconds']!r} s"}],
        },
        "rows": [
            {**row, "length": length(row["length"]), "spacing": length(row["spacing"])}
            for row in f["rows"]
        ],
        "line": {"device": f["device"], "spacing": length(f["spacing"])},
        "ground": {
            "row_slope": f"{100 * f['slope']:.6f} %",
            "header_slope": f"{100 * f['header_slope']:.6f} %",
        },
        "header": {"place": f["place"], "feed": f["feed"]},
        "main": {"length": length(f["main"])},
    }


def outcome_of(field):
    try:
        return design(field)
    except ImpossibleError as error:
        return error


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
@given(fields)
def test_a_design_or_a_reason(f):
    inputs, system = read(CALCULATOR, document(f))
    outcome = outcome_of(field_of(inputs, system))
    if isinstance(outcome, ImpossibleError):
        assert outcome.limit
        assert outcome.message
        return
    found = outcome
    assert shortfalls(found.field, found.candidate, found.zones) == []
    watered = [r for zone in found.zones for r in range(*zone.layout.rows)]
    assert watered == list(range(len(found.field.rows)))


@settings(
    max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
@given(fields)
def test_the_same_field_in_feet_and_psi_is_the_same_design(f):
    outcomes = []
    for us in (False, True):
        inputs, system = read(CALCULATOR, document(f, us=us))
        found = outcome_of(field_of(inputs, system))
        impossible = isinstance(found, ImpossibleError)
        outcomes.append(found.limit if impossible else [zone.flow for zone in found.zones])
    metric, us = outcomes
    if isinstance(metric, str):
        assert us == metric
    else:
        assert us == pytest.approx(metric, rel=1e-6)
