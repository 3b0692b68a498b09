"""What is to be watered, and the verdict on each line for it."""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.catalogue import Device
from evenrow.catalogue.growing import Crop, Soil

#: Share of a bed, and of a single row's root zone, to wet.  Bed: common practice, no source.
#: Row: middle of the 33 to 67 % of the National Engineering Handbook, section 15, chapter 7, for
#: wide-spaced crops (from memory).
BED_SHARE, ROW_SHARE = 0.8, 0.5


@dataclass(frozen=True, kw_only=True)
class Planting:
    """What is to be watered and with what pressure.  Lengths and heads in metres.

    Parameters
    ----------
    crop : Crop
        Its smaller root depth is what the water should reach.
    soil : Soil
        Texture class.
    bed_width : float or None
        Width of a bed that plants fill; None for one row of plants.
    root_width : float
        Width of ground along a single row that the watering aims at.
    plant_spacing : float
        Between plants in a row.
    row_length : float
        Longest row.
    row_slope : float
        Rise over length away from the header, + climbs.
    head : float
        Pressure at hand where the lines begin.
    regulated : bool
        Whether a pressure regulator brings it down to what a line is rated for.
    bends : bool
        Whether the row bends.
    years : bool
        Whether the line stays in place for years.
    eu : float
        Emission uniformity wanted [-].
    share : float or None
        Share of the ground to wet [-]; None for the usual one.
    viscosity : float
        Of the water [m2/s].
    """

    crop: Crop
    soil: Soil
    bed_width: float | None
    root_width: float
    plant_spacing: float
    row_length: float
    row_slope: float
    head: float
    regulated: bool
    bends: bool
    years: bool
    eu: float
    viscosity: float
    share: float | None = None

    @property
    def target(self) -> float:
        """Width of the ground to wet [m]: the bed, or the root zone of a single row."""
        return self.root_width if self.bed_width is None else self.bed_width

    @property
    def wanted(self) -> float:
        """Share of it to wet [-]."""
        if self.share is not None:
            return self.share
        return ROW_SHARE if self.bed_width is None else BED_SHARE

    @property
    def kind(self) -> str:
        """Kind of line that is preferred where both suit: tape for one season, straight."""
        return "dripline" if self.years or self.bends else "tape"


@dataclass(frozen=True, kw_only=True)
class Wetting:
    """What the emitters of a line do to the ground.

    `spacing`, `width` of one emitter's pattern and of the `strip` in metres, `rate` over that strip
    in m/s, `lines` on the bed or row and the `share` of the ground that they wet together.
    """

    spacing: float
    width: float
    strip: float
    rate: float
    lines: int
    share: float


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that speaks against a line: what it is called, and the figures [SI].

    `have` is what the line or the ground has, `need` what it would have to be.  What each name
    means, in words, is in `evenrow.design.line_words`.
    """

    name: str
    have: float = 0.0
    need: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One line of the catalogue, judged.

    Parameters
    ----------
    device : Device
        The line.
    head, flow : float
        Head at its start [m] and flow of an emitter there [m3/s]: as rated, where the pressure at
        hand is not fit for it.
    wetting : Wetting
        With the best spacing in which it is sold.
    longest_end, longest_middle : float or None
        Longest row [m] with the header at its end and across its middle; None if not worked out.
    refusals : tuple of Finding
        Why it cannot be used; empty if it can.
    reservations : tuple of Finding
        What speaks against it and may be lived with.
    """

    device: Device
    head: float
    flow: float
    wetting: Wetting
    longest_end: float | None
    longest_middle: float | None
    refusals: tuple[Finding, ...]
    reservations: tuple[Finding, ...]

    @property
    def suitable(self) -> bool:
        """Whether nothing rules it out."""
        return not self.refusals

    @property
    def place(self) -> str:
        """Where the header must be: ``"end"`` or ``"middle"`` of the rows."""
        return "middle" if any(f.name == "only middle" for f in self.reservations) else "end"


@dataclass(frozen=True, kw_only=True)
class LineChoice:
    """Every line with its verdict: the suitable ones first, best first; at least one line."""

    planting: Planting
    candidates: tuple[Candidate, ...]

    @property
    def best(self) -> Candidate | None:
        """The best suitable line, if there is one."""
        return self.candidates[0] if self.candidates[0].suitable else None

    @property
    def suitable(self) -> tuple[Candidate, ...]:
        """The suitable lines, best first."""
        return tuple(c for c in self.candidates if c.suitable)
