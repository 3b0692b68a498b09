"""What the builder may choose that changes the parts and not the water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from evenrow.errors import InputError
from evenrow.words import tr

#: Below this height of the tap a straight adapter would kink the main. [m]
#: Common practice, no source.
LOW_TAP = 0.3
SPARE_SHARE_MAX = 0.5


@dataclass(frozen=True, kw_only=True)
class BuildChoices:
    """Choices of the builder.

    Parameters
    ----------
    takeoff_valves : bool
        Whether each take-off has a small valve.
    timer : bool
        Whether watering shall start by itself: zone valves then need a controller.
    adapter : {"straight", "elbow"} or None
        From the head assembly to the main; None leaves it to the height of the tap.
    tap_height : float or None
        Height of the tap above the ground, >= 0, or None where unknown. [m]
    repair_kit : bool
        Whether repair pieces for the line are bought.
    couplings : bool
        Whether a run of line may be joined from two coils. Pipe always may.
    spare_share : float
        Share of small fittings to have over, 0 to `SPARE_SHARE_MAX`.
    flush_valves : bool
        Whether headers end in a flush valve and not in a cap.

    Raises
    ------
    InputError
        A share or a height out of range.
    """

    takeoff_valves: bool = False
    timer: bool = True
    adapter: Literal["straight", "elbow"] | None = None
    tap_height: float | None = None
    repair_kit: bool = False
    couplings: bool = True
    spare_share: float = 0.05
    flush_valves: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if not 0.0 <= self.spare_share <= SPARE_SHARE_MAX:
            raise InputError(
                tr("the share of spares is out of range"),
                code="out_of_range",
                field="build.spare_share",
                given=self.spare_share,
                accepted=tr("0 to 50 %"),
                hint=tr("5 % is usual"),
            )
        if self.tap_height is not None and self.tap_height < 0.0:
            raise InputError(
                tr("a tap cannot stand below the ground"),
                code="out_of_range",
                field="build.tap_height",
                given=self.tap_height,
                accepted=tr("0 or more"),
                hint=tr("measure from the ground up to the outlet"),
            )

    @property
    def elbowed(self) -> bool:
        """Whether the adapter is an elbow."""
        if self.adapter is None:
            return self.tap_height is not None and self.tap_height < LOW_TAP
        return self.adapter == "elbow"
