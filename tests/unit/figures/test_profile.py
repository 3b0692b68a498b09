"""Profiles: three panels over one distance, and how emitter flows are spread."""

from evenrow.figures.frame import Limit
from evenrow.figures.profile import Profile, flow_histogram, profile_chart

SVG = "{http://www.w3.org/2000/svg}"
NAMES = {
    "distance_label": "distance (m)",
    "pressure_label": "pressure (bar)",
    "flow_label": "flow (L/h)",
    "ground_label": "ground (m)",
    "alternative": "falls",
}


def profile(**changes):
    values = {
        "distance": [1.0, 2.0, 3.0],
        "pressure": [1.0, 0.9, 0.85],
        "flow": [2.0, 1.9, 1.85],
        "ground": [0.0, 0.1, 0.2],
        "limits": [Limit(label="highest", y=1.2), Limit(label="lowest", y=0.5)],
    }
    return profile_chart(Profile(**(values | changes)), **NAMES)


def test_the_panels_share_their_distance(drawn):
    root = drawn.read(profile())
    lines = root.findall(f"{SVG}polyline")
    across = [[pair.split(",")[0] for pair in line.get("points").split()] for line in lines]
    assert len(across) == 3
    assert across[0] == across[1] == across[2]
    assert {
        "distance (m)",
        "pressure (bar)",
        "flow (L/h)",
        "ground (m)",
        "highest",
        "lowest",
    } <= set(drawn.texts(root))
    assert drawn.outside(root) == []


def test_level_ground_and_a_single_emitter_are_drawn_too(drawn):
    flat = profile(ground=[0.0, 0.0, 0.0], flow=[2.0, 2.0, 2.0])
    one = profile(distance=[0.0], pressure=[1.0], flow=[2.0], ground=[0.0])
    for svg in (flat, one):
        assert drawn.outside(drawn.read(svg)) == []


def test_the_spread_counts_every_emitter_and_names_mean_and_least(drawn):
    root = drawn.read(flow_histogram([1.0, 1.0, 2.0], target=0.9, unit="L/h", alternative="a"))
    said = " ".join(drawn.texts(root))
    assert "least 1 L/h" in said
    assert "mean 1.33 L/h" in said
    assert "least wanted 0.9 L/h" in said
    heights = [float(r.get("height")) for r in root.iter(f"{SVG}rect")]
    tall = sorted(h for h in heights if h > 2)
    assert len(tall) == 2
    assert abs(tall[1] - 2 * tall[0]) < 0.5


def test_emitters_that_give_all_the_same_are_one_bar(drawn):
    root = drawn.read(flow_histogram([1.5] * 40, target=None, unit="L/h", alternative="a"))
    assert sum(float(r.get("height")) > 2 for r in root.iter(f"{SVG}rect")) == 1
