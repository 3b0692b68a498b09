"""What must hold for every soil, crop, bed and pressure."""

import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy import wetting
from evenrow.catalogue import devices
from evenrow.catalogue.growing import crops, soils
from evenrow.design.line_choice import LINES_MAX, choose_lines, wetted_width
from evenrow.design.line_words import laying_steps, reasons, summary
from evenrow.design.planting import Planting

VOLUMES = st.floats(1e-4, 1.0)
FLOWS = st.floats(1e-8, 1e-5)
CONDUCTIVITIES = st.floats(1e-8, 1e-3)
LENGTHS = st.floats(0.01, 5.0)
MORE = st.floats(1.01, 10.0)


@given(VOLUMES, CONDUCTIVITIES, FLOWS, MORE)
def test_more_water_goes_wider_and_deeper(volume, conductivity, flow, more):
    for formula in (wetting.wetted_width, wetting.wetted_depth):
        assert formula(more * volume, conductivity, flow) > formula(volume, conductivity, flow)


@given(VOLUMES, CONDUCTIVITIES, FLOWS, MORE)
def test_heavier_soil_is_wetted_wider_and_shallower(volume, conductivity, flow, more):
    heavy = conductivity / more
    args = volume, conductivity, flow
    assert wetting.wetted_width(volume, heavy, flow) > wetting.wetted_width(*args)
    assert wetting.wetted_depth(volume, heavy, flow) < wetting.wetted_depth(*args)


@given(LENGTHS, LENGTHS, MORE)
def test_a_strip_keeps_within_its_bounds(width, spacing, more):
    strip = float(wetting.strip_width(width, spacing))
    circle = math.pi / 4 * width**2
    assert float(wetting.narrowest_strip(width, spacing)) <= strip * (1 + 1e-12)
    assert 0.0 < strip <= min(width, circle / spacing) * (1 + 1e-12)
    assert wetting.strip_width(width, more * spacing) <= strip * (1 + 1e-12)
    assert wetting.strip_width(more * width, spacing) >= strip * (1 - 1e-12)


@given(LENGTHS, LENGTHS, st.floats(1e-3, 1e3))
def test_geometry_knows_no_units(width, spacing, scale):
    expected = scale * float(wetting.strip_width(width, spacing))
    assert math.isclose(
        float(wetting.strip_width(scale * width, scale * spacing)), expected, rel_tol=1e-9
    )


@given(st.sampled_from(list(soils().values())), st.floats(0.1, 2.0), FLOWS, MORE)
def test_a_larger_emitter_never_wets_less_and_never_more_than_the_handbook(
    ground, depth, flow, more
):
    width = wetted_width(ground, depth, flow)
    assert wetted_width(ground, depth, more * flow) >= width
    assert width <= float(wetting.tabled_width(ground.texture, depth)) * (1 + 1e-12)


PLANTINGS = st.builds(
    Planting,
    crop=st.sampled_from(list(crops().values())),
    soil=st.sampled_from(list(soils().values())),
    bed_width=st.none() | st.floats(0.1, 10.0),
    root_width=st.floats(0.05, 10.0),
    plant_spacing=st.floats(0.01, 20.0),
    row_length=st.floats(0.5, 5000.0),
    row_slope=st.floats(-0.3, 0.3),
    head=st.floats(0.01, 150.0),
    regulated=st.booleans(),
    bends=st.booleans(),
    years=st.booleans(),
    eu=st.floats(0.3, 0.99),
    viscosity=st.floats(4.7e-7, 1.8e-6),
    share=st.none() | st.floats(0.05, 1.0),
)


@settings(max_examples=40, deadline=None)
@given(PLANTINGS, st.sampled_from(["us", "metric"]))
def test_any_planting_gets_a_sound_verdict_on_every_line(planting, system):
    choice = choose_lines(planting)
    assert {c.device.code for c in choice.candidates} == set(devices())
    for candidate in choice.candidates:
        wet = candidate.wetting
        assert 1 <= wet.lines <= LINES_MAX
        assert 0.0 < wet.share <= 1.0
        assert wet.spacing in candidate.device.spacings
        words = reasons(candidate, planting, system)
        assert words.endswith(".") == bool(candidate.refusals or candidate.reservations)
        if candidate.suitable:
            emitter = candidate.device.emitter
            assert emitter.head_min <= candidate.head <= emitter.head_max
            assert wet.rate <= planting.soil.intake[1]
            assert not (planting.bends and candidate.device.kind == "tape")
            reach = max(candidate.longest_end, candidate.longest_middle)
            assert reach + 2 * wet.spacing > planting.row_length
    assert summary(choice, system).endswith(".")
    assert bool(laying_steps(choice, system, buried=False)) == (choice.best is not None)


@settings(max_examples=15, deadline=None)
@given(PLANTINGS)
def test_bends_only_ever_take_lines_away(planting):
    straight, bent = (
        {c.device.code for c in choose_lines(replace(planting, bends=bends)).suitable}
        for bends in (False, True)
    )
    assert bent == {code for code in straight if devices()[code].kind != "tape"}
