"""The plan: to scale, numbered, thinned, legible, and nothing in it but what we wrote."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from evenrow.figures.plan import plan_drawing
from evenrow.figures.plan_model import Obstacle, Piece, Plan, PlanRow, PlanZone, Ref, Worst
from evenrow.figures.plan_scale import GAP, bar_length, scale_of

SVG = "{http://www.w3.org/2000/svg}"
REFS = {
    "assembly 1": Ref(number=1, label="filter"),
    "main": Ref(number=2, label="pipe"),
    "header": Ref(number=2, label="pipe"),
    "header cap": Ref(number=3, label="cap"),
    "valve": Ref(number=4, label="zone valve"),
    "line": Ref(number=5, label="tape"),
    "take-off": Ref(number=6, label="take-off"),
    "line cap": Ref(number=7, label="end cap"),
}


def field(count=6, length=20.0, spacing=2.0, zones=1, share=0.0, **changes):
    rows = tuple(
        PlanRow(number=i + 1, lines=(i * spacing,), length=length, header=share * length)
        for i in range(count)
    )
    cuts = [z * count // zones for z in range(zones + 1)]
    found = []
    for number, (a, b) in enumerate(pairwise(cuts), start=1):
        start, end = rows[a].lines[0], rows[b - 1].lines[-1]
        piece = Piece(start=start, end=end, bore=0.02)
        found.append(PlanZone(number=number, rows=(a, b), feed=start, pieces=(piece,), note="leek"))
    values = {
        "title": "Plan of the field",
        "source": "hose tap",
        "rows": rows,
        "zones": tuple(found),
        "main_length": 12.0,
        "assembly": ("filter",),
        "refs": REFS,
    }
    return Plan(**(values | changes))


def parts(root):
    return [g for g in root.iter(f"{SVG}g") if g.get("data-part")]


def lines_drawn(root):
    line = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "er-line")
    return re.findall(r"M([\d.]+) ([\d.]+)H([\d.]+)", line.get("d"))


def test_equal_scale_both_ways(drawn):
    root = drawn.read(plan_drawing(field())[0])
    runs = lines_drawn(root)
    wide = float(runs[0][2]) - float(runs[0][0])
    high = float(runs[-1][1]) - float(runs[0][1])
    assert wide / 20.0 == pytest.approx(high / 10.0, rel=0.01)
    assert len(runs) == 6


def test_it_says_what_a_person_sees(drawn):
    svg, said = plan_drawing(field(worst=Worst(row=5, along=19.0), row_slope=-0.012))
    root = drawn.read(svg)
    assert root.find(f"{SVG}title").text == "Plan of the field"
    assert root.find(f"{SVG}desc").text == said
    for words in (
        "6 rows of 20\u00a0m",
        "2\u00a0m apart",
        "falls 1.2\u00a0%",
        "row 6, 19\u00a0m",
        "filter",
    ):
        assert words in said
    assert root.get("aria-describedby") == "plan-desc"


def test_every_number_of_the_parts_list_can_be_reached_once(drawn):
    root = drawn.read(plan_drawing(field(zones=2))[0])
    stops = [g for g in parts(root) if g.get("tabindex") == "0"]
    titles = [g.find(f"{SVG}title").text for g in stops]
    # Main and header are one pipe here, so that its line has a number at each.
    assert sorted(titles) == sorted(f"{r.number}: {r.label}" for r in REFS.values())
    valves = [g for g in parts(root) if g.get("data-part") == "4"]
    assert len(valves) == 3


def test_zones_differ_without_colour(drawn):
    root = drawn.read(plan_drawing(field(zones=3))[0])
    used = {r.get("fill") for r in root.iter(f"{SVG}rect") if r.get("fill")}
    known = {f"url(#{p.get('id')})" for p in root.iter(f"{SVG}pattern")}
    assert len(used) == 3
    assert used == known


def test_a_long_thin_field_is_broken_and_says_so(drawn):
    plan = field(count=24, length=380.0, spacing=1.8, share=0.4)
    svg, said = plan_drawing(plan)
    root = drawn.read(svg)
    breaks = [p for p in root.iter(f"{SVG}path") if p.get("class") == "er-break"]
    assert len(breaks) == 2
    assert "Each row is drawn shortened" in said
    scale = scale_of(plan, 100.0, 540.0, 200.0)
    assert scale.equal
    left_out = sum(b - a for a, b in scale.breaks)
    assert (380.0 - left_out) * scale.along == pytest.approx(440.0 - 2 * GAP)
    assert scale.x(0.0) == 100.0
    assert scale.x(380.0) == pytest.approx(540.0)


def test_a_narrow_field_is_to_one_scale_as_long_as_its_rows_are_seen():
    assert scale_of(field(count=9, length=4.0, spacing=1.5), 100, 540, 204).equal
    narrow = scale_of(field(count=100, length=10.0, spacing=1.8), 100, 540, 204)
    assert narrow.across < narrow.along / 1.25
    assert narrow.height <= 560.0 + 1e-6


def test_rows_that_differ_get_two_scales_and_say_so():
    plan = field(count=24, length=380.0, spacing=1.8)
    rows = (replace(plan.rows[0], length=300.0), *plan.rows[1:])
    said = plan_drawing(replace(plan, rows=rows))[1]
    assert "Two scales" in said


def test_of_hundreds_of_rows_some_are_drawn_and_the_outer_ones_always(drawn):
    plan = field(count=500, length=100.0, spacing=1.0, zones=2)
    svg, said = plan_drawing(plan)
    ys = [float(y) for _, y, _ in lines_drawn(drawn.read(svg))]
    assert len(ys) < 200
    assert f"Of 500 rows one in {scale_of(plan, 100, 540, 204).step} is drawn," in said
    scale = scale_of(plan, 100, 540, 204)
    for row in (0, 249, 250, 499):
        assert min(abs(scale.y(float(row)) - y) for y in ys) < 0.1


def test_slopes_and_north_are_drawn_where_there_are_any(drawn):
    level = drawn.read(plan_drawing(field())[0])
    tilted = drawn.read(plan_drawing(field(row_slope=0.02, header_slope=-0.01, bearing=90.0))[0])

    def falls(root):
        return [p for p in root.iter(f"{SVG}path") if p.get("class") == "er-fall"]

    assert falls(level) == []
    assert "N" not in drawn.texts(level)
    assert len(falls(tilted)) == 2
    (x1, _), (x2, _) = drawn.ends(
        next(
            p for p in falls(tilted) if drawn.ends(p.get("d"))[0][1] == drawn.ends(p.get("d"))[1][1]
        ).get("d")
    )[:2]
    # It climbs to the right, so that the arrow, which shows the fall, points left.
    assert x2 < x1
    north = next(p for p in tilted.iter(f"{SVG}path") if p.get("class") == "er-north")
    (ax, ay), (bx, by) = drawn.ends(north.get("d"))[:2]
    # Rows that run east lie to the right, so that north is up.
    assert (ax, by < ay) == (bx, True)


def test_hostile_names_stay_words(drawn):
    bad = '"><script>alert(1)</script>\x00'
    plan = field(source=bad, title=bad, assembly=(bad,), refs={"line": Ref(number=1, label=bad)})
    plan = replace(
        plan,
        zones=tuple(replace(zone, note=bad) for zone in plan.zones),
        obstacles=(Obstacle(label=bad, position=3.0),),
    )
    svg = plan_drawing(plan)[0]
    assert "<script" not in svg
    assert "onload" not in svg
    assert "style=" not in svg
    drawn.read(svg)


def test_the_same_field_gives_the_same_drawing():
    assert plan_drawing(field(zones=2)) == plan_drawing(field(zones=2))


def test_ids_start_with_the_name(drawn):
    root = drawn.read(plan_drawing(field(), name="other")[0])
    assert all(e.get("id").startswith("other-") for e in root.iter() if e.get("id"))


@pytest.mark.parametrize(
    ("scale", "widest", "system", "length"),
    [(10.0, 190.0, "metric", 10.0), (10.0, 210.0, "metric", 20.0), (10.0, 190.0, "us", 15.24)],
)
def test_the_scale_bar_is_round_in_the_users_unit(scale, widest, system, length):
    assert bar_length(scale, widest, system) == pytest.approx(length)
