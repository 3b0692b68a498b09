"""The search for the fewest zones against trying every number of zones at every setting."""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenrow.calculators.reading import read
from evenrow.calculators.whole_field import CALCULATOR
from evenrow.catalogue import device
from evenrow.design import search as module
from evenrow.design.bounds import hopeless
from evenrow.design.demos import demo
from evenrow.design.field import field_of, rows_of
from evenrow.design.line import Line
from evenrow.design.search import run, run_together, search
from evenrow.design.settings import set_heads
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import group_runs

BASE = field_of(*read(CALCULATOR, demo("market-garden")))

groups = st.fixed_dictionaries(
    {
        "crop": st.sampled_from(["", "leek"]),
        "count": st.integers(1, 6),
        "length": st.sampled_from([8.0, 30.0, 55.0]),
        "spacing": st.sampled_from([0.8, 1.5]),
        "lines": st.integers(1, 3),
    }
)


@st.composite
def fields(draw):
    lateral = Line(
        device=device(draw(st.sampled_from(["tape-16-thick", "dripline-16", "tape-22-low"]))),
        spacing=draw(st.sampled_from([0.2, 0.4])),
        viscosity=BASE.line.viscosity,
    )
    return replace(
        BASE,
        rows=rows_of(draw(st.lists(groups, min_size=1, max_size=3))),
        line=lateral,
        feed=draw(st.sampled_from(["end", "tee"])),
        eu=draw(st.sampled_from([0.85, 0.92])),
    ).placed(draw(st.sampled_from([0.0, 0.5])))


def every_number(field):
    """Return the fewest zones by trying all numbers at all settings, or None."""
    hydraulics = FieldHydraulics(field)
    kept = []
    for set_head in set_heads(field):
        if hopeless(hydraulics, set_head) is None:

            def all_of_them(set_head=set_head):
                counts = range(group_runs(field.crops), len(field.rows) + 1)
                found = yield from module._try(hydraulics, set_head, counts, 0, [])
                return found

            kept += list(run(all_of_them()))
    return min(kept, default=None)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(fields())
def test_no_number_of_zones_below_the_answer_keeps_every_limit(field):
    outcome = run(search(FieldHydraulics(field)))
    found = None if outcome.best is None else len(outcome.best.case.candidate.layout.zones)
    assert found == every_number(field)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(fields(), min_size=2, max_size=4))
def test_searches_run_together_find_what_each_finds(some):
    together = run_together([search(FieldHydraulics(field)) for field in some])
    for field, outcome in zip(some, together, strict=True):
        alone = run(search(FieldHydraulics(field)))
        assert (outcome.best is None) == (alone.best is None)
        if alone.best is None:
            assert outcome.failures == alone.failures
            continue
        assert outcome.best.case.candidate == alone.best.case.candidate
