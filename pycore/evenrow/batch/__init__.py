"""Many designs at once: design files in, one row of a table for each out.

`row_of` works one design out and always returns a row, whatever is wrong with the design, so that
it can be mapped over any number of them by any engine.  `run` maps it over processes of its own,
writes the table and can be stopped and gone on with.  `read_table` and `write_table` read and
write CSV, and Parquet where pyarrow is installed.
"""

from evenrow.batch.columns import COLUMNS, Column, Row
from evenrow.batch.jobs import Job, find_jobs
from evenrow.batch.run import Outcome, run
from evenrow.batch.table import read_table, write_table
from evenrow.batch.work import Work, row_of, summary

__all__ = [
    "COLUMNS",
    "Column",
    "Job",
    "Outcome",
    "Row",
    "Work",
    "find_jobs",
    "read_table",
    "row_of",
    "run",
    "summary",
    "write_table",
]
