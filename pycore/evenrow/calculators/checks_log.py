"""The log of checks with cups: how it is typed in, and what it holds."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from evenrow.calculators.season_days import read_dates_at
from evenrow.calculators.spec import Field

CHECKS_LOG = Field(
    name="checks.log",
    label="Checks so far",
    kind="table",
    required=False,
    help="Uniformity found with cups, year by year. Field check adds its own; three or more show "
    "where it goes.",
    columns=(
        Field(
            name="date",
            label="Date",
            kind="text",
            hi=40,
            help="Such as 2026-05-31 or 31 May 2026.",
        ),
        Field(
            name="measured",
            label="Measured",
            kind="share",
            lo=0.0,
            hi=1.0,
            help="DUlq or EU of that day.",
        ),
        Field(
            name="note",
            label="Note",
            kind="text",
            hi=80,
            required=False,
            help="What was done or found.",
        ),
    ),
    rows={"us": (), "metric": ()},
    row_limits=(0, 200),
    group="Checks with cups",
    folded=True,
)


@dataclass(frozen=True, kw_only=True)
class Check:
    """A check with cups: its date, the uniformity found as a share, and a note."""

    date: datetime.date
    measured: float
    note: str


@dataclass(frozen=True, kw_only=True)
class CheckLog:
    """Checks in the order of their dates.

    Parameters
    ----------
    checks : tuple of Check
        None if there are none yet.
    was_sorted : bool
        Whether they were typed in that order.
    measure : str
        What was measured: ``"DUlq"`` or ``"EU"``.
    wanted : float
        Uniformity that the field should keep, as a share.
    today : datetime.date or None
        The day on which somebody looks at it.
    """

    checks: tuple[Check, ...]
    was_sorted: bool
    measure: str
    wanted: float
    today: datetime.date | None = None


def read_log(
    rows: Sequence[Mapping[str, Any]],
    *,
    measure: str,
    wanted: float,
    today: datetime.date | None = None,
) -> CheckLog:
    """Return the log of a read form.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of `CHECKS_LOG` as read.
    measure, wanted, today
        As of `CheckLog`.

    Raises
    ------
    InputErrors
        If dates are none, or put the day first in one and the month in another.
    """
    checks: list[Check] = []
    if rows:
        fields = [f"checks.log.{i}.date" for i in range(len(rows))]
        dates = read_dates_at([row["date"] for row in rows], fields, "checks.log")
        checks = [
            Check(date=date, measured=row["measured"], note=row["note"] or "")
            for date, row in zip(dates, rows, strict=True)
        ]
    in_order = sorted(checks, key=lambda c: (c.date, c.measured, c.note))
    as_typed = [check.date for check in checks]
    return CheckLog(
        checks=tuple(in_order),
        was_sorted=as_typed == sorted(as_typed),
        measure=measure,
        wanted=wanted,
        today=today,
    )
