"""What a meter, gauges and cups should show on the first day, and how far off they may be.

Every expected figure comes from the solve of the zone (`Expected`).  What it may be off by is put
together from the spread between emitters and from the instrument, as the root of the sum of
squares, each taken as two standard deviations.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from evenrow.design.expected import Expected, ZoneNetwork
from evenrow.design.instructions.naming import end_name
from evenrow.hydraulics.network import SystemSolution
from evenrow.units import UnitSystem, from_unit
from evenrow.words import said, tr

#: How far the mean flow of a batch of emitters may lie from what is stated on it, as a share:
#: ISO 9261 (from memory).
BATCH = 0.07
#: Error of a water meter, as a share: the lower part of its range, ISO 4064 class 2 (from memory).
METER = 0.05
#: Error of a gauge as a share of the end of its scale: class 2.5 of EN 837-1.
GAUGE_CLASS = 0.025
#: A gauge is chosen to stand no higher than this share of its scale: EN 837-2 (from memory).
GAUGE_FILL = 0.75
#: How near a regulator holds its setting, as a share: common practice, no source.
REGULATOR = 0.10
#: How near a bucket and a watch at the open header end come, as a share: common practice, no
#: source.
BUCKET = 0.10
#: Cups side by side at each place.
CUPS = 3
#: A cup is read to this. [m3]
CUP_READING = 1e-6
#: A cup should hold at least this before it is read. [m3]
CUP_VOLUME = 50e-6
#: Times for which cups stand, the shortest first. [s]
CUP_TIMES = (60.0, 120.0, 180.0, 300.0, 600.0)
#: No gauge shows so little well; a clear tube held upright does, to `TUBE_READING`. [m]
TUBE_BELOW = 3.0
TUBE_READING = 0.02
#: Places for a gauge. Behind the regulator its own error counts.
BEFORE_FILTER, AFTER_FILTER = said("before the filter"), said("after the filter")
AT_HEADER = said("where main meets header")
#: Kinds of places of which a zone has several, so that their names say which.
HEADER_END, FAR_END = "header end", "far end"
AFTER_REGULATOR = said("after the regulator")
#: A bucket that fills faster cannot be timed. [s]
SHORTEST_FILL = 10.0

#: Ends of the scales of common gauges.
_SCALES: dict[UnitSystem, tuple[str, tuple[float, ...]]] = {
    "us": ("psi", (15, 30, 60, 100, 160, 200, 300, 600)),
    "metric": ("bar", (0.6, 1, 1.6, 2.5, 4, 6, 10, 16, 25, 40)),
}


@dataclass(frozen=True, kw_only=True)
class FlowCheck:
    """Flow of a zone at the meter.

    `clean` and `dirty` are for a clean filter and for one that is due to be cleaned [m3/s],
    `tolerance` is a share of either.  `open_flow` leaves the open header end before any line
    is joined [m3/s], None where that is not known.
    """

    zone: int
    clean: float
    dirty: float
    tolerance: float
    open_flow: float | None


@dataclass(frozen=True, kw_only=True)
class GaugeCheck:
    """Head at a place that a gauge can be fitted to [m].

    `spot` is the kind of place, one of the constants of this module; `place` says it in words.
    `tolerance` holds either way [m]; `scale` is the end of the scale of a fitting gauge [m], None
    where a clear tube shows it better.
    """

    zone: int
    spot: str
    place: str
    clean: float
    dirty: float
    tolerance: float
    scale: float | None


@dataclass(frozen=True, kw_only=True)
class CupCheck:
    """Mean of the `cups` under neighbouring emitters, filter clean.

    `last` says that the last emitters of the line are among them.
    `flow` of one emitter [m3/s], `volume` in each cup after the time of `cup_time` [m3] and
    `tolerance` of their mean, as a share.
    """

    zone: int
    row: str
    place: str
    last: bool
    cups: int
    flow: float
    volume: float
    tolerance: float


def _together(*shares: float) -> float:
    return math.sqrt(sum(share**2 for share in shares))


def emitter_spread(cv: float, count: int) -> float:
    """Return how far the mean of `count` emitters may lie from that of all: 2 CV / √n."""
    return 2.0 * cv / math.sqrt(count)


def flow_checks(expected: Expected) -> tuple[FlowCheck, ...]:
    """Return the flow at the meter of each zone."""
    cv = expected.found.field.line.device.emitter.cv
    found = []
    for network, clean, dirty in zip(expected.zones, expected.clean, expected.dirty, strict=True):
        emitters = sum(network.laterals[int(kind)].count for kind in network.kinds)
        found.append(
            FlowCheck(
                zone=network.layout.number,
                clean=clean.source_flow,
                dirty=dirty.source_flow,
                tolerance=_together(emitter_spread(cv, emitters), BATCH, METER),
                open_flow=expected.open_header_flow(network, last=network.sides[0]),
            )
        )
    return tuple(found)


def fill_volume(flow: float, volumes: tuple[float, ...]) -> float | None:
    """Return the first of some vessels [m3] that a flow [m3/s] does not fill too fast to time."""
    return next((volume for volume in volumes if volume >= SHORTEST_FILL * flow), None)


def _places(
    network: ZoneNetwork, ends: Sequence[tuple[int, float]], running: SystemSolution
) -> Iterator[tuple[str, str, float]]:
    """Yield the places of a zone: kind, name and head, in the order of the water.

    `ends` are the take-offs of the lines that are measured, with the heads at their far ends [m].
    """
    names = running.names
    heads = (running.source_head, *np.asarray(running.component_heads).tolist())
    for i, name in enumerate(names):
        if name.endswith("filter"):
            yield BEFORE_FILTER, tr(BEFORE_FILTER), heads[i]
            yield AFTER_FILTER, tr(AFTER_FILTER), heads[i + 1]
        elif name == "regulator":
            yield AFTER_REGULATOR, tr(AFTER_REGULATOR), heads[i + 1]
    yield AT_HEADER, tr(AT_HEADER), running.header_head
    for last in network.sides:
        outlet = -1 if last else 0
        end = tr("header end at row {row}", row=network.ends[outlet].row)
        yield HEADER_END, end, running.takeoff_heads[outlet]
    for outlet, head in ends:
        name = end_name(network.ends[outlet], network.ends)
        yield FAR_END, tr("far end of {row}", row=name), head


def gauge_scale(head: float, system: UnitSystem) -> float:
    """Return the end of the scale of the smallest gauge that suits a head [m]."""
    unit, scales = _SCALES[system]
    ends = [from_unit(float(scale), "pressure", unit) for scale in scales]
    return next((end for end in ends if head <= GAUGE_FILL * end), ends[-1])


def gauge_checks(expected: Expected) -> tuple[GaugeCheck, ...]:
    """Return the heads at the places of each zone where a gauge can be fitted.

    One gauge serves all places before the regulator, another all behind it.
    """
    found: list[tuple[int, str, str, float, float, bool]] = []
    for network, clean, dirty, marked in zip(
        expected.zones, expected.clean, expected.dirty, expected.marked, strict=True
    ):
        behind = False
        pairs = zip(
            _places(network, [(line.outlet, line.head[-1]) for line in marked], clean),
            _places(network, [(line.outlet, line.later[-1]) for line in marked], dirty),
            strict=True,
        )
        for (spot, place, head), (_, _, later) in pairs:
            behind = behind or spot == AFTER_REGULATOR
            found.append((network.layout.number, spot, place, float(head), float(later), behind))
    highest = {
        side: max(max(head, later) for *_, head, later, behind in found if behind == side)
        for side in {behind for *_, behind in found}
    }
    tube = max(highest.values()) < TUBE_BELOW
    system = expected.found.field.system
    scales = {side: None if tube else gauge_scale(head, system) for side, head in highest.items()}
    set_head = expected.found.candidate.assembly.set_head or 0.0
    checks = []
    for zone, spot, place, head, later, behind in found:
        scale = scales[behind]
        reading = TUBE_READING if scale is None else GAUGE_CLASS * scale
        held = REGULATOR * set_head if behind else 0.0
        checks.append(
            GaugeCheck(
                zone=zone,
                spot=spot,
                place=place,
                clean=head,
                dirty=later,
                tolerance=_together(reading, held),
                scale=scale,
            )
        )
    return tuple(checks)


def _spots(count: int) -> Iterator[tuple[str, slice, bool]]:
    """Yield where cups stand along a line of `count` emitters: name, which, if the last."""
    if count <= CUPS:
        yield tr("all emitters") if count > 1 else tr("the emitter"), slice(None), count > 1
        return
    yield tr("first {cups} emitters", cups=CUPS), slice(CUPS), False
    if count >= 3 * CUPS:
        start = (count - CUPS) // 2
        middle = slice(start, start + CUPS)
        yield tr("{cups} emitters in the middle", cups=CUPS), middle, False
    yield tr("last {cups} emitters", cups=CUPS), slice(-CUPS, None), True


def cup_time(flow: float) -> float:
    """Return how long cups stand under the weakest emitter of those measured, at a flow [s]."""
    return next((time for time in CUP_TIMES if flow * time >= CUP_VOLUME), CUP_TIMES[-1])


def cup_checks(expected: Expected) -> tuple[tuple[CupCheck, ...], float]:
    """Return what cups under named emitters hold, and after which time [s]."""
    cv = expected.found.field.line.device.emitter.cv
    found: list[tuple[int, str, str, bool, int, float]] = []
    for network, marked in zip(expected.zones, expected.marked, strict=True):
        for line in marked:
            flows = line.flow
            name = end_name(network.ends[line.outlet], network.ends)
            for place, spot, last in _spots(flows.size):
                cups = flows[spot]
                mean = float(cups.mean())
                found.append((network.layout.number, name, place, last, cups.size, mean))
    time = cup_time(min(flow for *_, flow in found))
    checks = tuple(
        CupCheck(
            zone=zone,
            row=name,
            place=place,
            last=last,
            cups=cups,
            flow=flow,
            volume=flow * time,
            tolerance=_together(emitter_spread(cv, cups), BATCH, CUP_READING / (flow * time)),
        )
        for zone, name, place, last, cups, flow in found
    )
    return checks, time
