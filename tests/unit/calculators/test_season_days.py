"""Days and dates as people write them."""

import datetime

import pytest

from evenrow.calculators.season_days import (
    date_words,
    day_words,
    month_and_year,
    read_date,
    read_dates_at,
    read_day,
)
from evenrow.errors import InputError, InputErrors
from evenrow.words import use_language


@pytest.mark.parametrize(
    "text", ["15 April", "april 15", "Apr 15", "15. Apr.", "15th april", "4/15", "15.4.", "15-4"]
)
def test_a_day_is_read_in_many_ways(text):
    assert read_day(text, "f") == 31 + 28 + 31 + 14


@pytest.mark.parametrize("text", ["15 de abril", "15 abril", "Abril 15", "15 abr."])
@pytest.mark.parametrize("code", ["en", "es"])
def test_a_spanish_day_is_read_whatever_the_language(text, code):
    with use_language(code):
        assert read_day(text, "f") == read_day("15 April", "f")


@pytest.mark.parametrize(("text", "month"), [("2 ene", 1), ("2 setiembre", 9), ("2 dic", 12)])
def test_spanish_months_are_told_by_their_first_letters(text, month):
    assert read_date(f"{text} 2026", "f") == datetime.date(2026, month, 2)


def test_the_ends_of_the_year_and_the_leap_day():
    assert read_day("1 January", "f") == 0
    assert read_day("31 December", "f") == 364
    assert read_day("29 Feb", "f") == read_day("28 Feb", "f") == 58
    assert read_day("5/5", "f") == 120 + 4
    assert read_day("30 Sept", "f") == 272


@pytest.mark.parametrize(
    "text", ["", "April", "31 April", "0 May", "30 February", "13/13", "soon", "15 Ju", "٣ May"]
)
def test_what_is_no_day_is_told(text):
    with pytest.raises(InputError) as caught:
        read_day(text, "season.start")
    assert (caught.value.code, caught.value.field) == ("not_a_date", "season.start")


def test_a_day_that_can_be_read_in_two_ways_is_asked_for_anew():
    with pytest.raises(InputError) as caught:
        read_day("4/5", "season.end")
    assert caught.value.code == "ambiguous"
    assert "word" in caught.value.hint


@pytest.mark.parametrize(
    "text",
    [
        "2026-05-31",
        "31 May 2026",
        "May 31, 2026",
        "31.5.2026",
        "5/31/2026",
        "20260531",
        "31 de mayo de 2026",
    ],
)
def test_a_date_is_read_in_many_ways(text):
    assert read_date(text, "today") == datetime.date(2026, 5, 31)


def test_a_leap_day_with_its_year():
    assert read_date("29 February 2028", "today") == datetime.date(2028, 2, 29)
    with pytest.raises(InputErrors):
        read_date("29 February 2027", "today")


def test_each_bad_date_is_told_at_its_own_place():
    with pytest.raises(InputErrors) as caught:
        read_dates_at(["2026-01-01", "never", "31 June 2026"], ["a", "b", "c"], "log")
    assert [error.field for error in caught.value.errors] == ["b", "c"]


@pytest.mark.parametrize("texts", [["5/6/2026"], ["31/5/2026", "5/31/2026"]])
def test_an_order_that_is_not_known_is_told_for_all(texts):
    with pytest.raises(InputError) as caught:
        read_dates_at(texts, [f"log.{i}" for i in range(len(texts))], "log")
    assert (caught.value.code, caught.value.field) == ("ambiguous", "log")


def test_other_dates_tell_the_order():
    found = read_dates_at(["5/6/2026", "31/7/2026"], ["a", "b"], "log")
    assert found == (datetime.date(2026, 6, 5), datetime.date(2026, 7, 31))


def test_days_are_written_as_is_usual():
    assert day_words(4, 5, "us") == "April 5"
    assert day_words(4, 5, "metric") == "5 April"
    assert date_words(datetime.date(2026, 4, 5), "us") == "April 5, 2026"
    assert date_words(datetime.date(2026, 4, 5), "metric") == "5 April 2026"
    assert month_and_year(datetime.date(2026, 4, 5)) == "April 2026"


@pytest.mark.parametrize("system", ["us", "metric"])
def test_days_are_written_in_the_language_in_use(system):
    with use_language("es"):
        assert day_words(4, 5, system) == "5 de abril"
        assert date_words(datetime.date(2026, 4, 5), system) == "5 de abril de 2026"
        assert month_and_year(datetime.date(2026, 4, 5)) == "abril de 2026"
