"""Two invented farms to start the watering time from."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from evenrow.calculators.watering_weather_fields import MONTHS

#: Invented: mean daily high and low [°F] and rain [in] of April to October.
_BY_THE_SHED = (
    (62, 40, "2.4 in"),
    (70, 47, "2.6 in"),
    (78, 54, "2.1 in"),
    (85, 58, "1.2 in"),
    (84, 57, "1.3 in"),
    (76, 50, "1.9 in"),
    (64, 42, "2.8 in"),
)
#: Invented: ETo of a day and rain of a month.
_BY_THE_BEDS = (
    ("april", "3.1 mm", "40 mm"),
    ("may", "4.3 mm", "45 mm"),
    ("june", "5.2 mm", "30 mm"),
    ("july", "5.8 mm", "20 mm"),
)


def market_garden() -> dict[str, Any]:
    """Return lettuce in beds on sandy loam: ETo by month, two zones, water that is paid for."""
    return {
        "evenrow": 1,
        "calculator": "watering-time",
        "units": "metric",
        "name": "Market garden: lettuce",
        "about": "Invented for demonstration: six beds of lettuce on sandy loam, planted at the "
        "end of April.",
        "planting": {"crop": "lettuce", "soil": "sandy-loam", "wetted": "60 %"},
        "season": {"start": "planted", "month": "april", "day": "25"},
        "weather": {
            "way": "months",
            "count_rain": "yes",
            "months": [
                {"month": month, "eto": eto, "rain": rain} for month, eto, rain in _BY_THE_BEDS
            ],
        },
        "zones": [
            {
                "name": name,
                "row_length": "90 m",
                "row_spacing": "1.2 m",
                "flow": "1.1 m³/h",
                "uniformity": "90 %",
                "plants": "8 cm",
            }
            for name in ("beds 1–3", "beds 4–6")
        ],
        "timer": {"start": "5:00", "window": "6 h", "longest_interval": "2"},
        "water": {"price": "2.1", "price_volume": "1 m³"},
    }


def raspberries() -> dict[str, Any]:
    """Return raspberries that stand for years: weather from temperatures, US units."""
    return {
        "evenrow": 1,
        "calculator": "watering-time",
        "units": "us",
        "name": "Berry rows, month by month",
        "about": "Invented for demonstration: five rows of raspberries on loam under straw, the "
        "ETo worked out from monthly temperatures.",
        "planting": {
            "crop": "raspberry",
            "soil": "loam",
            "wetted": "35 %",
            "mulch": "organic",
            "mulched": "40 %",
            "cover": "50 %",
        },
        "season": {"start": "leaves", "month": "april", "day": "15", "days": "190"},
        "weather": {
            "way": "temperatures",
            "latitude": "44.5",
            "count_rain": "yes",
            "temperatures": [
                {"month": month, "high": f"{high} °F", "low": f"{low} °F", "rain": rain}
                for month, (high, low, rain) in zip(MONTHS[3:10], _BY_THE_SHED, strict=True)
            ],
        },
        "zones": [
            {
                "name": "raspberries",
                "row_length": "310 ft",
                "row_spacing": "9 ft",
                "flow": "2.6 gal/min",
                "uniformity": "92 %",
                "plants": "18 in",
            }
        ],
        "timer": {"start": "5:00 am", "window": "8 h", "longest_interval": "3"},
    }


EXAMPLES: dict[str, Callable[[], dict[str, Any]]] = {
    "Market garden: lettuce": market_garden,
    "Berry rows, month by month": raspberries,
}
