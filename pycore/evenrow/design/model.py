"""What a finished design says: zones as solved, sizes, assembly, parts, pressure budget."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evenrow.catalogue import AssemblyPart, PipeSize
from evenrow.design.assembly import HeadAssembly
from evenrow.design.field import Field
from evenrow.design.layout import Layout, ZoneLayout
from evenrow.design.parts import PartsList
from evenrow.hydraulics.network import SystemSolution

if TYPE_CHECKING:
    from evenrow.design.system import FieldHydraulics


@dataclass(frozen=True, kw_only=True)
class Taper:
    """A header that goes on in a smaller `size` at its outer take-offs.

    `takeoffs` counts those of the near and of the far arm, from their ends.
    """

    size: PipeSize
    takeoffs: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Growth:
    """One step to a larger pipe: `"header"` or `"main"`, its size before, and what that broke."""

    pipe: str
    before: PipeSize
    why: str


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One way to build the field, not yet solved; `tapers` by number of the zone.

    `grown` tells the steps by which its pipes became larger than the velocity asks for.
    """

    layout: Layout
    header: PipeSize
    main: PipeSize
    assembly: HeadAssembly
    valve: AssemblyPart | None
    tapers: Mapping[int, Taper] = field(default_factory=dict)
    grown: tuple[Growth, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Station:
    """A point on the water's way with its head [m]."""

    name: str
    head: float


@dataclass(frozen=True, kw_only=True)
class ZoneFlow:
    """What a zone takes, as the network solve found it, filter dirty.

    Flows in m3/s. `usable` is the most that the source brings to the zone, reserve left, or None
    where nothing limits it; `beyond_source` tells that the zone asks for more than the source's
    curve reaches to; `regulator_head` is the head before the regulator, or behind the last part
    where there is none [m].
    """

    layout: ZoneLayout
    flow: float
    usable: float | None
    beyond_source: bool
    regulator_state: str
    regulator_head: float


@dataclass(frozen=True, kw_only=True)
class ZoneState(ZoneFlow):
    """What the limits of a design look at in a zone.

    Flows in m3/s, heads in metres of water, velocities in m/s; `eu` is a fraction over every
    emitter of the zone; `valve_head` is that at the end of the main, before the zone valve.
    """

    emitter_head_min: float
    emitter_head_max: float
    static_head_max: float
    emitter_flow_min: float
    emitter_flow_mean: float
    emitter_flow_max: float
    emitters: int
    eu: float
    header_velocity: float
    main_velocity: float
    valve_head: float


@dataclass(frozen=True, kw_only=True)
class ZoneSolution(ZoneState):
    """A zone of a finished design, down to every emitter.

    `stations` follow the water to the emitter with the lowest pressure; `row_heads` are the
    mean heads at the start of each row's lines, behind their take-offs [m]; `dulq` and
    `flow_variation` are fractions over every emitter of the zone.  `system` is the zone as
    solved, the filter dirty; the loss of a take-off belongs to its lateral there.
    """

    stations: tuple[Station, ...]
    row_heads: tuple[float, ...]
    dulq: float
    flow_variation: float
    system: SystemSolution = dataclasses.field(repr=False, compare=False)


@dataclass(frozen=True, kw_only=True)
class Shortfall:
    """A limit that a candidate breaks: what it is, and a sentence with by how much."""

    limit: str
    text: str
    #: What may cure it: "zones", "header", "main" or "" (nothing in this search).
    cure: str


@dataclass(frozen=True, kw_only=True)
class Design:
    """A design that keeps every limit, as solved.

    `hydraulics` are the curves of its lines, if they are at hand: those who solve it again need
    not work them out anew.
    """

    field: Field
    candidate: Candidate
    zones: tuple[ZoneSolution, ...]
    parts: PartsList
    why_zones: str
    sizing: tuple[str, ...]
    hydraulics: FieldHydraulics | None = dataclasses.field(default=None, repr=False, compare=False)

    @property
    def worst(self) -> ZoneSolution:
        """The zone with the lowest emission uniformity."""
        return min(self.zones, key=lambda zone: zone.eu)

    @property
    def largest(self) -> ZoneSolution:
        """The zone with the largest flow."""
        return max(self.zones, key=lambda zone: zone.flow)
