"""The watering plan in words: the card for the timer, the verdict, what to mind."""

from __future__ import annotations

from evenrow.agronomy.plan_inputs import DAY
from evenrow.calculators.result import Column, Notice, Section, Steps, Table
from evenrow.calculators.watering_plan import Month, Watering
from evenrow.calculators.watering_weather_fields import MONTHS
from evenrow.units import UnitSystem, format_value

_SHORT = {
    "window": "the hours in which water may run are too few",
    "day": "the water of a day is too little",
}


def month_name(month: Month) -> str:
    """Return the name of a month."""
    return MONTHS[month.number].capitalize()


def clock(seconds: float, system: UnitSystem) -> str:
    """Return a time of day: ``"17:05"``, in US units ``"5:05 pm"``; it tells the next day."""
    late = " (next day)" if seconds >= DAY - 0.5 else ""
    whole = round(seconds)
    minutes, rest = divmod(whole, 60)
    hour, minute = divmod(minutes, 60)
    hour %= 24
    tail = f":{rest:02d}" if rest else ""
    if system == "us":
        half = "am" if hour < 12 else "pm"
        return f"{(hour + 11) % 12 + 1}:{minute:02d}{tail} {half}{late}"
    return f"{hour}:{minute:02d}{tail}{late}"


def _starts(month: Month, zone: int, system: UnitSystem) -> str:
    """Return "5:00", "5:00 and 6:10" or "5:00, 6:10 and 7:20"."""
    *most, last = [clock(run.start, system) for run in month.table.runs if run.zone == zone]
    return f"{', '.join(most)} and {last}" if most else last


def duration(seconds: float, system: UnitSystem) -> str:
    """Return a time as people read it: ``"48 min"``."""
    return format_value(seconds, "duration", system)


def _every(days: int) -> str:
    return "every day" if days == 1 else f"every {days} days"


def _run_words(month: Month, zone: int, system: UnitSystem) -> str:
    """Return "48 min", or where there are several runs "20 min each"."""
    return duration(float(month.each[zone]), system) + (" each" if month.runs[zone] > 1 else "")


def verdict(plan: Watering, system: UnitSystem) -> str:
    """Return in one sentence how to water in the month that wants most."""
    month, zone = plan.months[plan.peak], plan.longest
    name = month_name(month)
    days = int(month.plan.interval[0][zone])
    if days == 0:
        return f"Usual rain is enough in every month: no watering is planned, not even in {name}."
    when = f"On a {name} day" if days == 1 else f"In {name}, {_every(days)},"
    text = (
        f"{when} water {plan.zones[zone].name} for {_run_words(month, zone, system)} at "
        f"{_starts(month, zone, system)}"
    )
    others = [i for i in range(len(plan.zones)) if i != zone and month.runs[i]]
    if len(others) == 1:
        other = others[0]
        same = int(month.plan.interval[0][other]) == days
        often = "" if same else f" {_every(int(month.plan.interval[0][other]))}"
        text += (
            f", and {plan.zones[other].name}{often} for {_run_words(month, other, system)} at "
            f"{_starts(month, other, system)}"
        )
    elif others:
        end = max(run.end for run in month.table.runs)
        text += (
            f"; {len(others)} more zones have their turn and all is done by {clock(end, system)}"
        )
    return text + "."


def card(plan: Watering, system: UnitSystem) -> Section:
    """Return what to set on the timer: the month that wants most in words, all in a table."""
    month = plan.months[plan.peak]
    rows = []
    steps = []
    for index, zone in enumerate(plan.zones):
        if not month.runs[index]:
            steps.append(f"{zone.name}: off, rain is enough.")
            continue
        steps.append(
            f"{zone.name}: {_every(int(month.plan.interval[0][index]))}, start at "
            f"{_starts(month, index, system)}, run {_run_words(month, index, system)}."
        )
    if len(plan.months) > 1:
        steps.append("At the beginning of each month, change to the times of the table below.")
    for each in plan.months:
        for index, zone in enumerate(plan.zones):
            on = bool(each.runs[index])
            rows.append(
                (
                    month_name(each),
                    zone.name,
                    f"{_every(int(each.plan.interval[0][index]))} at {_starts(each, index, system)}"
                    if on
                    else "off",
                    float(each.each[index]) if on else None,
                )
            )
    return Section(
        title="Timer card",
        items=(
            Steps(name="card", title=f"In {month_name(month)}", items=tuple(steps)),
            Table(
                name="timer",
                title="Timer, month by month",
                columns=(
                    Column(name="month", label="Month"),
                    Column(name="zone", label="Zone"),
                    Column(name="start", label="Start"),
                    Column(name="run", label="Each run", kind="duration"),
                ),
                rows=tuple(rows),
                note="Zones run one after the other; on days when a zone rests, its place stays "
                "empty. The first and the last month hold for the part in which the crop grows.",
            ),
        ),
    )


def notices(plan: Watering, most_starts: int) -> tuple[Notice, ...]:
    """Return what to mind: shortage and lost water first, then everything assumed."""
    found = []
    if plan.weather.invented:
        found.append(
            Notice(
                level="warning",
                text="The ETo is still the invented one of the form. Put in that of your place "
                "under “Weather, month by month”, or choose another way to it.",
            )
        )
    if plan.short:
        reasons = " and ".join(_SHORT[cut] for cut in plan.short)
        found.append(
            Notice(
                level="warning",
                text=f"Not every zone gets what it needs, because {reasons}. “Who gets less” below "
                "tells where.",
            )
        )
    late = [month_name(month) for month in plan.months if month.table.over]
    if late:
        found.append(
            Notice(
                level="warning",
                text=f"With its rests the last run ends after the hours you gave, in "
                f"{', '.join(late)}: allow more hours or shorter rests.",
            )
        )
    lost = [month_name(month) for month in plan.months if bool(month.too_long.any())]
    if lost:
        starts = "1 start a day is" if most_starts == 1 else f"{most_starts} starts a day are"
        found.append(
            Notice(
                level="warning",
                text=f"In {', '.join(lost)} some runs are longer than the roots can hold, and the "
                f"rest drains away: {starts} too few.",
            )
        )
    texts = [*plan.weather.notes, *plan.season.notes, *plan.notes]
    found += [Notice(level="note", text=text) for text in texts]
    found.append(
        Notice(
            level="note",
            text="Check with a spade a few hours after watering: wet below the roots means run "
            "less, dry at their depth means run more.",
        )
    )
    return tuple(found)
