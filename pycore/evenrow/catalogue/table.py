"""A table that a clerk keeps in a spreadsheet, read from its CSV file.

Spreadsheets write commas, semicolons or tabs, with or without a byte order mark, in UTF-8 or
in the code page of the machine.  All of these are read; whatever could mean two things is a
complaint with its line and column.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NoReturn

from evenrow.catalogue.keys import nearest
from evenrow.errors import InputError, echo

#: Longest file that is read [bytes], and most rows.
MAX_BYTES, MAX_ROWS = 1_000_000, 20_000
#: Longest text of a cell.
MAX_CELL = 200
#: Longest row of headings that is looked at for its separator.
MAX_HEAD = 10_000
#: What may stand between two cells.
SEPARATORS = {";": "semicolons", "\t": "tabs", ",": "commas"}

_SPREADSHEET = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_SAVE = "saving the sheet as CSV, with the encoding UTF-8"
_MONTHS = (
    "jan|feb|mar|mär|mrz|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez|déc|"
    "fév|avr|juin|juil|aoû|ene|abr|ago|dic|gen|mag|giu|lug|set|ott"
)
_DATE = re.compile(
    rf"\d{{1,2}}[-./ ]+(?:{_MONTHS})[^\W\d]*\.?(?:[-./ ]+\d{{2,4}})?"
    rf"|(?:{_MONTHS})[^\W\d]*\.?[-./ ]+\d{{1,4}}"
    r"|\d{1,2}[-./]\d{1,2}[-./]\d{2,4}(?: .*)?|\d{4}-\d{2}-\d{2}(?:[T ].*)?",
    re.IGNORECASE,
)
_SCIENTIFIC = re.compile(r"[-+]?\d+(?:[.,]\d+)?e[-+]?\d+", re.IGNORECASE)
_HEADING = re.compile(r"(.*?)(?:\s*[(\[](.*)[)\]]|\s([A-Z]{3}|kg|g|lb|oz))?\s*[?:*]*\s*", re.DOTALL)


@dataclass(frozen=True, kw_only=True)
class Row:
    """A row of a table: its line in the file, and the text of each known column."""

    file: str
    line: int
    cells: dict[str, str]

    def cell(self, column: str) -> str:
        """Return the text of a cell; "" where the row is too short or the column is missing."""
        return self.cells.get(column, "")

    def place(self, column: str = "") -> str:
        """Return where a cell stands, for messages."""
        where = f"{self.file}, line {self.line}"
        return f"{where}, column {column}" if column else where

    def fault(
        self, column: str, message: str, code: str, accepted: str, hint: str = ""
    ) -> NoReturn:
        """Raise an `InputError` about one cell."""
        raise InputError(
            message,
            code=code,
            field=self.place(column),
            given=self.cells.get(column) or None,
            accepted=accepted,
            hint=hint,
        )


@dataclass(kw_only=True)
class Table:
    """The rows of a file, and by column what its heading says in brackets.

    `notes` tells what was odd about the file but no reason to refuse it.
    """

    rows: list[Row] = field(default_factory=list)
    remarks: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


def mangled(cell: str) -> str:
    """Return what a spreadsheet has made of a cell, in words, or ""."""
    if _DATE.fullmatch(cell):
        return "the spreadsheet has made a date of it"
    if _SCIENTIFIC.fullmatch(cell):
        return "the spreadsheet has made a power of ten of it"
    if cell.startswith("#"):
        return "the spreadsheet shows a fault here, or a column too narrow"
    if cell.startswith("="):
        return "this is a formula, not a value"
    return ""


def read_table(
    name: str,
    content: bytes,
    columns: Sequence[str],
    required: Sequence[str],
    complaints: list[InputError],
) -> Table:
    """Read a CSV file as rows of named cells.

    Parameters
    ----------
    name : str
        What messages call the file.
    content : bytes
        The whole file, up to `MAX_BYTES`.
    columns, required : sequence of str
        Columns that are read, and those that must be there.
    complaints : list of InputError
        Every complaint is added here, with file, line and column.

    Returns
    -------
    Table
        Rows that could be read, without the empty ones; cells are trimmed.
    """
    table = Table()
    try:
        text = _text(name, content, table.notes)
        separator, text, skipped = _separator(text, columns)
        rows = _cells(name, text, separator, skipped, complaints)
        before = len(complaints)
        line, heading = next(rows, (1, []))
        if len(complaints) > before:
            return table  # the heading itself cannot be read
        places = _places(name, line, heading, columns, table)
        _check_heading(name, line, separator, heading, places, required)
    except InputError as error:
        complaints.append(error)
        return table
    for line, cells in rows:
        if len(table.rows) >= MAX_ROWS:
            complaints.append(_file_fault(name, f"there are more than {MAX_ROWS} rows", "too_many"))
            break
        row = Row(
            file=name,
            line=line,
            # One kind of space, so that what follows need not mind.
            cells={c: " ".join(cells[i].split()) for c, i in places.items() if i < len(cells)},
        )
        if fault := _shape_fault(row, cells, len(heading), separator):
            complaints.append(fault)
        else:
            table.rows.append(row)
    return table


def _file_fault(name: str, message: str, code: str, accepted: str = "") -> InputError:
    return InputError(message, code=code, field=name, accepted=accepted, hint=_SAVE)


def _text(name: str, content: bytes, notes: list[str]) -> str:
    """Return the text of a file, whatever a spreadsheet has written it in."""
    if len(content) > MAX_BYTES:
        raise InputError(
            "the file is too long for a price list",
            code="too_long",
            field=name,
            accepted="up to 1 MB",
            hint="only the columns and rows of the price list, without pictures and other sheets",
        )
    if content.startswith(_SPREADSHEET):
        raise _file_fault(name, "this is a spreadsheet file, not CSV", "not_text", "a CSV file")
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        notes.append(f"{name} is in UTF-16; it was read as such")
        try:
            return content.decode("utf-16").removeprefix("\ufeff")
        except UnicodeDecodeError:
            raise _file_fault(name, "the file is not text", "not_text", "a CSV file") from None
    if b"\0" in content:
        raise _file_fault(name, "the file is not text", "not_text", "a CSV file")
    try:
        return content.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
    try:
        text = content.decode("cp1252")
    except UnicodeDecodeError:
        raise _file_fault(
            f"{name}, line {line}", "the letters of the file cannot be read", "not_text", "UTF-8"
        ) from None
    notes.append(
        f"{name}, line {line}: the file is not in UTF-8 and was read as Windows-1252; check its "
        "special letters, and save it in UTF-8 next time"
    )
    return text


def _separator(text: str, columns: Sequence[str]) -> tuple[str, str, int]:
    """Return what stands between the cells, the text behind it, and the lines left out.

    That is the separator with which the heading has the most known columns.  Some
    spreadsheets name it in a first line of its own, ``sep=;``.
    """
    skipped = len(text) - len(text.lstrip("\r\n"))
    lines = len(text[:skipped].splitlines())
    text = text[skipped:]
    # Far more than a heading needs, and less than a cell may hold.
    head = text[:MAX_HEAD].splitlines()[0] if text else ""
    if head.lower().startswith("sep=") and head[4:5] in SEPARATORS:
        rest = text[len(head) :]
        return head[4], rest, lines
    known = {}
    for separator in SEPARATORS:
        cells = next(csv.reader([head], delimiter=separator), [])
        known[separator] = sum(_heading(cell)[0] in columns for cell in cells)
    return max(known, key=lambda separator: known[separator]), text, lines


def _cells(
    name: str, text: str, separator: str, skipped: int, complaints: list[InputError]
) -> Iterator[tuple[int, list[str]]]:
    """Yield line and trimmed cells of every row that is not empty."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + skipped + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            long = "field limit" in str(error)
            complaints.append(
                InputError(
                    "a cell of this row is far too long"
                    if long
                    else "the quotation marks of this row do not match",
                    code="not_csv",
                    field=f"{name}, line {line}",
                    accepted='a cell without quotation marks, or one such as "1/2"" tubing"',
                )
            )
            continue
        trimmed = [cell.strip(" \t\u00a0\u202f") for cell in cells]
        if any(trimmed):
            yield line, trimmed


def _heading(cell: str) -> tuple[str, str]:
    """Return the name of a column, and what stands in brackets behind it."""
    found = _HEADING.fullmatch(cell.strip()[:100])
    assert found is not None  # the pattern matches every text
    return " ".join(found[1].lower().split()), (found[2] or found[3] or "").strip()


def _places(
    name: str, line: int, heading: list[str], columns: Sequence[str], table: Table
) -> dict[str, int]:
    """Return where each known column stands."""
    places: dict[str, int] = {}
    for index, cell in enumerate(heading):
        column, remark = _heading(cell)
        if column in places:
            raise InputError(
                f"there are two columns {column}",
                code="duplicate_key",
                field=f"{name}, line {line}, column {column}",
                accepted="each column once",
            )
        if column in columns:
            places[column] = index
            table.remarks[column] = remark
        elif column:
            near = nearest(column, columns)
            what = f"; did you mean {near}?" if near else ""
            table.notes.append(f"{name}, line {line}: the column {echo(column)} is not used{what}")
    return places


def _check_heading(
    name: str,
    line: int,
    separator: str,
    heading: list[str],
    places: dict[str, int],
    required: Sequence[str],
) -> None:
    missing = [column for column in required if column not in places]
    if missing:
        near = nearest(missing[0], [_heading(cell)[0] for cell in heading])
        raise InputError(
            f"the first row has no column {' and no column '.join(missing)}",
            code="missing",
            field=f"{name}, line {line}, column {missing[0]}",
            given="; ".join(heading),
            accepted=f"first a row {', '.join(required)}, with {SEPARATORS[separator]} between",
            hint=f"{missing[0]} in place of {near}" if near else "",
        )


def _shape_fault(row: Row, cells: list[str], width: int, separator: str) -> InputError | None:
    """Return what is wrong with a row as a whole, if anything."""
    if any("\n" in cell or "\r" in cell for cell in cells):
        return InputError(
            "a cell of this row goes on over the end of the line",
            code="not_csv",
            field=row.place(),
            accepted="each row on one line",
            hint="looking for a quotation mark that is opened and not closed",
        )
    for column, cell in row.cells.items():
        if len(cell) > MAX_CELL:
            return InputError(
                "the text is too long for a cell",
                code="too_long",
                field=row.place(column),
                given=cell,
                accepted=f"up to {MAX_CELL} characters",
            )
    if any(cells[width:]):
        hint = "quotation marks around a number with a decimal comma" if separator == "," else ""
        return InputError(
            f"this row has {len(cells)} cells, and the first row has {width}",
            code="not_csv",
            field=row.place(),
            given=separator.join(cells),
            accepted=f"{SEPARATORS[separator]} between the cells and not inside them",
            hint=hint,
        )
    return None
