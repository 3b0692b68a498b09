"""The run lengths to look up are those of the exact search and of the calculator, never more."""

import random
from dataclasses import replace

import numpy as np
import pytest

from evenrow.calculators.registry import answer
from evenrow.calculators.run_table import (
    LIMITS,
    MOST_SHOWN,
    SLOPES,
    STEPS,
    TARGET,
    TARGETS,
    pressures_of,
    run_tables,
    shown_length,
    spacing_label,
    spacing_text,
    water_temperature,
)
from evenrow.catalogue import builtin, devices, using
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.run_length import RunLimits, longest_run
from evenrow.hydraulics.water import kinematic_viscosity
from evenrow.units import parse

FEET = 0.3048

#: A sample of cells, the same in every run: table and place in its arrays.
CELLS = [
    (t, place)
    for t, table in enumerate(run_tables())
    for place in random.Random(t).sample(list(np.ndindex(table.length.shape)), 8)
]


def metres(text, system):
    """Return what a shown length says, in metres."""
    return float(text) * (FEET if system == "us" else 1.0)


def viscosity():
    return kinematic_viscosity(parse(water_temperature(), "temperature"))


def broken(table, place, count):
    """Return the limits that a line of so many emitters breaks, by one exact solve."""
    s, g, h, e = place
    device, spacing, slope = table.device, table.device.spacings[s], parse(SLOPES[g], "slope")
    emitter, head = device.emitter, table.pressures[h].head
    solved = solve_lateral(
        Lateral(
            emitter, count, spacing, device.diameter, first_spacing=0.5 * spacing, slope=slope,
            viscosity=viscosity(), barb_k=device.body_k,
        ),
        head,
    )  # fmt: skip
    standing = head + max(0.0, -slope * (count - 0.5) * spacing)
    kept = {
        "eu": solved.eu >= parse(TARGETS[e], "share") - 1e-12,
        "head_min": solved.min_head >= emitter.head_min - 1e-12,
        "head_max": standing <= emitter.head_max + 1e-12,
    }
    return {name for name, holds in kept.items() if not holds}


@pytest.mark.parametrize(("t", "place"), CELLS)
def test_a_cell_keeps_every_limit_and_one_emitter_more_breaks_the_one_it_names(t, place):
    table = run_tables()[t]
    count = round(float(table.length[place]) / table.device.spacings[place[0]])
    if count:
        assert broken(table, place, count) == set()
    if table.limit[place]:
        assert table.limit[place] in broken(table, place, count + 1)
    else:
        assert table.length[place] > MOST_SHOWN["us"] * FEET


@pytest.mark.parametrize(("t", "place"), CELLS)
def test_a_cell_is_the_longest_run_and_what_is_shown_is_never_above_it(t, place):
    table = run_tables()[t]
    s, g, h, e = place
    device, spacing = table.device, table.device.spacings[s]
    emitter = device.emitter
    found = longest_run(
        emitter,
        spacing,
        device.diameter,
        table.pressures[h].head,
        slope=parse(SLOPES[g], "slope"),
        limits=RunLimits(
            eu=parse(TARGETS[e], "share"), head_min=emitter.head_min, head_max=emitter.head_max
        ),
        maximum_length=700.0,
        viscosity=viscosity(),
        barb_k=device.body_k,
    )
    exact = found.count * spacing
    if table.limit[place]:
        assert table.length[place] == pytest.approx(exact, abs=1e-9)
    for system in ("us", "metric"):
        step = metres("1", system) * STEPS[system]
        shown = shown_length(float(table.length[place]), system)
        if shown.startswith("over"):
            assert exact > metres(shown.removeprefix("over "), system)
        elif shown == "none":
            assert table.length[place] < step
        else:
            assert metres(shown, system) <= exact + 1e-9
            assert table.length[place] - metres(shown, system) < step


@pytest.mark.parametrize("t", range(len(run_tables())))
def test_the_calculator_says_the_same(t):
    table = run_tables()[t]
    h = next(i for i, pressure in enumerate(table.pressures) if pressure.rated)
    e, s, g = TARGETS.index(TARGET), 1, SLOPES.index("1 %")
    _, result, _ = answer(
        {
            "evenrow": 1,
            "calculator": "run-length",
            "units": "us",
            "line": {"device": table.device.code, "spacing": table.spacings[s]},
            "pressure": table.pressures[h].text,
            "ground": {"row_slope": SLOPES[g]},
            "limits": {"eu": TARGET},
        }
    )
    assert table.length[s, g, h, e] == pytest.approx(result.headline.value, abs=1e-9)


def test_every_line_and_every_spacing_sold_is_there():
    assert [table.device for table in run_tables()] == list(devices().values())
    for table in run_tables():
        sold = [parse(text, "spacing") for text in table.spacings]
        assert sold == pytest.approx(list(table.device.spacings), abs=1e-12)
        assert table.length.shape == (
            len(sold), len(SLOPES), len(table.pressures), len(TARGETS),
        )  # fmt: skip
        assert table.limit.shape == table.length.shape
        assert set(np.unique(table.limit)) <= {"", *LIMITS}


def test_more_uniformity_is_never_a_longer_run():
    for table in run_tables():
        assert (np.diff(table.length, axis=-1) <= 0.0).all()


def test_only_runs_beyond_what_is_shown_have_no_limit():
    for table in run_tables():
        free = table.limit == ""
        assert (table.length[free] > MOST_SHOWN["us"] * FEET).all()


@pytest.mark.parametrize(
    ("length", "us", "metric"),
    [
        (0.0, "none", "none"),
        (0.2, "none", "none"),
        (0.4, "1", "none"),
        (0.3048, "1", "none"),
        (0.5, "1", "0.5"),
        (57.99, "190", "57.5"),
        (263.09999999999997, "863", "263"),
        (547 * 0.3, "538", "164"),
        (600.0, "1968", "600"),
        (600.1, "1968", "over 600"),
        (609.6, "2000", "over 600"),
        (609.7, "over 2000", "over 600"),
    ],
)
def test_lengths_are_rounded_down(length, us, metric):
    assert shown_length(length, "us") == us
    assert shown_length(length, "metric") == metric


def test_what_binary_takes_from_a_whole_step_is_given_back():
    # 0.1 + 0.2 and the like: 29 spacings of 10 cm are 2.9 m, in binary a little less or more.
    for count in range(1, 500):
        length = count * 0.1 * 5
        assert float(shown_length(length, "metric")) == pytest.approx(count * 0.5)


def test_pressures_lie_within_the_range_of_the_line():
    for device in devices().values():
        emitter = device.emitter
        pressures = pressures_of(emitter)
        heads = [pressure.head for pressure in pressures]
        assert heads == sorted(heads)
        assert emitter.head_min < heads[0]
        assert heads[-1] < emitter.head_max
        (rated,) = [pressure for pressure in pressures if pressure.rated]
        assert rated.head == pytest.approx(emitter.head_nominal, abs=1e-9)
        for pressure in pressures:
            assert parse(pressure.text, "pressure") == pressure.head


def test_a_pressure_that_is_round_in_no_unit_is_still_said_in_full():
    emitter = Emitter(1e-6, 7.4321, 0.5, 0.03, 7.4, 7.5)
    (only,) = pressures_of(emitter)
    assert only.rated
    assert only.text == "7.4321 m of water"
    assert only.head == pytest.approx(7.4321)


@pytest.mark.parametrize(
    ("spacing", "text", "label"),
    [
        (0.3, "30 cm", "30\u00a0cm (12\u00a0in)"),
        (0.1524, "6 in", "6\u00a0in (15\u00a0cm)"),
        (0.333, "33.3 cm", "33.3\u00a0cm (13\u00a0in)"),
    ],
)
def test_spacings_are_said_in_the_unit_in_which_they_are_whole(spacing, text, label):
    assert spacing_text(spacing) == text
    assert spacing_label(text) == label


def test_a_line_of_ones_own_catalogue_is_worked_out_too():
    base = builtin()
    line = replace(base.devices["tape-22"], code="own", spacings=(0.25,))
    with using(replace(base, devices={"own": line})):
        (table,) = run_tables()
        assert table.device is line
        assert table.spacings == ("25 cm",)
    assert len(run_tables()) == len(base.devices)
