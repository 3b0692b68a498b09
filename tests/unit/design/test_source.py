"""Flow tests: what bucket and gauge say together."""

import pytest

from evenrow.design.source import SHARE_WITHOUT_GAUGE, flow_test
from evenrow.errors import InputError

BUCKET = (0.0189270589, 41.0)


def test_one_reading_is_enough_but_says_so():
    test = flow_test(readings=[BUCKET], static_head=36.5, required_head=20.0)
    assert test.open_flow == pytest.approx(0.0189270589 / 41.0)
    assert any("One reading" in text for text in test.warnings)


def test_usable_flow_lies_on_the_curve():
    test = flow_test(readings=[BUCKET] * 3, static_head=36.5, required_head=20.0)
    assert test.usable_flow == pytest.approx(test.open_flow * (1 - 20.0 / 36.5) ** 0.5)


def test_without_a_gauge_a_rough_share_is_taken_and_named():
    test = flow_test(readings=[BUCKET] * 2, static_head=None, required_head=20.0)
    assert test.usable_flow == pytest.approx(SHARE_WITHOUT_GAUGE * test.open_flow)
    assert test.source == "common practice, no source"
    assert any("No static pressure" in text for text in test.warnings)
    assert test.curve_points((0.0, 1.0)) == []


def test_readings_that_differ_are_pointed_at():
    test = flow_test(readings=[(0.02, 40.0), (0.02, 50.0)], static_head=36.5, required_head=0.0)
    assert test.spread == pytest.approx((1 / 40 - 1 / 50) / ((1 / 40 + 1 / 50) / 2))
    assert any("differ by more than 10 %" in text for text in test.warnings)


def test_throttled_readings_bend_the_curve():
    # Points of H = 36.5 - k Q^1.8 through the open flow.
    open_flow = BUCKET[0] / BUCKET[1]
    points = [(36.5 * (1 - share**1.8), share * open_flow) for share in (0.4, 0.6, 0.8)]
    test = flow_test(readings=[BUCKET], static_head=36.5, throttled=points, required_head=20.0)
    assert test.exponent == pytest.approx(1.8, abs=0.02)


def test_no_reading_is_asked_for():
    with pytest.raises(InputError) as caught:
        flow_test(readings=[], static_head=36.5, required_head=20.0)
    assert caught.value.field == "source.readings"


def test_more_pressure_than_there_is_leaves_no_flow():
    with pytest.raises(InputError) as caught:
        flow_test(readings=[BUCKET], static_head=36.5, required_head=36.5)
    assert caught.value.field == "required_pressure"


OPEN = BUCKET[0] / BUCKET[1]


@pytest.mark.parametrize(
    ("throttled", "field"),
    [
        ([(36.5, 0.5 * OPEN)], "source.throttled.0.pressure"),
        ([(20.0, 0.5 * OPEN), (10.0, 3.0 * OPEN)], "source.throttled.1.flow"),
        ([(20.0, 0.3 * OPEN), (25.0, 0.6 * OPEN)], "source.throttled"),
    ],
    ids=["above static", "above the bucket", "rising with flow"],
)
def test_throttled_readings_that_cannot_belong_to_the_tap_are_refused(throttled, field):
    with pytest.raises(InputError) as caught:
        flow_test(readings=[BUCKET], static_head=36.5, throttled=throttled, required_head=20.0)
    assert caught.value.field == field


def test_a_throttled_reading_off_the_curve_is_pointed_at():
    throttled = [(30.0, 0.05 * OPEN), (2.0, 0.6 * OPEN)]
    test = flow_test(readings=[BUCKET], static_head=36.5, throttled=throttled, required_head=1.0)
    assert any("do not lie on one curve" in text for text in test.warnings)
    assert test.usable_flow <= OPEN
