"""Upkeep: what has to be done in a year, and when, to keep a system alive."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from evenrow.agronomy.upkeep import (
    PIECE_LEAST,
    PRACTICE,
    Job,
    by_month,
    flush_time,
    jobs,
    stock_wanted,
    useful,
)
from evenrow.agronomy.upkeep_season import frosty
from evenrow.calculators.carries import FROM_UPKEEP
from evenrow.calculators.result import (
    Column,
    Fact,
    Notice,
    Number,
    Result,
    Section,
    Steps,
    Table,
)
from evenrow.calculators.season_days import date_words, month_words
from evenrow.calculators.spec import Calculator
from evenrow.calculators.upkeep_asked import Asked, asked
from evenrow.calculators.upkeep_checks import checks_notices, checks_section
from evenrow.calculators.upkeep_form import UPKEEP_FIELDS
from evenrow.calculators.upkeep_times import coming, day_of, months_from, often, seconds, when
from evenrow.calculators.upkeep_words import (
    AIR,
    HAZARD_WORDS,
    LABEL,
    Words,
    spring_steps,
    winter_steps,
    words,
)
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

_NEXT = 3
_TIMES_SOURCE = said(
    "velocity of 1 ft/s at the open end, a minute or two, fewer than 10 ends at once: University "
    "of California, Maintenance of Microirrigation Systems; handling and walking: common practice, "
    "no source"
)
_STOCK_WORDS = (
    ("coupling", "couplings", said("Couplings for the line")),
    ("plug", "plugs", said("Hole plugs")),
    ("cap", "caps", said("End caps")),
    ("take-off", "takeoffs", said("Take-offs")),
)


def opened(text: str) -> str:
    """Return a text with a capital letter at its start."""
    return text[:1].upper() + text[1:]


def _first(
    form: Asked, found: Sequence[Job], named: Mapping[str, Words], system: UnitSystem
) -> tuple[str, ...]:
    """Return the next jobs with their days: from today, else from the start of a year."""
    if form.today is None:
        days = [(day_of(job, form.season, system), job) for job in found]
    else:
        soon = coming(found, form.season, form.today)
        days = [(date_words(date, system), job) for date, job in soon]
    return tuple(f"{day}: {named[job.code].name}" for day, job in days[:_NEXT])


def _headline(form: Asked, first: Sequence[str]) -> Fact:
    return Fact(
        name="next",
        label=tr("First job of a year") if form.today is None else tr("Next job"),
        text=first[0],
        rule=tr(
            "Each job has a first day, counted from the first day of watering, and comes again "
            "at its interval. The sooner of calendar and hours of watering counts."
        ),
        source=tr("common practice, no source; what has one is told at each job"),
    )


def _span(months: Sequence[str]) -> str:
    """Return months that follow each other in words: one, "May and June" or "May to July"."""
    if len(months) == 1:
        return months[0]
    if len(months) == 2:
        return tr("{first} and {last}", first=months[0], last=months[1])
    return tr("{first} to {last}", first=months[0], last=months[-1])


def _overview(form: Asked, found: Sequence[Job], named: Mapping[str, Words]) -> Table:
    months = [(job, by_month(job, form.season)) for job in found]
    entries = []
    for month in months_from(form.season, found):
        todo = [
            named[job.code].name
            if times[month] == 1
            else tr("{job} ({count} times)", job=named[job.code].name, count=times[month])
            for job, times in months
            if month in times
        ]
        entries.append((month_words(month), opened("; ".join(todo) or tr("nothing"))))
    rows = []
    for text, alike in groupby(entries, key=lambda entry: entry[1]):
        names = [name for name, _ in alike]
        rows.append((_span(names), text))
    return Table(
        name="months",
        title=tr("Month by month"),
        columns=(Column(name="month", label=tr("Month")), Column(name="todo", label=tr("To do"))),
        rows=tuple(rows),
        note=tr("Mend what is broken the same day, whatever the month."),
    )


def _jobs_table(
    form: Asked, found: Sequence[Job], named: Mapping[str, Words], system: UnitSystem
) -> Table:
    rows = [
        (
            opened(named[job.code].name),
            when(job, form.season, system),
            seconds(job.code, form),
            tr(
                "{how} Why: {why} How often: {source}.",
                how=named[job.code].how,
                why=named[job.code].why,
                source=tr(job.source),
            ),
        )
        for job in found
    ]
    return Table(
        name="jobs",
        title=tr("Each job"),
        columns=(
            Column(name="what", label=tr("What to do")),
            Column(name="when", label=tr("When and how often")),
            Column(name="long", label=tr("How long"), kind="duration", digits=2),
            Column(name="how", label=tr("How and why"), detail=True),
        ),
        rows=tuple(rows),
        note=tr("How long: one person, once; a guess to plan by (common practice, no source)."),
    )


def _times(form: Asked, found: Sequence[Job]) -> Section:
    each = [(seconds(job.code, form), len(job.days)) for job in found]
    known = sum(time * times for time, times in each if time is not None)
    all_known = all(time is not None for time, _ in each)
    items = [
        Number(
            name="year_time",
            label=tr("Work in a year"),
            value=known,
            kind="hours",
            digits=2,
            rule=tr("Each job's time by how often it comes, for one person.")
            if all_known
            else tr(
                "Each job's time by how often it comes, for one person. Without the jobs along the "
                "lines: their length is missing."
            ),
            source=tr(PRACTICE),
        )
    ]
    if form.length is not None and form.runs is not None:
        group, whole = flush_time(form.length, form.runs, form.together)
        items += [
            Number(
                name="flush_group",
                label=tr("Flushing one group of ends"),
                value=group,
                kind="duration",
                digits=2,
                rule=tr(
                    "Time in which the water of a line of mean length is changed once, at least "
                    "2 minutes; go on until it runs clear."
                ),
                source=tr(_TIMES_SOURCE),
            ),
            Number(
                name="flush_all",
                label=tr("Flushing all lines"),
                value=whole,
                kind="duration",
                digits=2,
                rule=tr(
                    "{ends} ends at a time, with 2 minutes for opening and closing each group.",
                    ends=form.together,
                ),
                source=tr(_TIMES_SOURCE),
            ),
        ]
    return Section(title=tr("How much work it is"), items=tuple(items))


def _stock(form: Asked, stock: Mapping[str, Any], system: UnitSystem) -> Section:
    title = tr("Repair stock")
    if form.length is None:
        text = tr("enter the length of all lines, and the stock to keep follows")
        return Section(title=title, items=(Fact(name="stock", label=tr("Stock"), text=text),))

    def length(value: float) -> str:
        return format_value(value, "length", system, 2)

    wanted = stock_wanted(form.length)
    have = useful([row["length"] for row in stock["offcuts"] for _ in range(row["pieces"] or 1)])
    line = wanted["line"]
    lacking = length(line - have) if have < line else tr("nothing")
    rows = [(tr("The line itself, from off-cuts"), length(line), length(have), lacking)]
    for name, field, label in _STOCK_WORDS:
        count, here = int(wanted[name]), stock[field] or 0
        lack = str(count - here) if here < count else tr("nothing")
        rows.append((tr(label), str(count), str(here), lack))
    table = Table(
        name="stock",
        title=title,
        columns=(
            Column(name="part", label=tr("Part")),
            Column(name="keep", label=tr("Keep")),
            Column(name="have", label=tr("You have")),
            Column(name="get", label=tr("Get")),
        ),
        rows=tuple(rows),
        note=tr(
            "For each 1000 m (3300 ft) of line: 10 m (33 ft) of it, 6 couplings, 10 plugs, "
            "3 caps, 2 take-offs, and a few whatever the length. Off-cuts under {length} "
            "do not count. Common practice, no source.",
            length=format_value(PIECE_LEAST, "length", system, 2),
        ),
    )
    return Section(title=title, items=(table,))


def _notices(form: Asked) -> tuple[Notice, ...]:
    plant, season = form.plant, form.season
    found = list(checks_notices(form.log))

    def add(level: str, text: str) -> None:
        found.append(Notice(level="caution" if level == "caution" else "note", text=text))

    months = [month_words(month) for month in frosty(season)]
    if months:
        found.append(
            Notice(
                level="warning",
                text=tr(
                    "Water runs in months with frost ({months}): before a night with frost shut "
                    "the supply, drain filter, regulator and backflow preventer, or keep them "
                    "wrapped.",
                    months=", ".join(months),
                ),
            )
        )
    if form.guessed:
        add(
            "note",
            tr(
                "The hazard of clogging is taken as {hazard} from the kind of source. Have the "
                "water analysed once: it decides how often you flush.",
                hazard=tr(HAZARD_WORDS[plant.hazard]),
            ),
        )
    if plant.treatment != "none":
        add("caution", tr(LABEL))
    if season.frost is not None:
        add("caution", tr("{caution}.", caution=tr(AIR)))
    add(
        "caution",
        tr(
            "Backflow preventers, drinking water and electricity have their own laws: where they "
            "ask for a licensed person, leave it to one. Never open a filter or a cap under "
            "pressure."
        ),
    )
    return tuple(found)


def run(inputs: Mapping[str, Any], system: UnitSystem) -> Result:
    """Answer what has to be done and when; see `evenrow.agronomy.upkeep.jobs`."""
    form = asked(inputs)
    found = jobs(form.plant, form.season)
    named = words(form, system)
    sections = [
        Section(title=tr("Month by month"), items=(_overview(form, found, named),)),
        checks_section(form.log, system),
        Section(title=tr("Each job"), items=(_jobs_table(form, found, named, system),)),
        Section(
            title=tr("Start of the season"),
            items=(Steps(name="spring", title=tr("In this order"), items=spring_steps(form)),),
        ),
    ]
    if form.season.frost is not None:
        steps = Steps(name="winter", title=tr("In this order"), items=winter_steps(form, system))
        sections.append(Section(title=tr("Proof against frost"), items=(steps,)))
    sections += [_stock(form, inputs["stock"], system), _times(form, found)]
    turns = sum(len(job.days) for job in found)
    first = _first(form, found, named, system)
    return Result(
        headline=_headline(form, first),
        verdict=" ".join(
            (
                tr(
                    "Then {jobs}. In a year {count} jobs, {turns} turns in all.",
                    jobs="; ".join(first[1:]),
                    count=len(found),
                    turns=turns,
                ),
                _most(found, named),
            )
        ),
        sections=tuple(sections),
        notices=_notices(form),
    )


def _most(found: Sequence[Job], named: Mapping[str, Words]) -> str:
    """Return what comes most often, in one sentence."""
    most = max(found, key=lambda job: len(job.days))
    if len(most.days) == 1:
        return tr("Each comes once.")
    return tr(
        "Most often: {job}, {often} while water runs.",
        job=named[most.code].name,
        often=often(most),
    )


CALCULATOR = Calculator(
    id="upkeep",
    title="Upkeep",
    question="What has to be done, and when, to keep it alive?",
    fields=UPKEEP_FIELDS,
    run=run,
    examples={},
    carries=FROM_UPKEEP,
)
