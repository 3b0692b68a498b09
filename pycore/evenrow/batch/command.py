"""The subcommand ``evenrow batch``."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import Any, TextIO

from evenrow import documents
from evenrow.batch.columns import BAD_INPUT, DESIGNED, FAULT, IMPOSSIBLE
from evenrow.batch.jobs import Job
from evenrow.batch.run import Outcome, Progress, check_processes, run
from evenrow.batch.work import Work
from evenrow.words import language, said, tr

#: Characters of the bar.
WIDTH = 30
#: Least time between two states of the bar, and between two lines where it is no terminal. [s]
BAR_EVERY, LINE_EVERY = 0.1, 10.0

_STATUS_WORDS = {
    DESIGNED: said("{count} designed"),
    IMPOSSIBLE: said("{count} without a design that works"),
    BAD_INPUT: said("{count} that cannot be used"),
    FAULT: said("{count} that failed"),
}


def add_batch(commands: Any) -> None:
    """Add the subcommand to a parser's subcommands."""
    parser = commands.add_parser("batch", help=tr("work out many designs into one table"))
    parser.add_argument(
        "designs",
        metavar="DESIGN",
        nargs="+",
        help=tr("design files, folders of them, or tables of variants of --base"),
    )
    parser.add_argument(
        "--out", metavar="TABLE", required=True, help=tr("table to write: .csv or .parquet")
    )
    parser.add_argument(
        "--base", metavar="FILE", help=tr("design file that the rows of a table change")
    )
    parser.add_argument(
        "--processes", metavar="N", type=int, help=tr("how many work at once; all if left out")
    )
    parser.add_argument(
        "--units",
        choices=("us", "metric", "si"),
        default="metric",
        help=tr("units of the table; metric if left out"),
    )
    parser.add_argument(
        "--again", action="store_true", help=tr("work everything out again, from the beginning")
    )
    parser.add_argument(
        "--time-limit",
        metavar="SECONDS",
        type=float,
        help=tr("give up a design that takes longer; no limit if left out"),
    )
    parser.set_defaults(action=batch)


def batch(options: argparse.Namespace) -> int:
    """Do what the options ask; return 2 where a design could not be used, else 0.

    Raises
    ------
    InputError
        As `run`.
    """
    if options.processes is not None:
        check_processes(options.processes)
    base = None
    if options.base:
        base = documents.upgrade(documents.from_text(Job(name="", path=options.base).read()))
    try:
        outcome = run(
            options.designs,
            options.out,
            base=base,
            processes=options.processes,
            units=None if options.units == "si" else options.units,
            again=options.again,
            time_limit=options.time_limit,
            work=Work(language=language(), catalogue=options.catalogue or ""),
            progress=bar(sys.stderr),
        )
    except KeyboardInterrupt:
        print(file=sys.stderr)
        print(tr("Stopped. The same command goes on from here."), file=sys.stderr)
        return 130
    print(told(outcome))
    return 2 if outcome.failed else 0


def told(outcome: Outcome) -> str:
    """Return what became of a batch, in one sentence or two."""
    parts = [
        tr(_STATUS_WORDS[status], count=outcome.counts[status])
        for status in _STATUS_WORDS
        if outcome.counts.get(status)
    ]
    text = tr("{table}: {parts}.", table=Path(outcome.table), parts=", ".join(parts))
    if outcome.kept:
        text += " " + tr("{count} of them were there from before.", count=outcome.kept)
    return text


def bar(stream: TextIO) -> Progress:
    """Return what shows progress: a bar in a terminal, now and then a line elsewhere."""
    terminal = stream.isatty()
    begun = time.monotonic()
    shown = begun - (BAR_EVERY if terminal else 0.0)
    before: int | None = None

    def show(done: int, total: int, failed: int) -> None:
        nonlocal shown, before
        now = time.monotonic()
        # What was there from before took no time.
        before = done - 1 if before is None else before
        last = done == total
        if now - shown < (BAR_EVERY if terminal else LINE_EVERY) and not (last and terminal):
            return
        shown = now
        left = (now - begun) / (done - before) * (total - done)
        text = tr("{done} of {total}, about {left:.0f} s left", done=done, total=total, left=left)
        if failed:
            text += ", " + tr("{count} failed", count=failed)
        if terminal:
            full = round(WIDTH * done / total)
            line = f"\r\x1b[K[{'#' * full}{'.' * (WIDTH - full)}] {text}"
            stream.write(line + ("\n" if last else ""))
        else:
            stream.write(text + "\n")
        stream.flush()

    return show
