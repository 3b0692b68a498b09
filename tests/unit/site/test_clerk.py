"""A clerk's mistakes, each through the command: where it is, what is accepted, what to do."""

import shutil
from pathlib import Path

import pytest

from evenrow.cli import BAD_INPUT, OK, main

COOP = Path(__file__).resolve().parents[2] / "fixtures" / "hill-coop"
ROW = "tee-pipe-27;tee;each;1,50;yes"
HEAD = "code;description;unit;price (EUR);in stock"


@pytest.fixture
def coop(tmp_path):
    folder = Path(shutil.copytree(COOP, tmp_path / "hill"))
    folder.joinpath("prices.csv").write_text(f"{HEAD}\n{ROW}\n", "utf-8")
    return folder


def check(capsys, folder):
    status = main(["catalogue", "check", str(folder)])
    out, err = capsys.readouterr()
    return status, out, " ".join(err.split())


def test_the_list_is_sound_as_it_stands(capsys, coop):
    assert check(capsys, coop)[0] == OK


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "\ufeff" + text,
        lambda text: text.replace(";", ",").replace("1,50", '"1,50"'),
        lambda text: text.replace(";", "\t"),
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("1,50", "1.50"),
    ],
    ids=["byte order mark", "commas", "tabs", "line ends of Windows", "decimal point"],
)
def test_what_spreadsheets_write_is_no_mistake(capsys, coop, change):
    path = coop / "prices.csv"
    path.write_bytes(change(path.read_text("utf-8")).encode("utf-8"))
    assert check(capsys, coop)[0] == OK


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        # a column is missing
        (
            "prices.csv",
            ";price (EUR)",
            ";cost (EUR)",
            ("prices.csv, line 1, column price", "Accepted: first a row code, unit, price"),
        ),
        # a comma that could mean thousands
        (
            "prices.csv",
            "1,50",
            "1,500",
            ("prices.csv, line 2, column price", "Given: 1,500", "1500"),
        ),
        # a wrong unit
        ("prices.csv", ";each;", ";coil 50 ft;", ("line 2, column unit", "Accepted: each")),
        ("prices.csv", "(EUR)", "(USD)", ("column price", "price (EUR)", "Try: the currency")),
        # one code twice
        (
            "prices.csv",
            ROW,
            f"{ROW}\n{ROW.replace('1,50', '2,00')}",
            ("prices.csv, line 3, column code", "line 2 has a price"),
        ),
        # what a spreadsheet takes for a date
        ("prices.csv", "1,50", "01. Mai", ("line 2, column price", "made a date", "Try: format")),
        ("prices.csv", "tee-pipe-27", "03-Apr", ("line 2, column code", "made a date", "as text")),
        # in the data files
        ("devices.toml", '"1.9 L/h"', "1,9", ("devices.toml, line 6", "not valid TOML")),
        ("devices.toml", '"1.9 L/h"', '"1.9 bar"', ("line 6, hill-dripline-17.flow", "Accepted:")),
        ("devices.toml", '"1.9 L/h"', '"1.9"', ("line 6, hill-dripline-17.flow", "unit")),
        ("devices.toml", "flow =", "flows =", ("line 6, hill-dripline-17.flows", "Try: flow")),
        ("devices.toml", "[tape-22-low]", "[hill-dripline-17]", ("line 17", "given twice")),
        ("catalogue.toml", '"EUR"', '"euro"', ("catalogue.toml, line 4", "Accepted:")),
        ("site.toml", '"metric"', '"SI"', ("site.toml, line 4, units", "Accepted: us, metric")),
    ],
)
def test_a_mistake_is_told_so_that_it_can_be_mended(capsys, coop, file, old, new, told):
    path = coop / file
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), "utf-8")
    status, _, err = check(capsys, coop)
    assert status == BAD_INPUT
    for words in told:
        assert words in err


@pytest.mark.parametrize("file", ["prices.csv", "devices.toml", "site.toml"])
@pytest.mark.parametrize("content", [b"x" * 10_000_000, b"PK\x03\x04 a sheet", b"\xff\xfe\x00x"])
def test_a_file_of_another_kind_or_of_10_mb_is_told_at_once(capsys, coop, file, content):
    coop.joinpath(file).write_bytes(content)
    status, _, err = check(capsys, coop)
    assert status == BAD_INPUT
    assert file in err


def test_a_data_file_with_a_byte_order_mark_is_read(capsys, coop):
    for name in ("devices.toml", "catalogue.toml", "site.toml"):
        path = coop / name
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert check(capsys, coop)[0] == OK
