"""ETo and rain of the months, from whichever of the four ways the weather was given in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.climate import DAYS_IN_MONTH, monthly_means
from evenrow.agronomy.eto import MID_MONTH_DAYS, hargreaves_samani, reference_et
from evenrow.agronomy.filling import Rule
from evenrow.agronomy.radiation import extraterrestrial_radiation, soil_heat_monthly
from evenrow.agronomy.rain import MOST_MONTH, effective_rain_monthly
from evenrow.calculators.season_days import month_words
from evenrow.calculators.watering_weather_fields import ETO_MAX, INVENTED, MONTHS, RAIN_MAX
from evenrow.calculators.weather_table import WeatherTable, read_weather
from evenrow.errors import InputError, InputErrors
from evenrow.units import parse
from evenrow.words import said, tr, tr_count

FloatArray = NDArray[np.float64]

#: Columns of the months beside temperatures and rain.
_MORE_KNOWN = ("humidity", "wind", "sun")
_HOUR = 3600.0
#: A month with fewer days in a table is told.
_FEW_DAYS = 20
#: Where a field says nothing: height above the sea, and of the wind gauge (FAO-56) [m].
_ELEVATION, _WIND_HEIGHT = 100.0, 2.0


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
        missing = [month_words(i + 1) for i in months if np.isnan(self.eto[i])]
        if not missing:
            return
        known = [month_words(i + 1) for i in range(12) if not np.isnan(self.eto[i])]
        raise InputError(
            tr(
                "the crop grows in months whose weather is missing: {months}",
                months=", ".join(missing),
            ),
            code="missing",
            field=self.place,
            given=", ".join(known) if known else None,
            accepted=tr("every month of the season"),
            hint=tr("adding them; or another date of planting, or fewer days to the harvest"),
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
    for message, most, values in (
        (said("the ETo of a month cannot be that much"), ETO_MAX, found.eto),
        (said("the rain of a month cannot be that much"), RAIN_MAX, found.rain * DAYS_IN_MONTH),
    ):
        if bool((values > most).any()):
            raise InputError(
                tr(message),
                code="out_of_range",
                field=found.place,
                accepted=tr("up to {most:g} mm", most=most * 1000),
                hint=tr("the units of the columns"),
            )
    return found


def _one_day(weather: Mapping[str, Any]) -> MonthWeather:
    value = _wanted(
        weather, "day_eto", tr("the ETo of the day is missing"), tr("the ETo of the day")
    )
    eto = np.full(12, np.nan)
    eto[MONTHS.index(weather["day_month"])] = value
    return MonthWeather(
        eto=eto,
        rain=np.zeros(12),
        rule=tr("As typed in, for one day without rain."),
        source=tr("yours"),
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
        rule=tr("As typed in, month by month."),
        source=tr("yours"),
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
            tr("temperatures are missing"),
            code="missing",
            field=place,
            accepted=tr("highs and lows of every month of the season"),
        )
    latitude = _wanted(weather, "latitude", tr("the latitude is missing"), tr("the latitude"))
    for index, row in enumerate(rows):
        if row["low"] > row["high"]:
            raise InputError(
                tr("the low is above the high"),
                code="out_of_range",
                field=f"{place}.{index}.low",
                accepted=tr("at most the daily high"),
            )
    high, low, rain = _columns(rows, place, "high", "low", "rain")
    counted, notes = _rain(rain, weather["count_rain"])
    known = dict(
        zip(("rh_mean", "wind", "sunshine"), _columns(rows, place, *_MORE_KNOWN), strict=True)
    )
    if not all(bool(np.isnan(values).all()) for values in known.values()):
        known["sunshine"] = known["sunshine"] / _HOUR
        eto, more = _monthly_penman(weather, latitude, high, low, known)
        return MonthWeather(
            eto=eto,
            rain=counted,
            rule=tr("From the months' weather, by the day in the middle of each."),
            source=tr("Penman–Monteith, FAO-56 eq. 6, with the soil's heat by eq. 43"),
            notes=(*more, *notes),
            place=place,
        )
    above_air = extraterrestrial_radiation(latitude, np.array(MID_MONTH_DAYS, dtype=np.float64))
    return MonthWeather(
        eto=hargreaves_samani(high, low, above_air),
        rain=counted,
        rule=tr(
            "From highs, lows and latitude. It tells too little where it is windy and too much "
            "where it is humid: FAO-56 advises to check it against a station nearby."
        ),
        source=tr("Hargreaves and Samani (1985), FAO-56 eq. 52"),
        notes=notes,
        place=place,
    )


def _monthly_penman(
    weather: Mapping[str, Any],
    latitude: float,
    high: FloatArray,
    low: FloatArray,
    known: Mapping[str, FloatArray],
) -> tuple[FloatArray, tuple[str, ...]]:
    """Return the ETo of the months [m/day], January first, and what was assumed."""
    mean = 0.5 * (high + low)
    heat = soil_heat_monthly(np.roll(mean, 1), np.roll(mean, -1))
    there = ~np.isnan(mean)
    # A month beside one that is not known neither warms nor cools the soil.
    found = reference_et(
        np.array(MID_MONTH_DAYS, dtype=np.float64)[there],
        high[there],
        low[there],
        latitude=latitude,
        elevation=_ELEVATION if weather["elevation"] is None else weather["elevation"],
        wind_height=_WIND_HEIGHT if weather["wind_height"] is None else weather["wind_height"],
        soil_heat=np.nan_to_num(heat[there]),
        **{name: values[there] for name, values in known.items()},
    )
    eto: FloatArray = np.full(12, np.nan)
    eto[there] = found.eto
    total = int(there.sum())
    return eto, tuple(_assumed_of_months(rule, total) for rule in found.rules if rule.assumed)


def _assumed_of_months(rule: Rule, total: int) -> str:
    """Say in how many of the months what was assumed of humidity, sun or wind."""
    parts = {"count": rule.count, "total": total, "how": rule.how}
    return {
        "vapour_pressure": tr("Humidity in {count} of {total} months: {how}.", **parts),
        "solar": tr("Sun in {count} of {total} months: {how}.", **parts),
        "wind": tr("Wind in {count} of {total} months: {how}.", **parts),
    }[rule.quantity]


def _from_table(weather: Mapping[str, Any]) -> MonthWeather:
    place = "weather.table"
    text = _wanted(weather, "table", tr("the weather table is missing"), tr("the weather table"))
    order = None if weather["date_order"] == "auto" else weather["date_order"]
    try:
        table = read_weather(text, order=order)
    except InputErrors as errors:
        raise _at_table(errors.errors) from None
    except InputError as error:
        raise _at_table((error,)) from None
    notes = [tr("Weather table: {note}.", note=note) for note in table.notes]
    if "eto" in table.columns:
        daily, source = table.columns["eto"], tr("yours")
        rule = tr("From the table's own ETo. Mean of each month over all years.")
    else:
        daily, rule, source = _penman(table, weather, notes)
    eto = monthly_means(table.dates, daily)
    fell = table.columns.get("rain", np.full(daily.size, np.nan))
    counted, more = _rain(monthly_means(table.dates, fell) * DAYS_IN_MONTH, weather["count_rain"])
    notes += _few_days(table, daily)
    return MonthWeather(
        eto=eto,
        rain=counted,
        rule=rule,
        source=source,
        notes=(*notes, *more),
        place=place,
        days=Days(table.dates, daily, fell),
    )


def _penman(
    table: WeatherTable, weather: Mapping[str, Any], notes: list[str]
) -> tuple[FloatArray, str, str]:
    """Return the ETo of the table's days, its rule and source; `notes` gets what was assumed."""
    latitude = _wanted(weather, "latitude", tr("the latitude is missing"), tr("the latitude"))
    try:
        found = table.reference_et(
            latitude=latitude,
            elevation=_ELEVATION if weather["elevation"] is None else weather["elevation"],
            wind_height=_WIND_HEIGHT if weather["wind_height"] is None else weather["wind_height"],
        )
    except InputError as error:
        raise _at_table((error,)) from None
    total = table.dates.size
    notes += [_assumed(rule, total) for rule in found.rules if rule.assumed]
    if bool((table.columns["tmin"] > table.columns["tmax"]).any()):
        notes.append(tr("On some days the lowest temperature is above the highest."))
    how = tr("From the days' weather. Mean of each month over all years.")
    return found.eto, how, tr("Penman–Monteith, FAO-56 eq. 6")


def _assumed(rule: Rule, total: int) -> str:
    """Say on how many of the days what was assumed of humidity, sun or wind."""
    if rule.count == total:
        return {
            "vapour_pressure": tr("Humidity on all days: {how}.", how=rule.how),
            "solar": tr("Sun on all days: {how}.", how=rule.how),
            "wind": tr("Wind on all days: {how}.", how=rule.how),
        }[rule.quantity]
    parts = {"count": rule.count, "total": total, "how": rule.how}
    return {
        "vapour_pressure": tr("Humidity on {count} of {total} days: {how}.", **parts),
        "solar": tr("Sun on {count} of {total} days: {how}.", **parts),
        "wind": tr("Wind on {count} of {total} days: {how}.", **parts),
    }[rule.quantity]


def _few_days(table: WeatherTable, daily: FloatArray) -> list[str]:
    """Tell the months that stand on few days."""
    months = table.dates[~np.isnan(daily)].astype("datetime64[M]").astype(np.intp) % 12
    counts = np.bincount(months, minlength=12)
    return [
        tr_count(
            int(counts[i]),
            "{month} is the mean of only {count} day.",
            "{month} is the mean of only {count} days.",
            month=month_words(i + 1),
        )
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
    problems = "; ".join(told)
    first = errors[0]
    return InputError(
        tr("{problems}; and {count} more", problems=problems, count=rest) if rest > 0 else problems,
        code=first.code,
        field="weather.table",
        accepted=first.accepted,
        hint=first.hint,
    )


def _wanted(weather: Mapping[str, Any], name: str, message: str, words: str) -> Any:
    """Return a value that this way cannot do without."""
    if weather[name] is None:
        raise InputError(
            message,
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
                tr("{month} is there twice", month=month_words(MONTHS.index(month) + 1)),
                code="twice",
                field=f"{place}.{index}.month",
                given=month,
                accepted=tr("each month once"),
            )
        seen.add(month)
        for values, name in zip(found, names, strict=True):
            if row[name] is not None:
                values[MONTHS.index(month)] = row[name]
    return found


def _rain(rain: FloatArray, count: bool) -> tuple[FloatArray, tuple[str, ...]]:
    """Return what may be counted on of a month's rain [m/day], and what to know."""
    if not count:
        return np.zeros(12), (tr("Rain is not counted on: switch the timer off after good rain."),)
    if bool(np.isnan(rain).all()):
        return np.zeros(12), (tr("No rain was given, so that none is counted on."),)
    fell = np.minimum(np.nan_to_num(rain), MOST_MONTH)
    used = effective_rain_monthly(fell) / DAYS_IN_MONTH
    return used, (
        tr(
            "Usual rain is counted on: of its rain the USDA rule counts the part that a crop uses. "
            "In a dry spell, take that mark away and run the longer times."
        ),
    )
