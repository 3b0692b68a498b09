"""The line of a design, its own figures over those of the catalogue."""

import numpy as np
import pytest

from evenrow.calculators.fields import TEMPERATURE
from evenrow.calculators.reading import read
from evenrow.calculators.run_length import CALCULATOR
from evenrow.catalogue import devices
from evenrow.design.field import best_share
from evenrow.design.ground import Ground
from evenrow.design.line import line_of
from evenrow.design.runs import Row
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.hydraulics.laws import local_loss_factor
from evenrow.units import parse


def line(code, **own):
    return line_of({"device": code, "spacing": 0.3, "own": own}, 20.0)


def test_the_body_of_the_catalogue_is_in_every_lateral():
    for code, device in devices().items():
        assert line(code).lateral(6.0).barb_k == device.body_k


def test_ones_own_figure_stands_over_that_of_the_catalogue_also_when_it_is_nothing():
    assert line("dripline-16").device.body_k > 0.0
    assert line("dripline-16", body_loss=0.0).device.body_k == 0.0
    assert line("dripline-16", body_loss=1.3).lateral(30.0).barb_k == 1.3
    assert line("tape-16-thin", body_loss=None).device == devices()["tape-16-thin"]


def test_bodies_cost_what_the_sum_of_squares_says():
    # Compensating emitters of flow q: the pipe before the i-th from the end carries i q, so that
    # the bodies take K q² / (2 g A²) (1 + 4 + … + n²).
    with_bodies = line("dripline-16-even").lateral(60.0)
    without = line("dripline-16-even", body_loss=0.0).lateral(60.0)
    n, q = with_bodies.count, with_bodies.emitter.flow_nominal
    one = float(local_loss_factor(devices()["dripline-16-even"].body_k, with_bodies.diameter))
    total = one * q**2 * n * (n + 1) * (2 * n + 1) / 6
    ends = [float(solve_lateral(each, 20.0).end_head) for each in (without, with_bodies)]
    assert ends[0] - ends[1] == pytest.approx(total, rel=1e-6)
    assert total > 0.5


def test_the_place_of_the_header_knows_the_bodies():
    # On a climbing row the header lies above the middle, the less so the more is lost along the
    # line beside the climb.
    rows = (Row(number=1, crop="", length=150.0, position=0.0, width=1.0, lines=1),)
    ground = Ground(row_slope=0.01)
    shares = [best_share(line("dripline-16", body_loss=k), rows, ground) for k in (0.0, 1.0, 5.0)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > shares[-1] > 0.5


def answered(**changes):
    document = {
        "evenrow": 1, "calculator": "run-length", "units": "metric",
        "line": {"device": "dripline-16", "spacing": "30 cm", **changes},
    }  # fmt: skip
    return CALCULATOR.run(*read(CALCULATOR, document))


def numbers(result):
    return {item.name: item for section in result.sections for item in section.items}


def test_the_page_says_what_the_bodies_take():
    with_bodies, without = answered(), answered(own={"body_loss": "0"})
    assert with_bodies.headline.value < without.headline.value
    assert "body_loss" not in numbers(without)
    told = numbers(with_bodies)["body_loss"]
    water = parse(TEMPERATURE.default_for("metric"), "temperature")
    same = line_of({"device": "dripline-16", "spacing": 0.3}, water)
    solved = same.lateral(float(with_bodies.headline.value))
    speed = solve_lateral(solved, solved.emitter.head_nominal).velocity
    assert told.value == pytest.approx(float(np.sum(0.4 * speed**2 / (2 * 9.80665))), rel=1e-9)
    assert "0.4 times" in told.rule
    assert "Provenzano" in told.source
