"""The reason that a design gives for each size of pipe."""

from dataclasses import replace

import pytest

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import pipes
from evenrow.design.demos import demo
from evenrow.design.field import field_of
from evenrow.design.model import Growth
from evenrow.design.sizing import header_reason
from evenrow.design.solve import design


@pytest.fixture(scope="module")
def squash():
    return field_of(*read(CALCULATOR, demo("winter-squash")))


def test_velocity_is_the_reason_where_the_next_smaller_pipe_would_be_too_fast(squash):
    found = design(squash)
    main = found.candidate.main
    smaller = [p for p in pipes().values() if p.bore < main.bore][-1]
    flow = found.largest.main_velocity * main.area
    assert flow / smaller.area > squash.velocity
    assert found.sizing[1].startswith("Chosen by velocity")
    assert smaller.label in found.sizing[1]


def test_a_pipe_that_grew_says_what_broke_before():
    document = demo("winter-squash")
    # So even a zone asks for more than the velocity does.
    document["limits"]["eu"] = "90 %"
    found = design(field_of(*read(CALCULATOR, document)))
    grown = [step for step in found.candidate.grown if step.pipe == "header"]
    assert grown
    assert found.sizing[0].startswith("Grown")
    assert grown[-1].before.label in found.sizing[0]
    assert "90\u00a0%" in found.sizing[0]


def test_a_pipe_that_was_asked_for_says_so(squash):
    found = design(replace(squash, least_header=pipes()["flat-76"]))
    assert found.sizing[0].startswith("As asked for")


def test_several_steps_are_counted(squash):
    found = design(squash)
    sizes = list(pipes().values())
    steps = tuple(Growth(pipe="header", before=size, why="it broke") for size in sizes[:2])
    text = header_reason(squash, replace(found.candidate, grown=steps), found.zones)
    assert "in 2 steps" in text
    assert sizes[1].label in text
