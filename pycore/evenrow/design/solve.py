"""From a `Field` to a `Design`: the fewest zones that keep every limit, as solved.

The search is short because each step is monotone: it takes the regulator whose set
head is closest to the line's rating, then one zone after another until every zone, solved
at the source's real operating point, keeps every limit; pipe grows only when a limit asks
for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from evenrow.catalogue import AssemblyPart, PipeSize, devices, pipes
from evenrow.design.assembly import head_assembly, regulators, smallest
from evenrow.design.field import Field
from evenrow.design.layout import layout
from evenrow.design.model import Candidate, Design, Shortfall, ZoneSolution
from evenrow.design.parts import parts_list
from evenrow.design.rowflow import row_flows
from evenrow.design.system import FieldHydraulics
from evenrow.design.zones import fewest_zones, partition
from evenrow.errors import ImpossibleError
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.hydraulics.run_length import RunLimits, longest_run

#: Zones tried beyond the fewest that the flow asks for, before giving up.
MORE_ZONES = 12
#: Changes listed with an impossible field.
CHANGES_MAX = 3


def _pipe_for(flow: float, velocity: float, head: float) -> PipeSize:
    """Return the smallest pipe that keeps velocity [m/s] and bears the head [m]."""
    for size in pipes().values():
        area = 0.785398163 * size.bore**2
        if flow / area <= velocity and head <= size.head_max:
            return size
    raise ImpossibleError(
        f"no pipe in the catalogue carries {flow * 3600:.3g} m³/h at {velocity:.2g} m/s",
        limit="velocity in the pipe",
        field="limits.velocity",
        changes=("more zones, with less flow each", "a higher velocity limit"),
    )


def _next_pipe(size: PipeSize) -> PipeSize | None:
    larger = [pipe for pipe in pipes().values() if pipe.bore > size.bore]
    return larger[0] if larger else None


def _line_heads(field: Field) -> float:
    """Return the head at which the lines are first guessed to run. [m]"""
    static = field.source.shutoff_head - field.rise
    return min(field.line.device.emitter.head_nominal, 0.8 * static)


def check_rows(field: Field, head: float) -> None:
    """Raise `ImpossibleError` if a row alone, fed at `head` [m], is less even than wanted."""
    emitter = field.line.device.emitter
    for row in {row.length: row for row in field.rows}.values():
        for length, slope in field.runs(row):
            solution = solve_lateral(field.line.lateral(length, slope), head)
            if float(solution.eu) >= field.eu:
                continue
            longest = longest_run(
                emitter,
                field.line.spacing,
                field.line.device.diameter,
                head,
                slope=slope,
                limits=RunLimits(eu=field.eu, head_max=emitter.head_max, head_min=emitter.head_min),
                viscosity=field.line.viscosity,
                first_spacing=field.line.spacing / 2,
                maximum_length=length,
            )
            raise ImpossibleError(
                f"a run of {length:.4g} m waters with an emission uniformity of "
                f"{float(solution.eu):.1%}, below the {field.eu:.1%} wanted; "
                f"the longest that keeps it is {longest.count * field.line.spacing:.4g} m",
                limit="emission uniformity of a row",
                field="rows",
            )


def _candidates(field: Field, zones: int, regulator: AssemblyPart | None) -> Iterator[Candidate]:
    """Yield the candidate with that many zones, sized by velocity alone."""
    head = regulator.set_head if regulator and regulator.set_head else _line_heads(field)
    flows = row_flows(
        field.rows, field.line, place=field.place, slope=field.row_slope, head=head
    )
    if zones < fewest_zones(flows, sum(flows), field.crops):
        return
    found = partition(flows, sum(flows), field.crops, zones=zones)
    largest = max(found.flows)
    valve = smallest("zone valve", largest) if zones > 1 else None
    assembly = head_assembly(
        field.source_kind, largest, timer=field.timer, regulator=regulator, valves=valve is not None
    )
    header_flow = largest / 2 if field.feed == "tee" else largest
    yield Candidate(
        layout=layout(field.rows, found.ranges, main_length=field.main_length, feed=field.feed),
        header=_pipe_for(header_flow, field.velocity, head),
        main=_pipe_for(largest, field.velocity, field.source.shutoff_head if not regulator else head),
        assembly=assembly,
        valve=valve,
    )
