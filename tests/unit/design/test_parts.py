"""Parts: what the layout has is on the list, and the other way round."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.catalogue import device, fitting, pipe
from evenrow.design.assembly import head_assembly, smallest
from evenrow.design.choices import LOW_TAP, BuildChoices
from evenrow.design.layout import layout
from evenrow.design.model import Taper
from evenrow.design.parts import (
    ALL_ZONES,
    LINE_ALLOWANCE,
    PipePiece,
    RunPiece,
    ZoneFeed,
    faults,
    header_arms,
    parts_list,
    parts_of,
    plan_elements,
)
from evenrow.design.runs import Row
from evenrow.design.zones import partition
from evenrow.errors import InputError
from evenrow.words import use_language

FLOW = 2e-4
MAIN, HEADER = "tube-21", "tube-15"


def rows_of(lengths, lines=1):
    return tuple(
        Row(number=n, crop="", length=length, lines=lines, position=2.0 * (n - 1), width=2.0)
        for n, length in enumerate(lengths, start=1)
    )


def of_rows(lengths, *, lines=1, zones=1, feed="end", share=0.0, main_length=10.0, **more):
    rows = rows_of(lengths, lines)
    weights = [row.length * row.lines for row in rows]
    found = partition(weights, sum(weights), zones=zones)
    where = layout(rows, found.ranges, main_length=main_length, feed=feed, share=share)
    main = more.pop("main", MAIN)
    choices = more.pop("choices", BuildChoices())
    parts = parts_of(
        where,
        share=share,
        device=device(more.pop("line", "dripline-16")),
        header=pipe(more.pop("header", HEADER)),
        main=pipe(main),
        assembly=head_assembly("hose-tap", FLOW, timer=True, regulator=None, standing=False).parts,
        valve=smallest("zone valve", FLOW) if zones > 1 else None,
        choices=choices,
        **more,
    )
    return where, parts


def plain(runs, *, headers, mains, zones, **more):
    """Return the arguments of `parts_list` for a small field, and the list."""
    given_ = {
        "runs": runs,
        "headers": headers,
        "mains": mains,
        "zones": zones,
        "main": pipe(MAIN),
        "elbows": {},
        "assembly": head_assembly("pump", FLOW, timer=False, regulator=None, standing=False).parts,
        "valve": smallest("zone valve", FLOW) if len(zones) > 1 else None,
        "device": device("dripline-16"),
        "choices": BuildChoices(),
    } | more
    return given_, parts_list(**given_)


def disagreements(given_, parts):
    elements = plan_elements(
        **{
            name: given_[name]
            for name in ("runs", "headers", "zones", "main", "elbows", "assembly", "valve")
        }
    )
    return faults(
        parts,
        elements,
        runs=given_["runs"],
        headers=given_["headers"],
        mains=given_["mains"],
        allowance=LINE_ALLOWANCE,
    )


def used(parts, element):
    return sum(use.count for _, use in parts.used() if use.element == element)


def line(parts, kind, fits=""):
    code = fitting(kind, fits).code
    return next(part for part in parts.parts if part.product.code == code)


SIZES = st.sampled_from(["tube-15", "tube-21", "pipe-27"])


@st.composite
def fields(draw):
    """Return the arguments of `parts_list` for any field, tapered headers among them."""
    count = draw(st.integers(1, 4))
    zones = [ZoneFeed(number=n, tee=draw(st.booleans()), takeoffs=1) for n in range(1, count + 1)]
    piece = st.builds(
        lambda s, length: PipePiece(size=pipe(s), length=length), SIZES, st.floats(0.5, 300)
    )
    arm = st.lists(piece, min_size=1, max_size=2).map(tuple)
    headers = {z.number: tuple(draw(arm) for _ in range(1 + z.tee)) for z in zones}
    run = st.builds(
        RunPiece,
        row=st.integers(1, 40),
        zone=st.integers(1, count),
        length=st.floats(1.0, 400.0),
    )
    mains = [
        PipePiece(size=pipe(MAIN), length=length)
        for length in draw(st.lists(st.floats(0.5, 90.0), max_size=4))
    ]
    return {
        "runs": draw(st.lists(run, min_size=1, max_size=12)),
        "headers": headers,
        "mains": mains,
        "zones": zones,
        "elbows": {MAIN: draw(st.integers(1, 5))} if draw(st.booleans()) else {},
        "choices": BuildChoices(
            takeoff_valves=draw(st.booleans()),
            flush_valves=draw(st.booleans()),
            repair_kit=draw(st.booleans()),
            tap_height=draw(st.sampled_from([None, 0.1, 1.0])),
            spare_share=draw(st.sampled_from([0.0, 0.05, 0.2])),
        ),
    }


@settings(max_examples=60, deadline=None)
@given(fields())
def test_plan_and_list_agree_in_every_element_and_length(field):
    given_, parts = plain(**field)
    assert disagreements(given_, parts) == ()


@settings(max_examples=40, deadline=None)
@given(fields())
def test_zones_add_up_to_the_total_and_masses_to_the_pieces(field):
    _, parts = plain(**field)
    assert not parts.unpriced
    assert sum(parts.by_zone.values()) == pytest.approx(parts.total)
    assert parts.total == pytest.approx(sum(p.count * p.product.price for p in parts.parts))
    coils = [part for part in parts.parts if part.length is not None]
    for cuts in parts.cuts:
        bought = sum(p.count * p.length for p in coils if p.element == cuts.element)
        if len({c.element for c in parts.cuts}) == len(parts.cuts):
            assert bought == pytest.approx(cuts.plan.bought)
    tubes = {code: pipe(code) for code in ("tube-15", "tube-21", "pipe-27")}
    entries = tubes | {"dripline-16": device("dripline-16")}
    for part in coils:
        entry = entries[part.product.code]
        assert part.mass == pytest.approx(part.count * part.length * entry.mass)


@settings(max_examples=30, deadline=None)
@given(fields(), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(field, order):
    mixed = list(field["runs"])
    order.shuffle(mixed)

    def said(parts):
        return [(p.number, p.label, p.length, p.needed, p.spare, p.cost) for p in parts.parts]

    assert said(plain(**field)[1]) == said(plain(**field | {"runs": mixed})[1])


def test_a_missing_part_and_a_part_too_many_are_seen():
    run = RunPiece(row=1, zone=1, length=20.0)
    arms = {1: ((PipePiece(size=pipe(HEADER), length=5.0),),)}
    zone = [ZoneFeed(number=1, tee=False, takeoffs=1)]
    given_, parts = plain([run], headers=arms, mains=[], zones=zone)
    assert disagreements(given_, parts) == ()
    tap = line(parts, "take-off", "dripline-16").number
    without = replace(parts, parts=tuple(p for p in parts.parts if p.number != tap))
    assert any(
        fault.startswith("take-off, zone 1: 1 on the plan, 0")
        for fault in disagreements(given_, without)
    )
    more = given_ | {"runs": [run, run]}
    assert len(disagreements(more, parts)) == 3


def test_every_run_has_one_takeoff_and_one_end():
    where, parts = of_rows([20.0, 30.0, 41.5], lines=2, share=0.5)
    assert used(parts, "take-off") == used(parts, "line cap") == 12
    assert parts.line_plan.cut == pytest.approx(2 * 91.5 + 12 * LINE_ALLOWANCE, abs=1e-4)
    assert sum(len(zone.takeoffs) for zone in where.zones) == 6


def test_pipe_on_the_list_is_the_pipe_of_the_layout():
    where, parts = of_rows([20.0] * 6, zones=3, feed="tee")
    plans = {cuts.element: cuts.plan for cuts in parts.cuts}
    assert plans["headers"].cut == pytest.approx(
        sum(z.header_length for z in where.zones), abs=1e-4
    )
    assert plans["main"].cut == pytest.approx(where.main_total, abs=1e-4)


def test_one_pipe_for_header_and_main_is_cut_from_the_same_coils():
    _, parts = of_rows([20.0] * 5, main=HEADER)
    assert [cuts.element for cuts in parts.cuts] == ["rows", "headers and main"]
    assert used(parts, "reducer") == 0


def test_zones_bring_valves_tees_and_a_controller():
    _, parts = of_rows([20.0] * 6, zones=3, feed="tee")
    assert used(parts, "valve") == 3
    assert used(parts, "valve thread") == used(parts, "wire joint") == 6
    assert line(parts, "tee", MAIN).needed == 3 + 2
    assert used(parts, "header cap") == 6
    # Two arms at each of three tees, as main and header differ.
    assert used(parts, "reducer") == 6
    # Of 1, 2, 4, 6 … stations the smallest that runs three valves.
    assert "controller for up to 4 zone valves" in [part.label for part in parts.parts]


def test_a_tapered_header_gets_its_reducer_and_keeps_its_length():
    where, parts = of_rows(
        [20.0] * 8, header=MAIN, tapers={1: Taper(size=pipe(HEADER), takeoffs=(0, 3))}
    )
    arm = header_arms(where.zones[0], pipe(MAIN), Taper(size=pipe(HEADER), takeoffs=(0, 3)))[0]
    assert [piece.size.code for piece in arm] == [MAIN, HEADER]
    # Four spaces of 2 m in the large pipe, three and the tail of 1 ft in the small one.
    assert [piece.length for piece in arm] == pytest.approx([8.0, 6.3048])
    assert used(parts, "reducer") == 1
    assert line(parts, "end cap", HEADER).needed == 1


def test_clamps_stand_at_every_end_of_clamped_pipe():
    arms = {1: ((PipePiece(size=pipe("pipe-27"), length=5.0),),)}
    main = [PipePiece(size=pipe("pipe-27"), length=100.0)]
    zone = [ZoneFeed(number=1, tee=False, takeoffs=1)]
    _, parts = plain(
        [RunPiece(row=1, zone=1, length=20.0)],
        headers=arms,
        mains=main,
        zones=zone,
        main=pipe("pipe-27"),
        elbows={"pipe-27": 2},
    )
    joints = sum(cuts.plan.couplings for cuts in parts.cuts[1:])
    # Two ends of the header, two of the main, two at each coupling and each bend.
    assert line(parts, "clamp", "pipe-27").needed == 2 + 2 + 2 * joints + 2 * 2


def test_no_main_no_main_pipe():
    _, parts = of_rows([20.0] * 2, main_length=0.0)
    assert [cuts.element for cuts in parts.cuts] == ["rows", "headers"]


def test_head_assembly_stands_first_in_the_order_of_the_flow():
    _, parts = of_rows([20.0] * 2)
    head = [p.label.split(",")[0] for p in parts.parts if p.group == "Head assembly"]
    assert head == [
        "tap timer",
        "hose-thread backflow preventer",
        "screen filter",
        "swivel adapter",
    ]


def test_packs_are_shown_and_never_hide_what_is_needed():
    _, parts = of_rows([20.0] * 12)
    tap = line(parts, "take-off", "dripline-16")
    assert tap.product.pack == 10
    # Twelve runs and 5 % over, at least one: thirteen, in two packs.
    assert (tap.needed, tap.spare, tap.packs, tap.count) == (12, 1, 2, 20)
    assert tap.cost == pytest.approx(20 * tap.product.price)
    assert parts.by_zone[1] < parts.total


@pytest.mark.parametrize(("share", "over"), [(0.0, 0), (0.05, 2), (0.1, 3)])
def test_spares_follow_their_share(share, over):
    _, parts = of_rows([20.0] * 30, choices=BuildChoices(spare_share=share))
    assert line(parts, "end cap", "dripline-16").spare == over


def test_choices_change_the_parts_they_name():
    plain_labels = [p.product.kind for p in of_rows([20.0] * 3)[1].parts]
    chosen = BuildChoices(takeoff_valves=True, flush_valves=True, repair_kit=True, adapter="elbow")
    kinds = [p.product.kind for p in of_rows([20.0] * 3, choices=chosen)[1].parts]
    swapped = {"take-off": "take-off with valve", "adapter": "elbow thread adapter"}
    for before, after in swapped.items():
        assert before in plain_labels
        assert before not in kinds
        assert after in kinds
    assert {"flush valve", "repair piece"} <= set(kinds) - set(plain_labels)


def test_a_low_tap_gets_an_elbow():
    assert BuildChoices(tap_height=LOW_TAP - 0.01).elbowed
    assert not BuildChoices(tap_height=LOW_TAP).elbowed
    assert not BuildChoices().elbowed
    assert not BuildChoices(tap_height=0.1, adapter="straight").elbowed


def test_runs_that_may_not_be_joined_are_refused_at_their_field():
    with pytest.raises(InputError) as caught:
        of_rows([400.0], choices=BuildChoices(couplings=False))
    assert caught.value.field == "build.couplings"
    assert used(of_rows([400.0])[1], "line coupling") == 1


@pytest.mark.parametrize("bad", [{"spare_share": -0.1}, {"spare_share": 0.6}, {"tap_height": -1.0}])
def test_choices_that_cannot_be(bad):
    with pytest.raises(InputError):
        BuildChoices(**bad)


def test_what_has_no_price_is_counted_and_left_out_of_the_total():
    run = RunPiece(row=1, zone=1, length=20.0)
    arms = {1: ((PipePiece(size=pipe(HEADER), length=5.0),),)}
    zone = [ZoneFeed(number=1, tee=False, takeoffs=1)]
    _, priced = plain([run], headers=arms, mains=[], zones=zone)
    bare = replace(device("dripline-16"), prices=(), mass=None)
    _, parts = plain([run], headers=arms, mains=[], zones=zone, device=bare)
    assert [part.product.kind for part in parts.unpriced] == ["coil"]
    coil = next(part for part in priced.parts if part.product.code == "dripline-16")
    assert parts.total == pytest.approx(priced.total - coil.cost)
    assert ALL_ZONES in parts.by_zone


def test_a_pipe_that_no_fitting_is_listed_for_still_gets_its_fittings():
    own = replace(pipe(HEADER), code="own-pipe", label="pipe of one's own")
    arms = {1: ((PipePiece(size=own, length=5.0),),)}
    zone = [ZoneFeed(number=1, tee=False, takeoffs=1)]
    _, parts = plain([RunPiece(row=1, zone=1, length=9.0)], headers=arms, mains=[], zones=zone)
    assert "end cap for pipe of one's own" in [part.label for part in parts.unpriced]


def test_every_line_says_its_rule_and_source():
    _, parts = of_rows([20.0] * 6, zones=2)
    assert all(p.rule and p.source and p.element and p.count > 0 for p in parts.parts)
    assert [p.number for p in parts.parts] == list(range(1, len(parts.parts) + 1))
    assert {p.group for p in parts.parts} == {"Head assembly", "Header and main", "Line", "Spares"}


def test_a_large_field_is_listed():
    draw = random.Random(1)
    _, parts = of_rows([draw.choice([60.0, 80.0, 95.0]) for _ in range(400)], lines=2, zones=4)
    assert used(parts, "take-off") == 800


def test_a_list_is_made_in_the_language_in_use_whatever_was_made_before():
    runs = [RunPiece(row=1, zone=1, length=20.0)]
    fields_ = {
        "headers": {1: ((PipePiece(size=pipe("tube-15"), length=5.0),),)},
        "mains": [PipePiece(size=pipe("tube-15"), length=5.0)],
        "zones": [ZoneFeed(number=1, tee=False, takeoffs=1)],
    }
    english = plain(runs, **fields_)[1]
    with use_language("es"):
        spanish = plain(runs, **fields_)[1]
    assert plain(runs, **fields_)[1] == english
    assert [part.product.code for part in spanish.parts] == [p.product.code for p in english.parts]
    for one, other in zip(english.parts, spanish.parts, strict=True):
        assert one.label != other.label
        assert one.rule != other.rule
        assert one.element != other.element
        assert one.group == other.group
