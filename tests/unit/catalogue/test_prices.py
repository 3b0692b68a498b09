"""The price list, as clerks and spreadsheets really write it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenrow.catalogue import builtin
from evenrow.catalogue.price_file import price_text, prices_csv
from evenrow.catalogue.prices import everything, read_prices, unit_text
from evenrow.catalogue.table import MAX_BYTES

HEAD = "code,description,unit,price,in stock,mass\n"


def read(text, **options):
    """Return catalogue and complaints of a price list over the generic catalogue."""
    content = text if isinstance(text, bytes) else text.encode()
    complaints = []
    return read_prices(builtin(), content, complaints, **options), complaints


def only(text, **options):
    found, complaints = read(text, **options)
    assert complaints == []
    return found


def told(text):
    """Return the one complaint about a price list."""
    _, complaints = read(text)
    assert len(complaints) == 1, [str(each) for each in complaints]
    assert complaints[0].accepted
    return complaints[0]


# --- what is read --------------------------------------------------------------------------

ROWS = [
    ["code", "description", "unit", "price", "in stock", "mass"],
    ["tube-15", '1/2" tubing', "coil 100 ft", "12.50", "yes", "1.8"],
    ["tube-15", "", "coil 500 ft", "55.00", "yes", "9"],
    ["tee-pipe-27", "tee; 1 in", "each", "1.75", "no", ""],
    ["take-off-tape", "take-off, 5/8", "pack of 25", "10.00", "TRUE", "250 g"],
    ["valve-wire", "", "foot", "0.305", "12", ""],
]


def written(separator=",", end="\n", comma=False):
    """Return the rows as a spreadsheet writes them."""
    lines = []
    for row in ROWS:
        cells = [cell.replace(".", ",") if comma and index == 3 else cell
                 for index, cell in enumerate(row)]  # fmt: skip
        marks = {separator, '"'}
        quoted = ['"' + c.replace('"', '""') + '"' if marks & set(c) else c for c in cells]
        lines.append(separator.join(quoted))
    return end.join([*lines, ""])


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("comma", [False, True])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_every_dialect_says_the_same(separator, end, comma, mark):
    found = only(mark + written(separator, end, comma))
    assert found.notes == ()
    tube = found.pipes["tube-15"]
    assert tube.coils == pytest.approx((30.48, 152.4))
    assert tube.prices == (12.5, 55.0)
    assert tube.mass == pytest.approx(9 / 152.4)
    assert tube.label == builtin().pipes["tube-15"].label
    assert "price: prices.csv of generic catalogue" in tube.source
    tee = found.fittings["tee-pipe-27"]
    assert (tee.price, tee.stocked) == (1.75, False)
    take_off = found.fittings["take-off-tape"]
    assert (take_off.price, take_off.pack, take_off.stocked) == (0.4, 25, True)
    assert take_off.mass == pytest.approx(0.01)
    assert found.fittings["valve-wire"].price == pytest.approx(0.305 / 0.3048)


def test_the_encodings_of_spreadsheets():
    text = HEAD + "tee-pipe-27,té,each,1.75,yes,\n"
    assert only(text.encode("utf-8-sig")).notes == ()
    assert only(text.encode("utf-16")).fittings["tee-pipe-27"].price == 1.75
    found = only(text.encode("cp1252"))
    assert found.fittings["tee-pipe-27"].price == 1.75
    assert "line 2: the file is not in UTF-8 and was read as Windows-1252" in found.notes[0]


@pytest.mark.parametrize(
    "text",
    [
        "sep=;\nCode;Unit;PRICE (USD)\ntee-pipe-27;each;2\n",
        "\n\ncode,unit,price\n,,\ntee-pipe-27,each,2\n  , ,\n\n",
        "Code :,Unit,Price USD,In stock?\nTEE-PIPE-27,Each,2\n",
        "price,code,unit\n2.0,tee-pipe-27,pc\n",
        'code,unit,price\n"tee-pipe-27","each","2,00"\n',
        "code;unit;price;mass (lb)\ntee-pipe-27;each;2;0.1\n",
        "code;unit;price\n tee-pipe-27 ;\u00a0each ; 2 \n",
    ],
)
def test_headings_and_rows_as_they_come(text):
    assert only(text).fittings["tee-pipe-27"].price == 2.0


def test_a_column_that_is_not_used_is_noted():
    found = only("code,unit,price,shelf,in stok\ntee-pipe-27,each,2,A4,no\n")
    assert found.fittings["tee-pipe-27"].stocked
    assert "the column shelf is not used" in found.notes[0]
    assert "did you mean in stock?" in found.notes[1]


def test_what_is_not_in_stock_is_left_out_but_for_fittings():
    found = only(
        HEAD + "tube-15,,coil 50 ft,9,no,\ntube-15,,coil 100 ft,12,yes,\n"
        "tube-21,,coil 100 ft,12,no,\nvalve-25,,each,20,no,\ntee-pipe-27,,each,2,0,\n"
    )
    assert found.pipes["tube-15"].coils == pytest.approx((30.48,))
    assert "tube-21" not in found.pipes
    assert "valve-25" not in found.parts
    assert found.fittings["tee-pipe-27"].stocked is False


def test_the_last_of_a_kind_stays_without_a_price():
    found = only(HEAD + "injector-20,,each,70,no,\ninjector-40,,each,200,no,\n")
    assert [p.price for p in found.parts.values() if p.kind == "injector"] == [540.0]
    rows = "".join(f"injector-{size},,each,70,no,\n" for size in (20, 40, 80))
    found = only(HEAD + rows)
    assert [p.price for p in found.parts.values() if p.kind == "injector"] == [None] * 3
    assert "no injector is in stock" in found.notes[-1]


def test_what_the_list_does_not_name_has_no_generic_price():
    codes = set(everything(builtin()))
    found = only(HEAD + "tee-pipe-27,,each,2,yes,\n", generic=codes)
    assert found.fittings["tee-pipe-27"].price == 2.0
    assert found.fittings["elbow-pipe-27"].price is None
    assert found.pipes["pipe-27"].prices == ()
    assert f"names no price for {len(codes) - 1} generic entries" in found.notes[-1]
    kept = only(HEAD + "tee-pipe-27,,each,2,yes,\n", generic=codes - {"elbow-pipe-27"})
    assert kept.fittings["elbow-pipe-27"].price == builtin().fittings["elbow-pipe-27"].price


def test_an_empty_price_is_an_unknown_price():
    found = only(HEAD + "tee-pipe-27,,each,,yes,\ntube-15,,coil 50 ft,,yes,\n")
    assert found.fittings["tee-pipe-27"].price is None
    assert found.pipes["tube-15"].prices == ()


# --- mistakes of clerks --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "code", "word"),
    [
        ("1,234", "ambiguous", "1234 for the large price, 1.2340 for the small one"),
        ("1.234", "ambiguous", "1234 for the large"),
        ("12 345", "ambiguous", "12345"),
        ("1 234,50", "ambiguous", "1234.50"),
        ("1.234,50", "ambiguous", "1234.50"),
        ("1,234.50", "ambiguous", "1234.50"),
        ("1'234.50", "ambiguous", "1234.50"),
        ("1,234,567", "ambiguous", "1234567"),
        ("12.Mai", "not_a_number", "made a date"),
        ("12. Mai", "not_a_number", "made a date"),
        ("01-Feb", "not_a_number", "made a date"),
        ("Feb 12", "not_a_number", "made a date"),
        ("03.04.2026", "not_a_number", "made a date"),
        ("2026-02-01 00:00:00", "not_a_number", "made a date"),
        ("1.2E+05", "not_a_number", "power of ten"),
        ("#REF!", "not_a_number", "fault"),
        ("########", "not_a_number", "fault"),
        ("=B2*1.1", "not_a_number", "formula"),
        ("-12.50", "out_of_range", "negative"),
        ("−12.50", "out_of_range", "negative"),
        ("(12.50)", "out_of_range", "negative"),
        ("-$12.50", "not_a_number", "12.50"),
        ("0", "out_of_range", "empty where it is not known"),
        ("99999999", "out_of_range", "up to"),
        ("$12.50", "not_a_number", "12.50"),
        ("12,50 €", "not_a_number", "12,50"),
        ("12.50/m", "not_a_number", "12.50"),
        ("12.50.1", "not_a_number", "no price"),
        ("ask", "not_a_number", "no price"),
        ("1e3", "not_a_number", "power of ten"),
        ("nan", "not_a_number", "no price"),
        ("٣", "not_a_number", "no price"),
        ("<script>", "not_a_number", "no price"),
    ],
)
def test_a_price_that_could_mean_something_else(cell, code, word):
    error = told(f"code;unit;price\ntube-15;coil 50 ft;4,50\ntee-pipe-27;each;{cell}\n")
    assert (error.field, error.code, error.given) == (
        "prices.csv, line 3, column price",
        code,
        cell,
    )
    assert word in f"{error.message} {error.accepted} {error.hint}"


@pytest.mark.parametrize(
    ("row", "column", "code", "word"),
    [
        ("tee-pipe-72;each;1", "code", "unknown_choice", "tee-pipe-27"),
        ("02-Jan;each;1", "code", "unknown_choice", "date"),
        ("03.Apr;each;1", "code", "unknown_choice", "formatting the column as text"),
        ("1E+05;each;1", "code", "unknown_choice", "power of ten"),
        (";each;1", "code", "missing", "missing"),
        ("tee-pipe-27;coil 50 ft;1", "unit", "wrong_unit", "each"),
        ("tee-pipe-27;;1", "unit", "wrong_unit", "each"),
        ("tee-pipe-27;pack of 0;1", "unit", "wrong_unit", "pack of 10"),
        ("valve-25;pack of 10;1", "unit", "wrong_unit", "each"),
        ("valve-wire;each;1", "unit", "wrong_unit", "metre or foot"),
        ("tube-15;each;1", "unit", "not_a_number", "coil 50 ft"),
        ("tube-15;coil 100;1", "unit", "no_unit", "coil 50 ft"),
        ("tube-15;03.Apr;1", "unit", "unknown_unit", "date"),
        ("tube-15;coil 100 psi;1", "unit", "wrong_dimension", "coil 50 ft"),
        ("tube-15;coil 100 mil;1", "unit", "out_of_range", "up to"),
        ("tube-15;;1", "unit", "missing", "coil 50 ft"),
        ("tee-pipe-27;each;1;perhaps", "in stock", "not_a_flag", "yes, no or a count"),
        ("tee-pipe-27;each;1;yes;heavy", "mass", "not_a_number", "1.5 kg"),
        ("tee-pipe-27;each;1;yes;-1", "mass", "out_of_range", "above 0"),
        ("tee-pipe-27;each;1;yes;5000", "mass", "out_of_range", "up to"),
        ("tube-15;coil 50 ft;1;yes;4000", "mass", "out_of_range", "metre"),
    ],
)
def test_a_cell_that_cannot_be_right(row, column, code, word):
    error = told(f"code;unit;price;in stock;mass\n{row}\n")
    assert error.field == f"prices.csv, line 2, column {column}"
    assert error.code == code
    assert word in f"{error.message} {error.accepted} {error.hint}"


def test_all_mistakes_of_a_list_are_told_at_once():
    rows = "tee-pipe-27;coil;-1;perhaps\nelbow-pipe-27;each;1\ngone;each;1\n\ntube-15;5 m;1,5.1\n"
    _, complaints = read("code;unit;price;in stock\n" + rows)
    assert [each.field.removeprefix("prices.csv, ") for each in complaints] == [
        "line 2, column unit",
        "line 2, column in stock",
        "line 2, column price",
        "line 4, column code",
        "line 6, column price",
    ]


def test_twins_are_told_with_both_lines():
    error = told("code,unit,price\ntee-pipe-27,each,1\nelbow-pipe-27,each,1\nTee-pipe-27,each,2\n")
    assert (error.field, error.code) == ("prices.csv, line 4, column code", "duplicate_key")
    assert "line 2 has a price" in error.message
    error = told("code,unit,price\ntube-15,100 ft,1\ntube-15,50 ft,1\ntube-15,30.48 m,2\n")
    assert "line 2 has a price" in error.message


def test_coils_of_one_line_go_together():
    error = told("code,unit,price\ntube-15,50 ft,1\ntube-15,100 ft,\n")
    assert (error.field, error.code) == ("prices.csv, line 3, column price", "missing")
    rows = "tube-15,50 ft,1,1\ntube-15,100 ft,2,1\n"
    error = told(f"code,unit,price,mass\n{rows}")
    assert (error.field, error.code) == ("prices.csv, line 3, column mass", "contradiction")


@pytest.mark.parametrize(
    ("text", "field", "code", "word"),
    [
        ("", "line 1, column code", "missing", "code and no column unit"),
        ("kode,unit,price\n", "line 1, column code", "missing", "code in place of kode"),
        ("code,unit\ntee-pipe-27,each\n", "line 1, column price", "missing", "price"),
        ("code,unit,price,Unit\n", "line 1, column unit", "duplicate_key", "two columns unit"),
        ("code,unit,price (EUR)\n", "column price", "wrong_unit", "USD"),
        ("code,unit,price\ntee-pipe-27,each,12,50\n", "line 2", "not_csv", "quotation marks"),
        ('code,unit,price\n"tee-pipe-27,each,1\n', "line 2", "not_csv", "quotation marks"),
        ('code,unit,price\n"tee"-pipe-27,each,1\n', "line 2", "not_csv", "quotation marks"),
        ('code,unit,price\n"tee\n-pipe-27",each,1\n', "line 2", "not_csv", "end of the line"),
        (f"code,unit,price\n{'x' * 500},each,1\n", "line 2, column code", "too_long", "200"),
        ('"code,unit,price\ntee-pipe-27,each,1\n', "line 1", "not_csv", "quotation marks"),
        ("code" + " " * 200_000 + ",unit,price\n", "line 1", "not_csv", "far too long"),
        (f"code,unit,price\n{'x' * 200_000},each,1\n", "line 2", "not_csv", "far too long"),
        (b"PK\x03\x04 sheet", "", "not_text", "CSV"),
        (b"code,unit,price\n\0\n", "", "not_text", "CSV"),
        (b"code,unit,price\n\x81\xe9\n", "line 2", "not_text", "UTF-8"),
        (b"\xff\xfec", "", "not_text", "CSV"),
        (b"x" * 10_000_000, "", "too_long", "1 MB"),
        (b"x" * (MAX_BYTES + 1), "", "too_long", "1 MB"),
        (b"code,unit,price\n" + b"tee-pipe-27,each,1\n" * 9, None, None, None),
    ],
    ids=lambda value: str(value)[:20],
)
def test_a_file_that_is_no_price_list(text, field, code, word):
    if field is None:
        assert len(read(text)[1]) == 8
        return
    error = told(text)
    assert error.field == ", ".join(filter(None, ["prices.csv", field]))
    assert error.code == code
    assert word in f"{error.message} {error.accepted} {error.hint}"


def test_after_a_broken_row_the_next_ones_are_read():
    text = 'code,unit,price\n"tee"x,each,1\nelbow-pipe-27,each,-1\nend-pipe-27,each,3\n'
    found, complaints = read(text)
    assert [each.field[:18] for each in complaints] == ["prices.csv, line 2", "prices.csv, line 3"]
    assert found.fittings["end-pipe-27"].price == 3.0


def test_thousands_of_mistakes_are_cut_short():
    _, complaints = read("code,unit,price\n" + "gone-away,each,1\n" * 15_000)
    assert 200 < len(complaints) < 210
    _, complaints = read("code,unit,price\n" + "tee-pipe-27,each,1\n" * 25_000)
    assert complaints[0].code == "too_many"


@given(st.binary(max_size=400))
def test_no_file_ends_in_anything_but_complaints(content):
    read(content)
    read(b"code,unit,price\n" + content)


@given(st.text(max_size=40), st.text(max_size=40), st.text(max_size=40))
def test_no_cell_ends_in_anything_but_complaints(code, unit, price):
    for row in ((code, "each", "1"), ("tube-15", unit, "1"), ("tee-pipe-27", "each", price)):
        quoted = ",".join('"' + cell.replace('"', '""') + '"' for cell in row)
        read(f"code,unit,price\n{quoted}\n")


# --- there and back ------------------------------------------------------------------------


def test_the_written_list_is_read_back():
    text = prices_csv(builtin())
    assert text.startswith("code,description,unit,price (USD),in stock,mass (kg)\n")
    found = everything(only(text, generic=set(everything(builtin()))))
    for code, before in everything(builtin()).items():
        after = found[code]
        assert math.isclose(after.mass, before.mass, rel_tol=1e-5)
        for name in ("label", "kind", "size", "fits", "to", "pack", "unit", "stocked", "price"):
            assert getattr(after, name, None) == getattr(before, name, None), (code, name)
        assert getattr(after, "prices", ()) == getattr(before, "prices", ())
        assert getattr(after, "coils", ()) == pytest.approx(getattr(before, "coils", ()))
    # Masses are written with six digits: from then on the list does not change any more.
    again = prices_csv(only(text))
    assert prices_csv(only(again)) == again == text


@given(st.floats(1e-4, 1e6))
def test_no_written_price_can_be_read_in_two_ways(price):
    text = price_text(round(price, 6))
    found = only(f"code,unit,price\ntee-pipe-27,each,{text}\n")
    assert found.fittings["tee-pipe-27"].price == round(price, 6)


def test_units_are_written_as_people_say_them():
    pipe, tee = builtin().pipes["tube-15"], builtin().fittings["tee-pipe-27"]
    assert [unit_text(pipe, size) for size in (30.48, 50.0)] == ["coil 100 ft", "coil 50 m"]
    assert [unit_text(tee, size) for size in (1, 10)] == ["each", "pack of 10"]


def test_no_description_is_a_formula(monkeypatch):
    from dataclasses import replace

    own = replace(builtin().fittings["tee-pipe-27"], label="=cmd|' /c calc'!A1")
    text = prices_csv(replace(builtin(), fittings={own.code: own}))
    assert ",'=cmd|' /c calc'!A1," in text
