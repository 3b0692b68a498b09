"""Depths, volumes and times."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.agronomy.need import gross_depth, longest_run, net_depth, run_seconds
from evenrow.errors import InputError


def test_net_is_use_less_rain():
    assert net_depth([0.005, 0.005], [0.002, 0.009]).tolist() == pytest.approx([0.003, 0.0])


def test_gross_covers_the_larger_of_leaching_and_loss():
    # mark: computed from the rule
    assert float(gross_depth(0.0045, 0.9, 0.2, 1.1)) == pytest.approx(0.005 / 0.8)
    assert float(gross_depth(0.0045, 0.9, 0.05, 1.1)) == pytest.approx(0.005 * 1.1)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(0.001, 0.02), st.floats(0.3, 0.95), st.floats(0.0, 0.8), st.floats(1.0, 1.4))
def test_gross_is_never_less_than_net_and_falls_with_uniformity(net, eu, lr, tr):
    here = float(gross_depth(net, eu, lr, tr))
    assert here >= net
    assert float(gross_depth(net, eu + 0.05, lr, tr)) < here
    assert float(gross_depth(net, eu, lr + 0.05, tr)) >= here


def test_the_longest_run_fills_what_is_gone():
    # 12 mm on 100 m2 at 90 %, 1.2 m3 net, 1.333 m3 out of the emitters at 1 m3/h; mark: computed
    seconds = float(longest_run(0.012, 100.0, 1.0 / 3600.0, 1.0 / 0.9))
    assert seconds / 3600.0 == pytest.approx(1.3333, abs=1e-4)
    assert float(run_seconds(0.012 / 0.9, 100.0, 1.0 / 3600.0)) == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("field", "call"),
    [
        ("etc", lambda: net_depth(5.0)),
        ("uniformity", lambda: gross_depth(0.005, 0.0)),
        ("leaching", lambda: gross_depth(0.005, 0.9, 1.0)),
        ("flow", lambda: run_seconds(0.01, 1.0, 0.0)),
        ("loss", lambda: longest_run(0.01, 1.0, 1.0, 0.5)),
        ("uniformity", lambda: gross_depth([0.01, 0.01], [0.9, 0.9, 0.9])),
    ],
)
def test_bad_values_are_named(field, call):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
