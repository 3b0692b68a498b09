"""Days of the year and dates as people write them, in fields of a form."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence

import numpy as np

from evenrow.calculators.weather_dates import DateOrder, read_dates
from evenrow.errors import InputError, InputErrors
from evenrow.units import UnitSystem
from evenrow.words import LANGUAGES, said, tr, translations

MONTHS = (
    *(said("January"), said("February"), said("March"), said("April"), said("May"), said("June")),
    *(said("July"), said("August"), said("September"), said("October"), said("November")),
    said("December"),
)
_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
#: The "de" is Spanish: "15 de abril".
_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s*(?:de\s+)?([a-z]{3,10})\.?", re.ASCII)
_NAME_FIRST = re.compile(r"([a-z]{3,10})\.?\s*(\d{1,2})(?:st|nd|rd|th)?\.?", re.ASCII)
_NUMBERS = re.compile(r"(\d{1,2})[-/.](\d{1,2})\.?", re.ASCII)
_ACCEPTED = said("a day such as 15 April or April 15")


def read_day(text: str, field: str) -> int:
    """Return a day of the year, 0 for 1 January to 364, of a year without a leap day.

    Parameters
    ----------
    text : str
        ``15 April``, ``Apr 15``, ``15 de abril``, or numbers that can be read in one way only
        (``4/15``). 29 February is taken as the 28th.
    field : str
        Where it was typed, for the error.

    Raises
    ------
    InputError
        If it is no day, or can be read in two ways.
    """
    month, day = _month_and_day(text, field)
    if (month, day) == (2, 29):
        day = 28
    if not (1 <= month <= 12 and 1 <= day <= _DAYS[month - 1]):
        raise InputError(
            tr("this is no day of the year"),
            code="not_a_date",
            field=field,
            given=text,
            accepted=tr(_ACCEPTED),
        )
    return sum(_DAYS[: month - 1]) + day - 1


def _month_and_day(text: str, field: str = "") -> tuple[int, int]:
    """Return what a text has for month and day, unchecked; (0, 0) if it looks like none."""
    plain = " ".join(text.lower().split())
    if found := _NAMED.fullmatch(plain):
        return _month(found[2]), int(found[1])
    if found := _NAME_FIRST.fullmatch(plain):
        return _month(found[1]), int(found[2])
    if not (found := _NUMBERS.fullmatch(plain)):
        return 0, 0
    first, second = int(found[1]), int(found[2])
    if first != second and first <= 12 and second <= 12:
        raise InputError(
            tr("this day can be read in two ways"),
            code="ambiguous",
            field=field,
            given=text,
            accepted=tr(_ACCEPTED),
            hint=tr("write the month as a word"),
        )
    return (first, second) if first <= 12 else (second, first)


def _month(word: str) -> int:
    """Return the month that a word begins in any of the languages, 1 to 12, or 0."""
    if word.startswith("set"):
        # Spanish has both "septiembre" and "setiembre".
        word = f"sep{word[2:]}"
    fitting = [
        i
        for i, name in enumerate(MONTHS, 1)
        if any(translations(code).get(name, name).lower().startswith(word) for code in LANGUAGES)
    ]
    # "Sept" is how some write it; every name has its first three letters for itself.
    return fitting[0] if len(fitting) == 1 else 0


def read_date(text: str, field: str) -> datetime.date:
    """Return a date with its year, as `read_dates_at` does for one field."""
    return read_dates_at([text], [field], field)[0]


def read_dates_at(
    texts: Sequence[str], fields: Sequence[str], whole: str
) -> tuple[datetime.date, ...]:
    """Return dates with their years, in the order they were typed.

    Parameters
    ----------
    texts : sequence of str
        As `weather_dates.read_dates` takes them, such as ``2026-05-31``, and as people write
        them: ``31 May 2026``, ``May 31, 2026``.
    fields : sequence of str
        Where each was typed.
    whole : str
        Where an error stands that is about all of them.

    Raises
    ------
    InputError
        If dates can be read in two ways.
    InputErrors
        If texts are no dates, one error for each.
    """
    plain = [_worded(text) for text in texts]
    bad = [
        InputError(
            tr("this is no date"),
            code="not_a_date",
            field=field,
            given=text,
            accepted=tr("a date such as 2026-05-31 or 31 May 2026"),
        )
        for text, clean, field in zip(texts, plain, fields, strict=True)
        if not _is_date(clean)
    ]
    if bad:
        raise InputErrors(bad)
    try:
        days, _ = read_dates(plain, range(1, len(plain) + 1))
    except InputError as error:
        raise error.at(whole) from None
    except InputErrors:
        # Each is a date, but not with the order of day and month that the others show.
        raise InputError(
            tr("some dates put the day first and some the month"),
            code="ambiguous",
            field=whole,
            accepted=tr("one order for all dates"),
            hint=tr("dates such as 2026-05-31"),
        ) from None
    return tuple(day.item() for day in days.astype("datetime64[D]"))


def _worded(text: str) -> str:
    """Return a date with a word for its month as ``2026-05-31``; others as they are."""
    plain = " ".join(text.replace(",", " ").split())
    rest, _, year = plain.rpartition(" ")
    rest = rest.removesuffix(" de")
    if not (re.fullmatch(r"\d{4}", year, re.ASCII) and re.search("[a-zA-Z]", rest)):
        return plain
    month, day = _month_and_day(rest)
    return f"{year}-{month:02}-{day:02}"


def _is_date(text: str) -> bool:
    """Return whether a text is a date, whatever order its day and month have."""
    orders: tuple[DateOrder, ...] = ("dmy", "mdy")
    for order in orders:
        try:
            read_dates([text], [1], order)
        except InputErrors:
            continue
        return True
    return False


def month_words(month: int) -> str:
    """Return the name of a month, 1 to 12."""
    return tr(MONTHS[month - 1])


def month_and_year(date: datetime.date) -> str:
    """Return month and year of a date: ``April 2026``."""
    return tr("{month} {year}", month=month_words(date.month), year=date.year)


def day_words(month: int, day: int, system: UnitSystem) -> str:
    """Return a day as it is written where a system of units is used: ``15 April``."""
    name = month_words(month)
    if system == "us":
        return tr("{month} {day}", month=name, day=day)
    return tr("{day} {month}", month=name, day=day)


def date_words(date: datetime.date, system: UnitSystem) -> str:
    """Return a date as it is written where a system of units is used: ``15 April 2026``."""
    parts = {"month": month_words(date.month), "day": date.day, "year": date.year}
    if system == "us":
        return tr("{month} {day}, {year}", **parts)
    return tr("{day} {month} {year}", **parts)


def years_since(first: datetime.date, dates: Sequence[datetime.date]) -> list[float]:
    """Return how long after the first day others are, in years of 365.25 days."""
    days = np.array([(date - first).days for date in dates], dtype=np.float64)
    return [float(year) for year in days / 365.25]
