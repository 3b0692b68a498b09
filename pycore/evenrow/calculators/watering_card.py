"""The watering plan in words: the card for the timer, the verdict, what to mind."""

from __future__ import annotations

from evenrow.agronomy.plan_inputs import DAY
from evenrow.calculators.result import Column, Notice, Section, Steps, Table
from evenrow.calculators.season_days import month_words
from evenrow.calculators.watering_plan import Month, Watering
from evenrow.units import UnitSystem, format_value
from evenrow.words import tr, tr_count


def month_name(month: Month) -> str:
    """Return the name of a month."""
    return month_words(month.number + 1)


def clock(seconds: float, system: UnitSystem) -> str:
    """Return a time of day: ``"17:05"``, in US units ``"5:05 pm"``; it tells the next day."""
    whole = round(seconds)
    minutes, rest = divmod(whole, 60)
    hour, minute = divmod(minutes, 60)
    hour %= 24
    tail = f":{rest:02d}" if rest else ""
    if system == "us":
        time = f"{(hour + 11) % 12 + 1}:{minute:02d}{tail}"
        text = tr("{time} am", time=time) if hour < 12 else tr("{time} pm", time=time)
    else:
        text = f"{hour}:{minute:02d}{tail}"
    return tr("{time} (next day)", time=text) if seconds >= DAY - 0.5 else text


def _starts(month: Month, zone: int, system: UnitSystem) -> str:
    """Return "5:00", "5:00 and 6:10" or "5:00, 6:10 and 7:20"."""
    *most, last = [clock(run.start, system) for run in month.table.runs if run.zone == zone]
    return tr("{times} and {last}", times=", ".join(most), last=last) if most else last


def duration(seconds: float, system: UnitSystem) -> str:
    """Return a time as people read it: ``"48 min"``."""
    return format_value(seconds, "duration", system)


def _every(days: int) -> str:
    return tr_count(days, "every day", "every {count} days")


def _run_words(month: Month, zone: int, system: UnitSystem) -> str:
    """Return "48 min", or where there are several runs "20 min each"."""
    time = duration(float(month.each[zone]), system)
    return tr("{duration} each", duration=time) if month.runs[zone] > 1 else time


def verdict(plan: Watering, system: UnitSystem) -> str:
    """Return in one sentence how to water in the month that wants most."""
    month, zone = plan.months[plan.peak], plan.longest
    name = month_name(month)
    days = int(month.plan.interval[0][zone])
    if days == 0:
        return tr(
            "Usual rain is enough in every month: no watering is planned, not even in {month}.",
            month=name,
        )
    when = (
        tr("On a {month} day", month=name)
        if days == 1
        else tr("In {month}, every {days} days,", month=name, days=days)
    )
    parts: dict[str, object] = {
        "when": when,
        "zone": plan.zones[zone].name,
        "run": _run_words(month, zone, system),
        "starts": _starts(month, zone, system),
    }
    others = [i for i in range(len(plan.zones)) if i != zone and month.runs[i]]
    if not others:
        return tr("{when} water {zone} for {run} at {starts}.", **parts)
    if len(others) > 1:
        return tr(
            "{when} water {zone} for {run} at {starts}; {others} more zones have their turn and "
            "all is done by {end}.",
            others=len(others),
            end=clock(max(run.end for run in month.table.runs), system),
            **parts,
        )
    other = others[0]
    often = int(month.plan.interval[0][other])
    parts["other"] = plan.zones[other].name
    parts["other_run"] = _run_words(month, other, system)
    parts["other_starts"] = _starts(month, other, system)
    if often == days:
        return tr(
            "{when} water {zone} for {run} at {starts}, and {other} for {other_run} at "
            "{other_starts}.",
            **parts,
        )
    return tr(
        "{when} water {zone} for {run} at {starts}, and {other} {often} for {other_run} at "
        "{other_starts}.",
        often=_every(often),
        **parts,
    )


def card(plan: Watering, system: UnitSystem) -> Section:
    """Return what to set on the timer: the month that wants most in words, all in a table."""
    month = plan.months[plan.peak]
    rows = []
    steps = []
    for index, zone in enumerate(plan.zones):
        if not month.runs[index]:
            steps.append(tr("{zone}: off, rain is enough.", zone=zone.name))
            continue
        steps.append(
            tr(
                "{zone}: {often}, start at {starts}, run {run}.",
                zone=zone.name,
                often=_every(int(month.plan.interval[0][index])),
                starts=_starts(month, index, system),
                run=_run_words(month, index, system),
            )
        )
    if len(plan.months) > 1:
        steps.append(tr("At the beginning of each month, change to the times of the table below."))
    for each in plan.months:
        for index, zone in enumerate(plan.zones):
            on = bool(each.runs[index])
            rows.append(
                (
                    month_name(each),
                    zone.name,
                    tr(
                        "{often} at {starts}",
                        often=_every(int(each.plan.interval[0][index])),
                        starts=_starts(each, index, system),
                    )
                    if on
                    else tr("off"),
                    float(each.each[index]) if on else None,
                )
            )
    return Section(
        title=tr("Timer card"),
        items=(
            Steps(name="card", title=tr("In {month}", month=month_name(month)), items=tuple(steps)),
            Table(
                name="timer",
                title=tr("Timer, month by month"),
                columns=(
                    Column(name="month", label=tr("Month")),
                    Column(name="zone", label=tr("Zone")),
                    Column(name="start", label=tr("Start")),
                    Column(name="run", label=tr("Each run"), kind="duration"),
                ),
                rows=tuple(rows),
                note=tr(
                    "Zones run one after the other; on days when a zone rests, its place stays "
                    "empty. The first and the last month hold for the part in which the crop grows."
                ),
            ),
        ),
    )


def _short_words(cuts: tuple[str, ...]) -> str:
    """Return why not every zone gets what it needs; see `Watering.short`."""
    if len(cuts) > 1:
        return tr(
            "Not every zone gets what it needs, because the water of a day is too little and the "
            "hours in which water may run are too few. “Who gets less” below tells where."
        )
    if cuts == ("day",):
        return tr(
            "Not every zone gets what it needs, because the water of a day is too little. “Who "
            "gets less” below tells where."
        )
    return tr(
        "Not every zone gets what it needs, because the hours in which water may run are too few. "
        "“Who gets less” below tells where."
    )


def notices(plan: Watering, most_starts: int) -> tuple[Notice, ...]:
    """Return what to mind: shortage and lost water first, then everything assumed."""
    found = []
    if plan.weather.invented:
        found.append(
            Notice(
                level="warning",
                text=tr(
                    "The ETo is still the invented one of the form. Put in that of your place "
                    "under “Weather, month by month”, or choose another way to it."
                ),
            )
        )
    if plan.short:
        found.append(Notice(level="warning", text=_short_words(plan.short)))
    late = [month_name(month) for month in plan.months if month.table.over]
    if late:
        found.append(
            Notice(
                level="warning",
                text=tr(
                    "With its rests the last run ends after the hours you gave, in {months}: allow "
                    "more hours or shorter rests.",
                    months=", ".join(late),
                ),
            )
        )
    lost = [month_name(month) for month in plan.months if bool(month.too_long.any())]
    if lost:
        found.append(
            Notice(
                level="warning",
                text=tr_count(
                    most_starts,
                    "In {months} some runs are longer than the roots can hold, and the rest drains "
                    "away: 1 start a day is too few.",
                    "In {months} some runs are longer than the roots can hold, and the rest drains "
                    "away: {count} starts a day are too few.",
                    months=", ".join(lost),
                ),
            )
        )
    texts = [*plan.weather.notes, *plan.season.notes, *plan.notes]
    found += [Notice(level="note", text=text) for text in texts]
    found.append(
        Notice(
            level="note",
            text=tr(
                "Check with a spade a few hours after watering: wet below the roots means run "
                "less, dry at their depth means run more."
            ),
        )
    )
    return tuple(found)
