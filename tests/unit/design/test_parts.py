"""Parts: what the layout has is on the list, and the other way round."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.catalogue import device, pipe
from evenrow.design.assembly import head_assembly, smallest
from evenrow.design.field import rows_of
from evenrow.design.layout import layout
from evenrow.design.parts import LINE_ALLOWANCE, parts_list, run_lengths
from evenrow.design.zones import partition

FLOW = 2e-4


def listed(groups, *, zones=1, place="end", feed="end", main_length=10.0, main="tube-21"):
    rows = rows_of(groups)
    weights = [row.length * row.lines for row in rows]
    found = partition(weights, sum(weights), zones=zones)
    where = layout(rows, found.ranges, main_length=main_length, feed=feed)
    parts = parts_list(
        where,
        place=place,
        device=device("dripline-16"),
        header=pipe("tube-15"),
        main=pipe(main),
        assembly=head_assembly("hose-tap", FLOW, timer=True, regulator=None, standing=False).parts,
        valve=smallest("zone valve", FLOW) if zones > 1 else None,
        timer=True,
    )
    return where, parts


def group(count, length, lines=1):
    return {"count": count, "spacing": 2.0, "lines": lines, "length": length, "crop": ""}


def count(parts, label, group_name="Line"):
    return sum(p.count for p in parts.parts if p.label.startswith(label) and p.group == group_name)


@settings(max_examples=40, deadline=None)
@given(
    groups=st.lists(
        st.builds(group, st.integers(1, 6), st.floats(2.0, 90.0), st.integers(1, 3)),
        min_size=1,
        max_size=3,
    ),
    place=st.sampled_from(["end", "middle"]),
    feed=st.sampled_from(["end", "tee"]),
)
def test_every_metre_of_row_is_cut_and_every_run_has_its_fittings(groups, place, feed):
    _, parts = listed(groups, place=place, feed=feed)
    runs = run_lengths(rows_of(groups), place)
    assert sum(runs) == pytest.approx(sum(g["count"] * g["lines"] * g["length"] for g in groups))
    cut = sum(length for coil in parts.line_plan.coils for _, length in coil.pieces)
    assert cut == pytest.approx(sum(runs) + LINE_ALLOWANCE * len(runs), abs=1e-4)
    assert count(parts, "take-off") == len(runs)
    assert count(parts, "end cap") == len(runs)


def test_pipe_on_the_list_is_the_pipe_of_the_layout():
    where, parts = listed([group(6, 20.0)], zones=3, feed="tee")
    plans = dict(parts.pipe_plans)
    headers = sum(length for coil in plans["headers"].coils for _, length in coil.pieces)
    assert headers == pytest.approx(sum(zone.header_length for zone in where.zones))
    mains = sum(length for coil in plans["main"].coils for _, length in coil.pieces)
    assert mains == pytest.approx(where.main_total)


def test_one_pipe_for_header_and_main_is_cut_from_the_same_coils():
    _, parts = listed([group(5, 20.0)], main="tube-15")
    assert [what for what, _ in parts.pipe_plans] == ["headers and main"]
    assert count(parts, "reducer", "Header and main") == 0


def test_zones_bring_valves_tees_and_a_controller():
    _, parts = listed([group(6, 20.0)], zones=3, feed="tee")
    names = {p.label: p.count for p in parts.parts if p.group == "Header and main"}
    assert names["zone valve, 1 in"] == 3
    assert names[f"tee for {pipe('tube-21').label}"] == 3 + 2
    assert names["controller for 3 zone valves"] == 1
    assert names[f"end cap for {pipe('tube-15').label}"] == 6
    # Two arms at each of three tees, as main and header differ.
    assert names["reducer, main to header pipe"] == 6


def test_no_main_no_main_pipe():
    _, parts = listed([group(2, 20.0)], main_length=0.0)
    assert [what for what, _ in parts.pipe_plans] == ["headers"]


def test_head_assembly_stands_in_the_order_of_the_flow():
    _, parts = listed([group(2, 20.0)])
    head = [p.label.split(",")[0] for p in parts.parts if p.group == "Head assembly"]
    assert head == [
        "tap timer",
        "hose-thread backflow preventer",
        "screen filter",
        "swivel adapter",
    ]


def test_every_line_says_its_rule_and_source():
    _, parts = listed([group(6, 20.0)], zones=2)
    assert all(p.rule and p.source and p.element and p.count > 0 for p in parts.parts)
    assert {p.group for p in parts.parts} == {
        "Head assembly",
        "Header and main",
        "Line",
        "Spares",
    }
