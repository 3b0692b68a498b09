"""ETo and rain of the months, from whichever of the four ways the weather was given in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.climate import DAYS_IN_MONTH, monthly_means
from evenrow.agronomy.eto import MID_MONTH_DAYS, hargreaves_samani
from evenrow.agronomy.radiation import extraterrestrial_radiation
from evenrow.agronomy.rain import MOST_MONTH, effective_rain_monthly
from evenrow.calculators.watering_weather_fields import ETO_MAX, INVENTED, MONTHS, RAIN_MAX
from evenrow.calculators.weather_table import WeatherTable, read_weather
from evenrow.errors import InputError, InputErrors
from evenrow.units import parse

FloatArray = NDArray[np.float64]

#: A month with fewer days in a table is told.
_FEW_DAYS = 20
#: Where a field says nothing: height above the sea, and of the wind gauge (FAO-56) [m].
_ELEVATION, _WIND_HEIGHT = 100.0, 2.0
_WORDS = {"vapour_pressure": "Humidity", "solar": "Sun", "wind": "Wind"}
_RAIN_RULE = "of its rain the USDA rule counts the part that a crop uses"


@dataclass(frozen=True)
class Days:
    """Weather of single days, in their order, each once; days may be missing between them.

    Parameters
    ----------
    dates : numpy.ndarray of datetime64[D]
        Shape (days,).
    eto, rain : numpy.ndarray
        Reference evapotranspiration and all rain that fell [m/day], same shape; NaN where
        unknown.
    """

    dates: NDArray[np.datetime64]
    eto: FloatArray
    rain: FloatArray


@dataclass(frozen=True)
class MonthWeather:
    """Weather of the months of a year.

    Parameters
    ----------
    eto : numpy.ndarray
        Reference evapotranspiration [m/day], January first, shape (12,); NaN where unknown.
    rain : numpy.ndarray
        Rain that the crop can count on [m/day], shape (12,), no NaN.
    rule, source : str
        How the ETo was had.
    notes : tuple of str
        What was assumed or found missing, in sentences.
    place : str
        Field where a missing month is told.
    invented : bool
        Whether it is still the weather that stands in a fresh form.
    days : Days or None
        The days that the months were made from, where they were given.
    """

    eto: FloatArray
    rain: FloatArray
    rule: str
    source: str
    notes: tuple[str, ...]
    place: str
    invented: bool = False
    days: Days | None = None

    @property
    def known(self) -> tuple[int, ...]:
        """Months whose ETo is known, 0 to 11."""
        return tuple(int(month) for month in np.flatnonzero(~np.isnan(self.eto)))

    def require(self, months: Sequence[int]) -> None:
        """Raise `InputError` unless the ETo of these months (0 to 11) is known."""
        missing = [MONTHS[i].capitalize() for i in months if np.isnan(self.eto[i])]
        if not missing:
            return
        known = [MONTHS[i].capitalize() for i in range(12) if not np.isnan(self.eto[i])]
        raise InputError(
            "the crop grows in months whose weather is missing: " + ", ".join(missing),
            code="missing",
            field=self.place,
            given=", ".join(known) if known else None,
            accepted="every month of the season",
            hint="adding them; or another date of planting, or fewer days to the harvest",
        )


def month_weather(inputs: Mapping[str, Any]) -> MonthWeather:
    """Return the weather of the months.

    Parameters
    ----------
    inputs : mapping
        The ``weather`` part of the inputs of the calculator, SI.

    Returns
    -------
    MonthWeather
        With FAO-56's rules for what was not measured told in its notes.

    Raises
    ------
    InputError
        At ``weather.…``, if something is missing, twice or impossible.
    """
    ways = {
        "months": _typed,
        "day": _one_day,
        "temperatures": _from_temperatures,
        "table": _from_table,
    }
    found = ways[inputs["way"]](inputs)
    for words, most, values in (
        ("ETo", ETO_MAX, found.eto),
        ("rain", RAIN_MAX, found.rain * DAYS_IN_MONTH),
    ):
        if bool((values > most).any()):
            raise InputError(
                f"the {words} of a month cannot be that much",
                code="out_of_range",
                field=found.place,
                accepted=f"up to {most * 1000:g} mm",
                hint="the units of the columns",
            )
    return found


def _one_day(weather: Mapping[str, Any]) -> MonthWeather:
    value = _wanted(weather, "day_eto", "the ETo of the day")
    eto = np.full(12, np.nan)
    eto[MONTHS.index(weather["day_month"])] = value
    return MonthWeather(
        eto=eto,
        rain=np.zeros(12),
        rule="As typed in, for one day without rain.",
        source="yours",
        notes=(),
        place="weather.day_eto",
    )


def _typed(weather: Mapping[str, Any]) -> MonthWeather:
    rows = weather["months"]
    place = "weather.months"
    (eto, rain) = _columns(rows, place, "eto", "rain")
    counted, notes = _rain(rain, weather["count_rain"])
    return MonthWeather(
        eto=eto,
        rain=counted,
        rule="As typed in, month by month.",
        source="yours",
        notes=notes,
        place=place,
        invented=_is_invented(eto),
    )


def _is_invented(eto: FloatArray) -> bool:
    """Whether the ETo is that which stands in a fresh form."""
    return any(
        np.allclose(eto, [parse(text, "water_depth") for text in figures[0]], rtol=1e-6, atol=0.0)
        for figures in INVENTED.values()
    )


def _from_temperatures(weather: Mapping[str, Any]) -> MonthWeather:
    place = "weather.temperatures"
    rows = weather["temperatures"]
    if not rows:
        raise InputError(
            "temperatures are missing",
            code="missing",
            field=place,
            accepted="highs and lows of every month of the season",
        )
    latitude = _wanted(weather, "latitude", "the latitude")
    for index, row in enumerate(rows):
        if row["low"] > row["high"]:
            raise InputError(
                "the low is above the high",
                code="out_of_range",
                field=f"{place}.{index}.low",
                accepted="at most the daily high",
            )
    high, low, rain = _columns(rows, place, "high", "low", "rain")
    above_air = extraterrestrial_radiation(latitude, np.array(MID_MONTH_DAYS, dtype=np.float64))
    counted, notes = _rain(rain, weather["count_rain"])
    return MonthWeather(
        eto=hargreaves_samani(high, low, above_air),
        rain=counted,
        rule="From highs, lows and latitude. It tells too little where it is windy and too much "
        "where it is humid: FAO-56 advises to check it against a station nearby.",
        source="Hargreaves and Samani (1985), FAO-56 eq. 52",
        notes=notes,
        place=place,
    )


def _from_table(weather: Mapping[str, Any]) -> MonthWeather:
    place = "weather.table"
    text = _wanted(weather, "table", "the weather table")
    order = None if weather["date_order"] == "auto" else weather["date_order"]
    try:
        table = read_weather(text, order=order)
    except InputErrors as errors:
        raise _at_table(errors.errors) from None
    except InputError as error:
        raise _at_table((error,)) from None
    notes = [f"Weather table: {note}." for note in table.notes]
    if "eto" in table.columns:
        daily, rule, source = table.columns["eto"], "From the table's own ETo.", "yours"
    else:
        daily, rule, source = _penman(table, weather, notes)
    eto = monthly_means(table.dates, daily)
    fell = table.columns.get("rain", np.full(daily.size, np.nan))
    counted, more = _rain(monthly_means(table.dates, fell) * DAYS_IN_MONTH, weather["count_rain"])
    notes += _few_days(table, daily)
    return MonthWeather(
        eto=eto,
        rain=counted,
        rule=f"{rule} Mean of each month over all years.",
        source=source,
        notes=(*notes, *more),
        place=place,
        days=Days(table.dates, daily, fell),
    )


def _penman(
    table: WeatherTable, weather: Mapping[str, Any], notes: list[str]
) -> tuple[FloatArray, str, str]:
    """Return the ETo of the table's days, its rule and source; `notes` gets what was assumed."""
    latitude = _wanted(weather, "latitude", "the latitude")
    try:
        found = table.reference_et(
            latitude=latitude,
            elevation=_ELEVATION if weather["elevation"] is None else weather["elevation"],
            wind_height=_WIND_HEIGHT if weather["wind_height"] is None else weather["wind_height"],
        )
    except InputError as error:
        raise _at_table((error,)) from None
    total = table.dates.size
    for rule in found.rules:
        if rule.assumed:
            days = "all days" if rule.count == total else f"{rule.count} of {total} days"
            notes.append(f"{_WORDS[rule.quantity]} on {days}: {rule.how}.")
    if bool((table.columns["tmin"] > table.columns["tmax"]).any()):
        notes.append("On some days the lowest temperature is above the highest.")
    return found.eto, "From the days' weather.", "Penman–Monteith, FAO-56 eq. 6"


def _few_days(table: WeatherTable, daily: FloatArray) -> list[str]:
    """Tell the months that stand on few days."""
    months = table.dates[~np.isnan(daily)].astype("datetime64[M]").astype(np.intp) % 12
    counts = np.bincount(months, minlength=12)
    return [
        f"{MONTHS[i].capitalize()} is the mean of only {counts[i]} "
        f"day{'' if counts[i] == 1 else 's'}."
        for i in range(12)
        if 0 < counts[i] < _FEW_DAYS
    ]


def _at_table(errors: Sequence[InputError]) -> InputError:
    """Return the problems of a table as one at its field, by line and column."""
    told = []
    for error in errors[:3]:
        where = "" if error.field == "weather" else f"{error.field} "
        given = f" (“{error.given}”)" if error.given else ""
        told.append(f"{where}{error.message}{given}")
    rest = len(errors) - len(told)
    more = f"; and {rest} more" if rest > 0 else ""
    first = errors[0]
    return InputError(
        "; ".join(told) + more,
        code=first.code,
        field="weather.table",
        accepted=first.accepted,
        hint=first.hint,
    )


def _wanted(weather: Mapping[str, Any], name: str, words: str) -> Any:
    """Return a value that this way cannot do without."""
    if weather[name] is None:
        raise InputError(
            f"{words} is missing",
            code="missing",
            field=f"weather.{name}",
            accepted=words,
        )
    return weather[name]


def _columns(rows: Sequence[Mapping[str, Any]], place: str, *names: str) -> list[FloatArray]:
    """Return columns of a table of months, January first, NaN where there is nothing."""
    found: list[FloatArray] = [np.full(12, np.nan) for _ in names]
    seen: set[str] = set()
    for index, row in enumerate(rows):
        month = row["month"]
        if month in seen:
            raise InputError(
                f"{month.capitalize()} is there twice",
                code="twice",
                field=f"{place}.{index}.month",
                given=month,
                accepted="each month once",
            )
        seen.add(month)
        for values, name in zip(found, names, strict=True):
            if row[name] is not None:
                values[MONTHS.index(month)] = row[name]
    return found


def _rain(rain: FloatArray, count: bool) -> tuple[FloatArray, tuple[str, ...]]:
    """Return what may be counted on of a month's rain [m/day], and what to know."""
    if not count:
        return np.zeros(12), ("Rain is not counted on: switch the timer off after good rain.",)
    if bool(np.isnan(rain).all()):
        return np.zeros(12), ("No rain was given, so that none is counted on.",)
    fell = np.minimum(np.nan_to_num(rain), MOST_MONTH)
    used = effective_rain_monthly(fell) / DAYS_IN_MONTH
    return used, (
        f"Usual rain is counted on: {_RAIN_RULE}. In a dry spell, take that mark away and run the "
        "longer times.",
    )
