"""Random fields: a design that keeps its limits, or an explained impossibility; never a crash."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import devices
from evenrow.design.field import field_of
from evenrow.design.hours import watering_times
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
        "path": st.sampled_from([0.0, 0.0, 2.5]),
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
        "place": st.sampled_from(["end", "middle", "far", "best"]),
        "feed": st.sampled_from(["end", "tee"]),
        "main": steps(0.0, 80.0, 1.0),
        "arrives": st.one_of(st.none(), steps(-10.0, 60.0, 1.0)),
        "depth": st.sampled_from([0.0, 0.4]),
        "obstacles": st.lists(
            st.fixed_dictionaries(
                {
                    "position": steps(-5.0, 40.0, 0.5),
                    "extra": steps(0.0, 5.0, 0.5),
                    "elbows": st.integers(0, 4),
                }
            ),
            max_size=2,
        ),
        "survey": st.one_of(st.none(), st.lists(steps(-2.0, 2.0, 0.1), min_size=3, max_size=3)),
        "injection": st.booleans(),
        "window": st.one_of(st.none(), st.integers(1, 24)),
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
            {
                **row,
                "length": length(row["length"]),
                "spacing": length(row["spacing"]),
                "path": length(row["path"]),
            }
            for row in f["rows"]
        ],
        "line": {"device": f["device"], "spacing": length(f["spacing"])},
        "ground": {
            "row_slope": f"{100 * f['slope']:.6f} %",
            "header_slope": f"{100 * f['header_slope']:.6f} %",
            "row_survey": [
                {"distance": length(x), "height": length(z)}
                for x, z in zip((0.0, 100.0, 250.0), f["survey"] or (), strict=False)
            ],
        },
        "header": {
            "place": f["place"],
            "feed": f["feed"],
            "obstacles": [
                {**o, "position": length(o["position"]), "extra": length(o["extra"])}
                for o in f["obstacles"]
            ],
        },
        "main": {
            "length": length(f["main"]),
            "depth": length(f["depth"]),
            **({} if f["arrives"] is None else {"arrives": length(f["arrives"])}),
        },
        "assembly": {"injection": f["injection"]},
        "watering": {} if f["window"] is None else {"window": f"{f['window']} h"},
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
    # Every metre of row is fed, and the water that leaves the source leaves the emitters.
    runs = [run for row in found.field.rows for run in found.field.runs(row)]
    assert sum(run.length for run in runs) == pytest.approx(
        sum(row.length for row in found.field.rows)
    )
    for zone in found.zones:
        assert zone.emitters * zone.emitter_flow_mean == pytest.approx(zone.flow, rel=1e-4)
    window = found.field.watering.window
    assert window is None or sum(watering_times(found.field, found.zones)) <= window * (1 + 1e-9)


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


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
@given(fields)
def test_a_field_seen_from_its_other_end_is_the_same_design(f):
    """Rows counted from the last to the first, the source at its mirrored place."""
    field = field_of(*read(CALCULATOR, document(f)))
    end = field.rows[-1].position
    rows = tuple(
        replace(row, number=number, position=end - row.position)
        for number, row in enumerate(reversed(field.rows), start=1)
    )
    line = field.header_line
    route = replace(
        field.route,
        arrives=end - line.arrives,
        obstacles=tuple(replace(o, position=end - o.position) for o in field.route.obstacles),
    )
    slope = field.ground.header_slope
    mirrored = replace(
        field,
        rows=rows,
        route=route,
        rise=field.rise + slope * end,
        ground=replace(field.ground, header_slope=-slope),
    )
    here, there = outcome_of(field), outcome_of(mirrored)
    if isinstance(here, ImpossibleError):
        assert isinstance(there, ImpossibleError)
        return
    assert len(there.zones) == len(here.zones)
    assert there.candidate.assembly.set_head == here.candidate.assembly.set_head
