"""The line of a design: a device of the catalogue with the user's own figures over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.catalogue import Device, device
from evenrow.errors import InputError
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.water import kinematic_viscosity
from evenrow.units import UnitSystem, format_value
from evenrow.words import tr

FloatArray = NDArray[np.float64]

#: Most emitters on one lateral that are worked out.
EMITTERS_MAX = 10_000
#: Spacings that differ by no more than this share are the same on the market: 12 in and 30 cm.
SPACING_SLACK = 0.03
#: Room kept free at each end of a row beyond the outermost emitter, as a share of the spacing.
FIRST_EMITTER = 0.5


def spacing_note(device: Device, spacing: float, system: UnitSystem) -> str:
    """Return a note where a device is not usually sold with that spacing [m], or ""."""
    if any(abs(spacing - usual) <= SPACING_SLACK * usual for usual in device.spacings):
        return ""
    usual = ", ".join(format_value(s, "spacing", system, 2) for s in device.spacings)
    return tr(
        "This kind of line is usually sold with emitters every {usual}: ask for yours.", usual=usual
    )


@dataclass(frozen=True, kw_only=True)
class Line:
    """A tape or dripline with its emitter spacing, laid in water of one temperature.

    `spacing` in metres, `viscosity` in m2/s.
    """

    device: Device
    spacing: float
    viscosity: float

    def emitters_on(self, length: float) -> int:
        """Return how many emitters a row of that length [m] holds: one for each whole spacing."""
        return int(length / self.spacing + 1e-9)

    def positions(self, length: float) -> FloatArray:
        """Return how far from the start of a run of that length its emitters sit [m]."""
        return (FIRST_EMITTER + np.arange(self.emitters_on(length))) * self.spacing

    def lateral(
        self, length: float, *, slope: float = 0.0, rises: FloatArray | None = None
    ) -> Lateral:
        """Return the lateral of that length [m] on a slope or on surveyed ground.

        The first emitter sits half a spacing from the header, the last half a spacing from
        the end, so that each emitter waters its own cell of the row.

        Parameters
        ----------
        length : float
            From the header to the closed end [m].
        slope : float
            Rise over length away from the header; positive climbs [-].
        rises : ndarray, optional
            Height of each emitter above the header [m], shape (emitters_on(length),);
            replaces `slope`.

        Raises
        ------
        InputError
            A row too short to hold one emitter, or with more than `EMITTERS_MAX`.
        """
        count = self.emitters_on(length)
        if count < 1:
            raise InputError(
                tr(
                    "a run of line is shorter than the emitter spacing (a header "
                    "across the rows divides each of them)"
                ),
                code="out_of_range",
                field="rows",
                given=f"{length:.3g} m",
                accepted=tr("at least {spacing:.3g} m", spacing=self.spacing),
            )
        if count > EMITTERS_MAX:
            raise InputError(
                tr("there are too many emitters on one line"),
                code="out_of_range",
                field="rows",
                given=count,
                accepted=tr("up to {emitters_max} on one line", emitters_max=EMITTERS_MAX),
                hint=tr("wider emitter spacing, or shorter rows"),
            )
        return Lateral(
            emitter=self.device.emitter,
            count=count,
            spacing=self.spacing,
            first_spacing=FIRST_EMITTER * self.spacing,
            diameter=self.device.diameter,
            slope=slope,
            rises=rises,
            viscosity=self.viscosity,
            barb_k=self.device.body_k,
        )


def _own(base: Device, own: Mapping[str, Any]) -> Device:
    if own.get("flow") is not None and own.get("at") is None:
        raise InputError(
            tr("a flow needs the pressure at which it is stated"),
            code="missing",
            field="line.own.at",
            accepted=tr("the pressure from the data sheet"),
        )
    names = {
        "flow": "flow_nominal",
        "at": "head_nominal",
        "exponent": "exponent",
        "cv": "cv",
        "pressure_max": "head_max",
    }
    changed = {attribute: own[key] for key, attribute in names.items() if own.get(key) is not None}
    if base.emitter.compensating and changed.get("exponent", 0.0) > 0.0:
        changed["compensating"] = False
    if changed.get("head_max", base.emitter.head_max) <= base.emitter.head_min:
        raise InputError(
            tr("the highest pressure is below the lowest that this line works at"),
            code="out_of_range",
            field="line.own.pressure_max",
            accepted=tr("above {head_min:.3g} m of water", head_min=base.emitter.head_min),
        )
    return replace(
        base,
        emitter=replace(base.emitter, **changed),
        diameter=own["diameter"] if own.get("diameter") is not None else base.diameter,
        body_k=own["body_loss"] if own.get("body_loss") is not None else base.body_k,
    )


def line_of(inputs: Mapping[str, Any], temperature: float) -> Line:
    """Return the line that the ``line`` part of a form describes.

    Parameters
    ----------
    inputs : mapping
        ``device`` (catalogue code), ``spacing`` [m], ``own`` (figures that replace those
        of the catalogue, each may be None).
    temperature : float
        Of the water. [°C]
    """
    base = device(inputs["device"])
    return Line(
        device=_own(base, inputs.get("own") or {}),
        spacing=inputs["spacing"],
        viscosity=float(kinematic_viscosity(temperature)),
    )
