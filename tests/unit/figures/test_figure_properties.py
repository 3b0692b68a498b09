"""Random fields and values: well-formed, finite, within the paper, the same every time."""

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.figures.charts import Limit, Series, line_chart
from evenrow.figures.plan import plan_drawing
from evenrow.figures.plan_model import Obstacle, Piece, Plan, PlanRow, PlanZone, Ref, Worst

KINDS = (
    "line",
    "take-off",
    "line cap",
    "anchor",
    "main",
    "header",
    "header cap",
    "tee",
    "elbow",
    "reducer",
    "valve",
    "assembly 1",
    "assembly 2",
)
words = st.text(max_size=30)
slopes = st.floats(-0.3, 0.3)


@st.composite
def plans(draw):
    count = draw(st.integers(1, 60))
    spacing = draw(st.floats(0.3, 12.0))
    lengths = draw(st.lists(st.floats(0.5, 800.0), min_size=1, max_size=3))
    share = draw(st.sampled_from([0.0, 0.37, 0.5, 1.0]))
    lines = draw(st.integers(1, 4))
    rows = []
    for i in range(count):
        length = lengths[i * len(lengths) // count]
        half = 0.3 * spacing if lines > 1 else 0.0
        places = tuple(i * spacing - half + 2 * half * k / max(lines - 1, 1) for k in range(lines))
        rows.append(PlanRow(number=i + 1, lines=places, length=length, header=share * length))
    cuts = sorted({0, count, *draw(st.lists(st.integers(0, count), max_size=12))})
    zones = []
    for number, (a, b) in enumerate(pairwise(cuts), start=1):
        start, end = rows[a].lines[0], rows[b - 1].lines[-1]
        middle = (start + end) / 2
        pieces = (
            Piece(start=start, end=middle, bore=0.02),
            Piece(start=middle, end=end, bore=0.03),
        )
        feed = draw(st.sampled_from([start, middle, end]))
        zones.append(
            PlanZone(number=number, rows=(a, b), feed=feed, pieces=pieces, note=draw(words))
        )
    last = rows[-1].lines[-1]
    worst = draw(st.integers(0, count - 1))
    named = draw(st.sets(st.sampled_from(KINDS)))
    return Plan(
        title=draw(words),
        source=draw(words),
        rows=tuple(rows),
        zones=tuple(zones),
        main_length=draw(st.floats(0.0, 900.0)),
        arrives=draw(st.one_of(st.none(), st.floats(-20.0, last + 20.0))),
        assembly=tuple(draw(st.lists(words, max_size=8))),
        refs={kind: Ref(number=i, label=draw(words)) for i, kind in enumerate(sorted(named), 1)},
        row_slope=draw(slopes),
        header_slope=draw(slopes),
        system=draw(st.sampled_from(["us", "metric"])),
        bearing=draw(st.one_of(st.none(), st.floats(0.0, 360.0))),
        worst=Worst(row=worst, along=draw(st.floats(0.0, 1.0)) * rows[worst].length),
        obstacles=tuple(
            Obstacle(label=draw(words), position=draw(st.floats(0.0, max(last, 0.0))))
            for _ in range(draw(st.integers(0, 2)))
        ),
    )


@settings(max_examples=60, deadline=None)
@given(plan=plans())
def test_plans_are_well_formed_and_within_the_paper(drawn, plan):
    svg, said = plan_drawing(plan)
    root = drawn.read(svg)
    assert drawn.outside(root, slack=6.0) == []
    assert said
    assert plan_drawing(plan)[0] == svg


values = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30)


@settings(max_examples=60, deadline=None)
@given(
    ys=st.lists(values, min_size=1, max_size=6),
    limits=st.lists(st.tuples(words, st.floats(-1e6, 1e6)), max_size=3),
    name=words,
)
def test_line_charts_are_well_formed_and_within_the_paper(drawn, ys, limits, name):
    series = [
        Series(label=name[i:], x=[float(k) for k in range(len(y))], y=y) for i, y in enumerate(ys)
    ]
    svg = line_chart(
        series,
        x_label="x",
        y_label="y",
        limits=[Limit(label=label, y=y) for label, y in limits],
        alternative=name,
    )
    lines = [e for e in drawn.read(svg).iter() if e.tag.endswith("polyline")]
    assert len(lines) == len(ys)
    assert drawn.outside(drawn.read(svg), slack=20.0) == []
