"""What the log of checks with cups says: where the uniformity stands and where it goes."""

from __future__ import annotations

import datetime

from evenrow.agronomy.field_evaluation import EU_CLASS_SOURCE, EU_CLASSES, eu_class
from evenrow.agronomy.upkeep_trend import (
    FEWEST,
    TREND_SOURCE,
    YEARS_MAX,
    Trend,
    trend,
)
from evenrow.calculators.checks_log import CheckLog
from evenrow.calculators.result import Fact, Figure, Notice, Number, Section
from evenrow.calculators.season_days import date_words, month_and_year, years_since
from evenrow.figures.charts import Limit, Series, line_chart
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

#: Class borders farther from every check than this are left out of the chart, as a share.
_NEAR = 0.12
#: A check older than this is no news [days].
_OLD = 400
_TITLE = said("Uniformity over the years")


def checks_section(log: CheckLog, system: UnitSystem) -> Section:
    """Return where the uniformity stands and where it goes, with a chart from two checks on."""
    if not log.checks:
        text = tr("No check yet. Put the first one in: it is what all later ones are held against.")
        return Section(title=tr(_TITLE), items=(Fact(name="trend", label=tr("Checks"), text=text),))
    last = log.checks[-1]
    years = years_since(log.checks[0].date, [check.date for check in log.checks])
    found = trend(years, [check.measured for check in log.checks], log.wanted)
    items: list[Number | Fact | Figure] = [
        Number(
            name="last_check",
            label=tr(
                "{measure} on {date}",
                measure=log.measure,
                date=date_words(last.date, system),
            ),
            value=last.measured,
            kind="share",
            digits=3,
            rule=tr("The latest check. Wanted: {wanted}.", wanted=_percent(log.wanted)),
        ),
        Fact(
            name="class",
            label=tr("That is"),
            text=tr(eu_class(last.measured)),
            rule=tr("Excellent from 90 %, good from 80 %, fair from 70 %, else poor."),
            source=tr(EU_CLASS_SOURCE),
        ),
        *trend_facts(log, years, found),
    ]
    if len(log.checks) > 1:
        items.append(_chart(log, years, found, system))
    return Section(title=tr(_TITLE), items=tuple(items))


def _percent(share: float) -> str:
    return format_value(share, "share", "metric", 3)


def trend_facts(log: CheckLog, years: list[float], found: Trend | None) -> tuple[Fact, ...]:
    """Return what the trend says, no more than the checks bear out.

    Parameters
    ----------
    log : CheckLog
        With its checks in the order of their dates.
    years : list of float
        When they were, from the first.
    found : Trend or None
        What `trend` made of them.
    """
    text, band = _way(log, found)
    way = Fact(
        name="trend",
        label=tr("Where it goes"),
        text=text,
        rule=band
        + tr(
            "A straight line through all checks; one round of cups is taken to be uncertain by 2 "
            "points at the least. Nothing is said from fewer than {fewest} checks.",
            fewest=FEWEST,
        ),
        source=tr(TREND_SOURCE),
    )
    if found is None or found.crosses is None:
        return (way,)
    reaches = Fact(
        name="reaches",
        label=tr("At the {wanted} wanted", wanted=_percent(log.wanted)),
        text=_reaches(log, years[-1], found, found.crosses),
        rule=tr(
            "Where the line is at the uniformity wanted if nothing changes, and where the band "
            "that holds it 4 times in 5 begins and ends to be there. Nothing is said of more than "
            "ten years ahead."
        ),
        source=tr(TREND_SOURCE),
    )
    return way, reaches


def _way(log: CheckLog, found: Trend | None) -> tuple[str, str]:
    """Return where the line goes, and how sure that is as a sentence with a space behind it."""
    if len(log.checks) < FEWEST:
        return tr("too few checks to tell: three or more show it"), ""
    if found is None:
        return tr("all checks are of one day: nothing to tell yet"), ""
    band = tr(
        "4 times in 5 between {low} and {high} points a year.",
        low=_signed(found.low),
        high=_signed(found.high),
    )
    points = _signed(found.per_year)
    way = {
        "unclear": tr("no clear way: the checks scatter more than they rise or fall"),
        "falling": tr("falling, about {points} points a year", points=points),
        "rising": tr("rising, about {points} points a year", points=points),
    }
    return way[found.way], f"{band} "


def _signed(share: float) -> str:
    return f"{share * 100:+.1f}".replace("-", "−")


def _reaches(log: CheckLog, last: float, found: Trend, crosses: tuple[float, float, float]) -> str:
    """Return when the line is at the uniformity wanted, as far as that can be told."""
    if found.at_last < log.wanted:
        return tr("below it already, by the line through the checks")

    def date(year: float) -> str:
        day = log.checks[0].date + datetime.timedelta(days=year * 365.25)
        return month_and_year(day)

    earliest, likely, latest = crosses
    beyond = last + YEARS_MAX
    soonest = tr("now") if earliest <= last else date(earliest)
    if earliest > beyond:
        return tr("not in ten years, at that rate")
    if likely > beyond:
        return tr("hardly in ten years; {soonest} at the soonest", soonest=soonest)
    if latest > beyond:
        return tr("about {date}; {soonest} at the soonest", date=date(likely), soonest=soonest)
    return tr(
        "about {date}, between {soonest} and {latest}",
        date=date(likely),
        soonest=soonest,
        latest=date(latest),
    )


def _chart(log: CheckLog, years: list[float], found: Trend | None, system: UnitSystem) -> Figure:
    shares = [check.measured * 100.0 for check in log.checks]
    series = [Series(label=tr("checks"), x=years, y=shares)]
    if found is not None:
        ends = [found.at_first * 100.0, found.at_last * 100.0]
        series.append(Series(label=tr("trend"), x=[0.0, years[-1]], y=ends))
    low, high = min(shares) / 100.0 - _NEAR, max(shares) / 100.0 + _NEAR
    named = {border: name for border, name in EU_CLASSES[:-1] if low <= border <= high}
    limits = [
        Limit(label=tr("{name} from here", name=tr(name)), y=border * 100.0)
        for border, name in named.items()
    ]
    if log.wanted not in named:
        limits.append(Limit(label=tr("wanted"), y=log.wanted * 100.0))
    first = date_words(log.checks[0].date, system)
    told = "; ".join(
        f"{date_words(check.date, system)}: {_percent(check.measured)}"
        + (f" ({check.note})" if check.note else "")
        for check in log.checks
    )
    alternative = tr(
        "{measure} at each check, wanted {wanted}. {checks}.",
        measure=log.measure,
        wanted=_percent(log.wanted),
        checks=told,
    )
    return Figure(
        name="uniformity",
        title=tr("{measure} at each check", measure=log.measure),
        svg=line_chart(
            series,
            x_label=tr("years since {date}", date=first),
            y_label=tr("{measure}, %", measure=log.measure),
            limits=limits,
            alternative=alternative,
        ),
        alternative=alternative,
    )


def checks_notices(log: CheckLog) -> tuple[Notice, ...]:
    """Return what to mind about the log."""
    found = []
    if not log.checks:
        return ()
    last = log.checks[-1]
    if last.measured < log.wanted:
        found.append(
            Notice(
                level="warning",
                text=tr(
                    "The latest check is below the {wanted} wanted: flush, look at filter and "
                    "pressures, treat the water if its analysis asks for it, and measure again "
                    "before you buy new line.",
                    wanted=_percent(log.wanted),
                ),
            )
        )
    if not log.was_sorted:
        found.append(
            Notice(
                level="note", text=tr("The checks were not in the order of their dates; sorted.")
            )
        )
    if log.today is not None:
        if last.date > log.today:
            found.append(
                Notice(level="warning", text=tr("A check is dated later than today: see its date."))
            )
        elif (log.today - last.date).days > _OLD:
            found.append(
                Notice(
                    level="note", text=tr("The latest check is more than a year old: measure anew.")
                )
            )
    return tuple(found)
