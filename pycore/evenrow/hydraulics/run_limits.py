"""The limits of a run length."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from evenrow.hydraulics._check import number, whole

#: Limits that say how much there must be at least; the others say how much at most.
LEAST: Final = frozenset({"eu", "head_min", "flush_velocity_min"})

_NAMES: Final = (
    "eu", "flow_variation", "head_variation", "head_max", "head_min", "inlet_flow_max",
    "inlet_velocity_max", "flush_velocity_min",
)  # fmt: skip


@dataclass(frozen=True)
class RunLimits:
    """Limits of a lateral; None leaves one out.

    Parameters
    ----------
    eu : float, optional
        Least emission uniformity [-], 0 to 1.
    flow_variation : float, optional
        Largest flow variation (max - min) / max [-], 0 to 1.
    head_max : float, optional
        Largest pressure head the device stands [m]: anywhere along the line, the inlet
        included, with water running or standing still.
    head_min : float, optional
        Least pressure head at any device [m].
    inlet_flow_max : float, optional
        Largest flow into the lateral, its share of the source [m3/s].
    inlet_velocity_max : float, optional
        Largest mean velocity at the inlet [m/s].
    per_plant : int
        Number of emitters that feed one plant, for `eu`.
    head_variation : float, optional
        Largest head variation (max - min) / max of the emitters [-], 0 to 1.
    flush_velocity_min : float, optional
        Least velocity at the end when it is open and the emitters run [m/s], reached at the
        same inlet head.

    Raises
    ------
    InputError
        If a limit is not finite or out of range.
    """

    eu: float | None = None
    flow_variation: float | None = None
    head_max: float | None = None
    head_min: float | None = None
    inlet_flow_max: float | None = None
    inlet_velocity_max: float | None = None
    per_plant: int = 1
    head_variation: float | None = None
    flush_velocity_min: float | None = None

    def __post_init__(self) -> None:
        for name in ("eu", "flow_variation", "head_variation"):
            if getattr(self, name) is not None:
                number(name, getattr(self, name), 0.0, 1.0)
        for name in ("head_max", "head_min", "inlet_flow_max", "inlet_velocity_max"):
            if getattr(self, name) is not None:
                number(name, getattr(self, name), 0.0)
        if self.flush_velocity_min is not None:
            number("flush_velocity_min", self.flush_velocity_min, 0.0, 10.0, unit="m/s")
        whole("per_plant", self.per_plant, 1, 1000)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the limits that are set."""
        return tuple(name for name in _NAMES if getattr(self, name) is not None)
