"""Price against uniformity: who betters whom, and what can be reached."""

from hypothesis import given
from hypothesis import strategies as st

from evenrow.figures.scatter import Option, frontier, scatter

SVG = "{http://www.w3.org/2000/svg}"


def option(name, cost, worth):
    return Option(id=name, label=f"way {name}", cost=cost, worth=worth)


OPTIONS = [option("a", 100, 90), option("b", 120, 95), option("c", 130, 94), option("d", 90, 80)]


def test_the_frontier_by_hand():
    assert [OPTIONS[i].id for i in frontier(OPTIONS)] == ["d", "a", "b"]


pairs = st.tuples(st.integers(0, 8), st.integers(0, 8))


@given(st.lists(pairs, min_size=1, max_size=20))
def test_nothing_on_the_frontier_is_bettered_and_everything_else_is(values):
    options = [option(str(i), *pair) for i, pair in enumerate(values)]
    best = frontier(options)

    def bettered(one):
        return any(
            other.cost <= one.cost
            and other.worth >= one.worth
            and (other.cost, other.worth) != (one.cost, one.worth)
            for other in options
        )

    assert not any(bettered(options[i]) for i in best)
    kept = {(options[i].cost, options[i].worth) for i in best}
    for one in options:
        assert bettered(one) or (one.cost, one.worth) in kept


def drawn_options(drawn, **changes):
    arguments = {
        "x_label": "price (€)",
        "y_label": "evenness (%)",
        "chosen": "c",
        "alternative": "4 ways",
    }
    return drawn.read(scatter(OPTIONS, **(arguments | changes)))


def test_each_point_can_be_reached_and_says_what_it_is(drawn):
    root = drawn_options(drawn)
    points = {g.get("data-option"): g for g in root.iter(f"{SVG}g")}
    assert set(points) == {"a", "b", "c", "d"}
    assert all(g.get("tabindex") == "0" for g in points.values())
    assert "none is both better and cheaper" in points["a"].find(f"{SVG}title").text
    assert "chosen" in points["c"].find(f"{SVG}title").text
    assert root.find(f"{SVG}desc").text == "4 ways"
    assert drawn.outside(root) == []


def test_best_bettered_and_chosen_look_different(drawn):
    points = {g.get("data-option"): g for g in drawn_options(drawn).iter(f"{SVG}g")}
    kinds = {name: {e.get("class") for e in g if e.get("class")} for name, g in points.items()}
    assert "er-best" in kinds["a"]
    assert "er-other" in kinds["c"]
    assert "er-ring" in kinds["c"]
    assert "er-ring" not in kinds["a"]


def test_one_option_is_a_chart_too(drawn):
    one = scatter([option("x", 5, 5)], x_label="x", y_label="y", alternative="a")
    assert drawn.outside(drawn.read(one)) == []
