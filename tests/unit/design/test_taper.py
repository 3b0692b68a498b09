"""Tapered headers: smaller pipe outside, every limit kept, and cheaper."""

from dataclasses import replace

import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.design.choices import BuildChoices
from evenrow.design.demos import demo
from evenrow.design.field import field_of, rows_of
from evenrow.design.limits import shortfalls
from evenrow.design.parts import price_of
from evenrow.design.search import run, search
from evenrow.design.solve import design
from evenrow.design.system import FieldHydraulics
from evenrow.design.taper import SHARES, smaller_pipe, with_tapers


def field(**changes):
    return replace(field_of(*read(CALCULATOR, demo("winter-squash"))), **changes)


def wide_field():
    """A field with long headers: sixty rows on a strong pump, fed at one end."""
    rows = [{"crop": "", "count": 60, "length": 100.0, "spacing": 3.0, "lines": 1}]
    return field(rows=rows_of(rows), feed="end", eu=0.7)


@pytest.fixture(scope="module")
def tapered():
    return design(wide_field())


def test_a_long_header_goes_on_in_smaller_pipe(tapered):
    assert tapered.candidate.tapers
    for taper in tapered.candidate.tapers.values():
        assert taper.size.bore < tapered.candidate.header.bore
        assert max(taper.takeoffs) > 0


def test_every_limit_is_kept(tapered):
    assert not shortfalls(tapered.field, tapered.candidate, tapered.zones)


def test_it_is_cheaper_than_one_size(tapered):
    found = run(search(FieldHydraulics(wide_field()))).best
    with_taper, parts = with_tapers(found, BuildChoices(timer=False))
    assert with_taper.case.candidate.tapers == tapered.candidate.tapers
    plain = replace(tapered, candidate=replace(tapered.candidate, tapers={}))
    assert parts.total == pytest.approx(tapered.parts.total)
    assert parts.total < plain_total(plain)


def plain_total(plain):
    candidate = plain.candidate
    return price_of(
        candidate.layout,
        share=plain.field.share,
        device=plain.field.line.device,
        header=candidate.header,
        main=candidate.main,
        assembly=candidate.assembly.parts,
        valve=candidate.valve,
        choices=BuildChoices(timer=False),
    )[0]


def test_the_water_runs_faster_and_less_evenly_than_in_one_size(tapered):
    found = run(search(FieldHydraulics(wide_field()))).best
    for plain, zone in zip(found.measured.states(found.number), tapered.zones, strict=True):
        assert zone.eu <= plain.eu + 1e-9
        assert zone.header_velocity >= plain.header_velocity - 1e-9


def test_demos_have_headers_too_short_for_it():
    assert not design(field()).candidate.tapers


def test_shares_leave_pipe_of_the_first_size_at_the_feed():
    assert max(SHARES) < 1.0


def test_the_smallest_pipe_has_none_below_it():
    size = smaller_pipe(design(field()).candidate.header, 5.0)
    while size is not None:
        last, size = size, smaller_pipe(size, 5.0)
    assert smaller_pipe(last, 5.0) is None
