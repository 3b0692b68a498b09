"""Options as tables, as a chart and as a list for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from evenrow.calculators.options_take import changed_values
from evenrow.calculators.parts_text import money
from evenrow.calculators.result import Cell, Column, Document, Figure, RowMark, Table, Take
from evenrow.catalogue import PipeSize
from evenrow.design.field import ANY_PIPE, Field
from evenrow.design.options import Option, Options
from evenrow.figures.scatter import Option as Point
from evenrow.figures.scatter import scatter
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr

#: Words for the places of the header and for the feeds, short enough for a table.
PLACES = {"end": said("near end"), "middle": said("middle"), "far": said("far end")}
FEEDS = {"end": said("at its end"), "tee": said("at a tee")}
BEST, OTHER = said("★ not bettered"), said("bettered")
NOW = said("as it is now")
_HEAD = (
    said("option"),
    said("none better and cheaper"),
    said("price"),
    said("currency"),
    said("parts without a price"),
    said("EU [%]"),
    said("zones"),
    said("largest flow [m3/h]"),
    said("hottest day [h]"),
    said("line"),
    said("lines per row"),
    said("header at"),
    said("share of row"),
    said("feed"),
    said("header"),
    said("main"),
    said("breaks"),
)


def as_now(field: Field, option: Option) -> bool:
    """Return whether an option is the field as it is, with no larger pipe than now."""
    way = option.way
    return (
        way.line == field.line
        and not way.more_lines
        and (way.share, way.feed) == (field.share, field.feed)
        and option.least_header == ANY_PIPE
        and option.least_main == ANY_PIPE
    )


def lines_text(field: Field, more: int) -> str:
    """Return how many lines lie on a row, ``"1"`` or ``"2–3"``."""
    counts = sorted({row.lines + more for row in field.rows})
    return str(counts[0]) if len(counts) == 1 else f"{counts[0]}–{counts[-1]}"


def place_text(option: Option) -> str:
    """Return where the header lies, in a word or as a share of the rows."""
    way = option.way
    if way.place in PLACES:
        return tr(PLACES[way.place])
    return tr("best place, {share:.0f} % along", share=100.0 * way.share)


def pipe_text(size: PipeSize) -> str:
    """Return a pipe in short: the parts list of the whole field has its bore."""
    return tr(size.label).partition(tr(", bore"))[0]


def line_text(option: Option, system: UnitSystem) -> str:
    """Return which line it is, with its spacing."""
    line = option.way.line
    return f"{tr(line.device.label)}, {format_value(line.spacing, 'spacing', system)}"


def by_worth(options: Sequence[Option]) -> list[Option]:
    """Return those that nothing betters first, then the others, the cheapest of each first."""
    return sorted(options, key=lambda o: (not o.frontier, o.unpriced, o.price, -o.eu, o.number))


def worth_showing(field: Field, found: Options) -> list[Option]:
    """Return the options that a table shows, the best first.

    Everything that nothing betters, the field as it is, and for every line and number of lines
    the cheapest and the most even: the rest differs from these in pipe and place alone.
    """
    kept: dict[int, Option] = {}
    working = sorted(found.working, key=lambda o: (o.way.line.device.code, o.way.more_lines))
    for _, alike in groupby(working, key=lambda o: (o.way.line.device.code, o.way.more_lines)):
        group = list(alike)
        cheapest = min(group, key=lambda o: (o.unpriced, o.price, -o.eu))
        most_even = max(group, key=lambda o: (round(o.eu, 3), -o.price))
        kept |= {option.number: option for option in (cheapest, most_even)}
    kept |= {o.number: o for o in working if o.frontier or as_now(field, o)}
    return by_worth(list(kept.values()))


def name_of(option: Option, field: Field, system: UnitSystem) -> str:
    """Return an option in words."""
    lines = option.way.more_lines
    if lines > 0:
        text = said("{line}, a line more on each row, header at the {place}")
    elif lines < 0:
        text = said("{line}, a line fewer on each row, header at the {place}")
    else:
        text = said("{line}, header at the {place}")
    return tr(text, line=line_text(option, system), place=place_text(option))


def _standing(field: Field, option: Option) -> str:
    marks = [tr(BEST if option.frontier else OTHER)]
    return "; ".join([*marks, tr(NOW)] if as_now(field, option) else marks)


def options_table(
    field: Field,
    found: Options,
    shown: Sequence[Option],
    inputs: Mapping[str, Any],
    system: UnitSystem,
) -> Table:
    """Return the table of options; each row can be taken into the whole-field form."""
    unpriced = any(option.unpriced for option in shown)
    columns = [
        Column(name="standing", label=tr("Standing")),
        Column(
            name="price", label=tr("Price ({currency})", currency=found.currency), kind="number"
        ),
        Column(name="eu", label=tr("Uniformity (EU)"), kind="share"),
        Column(name="zones", label=tr("Zones"), kind="count"),
        Column(name="hours", label=tr("Hottest day"), kind="hours"),
        Column(name="line", label=tr("Line")),
        Column(name="lines", label=tr("Lines per row")),
        Column(name="place", label=tr("Header at")),
        Column(name="feed", label=tr("Main joins it")),
        Column(name="header", label=tr("Header pipe")),
        Column(name="main", label=tr("Main")),
        *([Column(name="unpriced", label=tr("No price"), kind="count")] if unpriced else []),
    ]

    def cells(option: Option) -> tuple[Cell, ...]:
        assert option.header is not None
        assert option.main is not None
        return (
            _standing(field, option),
            money(option.price),
            option.eu,
            option.zones,
            option.hours,
            line_text(option, system),
            lines_text(field, option.way.more_lines),
            place_text(option),
            tr(FEEDS[option.way.feed]),
            pipe_text(option.header),
            pipe_text(option.main),
            *([option.unpriced] if unpriced else []),
        )

    return Table(
        name="options",
        title=tr("Ways to build this field"),
        columns=tuple(columns),
        rows=tuple(cells(option) for option in shown),
        marks=tuple(
            RowMark(
                option=str(option.number),
                best=option.frontier,
                muted=not option.frontier,
                take=Take(
                    to="whole-field",
                    values=changed_values(option, field, inputs, system),
                    label=name_of(option, field, system),
                ),
            )
            for option in shown
        ),
        sortable=True,
        note=tr(
            "{working} ways keep every limit. ★ = no other is as cheap and more even, "
            "or as even and cheaper. Also shown: the field as it is, and of every line "
            "and number of lines the cheapest and the most even. The list for a "
            "spreadsheet has all.",
            working=len(found.working),
        ),
    )


def broken_table(field: Field, found: Options, system: UnitSystem) -> Table | None:
    """Return which ways break a limit and why, alike ones on one row; None where none does."""
    broken: dict[tuple[str, str], list[str]] = {}
    for option in found.options:
        if not option.works:
            lines = lines_text(field, option.way.more_lines)
            broken.setdefault((line_text(option, system), lines), []).append(option.short)
    if not broken:
        return None
    return Table(
        name="broken",
        title=tr("Ways that break a limit ({count})", count=sum(map(len, broken.values()))),
        columns=(
            Column(name="line", label=tr("Line")),
            Column(name="lines", label=tr("Lines per row")),
            Column(name="ways", label=tr("Ways"), kind="count"),
            Column(name="why", label=tr("Because")),
        ),
        rows=tuple((line, lines, len(whys), whys[0]) for (line, lines), whys in broken.items()),
        note=tr(
            "Ways: places of the header and feeds. The reason is that of the first of "
            "them; the list for a spreadsheet has each."
        ),
        folded=True,
    )


def options_chart(field: Field, found: Options, shown: Sequence[Option]) -> Figure:
    """Return price against uniformity; the field as it is, is ringed."""
    points = [
        Point(
            id=str(option.number),
            label=tr(option.way.line.device.label),
            cost=option.price,
            # As fine as it is shown: less is no reason to call one better.
            worth=round(100.0 * option.eu, 1),
        )
        for option in shown
    ]
    now = next((str(option.number) for option in shown if as_now(field, option)), "")
    best = [option for option in shown if option.frontier]
    alternative = tr(
        "Price against uniformity of {count} ways to build the field. From {least} at "
        "{first:.1%} to {most} at {last:.1%}, {best} of them are not bettered by another. The "
        "table says the same in figures.",
        count=len(points),
        least=f"{found.currency} {money(best[0].price)}",
        first=best[0].eu,
        most=f"{found.currency} {money(best[-1].price)}",
        last=best[-1].eu,
        best=len(best),
    )
    return Figure(
        name="options_chart",
        title=tr("Price against uniformity; the ring is the field as it is"),
        svg=scatter(
            points,
            x_label=tr("price of all parts ({currency})", currency=found.currency),
            y_label=tr("uniformity, EU (%)"),
            chosen=now,
            alternative=alternative,
        ),
        alternative=alternative,
    )


def options_csv(field: Field, found: Options, system: UnitSystem) -> Document:
    """Return every way that was tried, for a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([tr(name) for name in _HEAD])
    for option in [*by_worth(found.working), *(o for o in found.options if not o.works)]:
        works = option.header is not None and option.main is not None
        way = option.way
        writer.writerow(
            (
                option.number,
                tr("yes") if option.frontier else tr("no"),
                money(option.price) if works else "",
                found.currency,
                option.unpriced if works else "",
                f"{100.0 * option.eu:.2f}" if works else "",
                option.zones or "",
                f"{3600.0 * option.flow:.4g}" if works else "",
                f"{option.hours / 3600.0:.3g}" if works else "",
                line_text(option, system),
                lines_text(field, way.more_lines),
                place_text(option),
                f"{way.share:.3g}",
                tr(FEEDS[way.feed]),
                tr(option.header.label) if option.header else "",
                tr(option.main.label) if option.main else "",
                option.short,
            )
        )
    return Document(
        name="options_csv",
        title=tr("All ways, for a spreadsheet"),
        text=out.getvalue(),
        filename="options.csv",
        media_type="text/csv",
    )
