"""What a batch has done so far, kept beside its table so that it can be gone on with.

One line of JSON for each row, written as it comes.  A batch that was killed leaves at worst its
last line unfinished; such a line is passed over.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from evenrow.batch.columns import BY_NAME, FAULT, Row, empty_row
from evenrow.batch.table import read_table
from evenrow.errors import InputError
from evenrow.words import tr


def journal_of(table: Path) -> Path:
    """Return the journal's file for that table."""
    return table.with_name(f"{table.name}.part.jsonl")


def _lines(path: Path) -> Iterator[Row]:
    if not path.exists():
        return
    with path.open("r", encoding="utf-8") as file:
        for line in file:
            try:
                found = json.loads(line)
            except ValueError:
                continue
            if isinstance(found, dict) and set(found) <= set(BY_NAME):
                yield {**empty_row(), **found}


def done_before(table: Path) -> dict[tuple[str, str], Row]:
    """Return the rows of a finished table and of an unfinished batch by design and mark.

    Rows that tell of a fault of the program are left out: their designs are tried again.

    Raises
    ------
    InputError
        When a file of that name is no table of designs, which is then not written over.
    """
    rows = read_table(table) if table.exists() else []
    return {
        (str(row["design"] or ""), str(row["digest"] or "")): row
        for row in [*rows, *_lines(journal_of(table))]
        if row["status"] != FAULT
    }


@contextmanager
def journal(table: Path) -> Iterator[TextIO]:
    """Open the journal of a table to add to it."""
    path = journal_of(table)
    try:
        # A line that was cut short must not take the next one with it.
        with path.open("a", encoding="utf-8") as file:
            if file.tell():
                file.write("\n")
            yield file
    except OSError as error:
        raise InputError(
            tr("the file cannot be written: {reason}", reason=error.strerror),
            code="no_file",
            field="out",
            given=str(path),
        ) from None


def note(file: TextIO, row: Row) -> None:
    """Add a row, at once: the next moment may be the last."""
    file.write(json.dumps(row, ensure_ascii=False) + "\n")
    file.flush()
