"""The nearest changes that would make an impossible field possible, each one solved."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from evenrow.catalogue import assembly_parts, devices
from evenrow.design.budget import Budget
from evenrow.design.field import Field, best_share
from evenrow.design.hours import LIMIT as WINDOW
from evenrow.design.limits import FLOW, RATING, VALVE
from evenrow.design.line import FIRST_EMITTER
from evenrow.design.runs import SHARES
from evenrow.errors import EvenrowError
from evenrow.hydraulics.run_length import RunLimits, longest_run
from evenrow.hydraulics.source import SourceCurve
from evenrow.units import UnitSystem, format_value, from_unit
from evenrow.words import tr, tr_count

#: Pressures that a booster, and heights that a higher tank, are tried to add, as people say them.
BOOSTS: dict[UnitSystem, tuple[str, tuple[float, ...]]] = {
    "us": ("psi", (5.0, 10.0, 20.0, 40.0)),
    "metric": ("bar", (0.25, 0.5, 1.0, 2.0)),
}
RAISES: dict[UnitSystem, tuple[str, tuple[float, ...]]] = {
    "us": ("ft", (1.0, 2.0, 4.0, 8.0)),
    "metric": ("m", (0.3, 0.6, 1.2, 2.4)),
}
#: Uniformities, and shares of the longest run, that are tried, the nearest first.
UNIFORMITIES = (0.95, 0.9, 0.85, 0.8, 0.75, 0.7)
RUN_SHARES = (1.0, 0.95, 0.9, 0.8, 0.65, 0.5, 0.25)
#: Shares by which a source is tried to give more, and hours that are tried for the watering.
FLOW_SHARES = (0.1, 0.2, 0.35, 0.5, 1.0)
HOURS = (2, 3, 4, 6, 8, 10, 12, 16, 20, 24)
#: What looking for changes may cost, and a quarter of it for each: a few seconds in all.
BUDGET = 5e6
#: What looking for one zone fewer may cost: nobody waits for that.
FEWER_BUDGET = 1e6
#: Changes that are told.
CHANGES_MAX = 3

Change = tuple[str, Field]


def raised(source: SourceCurve, extra: float) -> SourceCurve:
    """Return a source with `extra` more head [m] at every flow, as a booster gives."""
    if source.flows is not None and source.heads is not None:
        return SourceCurve.from_pump_points(source.flows, source.heads + extra)
    head = source.shutoff_head + extra
    if source.k == 0.0:
        return SourceCurve.from_tank(head)
    open_flow = source.max_flow * (head / source.shutoff_head) ** (1.0 / source.exponent)
    return SourceCurve.from_flow_test(head, open_flow, exponent=source.exponent)


def widened(source: SourceCurve, share: float) -> SourceCurve | None:
    """Return a source with `share` times the flow at every head; None for a bare tank."""
    if source.flows is not None and source.heads is not None:
        return SourceCurve.from_pump_points(source.flows * share, source.heads)
    if source.k == 0.0:
        return None
    return SourceCurve.from_flow_test(
        source.shutoff_head, source.max_flow * share, exponent=source.exponent
    )


def _more_pressure(field: Field) -> Iterator[Change]:
    tank = field.source_kind == "tank"
    unit, amounts = (RAISES if tank else BOOSTS)[field.system]
    for amount in amounts:
        extra = from_unit(amount, "length" if tank else "pressure", unit)
        words = (
            tr("raise the tank by {amount:g} {unit}", amount=amount, unit=unit)
            if tank
            else tr(
                "{amount:g} {unit} more pressure at the source, by a booster or another source",
                amount=amount,
                unit=unit,
            )
        )
        yield words, replace(field, source=raised(field.source, extra))


def lowered(source: SourceCurve, head: float) -> SourceCurve:
    """Return a source with a pressure reducing valve set to `head` [m], on the safe side.

    Its head falls from there as that of the source does from its own: the valve gives more.
    """
    share = head / source.shutoff_head
    if source.flows is not None and source.heads is not None:
        return SourceCurve.from_pump_points(source.flows, source.heads * share)
    if source.k == 0.0:
        return SourceCurve.from_tank(head)
    return SourceCurve.from_flow_test(head, source.max_flow, exponent=source.exponent)


def _less_pressure(field: Field) -> Iterator[Change]:
    """Yield fields behind a pressure reducing valve set to what parts bear, the most first."""
    rated = {part.head_max for part in assembly_parts() if part.head_max is not None}
    for head in sorted((h for h in rated if h < field.source.shutoff_head), reverse=True):
        yield (
            tr(
                "a pressure reducing valve before everything, set to {head} or less",
                head=format_value(head, "pressure", field.system),
            ),
            replace(field, source=lowered(field.source, head)),
        )


def _more_flow(field: Field) -> Iterator[Change]:
    """Yield fields whose source gives more at every pressure."""
    for share in FLOW_SHARES:
        source = widened(field.source, 1.0 + share)
        if source is not None:
            yield (
                tr(
                    "{share:.0%} more flow at every pressure, from a larger service or pump",
                    share=share,
                ),
                replace(field, source=source),
            )


def _longer_window(field: Field) -> Iterator[Change]:
    """Yield fields with more hours for the watering."""
    window = field.watering.window or 0.0
    for hours in HOURS:
        if 3600.0 * hours > window:
            watering = replace(field.watering, window=3600.0 * hours)
            yield (
                tr("{hours} hours for the watering", hours=hours),
                replace(field, watering=watering),
            )


def _shorter_rows(field: Field) -> Iterator[Change]:
    """Yield fields with shorter rows, from the longest run at the line's rating downwards."""
    longest = max(row.length for row in field.rows)
    emitter = field.line.device.emitter
    slope = field.runs(field.rows[0])[0].away * field.ground.row_slope
    run = longest_run(
        emitter,
        field.line.spacing,
        field.line.device.diameter,
        emitter.head_nominal,
        slope=slope,
        limits=RunLimits(eu=field.eu, head_max=emitter.head_max, head_min=emitter.head_min),
        viscosity=field.line.viscosity,
        first_spacing=FIRST_EMITTER * field.line.spacing,
        barb_k=field.line.device.body_k,
        maximum_length=longest,
    )
    limit = run.count * field.line.spacing / max(field.share, 1.0 - field.share)
    for share in RUN_SHARES:
        most = share * min(limit, longest)
        if most >= longest or most < field.line.spacing:
            continue
        rows = tuple(replace(row, length=min(row.length, most)) for row in field.rows)
        words = tr(
            "shorter rows, for example {most}", most=format_value(most, "length", field.system)
        )
        yield words, replace(field, rows=rows)


def _inner_places(field: Field) -> Iterator[Change]:
    """Yield fields whose header lies across the rows."""
    if field.share != SHARES["middle"]:
        yield tr("feed the rows from the middle"), field.placed(SHARES["middle"])
    best = best_share(field.line, field.rows, field.ground)
    yield (
        tr("feed the rows {best:.0%} of the way along, from their near ends", best=best),
        field.placed(best),
    )


def _groups(field: Field, limit: str, *, shorter: bool) -> Iterator[Iterator[Change]]:
    """Yield groups of changed fields, the easiest to carry out first.

    `shorter` says whether shorter rows, and so less to water, are a change at all.
    """
    if limit == WINDOW:
        yield _longer_window(field)
    if field.share in SHARES.values():
        yield _inner_places(field)
    if field.feed == "end":
        yield iter([(tr("feed each header at a tee in its middle"), replace(field, feed="tee"))])
    emitter = field.line.device.emitter
    # Behind a regulator that can do its work, more pressure before it changes nothing.
    if limit == FLOW or field.source.shutoff_head < 2 * emitter.head_nominal:
        yield _more_pressure(field)
    if limit == RATING:
        yield _less_pressure(field)
    # With all rows in one zone there are no zone valves.
    if limit in (FLOW, WINDOW, VALVE):
        yield _more_flow(field)
    yield (
        (
            tr("use {line}", line=tr(device.label)),
            replace(field, line=replace(field.line, device=device)),
        )
        for code, device in devices().items()
        if code != field.line.device.code
        # What gives as much or more asks as much of the source.
        and (limit != FLOW or device.emitter.flow_nominal < emitter.flow_nominal)
    )
    if not shorter:
        return
    yield (
        (tr("accept an emission uniformity of {eu:.0%}", eu=eu), replace(field, eu=eu))
        for eu in UNIFORMITIES
        if eu < field.eu
    )
    yield _shorter_rows(field)


def nearest_changes(
    field: Field,
    limit: str,
    zones_needed: Callable[[Field, Budget, int | None], int],
    *,
    below: int | None = None,
) -> tuple[str, ...]:
    """Return up to `CHANGES_MAX` changes that make a field possible, in words.

    Parameters
    ----------
    field : Field
        The field that is not possible as it is.
    limit : str
        The limit that it breaks.
    zones_needed : callable
        Designs a field within a budget, in fewer zones than a number if one is given, and
        returns its number of zones; raises `EvenrowError` if it cannot. Nothing is told that it
        did not solve.
    below : int, optional
        Only changes that need fewer zones than this are told.
    """
    found: list[str] = []
    most = BUDGET if below is None else FEWER_BUDGET
    whole = Budget(most)
    for group in _groups(field, limit, shorter=below is None):
        for words, changed in group:
            part = Budget(min(whole.left, most / 4))
            allowed = part.left
            try:
                zones = zones_needed(changed, part, below)
            except EvenrowError:
                continue
            finally:
                whole.left -= allowed - max(part.left, 0.0)
            found.append(
                tr_count(
                    zones,
                    "{change} (solved: {count} zone)",
                    "{change} (solved: {count} zones)",
                    change=words,
                )
            )
            break
        if len(found) == CHANGES_MAX:
            break
    return tuple(found)
