"""From the form of the upkeep calculator to plain values."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from evenrow.agronomy.upkeep import Hazard, Plant, Treatment
from evenrow.agronomy.upkeep_season import YEAR, Season, month_start
from evenrow.calculators.checks_log import CheckLog, read_log
from evenrow.calculators.season_days import MONTHS, month_words, read_date, read_day
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
class Asked:
    """What the form says, in plain values.

    `together` ends are flushed at once.
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
    log: CheckLog


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
    today = read_date(inputs["today"], "today") if inputs["today"] else None
    return Asked(
        device=device,
        plant=plant,
        season=season_of(inputs["season"]),
        filter_kind=inputs["filter"]["kind"],
        guessed=guessed,
        length=lines["length"],
        runs=lines["runs"],
        together=lines["together"],
        today=today,
        log=read_log(
            inputs["checks"]["log"],
            measure="DUlq" if inputs["checks"]["kind"] == "dulq" else "EU",
            wanted=inputs["limits"]["eu"],
            today=today,
        ),
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
