"""Drawings of solved designs agree with the design."""

from dataclasses import replace

import numpy as np
import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import pipes
from evenrow.design.demos import NAMES, demo
from evenrow.design.field import field_of
from evenrow.design.model import Taper
from evenrow.design.segments import segment_areas
from evenrow.design.solve import design
from evenrow.figures import from_design
from evenrow.units import format_value
from evenrow.words import use_language

FIGURES = (
    from_design.plan_figure,
    from_design.row_profile,
    from_design.header_profile,
    from_design.emitter_histogram,
    from_design.budget_figure,
)


@pytest.fixture(scope="module", params=NAMES)
def name(request):
    return request.param


@pytest.fixture(scope="module")
def found(name):
    inputs, system = read(CALCULATOR, demo(name))
    return design(field_of(inputs, system))


@pytest.mark.parametrize("figure", FIGURES)
def test_every_demonstration_can_be_drawn(drawn, found, figure):
    made = figure(found)
    assert made.title
    assert made.alternative
    assert drawn.outside(drawn.read(made.svg), slack=3.0) == []


def test_numbers_are_lines_of_the_parts_list(found):
    refs = from_design.refs_of(found)
    for ref in refs.values():
        assert found.parts.parts[ref.number - 1].label == ref.label
    for element in ("line", "take-off", "line cap", "main", "header", "header cap"):
        assert element in refs
    assert "take-off" in refs["take-off"].label
    assert ("valve" in refs) == (len(found.zones) > 1)
    assert ("tee" in refs) == any(zone.layout.tee for zone in found.zones)
    assert ("elbow" in refs) == any(not zone.layout.tee for zone in found.zones)
    for place, part in enumerate(found.candidate.assembly.parts, start=1):
        assert refs[f"assembly {place}"].label.startswith(part.label)


def test_numbers_are_the_same_in_every_language(name, found):
    inputs, system = read(CALCULATOR, demo(name))
    with use_language("es"):
        refs = from_design.refs_of(design(field_of(inputs, system)))
    numbers = {element: ref.number for element, ref in from_design.refs_of(found).items()}
    assert {element: ref.number for element, ref in refs.items()} == numbers
    assert all(ref.label != from_design.refs_of(found)[e].label for e, ref in refs.items())


def test_the_plan_is_the_layout(found):
    plan = from_design.plan_of(found)
    takeoffs = [p for zone in found.candidate.layout.zones for p in zone.takeoffs]
    assert [p for row in plan.rows for p in row.lines] == takeoffs
    for zone, solved in zip(plan.zones, found.zones, strict=True):
        assert zone.pieces[0].start == solved.layout.takeoffs[0]
        assert zone.pieces[-1].end == solved.layout.takeoffs[-1]
        for before, after in zip(zone.pieces, zone.pieces[1:], strict=False):
            assert before.end == after.start


def test_the_emitter_marked_has_the_least_pressure(found):
    zone, _, run, away = from_design._driest(found)
    least = min(z.emitter_head_min for z in found.zones)
    assert zone.emitter_head_min == least
    assert 0.0 < away <= run.length


def test_the_spread_is_that_of_the_solve(found):
    flows = np.concatenate(from_design._zone_emitters(found, found.worst)[1])
    assert flows.size == found.worst.emitters
    # Lines of a bed share the mean head of their row, which moves the figures a little.
    assert flows.mean() == pytest.approx(found.worst.emitter_flow_mean, rel=2e-3)
    assert flows.min() == pytest.approx(found.worst.emitter_flow_min, rel=1e-2)


def test_the_profile_ends_at_the_least_pressure(found):
    least = min(zone.emitter_head_min for zone in found.zones)
    assert (
        format_value(least, "pressure", found.field.system)
        in from_design.row_profile(found).alternative
    )


def test_pieces_of_a_tapered_header_have_the_bores_of_the_solve(found):
    zone = found.zones[0]
    count = len(zone.layout.takeoffs)
    small = next(size for size in pipes().values() if size.bore != found.candidate.header.bore)
    taper = Taper(size=small, takeoffs=(1 if zone.layout.tee else 0, 2))
    made = replace(found, candidate=replace(found.candidate, tapers={zone.layout.number: taper}))
    pieces = from_design.plan_of(made).zones[0].pieces
    areas = segment_areas(made.candidate, zone.layout, np.arange(count))
    at = zone.layout.takeoffs
    seen = set()
    for i in range(count):
        # Each outlet's pipe comes from its neighbour on the side of the feed.
        neighbour = i + 1 if at[i] < zone.layout.feed - 1e-9 else i - 1
        middle = (at[i] + at[min(max(neighbour, 0), count - 1)]) / 2
        if middle == at[i] or (at[i] < zone.layout.feed) != (middle < zone.layout.feed):
            continue
        bore = next(p.bore for p in pieces if p.start <= middle <= p.end)
        assert np.pi / 4 * bore**2 == pytest.approx(areas[i])
        seen.add(bore)
    assert len(seen) == 2


@pytest.mark.parametrize(
    ("name", "share"), [("market-garden", 0.5), ("market-garden", 1.0), ("winter-squash", 0.05)]
)
def test_a_header_anywhere_along_the_rows(drawn, name, share):
    inputs, system = read(CALCULATOR, demo(name))
    found = design(field_of(inputs, system).placed(share))
    plan = from_design.plan_of(found)
    assert all(row.header == pytest.approx(share * row.length) for row in plan.rows)
    row = plan.rows[plan.worst.row]
    assert 0.0 <= plan.worst.along <= row.length
    zone, _, run, away = from_design._driest(found)
    assert plan.worst.along == pytest.approx(share * row.length + run.away * away)
    for figure in FIGURES:
        assert drawn.outside(drawn.read(figure(found).svg), slack=3.0) == []
    least = format_value(zone.emitter_head_min, "pressure", system)
    assert least in from_design.row_profile(found).alternative


def test_north_stands_on_the_plan_where_the_direction_of_the_rows_is_told(drawn):
    document = demo("raspberries")
    assert "er-north" not in from_design.plan_figure(designed(document)).svg
    document.setdefault("ground", {})["bearing"] = "southwest"
    found = designed(document)
    assert found.field.bearing == 225.0
    assert "er-north" in from_design.plan_figure(found).svg


def designed(document):
    inputs, system = read(CALCULATOR, document)
    return design(field_of(inputs, system))
