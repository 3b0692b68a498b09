"""Which line suits: decisions a grower would expect, and the figures beside each refusal."""

from dataclasses import replace

import pytest

from evenrow.catalogue import devices
from evenrow.catalogue.growing import crop, soil
from evenrow.design.line_choice import choose_lines, judge, suitable, wetted_width
from evenrow.design.line_words import laying_steps, reasons, sold_words, summary
from evenrow.design.planting import Planting
from evenrow.errors import InputError

PSI, FOOT = 0.703070, 0.3048


def planting(plant="lettuce", ground="loam", **changes):
    found = crop(plant)
    values = {
        "crop": found,
        "soil": soil(ground),
        "bed_width": 3 * FOOT,
        "root_width": found.root_width,
        "plant_spacing": found.plant_spacing,
        "row_length": 100 * FOOT,
        "row_slope": 0.0,
        "head": 40 * PSI,
        "regulated": True,
        "bends": False,
        "years": found.perennial,
        "eu": 0.85,
        "viscosity": 1.14e-6,
    }
    return Planting(**{**values, **changes})


def names(findings):
    return {finding.name for finding in findings}


def by_code(choice):
    return {candidate.device.code: candidate for candidate in choice.candidates}


def test_lettuce_on_a_three_foot_bed_of_loam_takes_two_or_three_lines():
    choice = choose_lines(planting())
    assert choice.best.device.kind == "tape"
    assert choice.best.wetting.lines in (2, 3)
    assert choice.best.wetting.share >= 0.8
    # Common practice: 8 to 12 in between emitters on loam.
    assert 0.2 <= choice.best.wetting.spacing <= 0.31
    assert {c.wetting.lines for c in choice.suitable} <= {2, 3}


def test_a_single_row_on_clay_takes_one_line_of_wide_spacing():
    best = choose_lines(planting("tomato", "clay", bed_width=None)).best
    assert best.wetting.lines == 1
    assert best.wetting.spacing >= 0.3
    assert best.wetting.share == 1.0


def test_a_bed_of_clay_has_lines_no_farther_apart_than_two_feet():
    assert choose_lines(planting(ground="clay")).best.wetting.lines == 2


def test_sand_asks_for_close_emitters_and_many_lines():
    choice = choose_lines(planting(ground="sand"))
    assert choice.best.wetting.lines == 4
    assert choice.best.wetting.spacing <= 0.2
    wide = by_code(choice)["dripline-16-gravity"]
    assert "gaps" in names(wide.refusals)


def test_a_row_that_bends_has_no_tape():
    choice = choose_lines(planting(bends=True))
    assert choice.best.device.kind == "dripline"
    for candidate in choice.candidates:
        is_tape = candidate.device.kind == "tape"
        assert ("bends" in names(candidate.refusals)) == is_tape, candidate.device.code


def test_forty_psi_without_a_regulator_bursts_tape_and_says_by_how_much():
    given = planting(regulated=False)
    choice = choose_lines(given)
    thin = by_code(choice)["tape-16-thin"]
    assert names(thin.refusals) == {"bursts"}
    assert thin.longest_end is None
    words = reasons(thin, given, "us").replace("\N{NO-BREAK SPACE}", " ")
    assert "bears 12 psi" in words
    assert "40 psi is 28 psi too much" in words
    assert "set to 8 psi" in words
    # Only what is rated for more than 40 psi is left.
    assert all(c.device.emitter.head_max > 40 * PSI for c in choice.suitable)
    assert choice.best.head == pytest.approx(40 * PSI)


def test_with_a_regulator_the_line_starts_at_a_setting_it_bears():
    for candidate in choose_lines(planting()).candidates:
        assert candidate.head <= candidate.device.emitter.head_max
    assert by_code(choose_lines(planting()))["tape-16-thin"].head == pytest.approx(
        8 * PSI, rel=1e-4
    )


def test_a_low_tank_leaves_only_the_line_made_for_tanks():
    choice = choose_lines(planting(head=1.3, regulated=False, row_length=10.0))
    assert [c.device.code for c in choice.suitable] == ["dripline-16-gravity"]
    words = reasons(by_code(choice)["tape-16-thin"], choice.planting, "us")
    assert "needs" in words
    assert "short" in words


def test_pressure_just_at_the_lowest_does_not_starve_and_just_below_does():
    device = devices()["tape-16-thin"]
    lowest = device.emitter.head_min
    at = judge(device, planting(head=lowest, regulated=False, row_length=2.0))
    below = judge(device, planting(head=lowest * 0.999, regulated=False, row_length=2.0))
    assert "starves" not in names(at.refusals)
    assert "starves" in names(below.refusals)


def test_roots_three_feet_wide_get_a_line_on_each_side():
    narrow = planting("tomato", "clay", bed_width=None, root_width=0.85)
    wide = replace(narrow, root_width=0.9144)
    assert choose_lines(narrow).best.wetting.lines == 1
    assert choose_lines(wide).best.wetting.lines == 2


def test_a_row_too_long_from_its_end_takes_the_header_in_its_middle():
    device = devices()["dripline-16"]
    end = judge(device, planting("raspberry", bed_width=None)).longest_end
    over = judge(device, planting("raspberry", bed_width=None, row_length=1.5 * end))
    assert over.suitable
    assert over.place == "middle"
    far = judge(device, planting("raspberry", bed_width=None, row_length=2.5 * end))
    assert names(far.refusals) == {"too long"}
    assert "too long" in reasons(far, planting(row_length=2.5 * end), "metric")


def test_a_row_of_just_the_longest_run_is_reached():
    device = devices()["dripline-16"]
    first = judge(device, planting())
    again = judge(device, planting(row_length=first.longest_end))
    assert again.place == "end"
    longer = judge(device, planting(row_length=first.longest_end + first.wetting.spacing))
    assert longer.place == "middle"


def test_on_a_slope_the_climbing_side_limits_the_middle():
    device = devices()["dripline-16"]
    flat = judge(device, planting(row_slope=0.0))
    up = judge(device, planting(row_slope=0.02))
    assert flat.longest_middle == pytest.approx(2 * flat.longest_end)
    assert up.longest_end < flat.longest_end
    assert up.longest_middle <= 2 * up.longest_end + 1e-9


def test_perennials_prefer_dripline_and_frown_on_thin_tape():
    choice = choose_lines(planting("raspberry", bed_width=None))
    assert choice.best.device.kind == "dripline"
    found = by_code(choice)
    assert "thin" in names(found["tape-16-thin"].reservations)
    assert "thin" not in names(found["tape-16-thick"].reservations)
    assert "thin" not in names(found["dripline-16"].reservations)


def test_heavy_flow_on_clay_runs_off():
    found = by_code(choose_lines(planting(ground="clay")))
    quarter = found["dripline-quarter"]
    assert "runs off" in names(quarter.refusals)
    assert quarter.wetting.rate > soil("clay").intake[1]
    assert "puddles" in names(found["dripline-16"].reservations)
    assert not found["tape-22-low"].reservations


def test_wide_plants_bear_gaps_but_close_ones_do_not():
    close = choose_lines(planting("lettuce", "sand"))
    wide = choose_lines(planting("winter-squash", "sand", bed_width=None, root_width=0.3))
    code = "dripline-16-gravity"
    assert "gaps" in names(by_code(close)[code].refusals)
    assert "gaps" not in names(by_code(wide)[code].refusals)
    assert "gaps" in names(by_code(wide)[code].reservations)


def test_suitable_lines_stand_first_and_refused_ones_last():
    choice = choose_lines(planting(regulated=False))
    flags = [candidate.suitable for candidate in choice.candidates]
    assert flags == sorted(flags, reverse=True)
    assert len(choice.candidates) == len(devices())


def test_every_line_that_is_refused_says_why():
    for given in (planting(regulated=False), planting(bends=True), planting(ground="sand")):
        choice = choose_lines(given)
        for candidate in choice.candidates:
            words = reasons(candidate, given, "metric")
            assert candidate.suitable or (words.endswith(".") and len(words) > 30)


def test_nothing_that_fits_is_an_answer_with_what_to_try():
    choice = choose_lines(planting(regulated=False, head=100 * PSI))
    assert choice.best is None
    assert choice.suitable == ()
    assert "pressure regulator" in summary(choice, "us")
    assert laying_steps(choice, "us", buried=False) == ()


def test_the_short_list_is_that_of_the_choice():
    given = planting()
    expected = [
        (c.device, c.wetting.spacing, c.wetting.lines) for c in choose_lines(given).suitable
    ]
    assert suitable(given) == expected
    only = [devices()["dripline-16"]]
    assert [found[0] for found in suitable(given, only)] == only


def test_no_lines_at_all_are_refused():
    with pytest.raises(InputError, match="no line"):
        choose_lines(planting(), [])


def test_a_wetted_width_never_passes_the_handbook():
    assert wetted_width(soil("clay"), 0.7, 4e-3 / 3600) == pytest.approx(3.5 * FOOT)
    assert wetted_width(soil("sand"), 0.7, 1e-3 / 3600) < 1.5 * FOOT


def test_spacings_go_by_their_trade_name():
    words = [sold_words(value, "us").replace("\N{NO-BREAK SPACE}", " ") for value in (0.2, 0.3048)]
    assert words == ["8 in", "12 in"]
    assert sold_words(0.2, "metric").replace("\N{NO-BREAK SPACE}", " ") == "20 cm"
    # 9 cm is too far from any whole inch.
    assert sold_words(0.09, "us").startswith("3.5")


def test_steps_say_emitters_up_and_where_the_lines_go():
    choice = choose_lines(planting())
    steps = " ".join(laying_steps(choice, "us", buried=False)).replace("\N{NO-BREAK SPACE}", " ")
    assert "emitters up" in steps
    assert "2 to 3 in" in steps
    assert "straight" in steps
    assert "Bury" not in steps
    assert "Bury" in " ".join(laying_steps(choice, "us", buried=True))
