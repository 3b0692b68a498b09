"""Tables are written and read back without loss, in every unit and both formats."""

import csv

import pytest

from evenrow.batch.columns import COLUMNS, Column, empty_row
from evenrow.batch.table import read_table, write_table
from evenrow.batch.work import row_of
from evenrow.design.demos import demo
from evenrow.errors import InputError

ROWS = [row_of(demo("raspberries")), {**empty_row(), "design": "=1+1", "status": "bad input"}]


@pytest.mark.parametrize("ending", ["csv", "parquet"])
@pytest.mark.parametrize("system", ["us", "metric", None])
def test_a_table_comes_back_as_it_was(tmp_path, ending, system):
    if ending == "parquet":
        pytest.importorskip("pyarrow")
    path = tmp_path / f"table.{ending}"
    write_table(ROWS, path, system)
    found = read_table(path)
    assert len(found) == 2
    for row, expected in zip(found, ROWS, strict=True):
        assert list(row) == [column.name for column in COLUMNS]
        for column in COLUMNS:
            value = row[column.name]
            assert value is None or type(value) is column.type
            if column.type is float and value is not None:
                assert value == pytest.approx(expected[column.name], rel=1e-12)
            else:
                assert value == (expected[column.name] or None if value is None else value)
    assert {p.name for p in tmp_path.iterdir()} == {path.name}


def test_spreadsheets_see_units_letters_and_no_formulas(tmp_path):
    path = tmp_path / "table.csv"
    write_table(ROWS, path, "us")
    assert path.read_bytes().startswith(b"\xef\xbb\xbfdesign,status")
    with path.open(encoding="utf-8-sig", newline="") as file:
        head, first, second = csv.reader(file)
    place = head.index("largest_zone_flow [gal/min]")
    assert float(first[place]) == pytest.approx(2.64, abs=0.01)  # as the page shows it
    assert second[0] == "'=1+1"
    assert head[head.index("least_eu [%]")]


def test_a_name_that_begins_with_an_apostrophe_is_kept(tmp_path):
    row = {**empty_row(), "design": "'=x", "name": "'t Hof"}
    write_table([row], tmp_path / "t.csv")
    assert read_table(tmp_path / "t.csv")[0] == row


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no_table"),
        ("design,design\n", "no_table"),
        ("design,unknown\na,b\n", "unknown_column"),
        ("design,zones\na,many\n", "not_a_number"),
        ("design,zones\na,1,2\n", "no_table"),
        ("design,largest_zone_flow [gal/min]\na,much\n", "not_a_number"),
    ],
)
def test_other_tables_are_refused(tmp_path, text, code):
    path = tmp_path / "t.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(InputError) as caught:
        read_table(path)
    assert caught.value.code == code


def test_without_pyarrow_parquet_is_refused_in_words(tmp_path, monkeypatch):
    monkeypatch.setattr("evenrow.batch.table.find_spec", lambda name: None)
    with pytest.raises(InputError) as caught:
        write_table(ROWS, tmp_path / "t.parquet")
    assert caught.value.code == "no_pyarrow"
    assert list(tmp_path.iterdir()) == []


def test_a_table_that_cannot_be_finished_leaves_the_old_one(tmp_path, monkeypatch):
    path = tmp_path / "t.csv"
    write_table(ROWS, path)
    before = path.read_bytes()

    def broken():
        yield ROWS[0]
        raise OSError(28, "No space left on device")

    with pytest.raises(InputError, match="No space left"):
        write_table(broken(), path)
    assert path.read_bytes() == before


def test_headings_name_the_unit():
    assert Column(name="price", kind="money").heading("us") == "price"
    assert Column(name="mass", kind="mass").heading(None) == "mass [kg]"
    assert all(column.heading("us") for column in COLUMNS)
