"""Every benchmark that is promised can be found by its name."""

import pytest

import run_benchmarks

PROMISED = {
    "block_1e5_vs_engine",
    "block_distinct_vs_engine",
    "browser_block_vs_engine",
    "design_500_rows_vs_engine",
    "design_browser_vs_cpython",
    "design_garden_vs_engine",
    "options_200_vs_engine",
    "page_weight_kb",
    "rows_growth_exponent",
    "site_build_vs_bare",
    "zones_2000_rows_vs_design",
    "cut_60_different_vs_design",
    "cut_60_rows_vs_design",
    "emitters_growth_exponent",
    "eto_30y_vs_pyet",
    "farm_1e6_vs_engine",
    "first_visit_bytes_vs_stock",
    "lateral_300_vs_engine",
    "memory_1e6_mb",
    "recompute_vs_stock",
    "run_length_family_vs_engine",
    "run_length_query_vs_engine",
    "start_first_vs_stock",
    "start_later_vs_stock",
    "water_plan_vs_eto",
}


def test_what_is_promised_is_found():
    assert set(run_benchmarks.discover()) >= PROMISED


@pytest.mark.parametrize(
    ("value", "better", "good"),
    [(1.0, "lower", True), (3.0, "lower", False), (3.0, "higher", True)],
)
def test_a_target_is_reached_from_the_right_side(value, better, good):
    assert run_benchmarks.reached({"value": value, "target": 2.0, "better": better}) is good
