"""The instructions of a design as sections of an answer: build, flush, walk, measure."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.calculators.result import Cell, Column, Section, Steps, Table
from evenrow.design.expected import Expected
from evenrow.design.instructions.assembly import assembly_steps, joining_steps
from evenrow.design.instructions.commissioning import (
    AFTER_REGULATOR,
    BATCH,
    BUCKET,
    CUP_READING,
    CUPS,
    GAUGE_CLASS,
    METER,
    REGULATOR,
    cup_checks,
    fill_volume,
    flow_checks,
    gauge_checks,
)
from evenrow.design.instructions.diagnosis import diagnosis
from evenrow.design.instructions.flushing_steps import flushing_steps
from evenrow.design.instructions.holes import hole_positions, reducers
from evenrow.design.instructions.laying import cut_list, laying_steps
from evenrow.design.instructions.naming import cut_length, row_list, tape_measure
from evenrow.design.instructions.walking import walking_steps, zone_walks
from evenrow.design.model import Design
from evenrow.units import UnitSystem, format_value, from_unit, to_unit
from evenrow.words import tr

#: Vessels for timing a flow where the user has named none, and where theirs is too small.
_BUCKETS: dict[UnitSystem, tuple[tuple[float, str], ...]] = {
    "us": ((5.0, "gal"), (55.0, "gal")),
    "metric": ((10.0, "L"), (200.0, "L")),
}


def _measured() -> Column:
    return Column(name="measured", label=tr("Measured"))


def _share(value: float, system: UnitSystem) -> str:
    return format_value(value, "share", system, 2)


def _table(
    name: str, title: str, columns: Sequence[Column], rows: Sequence[Sequence[Cell]], note: str
) -> Table:
    """Return a table without the columns that say the same in every row, like one side only."""
    keep = [
        i
        for i, column in enumerate(columns)
        if column.name not in ("line", "side", "holes") or len({row[i] for row in rows}) > 1
    ]
    return Table(
        name=name,
        title=title,
        columns=tuple(columns[i] for i in keep),
        rows=tuple(tuple(row[i] for i in keep) for row in rows),
        note=note,
    )


def _holes(expected: Expected, system: UnitSystem) -> Table:
    holes = hole_positions(expected)
    tee = any(network.layout.tee for network in expected.zones)
    notes = [
        tr(
            "Hook the tape measure at the middle of the tee and leave it there for a "
            "whole side: each distance is from there, none from the hole before."
        )
        if tee
        else tr(
            "Hook the tape measure where the main comes in and leave it there for a "
            "whole side: each distance is from there, none from the hole before."
        )
    ]
    if any(hole.at_fitting for hole in holes):
        notes.append(tr("A hole that falls on the fitting goes close beside it."))
    if any(hole.holes > 1 for hole in holes):
        notes.append(tr("Where two holes are listed, one goes to each side of the header."))
    notes += [
        tr(
            "Zone {zone}: just beyond the hole for row {row}, line {line} ({distance}), the header "
            "goes on in smaller pipe.",
            zone=step.zone,
            row=step.row,
            line=step.line,
            distance=tape_measure(step.distance, system),
        )
        for step in reducers(expected)
    ]
    return _table(
        "holes",
        tr("Where to punch the header"),
        (
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="side", label=tr("From the feed toward")),
            Column(name="row", label=tr("Row"), kind="count"),
            Column(name="line", label=tr("Line"), kind="count"),
            Column(name="distance", label=tr("Distance")),
            Column(name="holes", label=tr("Holes"), kind="count"),
        ),
        [
            (
                hole.zone,
                tr("the last row") if hole.side > 0 else tr("the first row"),
                hole.row,
                hole.line,
                tape_measure(hole.distance, system),
                hole.holes,
            )
            for hole in holes
        ],
        " ".join(notes),
    )


def _cuts(expected: Expected, system: UnitSystem) -> Table:
    return Table(
        name="cuts",
        title=tr("What to cut for which row"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="rows", label=tr("Rows")),
            Column(name="pieces", label=tr("Pieces"), kind="count"),
            Column(name="length", label=tr("Cut each")),
        ),
        rows=tuple(
            (cut.zone, row_list(cut.rows), cut.pieces, cut_length(cut.length, system))
            for cut in cut_list(expected)
        ),
        note=tr("Allowance for take-off and end included, rounded up."),
    )


def _walks(expected: Expected) -> Table:
    return Table(
        name="walk",
        title=tr("What there is to see in each zone"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="rows", label=tr("Rows")),
            Column(name="takeoffs", label=tr("Take-offs"), kind="count"),
            Column(name="ends", label=tr("Caps"), kind="count"),
            Column(name="emitters", label=tr("Emitters"), kind="count"),
            Column(name="way", label=tr("Way to walk"), kind="length", digits=2),
            Column(name="found", label=tr("Leaks, dry emitters")),
        ),
        rows=tuple(
            (
                walk.zone,
                "–".join(dict.fromkeys(map(str, walk.rows))),
                walk.takeoffs,
                walk.ends,
                walk.emitters,
                walk.walk,
                "",
            )
            for walk in zone_walks(expected)
        ),
        note=tr("Caps of lines and header together. Write down what you find."),
    )


def _meter(expected: Expected, system: UnitSystem, bucket: float | None) -> Table:
    usual = tuple(from_unit(number, "volume", unit) for number, unit in _BUCKETS[system])
    volumes = usual if bucket is None else (bucket, *(v for v in usual if v > bucket))
    checks = flow_checks(expected)
    rows: list[tuple[Cell, ...]] = []
    for check in checks:
        fill = None if check.open_flow is None else fill_volume(check.open_flow, volumes)
        rows.append(
            (
                check.zone,
                check.clean,
                check.clean * 60.0,
                check.dirty,
                check.tolerance,
                "",
                None if fill is None else format_value(fill, "volume", system),
                None if fill is None or check.open_flow is None else fill / check.open_flow,
            )
        )
    return Table(
        name="expected",
        title=tr("Flow: meter, and bucket at the open header"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="meter", label=tr("Flow at the meter"), kind="flow"),
            Column(name="minute", label=tr("In one minute"), kind="volume"),
            Column(name="dirty", label=tr("Filter dirty"), kind="flow"),
            Column(name="tolerance", label=tr("Give or take"), kind="share", digits=2),
            _measured(),
            Column(name="bucket", label=tr("Open header fills")),
            Column(name="fill", label=tr("Time"), kind="duration", digits=2),
        ),
        rows=tuple(rows),
        note=tr(
            "Give or take: twice CV/√n of all emitters, {batch} for the batch of line "
            "(ISO 9261, from memory) and {meter} for the meter (ISO 4064, from "
            "memory), as the root of the sum of squares. Filter dirty: as dirty as it "
            "may get. Open header: its end open, that past the last row where it has "
            "two, no line joined, filter clean; good to {bucket} (common practice, no "
            "source).",
            batch=_share(BATCH, system),
            meter=_share(METER, system),
            bucket=_share(BUCKET, system),
        ),
    )


def _gauges(expected: Expected, system: UnitSystem) -> Table:
    checks = gauge_checks(expected)
    tube = checks[0].scale is None
    kind = "spacing" if tube else "pressure"
    unit = "psi" if system == "us" else "bar"
    if tube:
        how = tr(
            "The pressure is too low for a gauge: hold a clear tube upright at the "
            "place and measure how high the water stands above it; read to 2 cm "
            "(3/4 in)."
        )
    elif any(check.spot == AFTER_REGULATOR for check in checks):
        how = tr(
            "Give or take: {gauge_class} of the end of the gauge's scale (class "
            "2.5 of EN 837-1) and, behind the regulator, {regulator} of its "
            "setting (common practice, no source), as the root of the sum of "
            "squares.",
            gauge_class=_share(GAUGE_CLASS, system),
            regulator=_share(REGULATOR, system),
        )
    else:
        how = tr(
            "Give or take: {gauge_class} of the end of the gauge's scale (class 2.5 of EN 837-1).",
            gauge_class=_share(GAUGE_CLASS, system),
        )
    supply = (
        tr("The tank has to stand as high as you gave it.")
        if expected.found.field.source_kind == "tank"
        else tr(
            "Supplies change over the day: before you trust a difference before the "
            "filter, read the pressure with the water standing still again."
        )
    )
    return Table(
        name="gauges",
        title=tr("Height of water") if tube else tr("Pressure at the gauges"),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="place", label=tr("Place")),
            Column(name="clean", label=tr("Filter clean"), kind=kind),
            Column(name="dirty", label=tr("Filter dirty"), kind=kind),
            Column(name="tolerance", label=tr("Give or take"), kind=kind, digits=2),
            Column(name="gauge", label=tr("Gauge up to")),
            _measured(),
        ),
        rows=tuple(
            (
                check.zone,
                check.place,
                check.clean,
                check.dirty,
                check.tolerance,
                None
                if check.scale is None
                else f"{to_unit(check.scale, 'pressure', unit):.4g}\N{NO-BREAK SPACE}{unit}",
                "",
            )
            for check in checks
        ),
        note=" ".join((how, supply)),
    )


def _millilitres(volume: float) -> str:
    return f"{round(to_unit(volume, 'volume', 'mL'))}\N{NO-BREAK SPACE}mL"


def _cups(expected: Expected, system: UnitSystem) -> Table:
    checks, time = cup_checks(expected)
    return Table(
        name="cups",
        title=tr("Cups under emitters for {time}", time=format_value(time, "duration", system)),
        columns=(
            Column(name="zone", label=tr("Zone"), kind="count"),
            Column(name="row", label=tr("Row")),
            Column(name="place", label=tr("Cups under")),
            Column(name="flow", label=tr("Each gives"), kind="emitter_flow"),
            Column(name="cup", label=tr("Mean")),
            Column(name="range", label=tr("In order")),
            _measured(),
        ),
        rows=tuple(
            (
                check.zone,
                check.row,
                check.place,
                check.flow,
                _millilitres(check.volume),
                tr(
                    "{least} to {most}",
                    least=_millilitres(check.volume * (1.0 - check.tolerance)),
                    most=_millilitres(check.volume * (1.0 + check.tolerance)),
                ),
                "",
            )
            for check in checks
        ),
        note=tr(
            "Filter clean. In order: twice CV/√n for the cups at a place ({cups}, or "
            "as many as there are emitters), {batch} for the batch of line (ISO 9261, "
            "from memory) and {cup_reading} for reading, as the root of the sum of "
            "squares.",
            cups=CUPS,
            batch=_share(BATCH, system),
            cup_reading=_millilitres(CUP_READING),
        ),
    )


def instruction_sections(
    found: Design,
    system: UnitSystem,
    *,
    bucket: float | None = None,
    expected: Expected | None = None,
) -> tuple[Section, ...]:
    """Return what to do with a design, in the order of the work.

    Parameters
    ----------
    found : Design
        The finished design.
    system : {"us", "metric"}
        Unit system.
    bucket : float, optional
        Volume of the bucket that the user has [m3]; 5 gal or 10 L if left out.
    expected : Expected, optional
        The zones of the design, where they are at hand.

    Returns
    -------
    tuple of Section
        Putting together, laying, flushing, walking, measuring; every expected figure solved.
    """
    expected = expected or Expected(found)
    return (
        Section(
            title=tr("Put the head together"),
            items=(
                Steps(
                    name="assembly",
                    title=tr("Put it together in this order"),
                    items=assembly_steps(found),
                ),
                Steps(name="joining", title=tr("How to join it"), items=joining_steps(found)),
            ),
        ),
        Section(
            title=tr("Lay it out"),
            items=(
                Steps(name="laying", title=tr("In this order"), items=laying_steps(found)),
                _holes(expected, system),
                _cuts(expected, system),
            ),
        ),
        Section(
            title=tr("Start it up"),
            items=(
                Steps(
                    name="flushing",
                    title=tr("Flush and close"),
                    items=flushing_steps(found, expected),
                ),
                Steps(name="walking", title=tr("Walk it"), items=walking_steps(found)),
                _walks(expected),
            ),
        ),
        Section(
            title=tr("What you should measure"),
            items=(
                _meter(expected, system, bucket),
                _gauges(expected, system),
                _cups(expected, system),
                Steps(name="diagnosis", title=tr("When a figure is off"), items=diagnosis(found)),
            ),
        ),
    )
