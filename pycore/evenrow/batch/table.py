"""Tables as files: CSV for people and spreadsheets, Parquet where pyarrow is installed."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NoReturn

from evenrow.batch.columns import BY_NAME, COLUMNS, Column, Row, empty_row
from evenrow.errors import InputError
from evenrow.units import QUANTITIES, UnitSystem, from_unit, to_unit
from evenrow.words import tr

#: Endings of tables.
CSV, PARQUET = ".csv", ".parquet"
TABLES = (CSV, PARQUET)
#: A spreadsheet takes a cell that begins so for a formula; it is put behind an apostrophe.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")

_HEADING = re.compile(r"(?P<name>[a-z_]+)(?: \[(?P<unit>[^\]]+)\])?")


def check_ending(path: Path) -> None:
    """Raise `InputError`, field ``out``, for a file that is no table, or that nothing can write."""
    if path.suffix not in TABLES:
        raise InputError(
            tr("a table is a CSV or a Parquet file"),
            code="wrong_ending",
            field="out",
            given=str(path),
            accepted=", ".join(TABLES),
        )
    if path.suffix == PARQUET:
        _need_pyarrow(path)


def write_table(
    rows: Iterable[Row], path: str | os.PathLike[str], system: UnitSystem | None = None
) -> None:
    """Write rows as a table; a file of that name is replaced once the new one is complete.

    Parameters
    ----------
    rows : iterable of Row
        As `row_of` returns them, quantities in SI.
    path : path
        File ending in ``.csv`` (UTF-8 with its mark, so that spreadsheets see it; RFC 4180) or
        ``.parquet`` (needs pyarrow).
    system : {"us", "metric"}, optional
        Units of the cells, named in the headings (``flow [m³/h]``); SI when left out.

    Raises
    ------
    InputError
        Field ``out``: another ending, pyarrow is not installed, or the file cannot be written.
    """
    target = Path(path)
    check_ending(target)
    fresh = target.with_name(f".{target.name}.new")
    cells = ([_cell(row.get(column.name), column, system) for column in COLUMNS] for row in rows)
    headings = [column.heading(system) for column in COLUMNS]
    try:
        if target.suffix == CSV:
            _write_csv(fresh, headings, cells)
        else:
            _write_parquet(fresh, headings, cells)
        fresh.replace(target)
    except OSError as error:
        _refuse(target, error, tr("the file cannot be written: {reason}", reason=error.strerror))


def _cell(value: Any, column: Column, system: UnitSystem | None) -> Any:
    if value is None or system is None or column.kind not in QUANTITIES:
        return value
    return to_unit(float(value), column.kind, column.unit(system))


def _write_csv(path: Path, headings: list[str], rows: Iterable[list[Any]]) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow(headings)
        writer.writerows([_written(value) for value in row] for row in rows)


def _written(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        # 15 digits: a number that was put into another unit and back is the same text again.
        return f"{value:.15g}"
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(_FORMULA) else text


def _write_parquet(path: Path, headings: list[str], rows: Iterable[list[Any]]) -> None:
    import pyarrow
    import pyarrow.parquet

    types = {str: pyarrow.string(), int: pyarrow.int64(), float: pyarrow.float64()}
    schema = pyarrow.schema(
        [(head, types[column.type]) for head, column in zip(headings, COLUMNS, strict=True)]
    )
    columns = list(zip(*rows, strict=True)) or [() for _ in COLUMNS]
    arrays = [pyarrow.array(c, f.type) for c, f in zip(columns, schema, strict=True)]
    pyarrow.parquet.write_table(pyarrow.Table.from_arrays(arrays, schema=schema), path)


def read_table(path: str | os.PathLike[str]) -> list[Row]:
    """Read a table that `write_table` wrote, in whatever units.

    Parameters
    ----------
    path : path
        ``.csv`` or ``.parquet``.

    Returns
    -------
    list of Row
        Quantities in SI; a column that is missing is empty.

    Raises
    ------
    InputError
        Field ``file``: the file cannot be read, has a column that is not of such a table, or a
        cell that is not of its column.
    """
    source = Path(path)
    rows = []
    for cells in read_cells(source):
        row = empty_row()
        for heading, value in cells.items():
            column, unit = _column(heading, source)
            row[column.name] = _value(value, column, unit, source)
        rows.append(row)
    return rows


def _column(heading: str, path: Path) -> tuple[Column, str]:
    match = _HEADING.fullmatch(heading)
    if match is None or match["name"] not in BY_NAME:
        raise InputError(
            tr("the table has a column that is not known here"),
            code="unknown_column",
            field="file",
            given=heading,
            accepted=str(path),
        )
    column = BY_NAME[match["name"]]
    # SI is what is read anyhow, and some of its names are no units to read ("ratio").
    unit = match["unit"] or ""
    return column, "" if unit == column.unit(None) else unit


def _value(value: Any, column: Column, unit: str, path: Path) -> str | int | float | None:
    if value is None or value == "":
        return None
    try:
        if column.type is str:
            text = str(value)
            return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA) else text
        if column.type is int:
            return int(value)
        number = float(value)
        return (
            from_unit(number, column.kind, unit) if unit and column.kind in QUANTITIES else number
        )
    except ValueError:
        raise InputError(
            tr("a cell of the column {column} is no number", column=column.name),
            code="not_a_number",
            field="file",
            given=value,
            accepted=str(path),
        ) from None


def read_cells(path: Path) -> Iterator[dict[str, Any]]:
    """Yield the rows of any table as they stand: heading to cell; texts from CSV.

    Raises
    ------
    InputError
        Field ``file``: the file cannot be read or is no table.
    """
    try:
        if path.suffix == PARQUET:
            _need_pyarrow(path)
            yield from _parquet_rows(path)
        else:
            with path.open("r", encoding="utf-8-sig", newline="") as file:
                yield from _csv_rows(file, path)
    except OSError as error:
        _refuse(path, error, tr("the file cannot be opened: {reason}", reason=error.strerror))
    except (UnicodeDecodeError, csv.Error) as error:
        _refuse(path, error, tr("the file is no table"))


def _csv_rows(file: io.TextIOBase, path: Path) -> Iterator[dict[str, Any]]:
    reader = csv.reader(file)
    headings = next(reader, [])
    if not headings or len(set(headings)) < len(headings):
        _refuse(path, None, tr("the first line of the table has to name each column, none twice"))
    for cells in reader:
        if len(cells) > len(headings):
            _refuse(path, None, tr("line {line} has too many cells", line=reader.line_num))
        if cells:
            yield dict(zip(headings, cells, strict=False))


def _parquet_rows(path: Path) -> Iterator[dict[str, Any]]:
    import pyarrow
    import pyarrow.parquet

    try:
        yield from pyarrow.parquet.read_table(path).to_pylist()
    except pyarrow.ArrowInvalid as error:
        _refuse(path, error, tr("the file is no table"))


def _need_pyarrow(path: Path) -> None:
    if find_spec("pyarrow") is None:
        raise InputError(
            tr("Parquet needs the package pyarrow, which is not installed"),
            code="no_pyarrow",
            field="file",
            given=str(path),
            accepted=CSV,
            hint="pip install pyarrow",
        )


def _refuse(path: Path, error: Exception | None, message: str) -> NoReturn:
    raise InputError(message, code="no_table", field="file", given=str(path)) from error
