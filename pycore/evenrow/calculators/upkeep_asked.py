"""From the form of the upkeep calculator to plain values."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from evenrow.agronomy.upkeep import Hazard, Plant, Treatment
from evenrow.agronomy.upkeep_season import YEAR, Season, month_start
from evenrow.calculators.season_days import MONTHS, month_words, read_date, read_dates_at, read_day
from evenrow.catalogue import Device, devices
from evenrow.errors import InputError
from evenrow.words import tr

_HOUR = 3600.0
_MONTHS = tuple(name.lower() for name in MONTHS)
#: What a source is taken for where nobody has looked: common practice, no source.
HAZARD_OF: Mapping[str, Hazard] = {
    "hose-tap": "low",
    "municipal": "low",
    "pump": "moderate",
    "tank": "moderate",
    "pond-pump": "high",
}


@dataclass(frozen=True, kw_only=True)
class Check:
    """A check with cups: its date, the uniformity found as a share, and a note."""

    date: datetime.date
    measured: float
    note: str


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the form says, in plain values.

    `together` ends are flushed at once; `checks` stand in the order of their dates, and
    `was_sorted` tells whether they were typed in it.
    """

    device: Device
    plant: Plant
    season: Season
    filter_kind: str
    guessed: bool
    length: float | None
    runs: int | None
    together: int
    today: datetime.date | None
    checks: tuple[Check, ...]
    was_sorted: bool
    measure: str
    wanted: float


def asked(inputs: Mapping[str, Any]) -> Asked:
    """Return what a read form says.

    Raises
    ------
    InputError
        If a day is none or can be read in two ways, or the season does not fit the frost.
    InputErrors
        If dates of the log are none.
    """
    water, lines = inputs["water"], inputs["lines"]
    device = devices()[inputs["line"]["device"]]
    source = inputs["source"]["kind"]
    hours = inputs["filter"]["hours"]
    guessed = water["hazard"] == "unknown"
    hazard: Hazard = HAZARD_OF[source] if guessed else water["hazard"]
    treatment: Treatment = water["treatment"]
    plant = Plant(
        tape=device.kind == "tape",
        wall=device.wall,
        perennial=inputs["crop"]["life"] == "perennial",
        source=source,
        hazard=hazard,
        treatment=treatment,
        injected=water["injected"],
        hours=inputs["watering"]["hours"] / _HOUR,
        filter_hours=None if hours is None else hours / _HOUR,
    )
    checks = _checks(inputs["checks"]["log"])
    in_order = tuple(sorted(checks, key=lambda c: (c.date, c.measured, c.note)))
    dates = [check.date for check in checks]
    return Asked(
        device=device,
        plant=plant,
        season=season_of(inputs["season"]),
        filter_kind=inputs["filter"]["kind"],
        guessed=guessed,
        length=lines["length"],
        runs=lines["runs"],
        together=lines["together"],
        today=read_date(inputs["today"], "today") if inputs["today"] else None,
        checks=in_order,
        was_sorted=dates == sorted(dates),
        measure="DUlq" if inputs["checks"]["kind"] == "dulq" else "EU",
        wanted=inputs["limits"]["eu"],
    )


def season_of(values: Mapping[str, Any]) -> Season:
    """Return the season that the form describes; see `asked`."""
    frost = None
    if values["frost_first"] != "none":
        if values["frost_last"] is None:
            raise InputError(
                tr("Last month with frost is missing"),
                code="missing",
                field="season.frost_last",
                accepted=", ".join(month_words(month).lower() for month in range(1, 13)),
            )
        frost = (_MONTHS.index(values["frost_first"]) + 1, _MONTHS.index(values["frost_last"]) + 1)
    if values["by"] == "days":
        return Season(
            start=read_day(values["start"], "season.start"),
            end=read_day(values["end"], "season.end"),
            frost=frost,
        )
    if frost is None:
        return Season(start=0, end=YEAR - 1)
    if (frost[1] - frost[0]) % 12 == 11:
        raise InputError(
            tr("with frost in every month no season is left"),
            code="no_season",
            field="season.frost_last",
            accepted=tr("at least one month without frost"),
            hint=tr("choose to enter the first and the last day of watering"),
        )
    start = month_start(frost[1] % 12 + 1)
    return Season(start=start, end=(month_start(frost[0]) - 1) % YEAR, frost=frost)


def _checks(rows: list[dict[str, Any]]) -> tuple[Check, ...]:
    """Return the rows of the log in the order they were typed."""
    if not rows:
        return ()
    fields = [f"checks.log.{i}.date" for i in range(len(rows))]
    dates = read_dates_at([row["date"] for row in rows], fields, "checks.log")
    return tuple(
        Check(date=date, measured=row["measured"], note=row["note"] or "")
        for date, row in zip(dates, rows, strict=True)
    )
