"""What the watering time asks about the weather: ETo and rain, in one of four ways."""

from __future__ import annotations

from dataclasses import replace

from evenrow.agronomy.plan_inputs import DAY
from evenrow.calculators.spec import Choice, Field

#: Months as documents name them, January first.
MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
MONTH_CHOICES = tuple(Choice(value=name, label=name.capitalize()) for name in MONTHS)
#: Longest weather table that a design holds. [characters]
TABLE_MAX = 40_000
#: Largest ETo of a day, and rain of a month, that are no slip of the finger. [m]
ETO_MAX, RAIN_MAX = 0.03, 3.0

_WEATHER, _BY_MONTH = "Weather", "Weather, month by month"

WAY = Field(
    name="weather.way",
    label="ETo: how much the weather draws",
    kind="choice",
    choices=(
        Choice(value="months", label="ETo of the months, typed in"),
        Choice(value="day", label="ETo of one day, typed in"),
        Choice(value="temperatures", label="worked out from monthly weather"),
        Choice(value="table", label="worked out from a daily weather table"),
    ),
    default="months",
    help="ETo, reference evapotranspiration, is the water that short green grass would use. "
    "Weather services and farm advisers publish it by day and by month. Put the months in "
    "under “Weather, month by month” below.",
    group=_WEATHER,
)


def _for(*ways: str) -> tuple[str, tuple[str, ...]]:
    return (WAY.name, ways)


_ONE_DAY = (
    Field(
        name="weather.day_eto",
        label="ETo of the day",
        kind="water_depth",
        lo=0.0,
        hi=ETO_MAX,
        required=False,
        help="A cool cloudy day has 1 to 3 mm (0.04 to 0.12 in), a hot dry one 6 to 9 mm "
        "(0.24 to 0.35 in).",
        group=_WEATHER,
        only_for=_for("day"),
    ),
    Field(
        name="weather.day_month",
        label="Month of that day",
        kind="choice",
        choices=MONTH_CHOICES,
        default="june",
        help="It tells how far the crop has grown.",
        group=_WEATHER,
        assumed=True,
        only_for=_for("day"),
    ),
)

_PLACE = (
    Field(
        name="weather.latitude",
        label="Latitude in degrees",
        kind="number",
        lo=-90.0,
        hi=90.0,
        required=False,
        help="North of the equator above 0, south below 0, such as 44.5. A map on the phone "
        "tells it.",
        group=_WEATHER,
        only_for=_for("temperatures", "table"),
    ),
    Field(
        name="weather.elevation",
        label="Height above the sea",
        kind="length",
        lo=-500.0,
        hi=6000.0,
        default={"us": "330 ft", "metric": "100 m"},
        required=False,
        help="Within a few hundred feet is good enough. Empty: 100 m.",
        group=_WEATHER,
        only_for=_for("temperatures", "table"),
    ),
)

USE_RAIN = Field(
    name="weather.count_rain",
    label="Count on rain",
    kind="flag",
    default="no",
    help="With a mark, usual rain shortens the run times of its month. Without it they hold while "
    "it does not rain: switch off after rain.",
    group=_WEATHER,
    assumed=True,
    only_for=_for("months", "temperatures", "table"),
)

_TABLE = (
    Field(
        name="weather.table",
        label="Weather table",
        kind="text",
        hi=TABLE_MAX,
        required=False,
        help="Paste it with its headings: one line for each day, a column named date, and highest "
        "and lowest temperature, or ETo. Humidity, wind, sun and rain are used where there are "
        "columns of them. The answer then also tells the soil's water day by day.",
        group=_WEATHER,
        only_for=_for("table"),
    ),
    Field(
        name="weather.date_order",
        label="Dates such as 5/6/2024",
        kind="choice",
        choices=(
            Choice(value="auto", label="find out"),
            Choice(value="dmy", label="day first"),
            Choice(value="mdy", label="month first"),
        ),
        default="auto",
        help="Only matters where a date can be read in two ways.",
        group=_WEATHER,
        assumed=True,
        only_for=_for("table"),
    ),
    Field(
        name="weather.wind_height",
        label="Height of the wind gauge",
        kind="length",
        lo=0.5,
        hi=100.0,
        default={"us": "6.5 ft", "metric": "2 m"},
        required=False,
        help="Above the ground. Empty: 2 m.",
        group=_WEATHER,
        only_for=_for("temperatures", "table"),
    ),
)

_MONTH = Field(
    name="month",
    label="Month",
    kind="choice",
    choices=MONTH_CHOICES,
    default="january",
    help="Each month once, in any order.",
)
_RAIN = Field(
    name="rain",
    label="Rain of the month",
    kind="water_depth",
    lo=0.0,
    hi=RAIN_MAX,
    required=False,
    help="Usual sum of the whole month. Empty: none.",
)
_ALSO_KNOWN = (
    Field(
        name="humidity",
        label="Mean humidity",
        kind="share",
        lo=0.0,
        hi=1.0,
        required=False,
        help="Relative, mean of day and night. Empty: not known.",
    ),
    Field(
        name="wind",
        label="Mean wind",
        kind="velocity",
        lo=0.0,
        hi=30.0,
        required=False,
        help="Such as 2 m/s, 7 km/h or 5 mph. Empty: not known.",
    ),
    Field(
        name="sun",
        label="Sun in a day",
        kind="hours",
        lo=0.0,
        hi=DAY,
        required=False,
        help="Hours of bright sunshine, mean of the days. Empty: not known.",
    ),
)
_TEMPERATURE = Field(
    name="high",
    label="Daily high",
    kind="temperature",
    lo=-60.0,
    hi=60.0,
    help="Mean of the days' highest temperatures.",
)


def _texts(numbers: str, unit: str) -> tuple[str, ...]:
    return tuple(f"{number} {unit}" for number in numbers.split())


#: Invented: ETo of a day and rain of a month in a mild place, January first.
INVENTED = {
    "metric": (
        _texts("0.8 1.3 2.1 3.2 4.2 5 5.4 4.7 3.3 2 1.1 0.7", "mm"),
        _texts("65 55 55 50 55 45 35 40 45 60 70 70", "mm"),
    ),
    "us": (
        _texts("0.03 0.05 0.08 0.13 0.17 0.2 0.21 0.19 0.13 0.08 0.04 0.03", "in"),
        _texts("2.6 2.2 2.2 2 2.2 1.8 1.4 1.6 1.8 2.4 2.8 2.8", "in"),
    ),
}

_BY_MONTHS = (
    Field(
        name="weather.months",
        label="ETo and rain of the months",
        kind="table",
        help="Every month of the season. The figures that stand here at first are invented.",
        columns=(
            _MONTH,
            Field(
                name="eto",
                label="ETo of a day",
                kind="water_depth",
                lo=0.0,
                hi=ETO_MAX,
                help="Mean of the days of that month.",
            ),
            _RAIN,
        ),
        rows={
            system: tuple(
                {"month": month, "eto": eto, "rain": rain}
                for month, eto, rain in zip(MONTHS, *figures, strict=True)
            )
            for system, figures in INVENTED.items()
        },
        row_limits=(0, 12),
        required=False,
        group=_BY_MONTH,
        folded=True,
        only_for=_for("months"),
    ),
    Field(
        name="weather.temperatures",
        label="Weather of the months",
        kind="table",
        help="Every month of the season. Highs and lows are enough; with humidity, wind or sun the "
        "ETo is worked out from all that is known.",
        columns=(
            _MONTH,
            _TEMPERATURE,
            replace(
                _TEMPERATURE,
                name="low",
                label="Daily low",
                help="Mean of the days' lowest temperatures.",
            ),
            _RAIN,
            *_ALSO_KNOWN,
        ),
        rows={"us": (), "metric": ()},
        row_limits=(0, 12),
        required=False,
        group=_BY_MONTH,
        folded=True,
        only_for=_for("temperatures"),
    ),
)

WEATHER_FIELDS = (WAY, *_ONE_DAY, *_PLACE, *_TABLE, USE_RAIN, *_BY_MONTHS)
