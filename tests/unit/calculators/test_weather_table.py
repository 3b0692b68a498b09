"""Weather tables as stations and people write them; all data invented."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow.calculators.weather_columns import COLUMNS, KINDS, plain_unit, read_heading
from evenrow.calculators.weather_table import MAX_LINES, MAX_TEXT, read_weather
from evenrow.errors import EvenrowError, InputError, InputErrors
from evenrow.words import LANGUAGES, use_language

METRIC = """Station: the hill (invented)
date,Tmax (°C),Tmin (°C),RH max (%),RH min (%),wind (m/s),Rs (MJ/m2/day),rain (mm)
2024-05-30,24.0,11.0,90,40,2.0,22.5,0.0
2024-05-31,27.5,12.0,85,35,1.5,25.0,3.2
2024-06-01,25.0,,80,30,,24.0,0
"""
#: The same three days from overseas.
US = """Date\tHigh Temp (F)\tLow Temp (F)\tRHmax\tRHmin\tWind Speed [mph]\tSolar_W/m2\tPrecip, in
5/30/2024\t75.2\t51.8\t90\t40\t4.4738725841\t260.4166667\t0
5/31/2024\t81.5\t53.6\t85\t35\t3.3554044381\t289.3518519\t0.1259842520
6/1/2024\t77\t\t80\t30\t\t277.7777778\tT
"""
SEMICOLON = """Datum;Tmax [°C];Tmin [°C];RHmax [%];RHmin [%];wind [km/h];Rs [kWh/m²];rain [mm]
30.05.2024;24,0;11,0;90;40;7,2;6,25;0,0
31.05.2024;27,5;12,0;85;35;5,4;6,944444444;3,2
01.06.2024;25,0;;80;30;;6,666666667;0
"""


#: And once more as a Spanish station would write it.
SPANISH = """Día;Temp. máx (°C);Temp. mín (°C);Humedad máxima (%);HR mín [%];Viento (km/h);\
Radiación (MJ/m²/día);Precipitación [mm/día]
30/05/2024;24,0;11,0;90;40;7,2;22,5;0,0
31/05/2024;27,5;12,0;85;35;5,4;25,0;3,2
01/06/2024;25,0;;80;30;;24,0;0
"""


def test_a_plain_table():
    got = read_weather(METRIC)
    assert got.dates.astype(str).tolist() == ["2024-05-30", "2024-05-31", "2024-06-01"]
    assert set(got.columns) == {"tmax", "tmin", "rh_max", "rh_min", "wind", "solar", "rain"}
    assert got.columns["tmax"].tolist() == [24.0, 27.5, 25.0]
    assert got.columns["rh_min"].tolist() == pytest.approx([0.40, 0.35, 0.30])
    assert got.columns["rain"].tolist() == pytest.approx([0.0, 0.0032, 0.0])
    assert np.isnan(got.columns["tmin"][2])
    assert got.notes == (
        "tmin has no value on 1 of 3 days",
        "wind has no value on 1 of 3 days",
    )


@pytest.mark.parametrize("text", [US, SEMICOLON, SPANISH])
def test_other_units_separators_and_dates_mean_the_same(text):
    one, other = read_weather(METRIC), read_weather(text)
    assert one.dates.tolist() == other.dates.tolist()
    for name, values in one.columns.items():
        assert other.columns[name] == pytest.approx(values, abs=1e-8, nan_ok=True), name


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_line_of_headings_that_an_error_asks_for_is_read(code):
    with use_language(code):
        with pytest.raises(InputError) as caught:
            read_weather("1 2 3\n")
        headings = caught.value.accepted.partition(":")[2]
    got = read_weather(f"{headings}\n2024-05-30,24,11,65,2,0\n")
    assert set(got.columns) == {"tmax", "tmin", "rh_mean", "wind", "rain"}


def test_columns_are_named_in_the_language_in_use():
    with use_language("es"):
        assert read_weather(METRIC).notes[1] == "viento no tiene valor en 1 de 3 días"
        with pytest.raises(InputErrors) as caught:
            read_weather("date,rain\n2024-05-30,much\n")
    error = caught.value.errors[0]
    assert (error.field, error.message) == ("línea 2, lluvia", "no es un número")


def test_what_was_assumed_is_said():
    assert "commas in numbers are read as decimal points" in read_weather(SEMICOLON).notes
    notes = read_weather(US).notes
    assert "rh_max is read in %, because the heading tells no unit" in notes
    table = "date tmax tmin rh solar rain other\n2024-07-01 88 51 0.5 250 1 7\n"
    assert read_weather(table).notes == (
        "columns left out: other",
        "tmax is read in °F, because there are values above 60",
        "tmin is read in °F, because there are values above 60",
        "rh_mean is read in fraction, because no value is above 1",
        "solar is read in w/m2, because there are values above 60",
        "rain is read in mm, because the heading tells no unit",
    )
    # the unit of one temperature tells that of the others
    told = read_weather("date,tmax (F),tmin\n2024-07-01,58,41\n")
    assert told.columns["tmin"][0] == pytest.approx(5.0)
    assert told.notes == ("tmin is read in °F, like the columns beside it",)


def test_reference_et_of_the_table():
    got = read_weather(METRIC).reference_et(latitude=45.0, elevation=100.0)
    assert np.all((got.eto[:2] > 0.003) & (got.eto[:2] < 0.008))
    assert np.isnan(got.eto[2])
    with pytest.raises(InputError) as caught:
        read_weather("date,rain (mm)\n2024-01-01,3\n").reference_et(latitude=0, elevation=0)
    assert caught.value.field == "tmax"


def test_units_in_their_own_line_and_by_hand():
    text = "date;tmax;wind\n;°F;\n2024-05-30;75.2;7.2\n2024-05-31;77;3.6\n"
    with pytest.raises(InputErrors):  # a line of units is whole, or it is no such line
        read_weather(text)
    got = read_weather(text.replace(";°F;", ";°F;km/h"))
    assert got.columns["tmax"] == pytest.approx([24.0, 25.0])
    assert got.columns["wind"] == pytest.approx([2.0, 1.0])
    own = read_weather("date;wind\n2024-05-30;7.2\n", units={"wind": "km/h"})
    assert own.columns["wind"] == pytest.approx([2.0])


def test_dates_in_two_ways():
    table = "date,tmax (C)\n{}\n"
    days = ["4/5/2024,20", "5/5/2024,21", "6/5/2024,22"]
    got = read_weather(table.format("\n".join(days)))
    assert got.dates.astype(str).tolist() == ["2024-05-04", "2024-05-05", "2024-05-06"]
    assert "day first" in got.notes[0]
    months = read_weather(table.format("\n".join(days)), order="mdy")
    assert months.dates.astype(str).tolist()[0] == "2024-04-05"
    with pytest.raises(InputError) as caught:
        read_weather(table.format("4/5/2024,20"))
    assert caught.value.code == "ambiguous"
    with pytest.raises(InputError) as caught:
        read_weather(table.format("14/5/2024,20\n5/14/2024,21"))
    assert caught.value.code == "ambiguous"
    short = read_weather(table.format("31.12.99,5\n1.1.00,6\n20000102,7\n2000/1/3 00:00,8"))
    assert short.dates.astype(str).tolist() == [
        "1999-12-31",
        "2000-01-01",
        "2000-01-02",
        "2000-01-03",
    ]


def test_a_day_above_twelve_tells_the_order_of_all():
    table = "date,tmax (C)\n{}\n"
    # alone the first two would follow on each other with the month first
    days = read_weather(table.format("1/2/2024,20\n1/3/2024,21\n25/12/2024,1"))
    assert days.dates.astype(str).tolist() == ["2024-02-01", "2024-03-01", "2024-12-25"]
    months = read_weather(table.format("1/2/2024,20\n2/2/2024,21\n12/25/2024,1"))
    assert months.dates.astype(str).tolist() == ["2024-01-02", "2024-02-02", "2024-12-25"]


def test_missing_days_and_disorder_are_told():
    text = "date,tmax (C)\n2024-05-04,20\n2024-05-01,21\n"
    got = read_weather(text)
    assert got.columns["tmax"].tolist() == [21.0, 20.0]
    assert got.notes == (
        "the days were put in order",
        "2 days are missing between 2024-05-01 and 2024-05-04",
    )


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("2024-05-30,10.0,11.0,90,40,2.0,22.5,0", "line 6, tmax"),
        ("2024-05-30,99.5,11.0,90,40,2.0,22.5,0", "line 6, tmax"),
        ("2024-05-30,20.0,11.0,120,40,2.0,22.5,0", "line 6, rh_max"),
        ("2024-05-30,20.0,11.0,40,90,2.0,22.5,0", "line 6, rh_max"),
        ("2024-05-30,20.0,11.0,90,40,-2.0,22.5,0", "line 6, wind"),
        ("2024-05-30,20.0,11.0,90,40,2.0,222,0", "line 6, solar"),
        ("2024-05-30,20.0,11.0,90,40,2.0,22.5,-1", "line 6, rain"),
        ("2024-05-30,warm,11.0,90,40,2.0,22.5,0", "line 6, tmax"),
        ("2024-05-30,1_0,1e999,90,40,2.0,22.5,0", "line 6, tmax"),
        ("2024-02-30,20.0,11.0,90,40,2.0,22.5,0", "line 6, date"),
        ("soon,20.0,11.0,90,40,2.0,22.5,0", "line 6, date"),
        ("2024-05-31,20.0,11.0,90,40,2.0,22.5,0", "line 6, date"),
    ],
)
def test_what_cannot_be_true_is_told_by_line_and_column(row, field):
    text = METRIC.replace("2024-05-30", "2024-05-29") + row + "\n"
    with pytest.raises(EvenrowError) as caught:
        read_weather(text)
    first = caught.value.errors[0] if isinstance(caught.value, InputErrors) else caught.value
    assert first.field == field
    assert first.accepted


def test_impossible_values_can_be_gaps():
    text = METRIC.replace("24.0,11.0", "10.0,11.0").replace("3.2", "-3.2")
    got = read_weather(text, impossible="gap")
    assert np.isnan(got.columns["tmax"]).tolist() == [True, False, False]
    assert np.isnan(got.columns["tmin"]).tolist() == [True, False, True]
    assert np.isnan(got.columns["rain"]).tolist() == [False, True, False]
    assert "3 values that cannot be true are left out" in got.notes


def test_a_little_over_full_humidity_is_full():
    got = read_weather("date,rh (%)\n2024-01-01,102\n2024-01-02,80\n")
    assert got.columns["rh_mean"].tolist() == pytest.approx([1.0, 0.8])
    assert got.notes == ("rh_mean is above 100 % on 1 days and counts as 100 %",)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no_headings"),
        ("date,colour\n2024-01-01,red\n", "no_headings"),
        ("date,tmax (C)\n", "empty"),
        ("date,tmax (C),max temp (C)\n2024-01-01,1,2\n", "twice"),
        ("date,tmax (furlong)\n2024-01-01,1\n", "unknown_unit"),
        ("date;tmax (C);rain (mm)\n2024-01-01;1,5;2.5\n", "ambiguous"),
        ("x" * (MAX_TEXT + 1), "too_large"),
        ("date,rain\n" + "1\n" * MAX_LINES, "too_large"),
        ("date,rain\n2024-01-01," + "9" * 5000, "too_large"),
        ("date" + ",rain" * 70 + "\n2024-01-01" + ",1" * 70, "too_large"),
    ],
)
def test_what_is_no_table_is_refused(text, code):
    with pytest.raises(InputError) as caught:
        read_weather(text)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("heading", "column", "unit"),
    [
        ("Tmax", "tmax", ""),
        ("tmin_c", "tmin", "c"),
        ("Air temperature, maximum (°F)", "tmax", "f"),
        ("MaxTemp", "tmax", ""),
        ("Temperature °C", "tmean", "c"),
        ("Dew Point (F)", "dew_point", "f"),
        ("DewPoint_C", "dew_point", "c"),
        ("Relative humidity [%]", "rh_mean", "%"),
        ("RHmin", "rh_min", ""),
        ("Vapor pressure kPa", "vapour_pressure", "kpa"),
        ("Wind speed m/s", "wind", "m/s"),
        ("u2 (km/day)", "wind", "km/day"),
        ("Solar radiation (MJ m⁻² d⁻¹)", "solar", "mjm-2d-1"),
        ("Sol Rad Ly/day", "solar", "ly/day"),
        ("sunshine hours", "sunshine", "hours"),
        ("Precip in", "rain", "in"),
        ("ETo (mm)", "eto", "mm"),
    ],
)
def test_headings(heading, column, unit):
    assert read_heading(heading) == (column, unit)
    assert unit == "" or unit in KINDS[COLUMNS[column]].units


@pytest.mark.parametrize(
    "heading", ["Wind direction", "Max wind gust (m/s)", "Soil temp (C)", "Net radiation", "notes"]
)
def test_headings_of_other_things(heading):
    assert read_heading(heading) is None


def test_every_unit_is_spelled_as_it_is_looked_up():
    for kind in KINDS.values():
        assert kind.assumed in kind.units
        for unit in kind.units:
            assert plain_unit(unit) == unit


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.sampled_from([(name, unit) for name, kind in COLUMNS.items() for unit in KINDS[kind].units]),
    st.floats(0.05, 0.95),
)
def test_a_value_is_the_same_in_every_unit(what, share):
    name, unit = what
    kind = KINDS[COLUMNS[name]]
    value = kind.low + share * (kind.high - kind.low)
    factor, shift = kind.units[unit]
    heading = {"rh_mean": "rh", "dew_point": "dew", "vapour_pressure": "vapour"}.get(
        name, name.replace("_", " ")
    )
    text = f"date;{heading} [{unit}]\n2024-05-05;{(value - shift) / factor!r}\n"
    got = read_weather(text)
    assert got.columns[name][0] == pytest.approx(value, rel=1e-12, abs=1e-12)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.text(alphabet='date;,\t|\n"0123456789./- tmaxCrin()[]°%#', max_size=300))
def test_any_text_is_a_table_or_a_plain_error(text):
    for whole in (text, "date;tmax (C);rain\n2024-01-01;1;2\n" + text):
        try:
            got = read_weather(whole)
        except EvenrowError:
            continue
        assert all(column.size == got.dates.size for column in got.columns.values())
