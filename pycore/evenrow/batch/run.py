"""A whole batch: designs in, processes at work, a table out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from evenrow.batch.columns import BAD_INPUT, FAULT, Row, empty_row
from evenrow.batch.jobs import Job, find_jobs
from evenrow.batch.journal import done_before, journal, journal_of, note
from evenrow.batch.pool import Lost, Pool, available
from evenrow.batch.table import check_ending, write_table
from evenrow.batch.work import Work, mark_of
from evenrow.errors import EvenrowError, InputError
from evenrow.units import UnitSystem
from evenrow.words import language, tr

#: Called with how many designs are done, how many there are, and how many of those done failed.
Progress = Callable[[int, int, int], None]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a batch came to.

    Parameters
    ----------
    table : Path
        The table.
    counts : mapping of str to int
        Designs by status.
    kept : int
        Rows that were there from an earlier run of the same batch.
    """

    table: Path
    counts: Mapping[str, int]
    kept: int

    @property
    def failed(self) -> int:
        """Designs that could not be used."""
        return self.counts.get(BAD_INPUT, 0) + self.counts.get(FAULT, 0)


def run(
    designs: Iterable[str | Path],
    out: str | Path,
    *,
    base: Mapping[str, Any] | None = None,
    processes: int | None = None,
    units: UnitSystem | None = None,
    again: bool = False,
    time_limit: float | None = None,
    work: Work | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Work out many designs and write a table with a row for each, in their order.

    Parameters
    ----------
    designs, base
        As in `find_jobs`.
    out : str or Path
        Table to write, ``.csv`` or ``.parquet``.  While the batch runs, rows are kept in a file
        beside it, so that a batch that was stopped goes on where it was.  Rows of an earlier run
        whose design, catalogue and version of the program are the same are not worked out again.
    processes : int, optional
        How many processes work, at least 1; all that the machine has when left out.
    units : {"us", "metric"}, optional
        Units of the table; SI when left out.
    again : bool
        Work everything out again.
    time_limit : float, optional
        Longest time for one design; what takes longer is given up.  [s]
    work : Work, optional
        Language and catalogue of the processes; the language in use and the generic catalogue
        when left out.
    progress : callable, optional
        Told of each design that is done.

    Returns
    -------
    Outcome
        How many came to what.

    Raises
    ------
    InputError
        When there is nothing to work out, or the table cannot be written. A design that cannot
        be used is a row, not an error.
    """
    table = Path(out)
    check_ending(table)
    jobs = find_jobs(designs, base)
    if again:
        journal_of(table).unlink(missing_ok=True)
    work = work or Work(language=language())
    rows: list[Row | None] = [None] * len(jobs) if again else _before(table, jobs, work)
    left = [number for number, row in enumerate(rows) if row is None]
    kept = len(jobs) - len(left)
    failed = 0
    with journal(table) as file:
        pool = Pool(work, processes or available(), time_limit)
        found = pool.map([jobs[number] for number in left])
        for done, (index, outcome) in enumerate(found, start=1):
            number = left[index]
            row = _lost(jobs[number], outcome) if isinstance(outcome, Lost) else outcome
            rows[number] = row
            note(file, row)
            failed += row["status"] in (BAD_INPUT, FAULT)
            if progress:
                progress(kept + done, len(jobs), failed)
    finished = [row for row in rows if row is not None]
    write_table(finished, table, units)
    journal_of(table).unlink()
    counts = Counter(str(row["status"]) for row in finished)
    return Outcome(table=table, counts=counts, kept=kept)


def _before(table: Path, jobs: Iterable[Job], work: Work) -> list[Row | None]:
    """Return the row of each design that an earlier run left, None where it has to be made."""
    found = done_before(table)
    with ExitStack() as stack:
        work.begin(stack)
        return [found.get(_key(job)) for job in jobs] if found else [None for _ in jobs]


def _key(job: Job) -> tuple[str, str]:
    """Return what a row of an earlier run must have to stand for this design."""
    try:
        return job.name, mark_of(job.read())
    except EvenrowError:
        return job.name, ""


def _lost(job: Job, lost: Lost) -> Row:
    return {**empty_row(), "design": job.name, "status": FAULT, "message": lost.why}


def check_processes(count: int) -> None:
    """Raise `InputError` unless that many processes can be asked for."""
    if count < 1:
        raise InputError(
            tr("at least one process has to work"),
            code="out_of_range",
            field="processes",
            given=count,
            accepted=tr("1 or more"),
        )
