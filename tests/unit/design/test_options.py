"""Options: each is what a design of the field built that way comes to."""

from dataclasses import replace

import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import devices, pipe
from evenrow.design.choices import BuildChoices
from evenrow.design.demos import NAMES, demo
from evenrow.design.field import ANY_PIPE, field_of
from evenrow.design.options import EU_DIGITS, changed, compare, mark_frontier, ways
from evenrow.design.parts import parts_of, price_of
from evenrow.design.solve import design
from evenrow.errors import ImpossibleError


def field(name):
    return field_of(*read(CALCULATOR, demo(name)))


def built(base, option):
    """Design the field as an option says."""

    def asked(code):
        return None if code == ANY_PIPE else pipe(code)

    way = changed(base, option.way)
    return design(
        replace(way, least_header=asked(option.least_header), least_main=asked(option.least_main))
    )


@pytest.fixture(scope="module", params=NAMES)
def compared(request):
    base = field(request.param)
    return base, compare(base)


def test_the_field_as_it_is_comes_first(compared):
    base, found = compared
    first, as_is = found.options[0], design(base)
    assert first.zones == len(as_is.zones)
    assert first.eu == pytest.approx(as_is.worst.eu, abs=1e-3)
    assert first.flow == pytest.approx(as_is.largest.flow, rel=1e-3)
    assert (first.header, first.main) == (as_is.candidate.header, as_is.candidate.main)
    assert first.set_head == as_is.candidate.assembly.set_head


def test_what_stands_on_the_frontier_is_what_a_design_gives(compared):
    base, found = compared
    frontier = [option for option in found.working if option.frontier]
    assert frontier
    for option in frontier:
        made = built(base, option)
        assert option.zones == len(made.zones)
        if not made.candidate.tapers:
            assert option.eu == pytest.approx(made.worst.eu, abs=1e-3)
            assert made.parts.total == pytest.approx(option.price)
            continue
        # A taper, which options leave out, saves money and costs a little evenness.
        assert made.parts.total < option.price
        assert base.eu <= made.worst.eu <= option.eu


def test_nothing_beats_the_frontier_in_price_and_uniformity(compared):
    _, found = compared

    def place(option):
        # Uniformity counts as far as it is shown.
        return option.price, round(option.eu, EU_DIGITS)

    for option in found.working:
        price, eu = place(option)
        beaten = any(
            other.price <= price and place(other)[1] >= eu and place(other) != (price, eu)
            for other in found.working
        )
        twins = [other for other in found.working if place(other) == (price, eu)]
        # Of twins the more even one stands there, then the first.
        first = min(twins, key=lambda other: (-other.eu, other.number))
        assert option.frontier == (not beaten and option.number == first.number)


def test_what_does_not_work_says_why_and_does_not(compared):
    base, found = compared
    failing = [option for option in found.options if not option.works]
    for option in failing[:3]:
        assert option.short
        with pytest.raises(ImpossibleError):
            built(base, option)


def test_every_line_place_and_feed_is_tried():
    base = field("market-garden")
    tried = ways(base)
    assert {way.line.device.code for way in tried} == set(devices())
    assert {way.place for way in tried} >= {"end", "middle", "far"}
    assert {way.feed for way in tried} == {"end", "tee"}
    assert {way.more_lines for way in tried} == {-1, 0, 1}
    assert len({(w.line, w.more_lines, w.place, w.feed) for w in tried}) == len(tried)
    assert changed(base, tried[0]) == base


def test_a_steep_field_tries_the_best_place_too():
    assert "best" in {way.place for way in ways(field("winter-squash"))}


def test_numbers_are_those_of_the_list(compared):
    _, found = compared
    assert [option.number for option in found.options] == list(range(1, len(found.options) + 1))
    assert list(found.options) == mark_frontier(found.options)


@pytest.mark.parametrize("name", NAMES)
def test_a_price_without_the_list_is_that_of_the_list(name):
    made = design(field(name))
    candidate = made.candidate
    wanted = {
        "share": made.field.share,
        "device": made.field.line.device,
        "header": candidate.header,
        "main": candidate.main,
        "assembly": candidate.assembly.parts,
        "valve": candidate.valve,
        "choices": BuildChoices(takeoff_valves=True, repair_kit=True),
    }
    listed = parts_of(candidate.layout, **wanted)
    total, unpriced = price_of(candidate.layout, **wanted)
    assert total == pytest.approx(listed.total)
    assert unpriced == len(listed.unpriced)
