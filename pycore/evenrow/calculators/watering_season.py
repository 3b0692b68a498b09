"""The crop month by month: days on the field, coefficient, roots."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.climate import DAYS_IN_MONTH
from evenrow.agronomy.crop import (
    MAX_KC,
    KcCurve,
    canopy_reduction,
    day_of_season,
    under_organic_mulch,
    under_plastic,
    wetted_initial,
)
from evenrow.agronomy.dual import KC_MIN
from evenrow.agronomy.soil import root_depth
from evenrow.calculators.season_days import month_words
from evenrow.calculators.watering_weather_fields import MONTHS
from evenrow.catalogue.growing import Crop, crop
from evenrow.errors import InputError
from evenrow.words import tr

FloatArray = NDArray[np.float64]

#: Depth of the roots of young plants [m]: 0.15 to 0.20 m in examples of FAO-56 (from memory).
YOUNG_ROOTS = 0.15
#: Share of the season of each stage where the tables have none, perennial or not: those of fruit
#: trees and of most vegetables in table 11 of FAO-56, rounded.
_USUAL_STAGES = {False: (0.20, 0.30, 0.35, 0.15), True: (0.10, 0.33, 0.43, 0.14)}
#: Days of the season where the tables have none; common practice, no source.
_USUAL_DAYS = {False: 120, True: 200}
#: Share of the evaporation that mulch keeps in the ground below it (FAO-56, chapter 10).
_KEPT = {"none": 0.0, "plastic": 1.0, "organic": 0.5}
#: Any year without a leap day: seasons begin anew each year.
_YEAR = np.arange("2023-01-01", "2024-01-01", dtype="datetime64[D]")


@dataclass(frozen=True)
class Season:
    """A crop in the months in which it grows.

    Parameters
    ----------
    crop : Crop
        Which.
    months : tuple of int
        Months, 0 to 11, in the order of the season.
    days : numpy.ndarray
        Days of each on which it grows, shape (months,).
    kc : numpy.ndarray
        Coefficient with all its reductions, mean of those days [-], same shape.
    roots : numpy.ndarray
        Depth of the roots, mean of those days [m], same shape.
    kc_by_day, roots_by_day : numpy.ndarray
        The same for each day of a year without a leap day, 1 January first, shape (365,); the
        coefficient is NaN on days on which it does not grow.
    kcb_by_day : numpy.ndarray or None
        Basal coefficient of the same days, with the reductions of the other for shade and with
        your own; None where the tables have none.
    kept, mulched : float
        Share of its evaporation that mulch keeps in the ground below it, and of the ground
        under it [-].
    first : int
        Day of that year on which the season begins, from 0.
    rule, source : str
        How the coefficient was had.
    notes : tuple of str
        What was assumed, in sentences.
    """

    crop: Crop
    months: tuple[int, ...]
    days: FloatArray
    kc: FloatArray
    roots: FloatArray
    kc_by_day: FloatArray
    roots_by_day: FloatArray
    kcb_by_day: FloatArray | None
    kept: float
    mulched: float
    first: int
    rule: str
    source: str
    notes: tuple[str, ...]

    def only(self, month: int) -> Season:
        """Return the season cut down to one month, 0 to 11; `InputError` if it grows in others."""
        if month not in self.months:
            names = ", ".join(month_words(each + 1) for each in self.months)
            raise InputError(
                tr(
                    "{crop} does not grow in {month} with that season",
                    crop=tr(self.crop.label),
                    month=month_words(month + 1),
                ),
                code="out_of_range",
                field="weather.day_month",
                given=MONTHS[month],
                accepted=names,
            )
        return self.among((month,))

    def among(self, months: Collection[int]) -> Season:
        """Return the season cut down to those of its months that are among some, 0 to 11."""
        at = [place for place, month in enumerate(self.months) if month in months]
        return replace(
            self,
            months=tuple(self.months[place] for place in at),
            days=self.days[at],
            kc=self.kc[at],
            roots=self.roots[at],
        )


def season_of(inputs: Mapping[str, Any]) -> Season:
    """Return the crop by month.

    Parameters
    ----------
    inputs : mapping
        Inputs of the calculator, SI; ``planting`` and ``season`` are read.

    Returns
    -------
    Season
        By FAO-56's single coefficient.

    Raises
    ------
    InputError
        At ``season.day`` if the month has no such day; at ``planting.crop`` if the catalogue
        has no such crop.
    """
    planting, season = inputs["planting"], inputs["season"]
    grown = crop(planting["crop"], field="planting.crop")
    notes: list[str] = []
    initial, middle, end, words = _coefficients(grown, planting, notes)
    full = planting["root_depth"]
    full = grown.root_depth[0] if full is None else full
    basal = _basal(grown, planting)
    kcb: FloatArray | None = None
    kc: FloatArray
    inside: NDArray[np.bool_]
    roots: FloatArray = np.full(_YEAR.size, full)
    if season["start"] == "always":
        kc = np.full(_YEAR.size, middle)
        kcb = None if basal is None else np.full(_YEAR.size, basal[1])
        inside = np.ones(_YEAR.size, dtype=np.bool_)
        start = first = 0
        words.append(tr("that of full growth all year"))
    else:
        start = MONTHS.index(season["month"])
        _check_day(season["month"], season["day"])
        lengths = _stages(grown, season["days"], notes)
        curve = KcCurve(lengths, initial, middle, end)
        day = day_of_season(_YEAR, start + 1, season["day"])
        first = int(np.argmin(day))
        inside = day <= curve.days
        kc = curve.at(day)
        kcb = None if basal is None else KcCurve(lengths, *basal).at(day)
        if season["start"] == "planted":
            notes.append(
                tr(
                    "Water in new plants by hand and keep seed beds moist until they have rooted, "
                    "whatever this plan says."
                )
            )
            grown_on = max(lengths[0] + lengths[1], 2.0)
            roots = root_depth(day, min(YOUNG_ROOTS, full), full, grown_on)
        words.append(tr("mean of the month's days on the curve of the four stages (eq. 66)"))
    month_of = _YEAR.astype("datetime64[M]").astype(np.intp) % 12
    order = [(start + step) % 12 for step in range(12)]
    months = tuple(m for m in order if bool((inside & (month_of == m)).any()))
    picked = [inside & (month_of == m) for m in months]
    return Season(
        crop=grown,
        months=months,
        days=np.array([float(each.sum()) for each in picked]),
        kc=np.array([float(kc[each].mean()) for each in picked]),
        roots=np.array([float(roots[each].mean()) for each in picked]),
        kc_by_day=np.where(inside, kc, np.nan),
        roots_by_day=roots,
        kcb_by_day=kcb,
        kept=_KEPT[planting["mulch"]],
        mulched=1.0 if planting["mulched"] is None else planting["mulched"],
        first=first,
        rule=tr("Coefficient of {crop}: {steps}.", crop=tr(grown.label), steps="; ".join(words)),
        source=tr("FAO-56, tables 11 and 12, chapters 6 and 10"),
        notes=tuple(notes),
    )


def _coefficients(
    grown: Crop, planting: Mapping[str, Any], notes: list[str]
) -> tuple[float, float, float, list[str]]:
    """Return initial, middle and end coefficient with their reductions, and the words for it."""
    middle, end = grown.kc_mid, grown.kc_end
    words = [tr("from the tables")]
    if planting["kc"] is not None:
        end, middle = min(end / middle * planting["kc"], MAX_KC), planting["kc"]
        words = [tr("your own in full growth")]
    bare = grown.kc_initial
    if bare is None:
        bare = middle
        notes.append(
            tr(
                "The tables have no coefficient of young {crop}: it is taken as that of full "
                "growth, which waters young plants amply.",
                crop=tr(grown.label),
            )
        )
    else:
        bare = float(wetted_initial(bare, planting["wetted"]))
        words.append(
            tr(
                "while young, only the {percent:.0f} % of the ground that gets wet counts (eq. 60)",
                percent=planting["wetted"] * 100,
            )
        )
    if planting["cover"] is not None:
        less = float(canopy_reduction(planting["cover"]))
        middle, end = middle * less, end * less
        words.append(
            tr(
                "times {factor:.2f} for the ground shaded (Keller and Bliesner 1990, from memory)",
                factor=less,
            )
        )
    mulched = 1.0 if planting["mulched"] is None else planting["mulched"]
    if planting["mulch"] == "plastic":
        bare, middle, end = (float(each) for each in under_plastic([bare, middle, end], mulched))
        words.append(tr("less 20 % of the share under film (chapter 10)"))
    elif planting["mulch"] == "organic":
        bare = float(under_organic_mulch(bare, mulched))
        words.append(tr("while young, less 5 % for each 10 % under mulch (chapter 10)"))
    return max(bare, min(KC_MIN, middle)), middle, end, words


def _basal(grown: Crop, planting: Mapping[str, Any]) -> tuple[float, float, float] | None:
    """Return the basal coefficients, reduced as the others are for a Kc of one's own and shade."""
    if grown.kcb is None:
        return None
    initial, middle, end = grown.kcb
    factor = 1.0 if planting["kc"] is None else planting["kc"] / grown.kc_mid
    if planting["cover"] is not None:
        factor *= float(canopy_reduction(planting["cover"]))
    middle, end = (min(each * factor, MAX_KC) for each in (middle, end))
    return min(initial, middle), middle, end


def _stages(grown: Crop, days: int | None, notes: list[str]) -> tuple[float, float, float, float]:
    """Return the days of the four stages, stretched to the season's own length."""
    stages = grown.stages
    if stages is None:
        total = _USUAL_DAYS[grown.perennial] if days is None else days
        notes.append(
            tr(
                "The tables have no stages of {crop}: taken as {days} days, with those of fruit "
                "trees.",
                crop=tr(grown.label),
                days=total,
            )
            if grown.perennial
            else tr(
                "The tables have no stages of {crop}: taken as {days} days, with those of most "
                "vegetables.",
                crop=tr(grown.label),
                days=total,
            )
        )
        a, b, c, d = (total * share for share in _USUAL_STAGES[grown.perennial])
        return a, b, c, d
    if days is None:
        notes.append(
            tr(
                "The season of {crop} is taken as {days} days, as in the tables for {planted}; put "
                "in your own under “More about crop and ground”.",
                crop=tr(grown.label),
                days=sum(stages),
                planted=tr(grown.stages_for),
            )
        )
        a, b, c, d = (float(each) for each in stages)
        return a, b, c, d
    a, b, c, d = (each * days / sum(stages) for each in stages)
    return a, b, c, d


def _check_day(month: str, day: int) -> None:
    # Up, because February has 28.25 days in a mean year.
    most = math.ceil(DAYS_IN_MONTH[MONTHS.index(month)])
    if day > most:
        raise InputError(
            tr("{month} has no day {day}", month=month_words(MONTHS.index(month) + 1), day=day),
            code="out_of_range",
            field="season.day",
            given=day,
            accepted=tr("1 to {most}", most=most),
        )
