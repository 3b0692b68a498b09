"""Worked examples through the watering time, from the text of a form to the run time."""

import pytest

from evenrow.calculators.data import numbers
from evenrow.calculators.reading import default_document, put
from evenrow.calculators.registry import CALCULATORS, answer


def figures(**changes):
    document = default_document(CALCULATORS["watering-time"], "us")
    for key, value in changes.items():
        put(document, key.replace("__", "."), value)
    _, result, system = answer(document)
    return {name: each["value"] for name, each in numbers(result, system).items()}


@pytest.mark.parametrize(
    ("gpm", "hours"),
    [(0.22, 11.8), (0.34, 7.6), (0.51, 5.1), (0.45, 5.8), (0.67, 3.9), (1.34, 1.9)],
)
def test_hours_for_an_inch_on_a_bed(gpm, hours):
    # Penn State Extension (2013), Determining How Long to Run Drip Irrigation Systems for
    # Vegetables: hours for 1 inch on a bed of 30 in by 100 ft, by flow of the tape. published
    found = figures(
        season__start="always",
        planting__kc="1",
        planting__wetted="100 %",
        planting__soil="clay",
        weather__way="day",
        weather__day_eto="1 in",
        timer__window="24 h",
        timer__longest_interval="1",
        zones=[
            {
                "row_length": "100 ft",
                "row_spacing": "30 in",
                "flow": f"{gpm} gal/min",
                "uniformity": "100 %",
            }
        ],
    )
    assert found["average_run"] / 3600.0 == pytest.approx(hours, abs=0.06)


def test_july_in_lyon_from_temperatures():
    # FAO-56, example 20: Hargreaves 5.0 mm/day; mark: from memory
    found = figures(
        season__start="planted",
        season__month="july",
        season__day="1",
        season__days="30",
        weather__way="temperatures",
        weather__latitude="45.72",
        weather__temperatures=[{"month": "july", "high": "26.6 °C", "low": "14.8 °C"}],
    )
    assert found["eto"] * 1000.0 == pytest.approx(5.0, abs=0.05)


def test_a_day_in_uccle_from_a_pasted_table():
    # FAO-56, example 18, 6 July: 3.9 mm/day; published, as quoted by open-source test suites
    found = figures(
        season__start="planted",
        season__month="july",
        season__day="1",
        season__days="30",
        weather__way="table",
        weather__latitude="50.8",
        weather__elevation="100 m",
        weather__wind_height="10 m",
        weather__table="date\tTmax (°C)\tTmin (°C)\tRHmax (%)\tRHmin (%)\t"
        "wind (km/h)\tsunshine (h)\n"
        "2015-07-06\t21.5\t12.3\t84\t63\t10\t9.25\n",
    )
    assert found["eto"] * 1000.0 == pytest.approx(3.88, abs=0.02)
