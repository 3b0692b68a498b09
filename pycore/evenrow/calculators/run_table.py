"""Run lengths to look up: every line of the catalogue over the usual cases, worked out at once.

The answers are those of the run-length calculator for the same values: same limits, same
place of the first emitter, same water.  They are shown rounded down, never up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from evenrow.calculators.fields import TEMPERATURE
from evenrow.catalogue import Device, devices
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.families import LineKind, run_length_family
from evenrow.hydraulics.run_limits import RunLimits
from evenrow.hydraulics.water import kinematic_viscosity
from evenrow.units import UnitSystem, format_value, parse, system_unit, to_unit
from evenrow.words import tr

#: Slopes along the row as a form takes them; minus falls away from the header.
SLOPES: Final = ("-2 %", "-1 %", "-0.5 %", "0 %", "0.5 %", "1 %", "2 %")
#: Emission uniformities wanted, as a form takes them.
TARGETS: Final = ("80 %", "85 %", "90 %", "95 %")
#: The one that most people want, as in the run-length calculator.
TARGET: Final = "85 %"
#: Longer runs are shown as "over" this, by unit system: few fields are longer.
MOST_SHOWN: Final = {"us": 2000, "metric": 600}
#: Steps in which lengths are shown, by unit system. [ft], [m]
STEPS: Final = {"us": 1.0, "metric": 0.5}
#: Names of what stops a run, in the order in which they are asked; "" is none of them.
LIMITS: Final = ("eu", "head_min", "head_max")

#: Between a number and its unit.
NO_BREAK: Final = "\u00a0"
#: Looked for up to here: beyond the longest that is shown, and half the widest spacing. [m]
_LONGEST: Final = 612.0
#: What rounding in binary may take from a length that ends on a whole step.
_RESIDUE: Final = 1e-9
#: Round steps of a pressure by unit, coarse first.
_PRESSURE_STEPS: Final = {
    "psi": (5.0, 1.0),
    "bar": (0.5, 0.1, 0.05),
    "m of water": (5.0, 1.0, 0.1),
}


def water_temperature() -> str:
    """Return the water temperature of every table, as a form takes it."""
    return TEMPERATURE.default_for("metric")


@dataclass(frozen=True, kw_only=True)
class Pressure:
    """A pressure at the start of a line.

    Parameters
    ----------
    text : str
        As a form takes it: the number that is round, with its unit.
    head : float
        The same as head of water. [m]
    rated : bool
        Whether the line's emitter flow is stated at it.
    """

    text: str
    head: float
    rated: bool

    @property
    def label(self) -> str:
        """The pressure in its round unit, with the usual units behind it."""
        systems: tuple[UnitSystem, ...] = ("us", "metric")
        others = [
            format_value(self.head, "pressure", system)
            for system in systems
            if not self.text.endswith(system_unit("pressure", system))
        ]
        number, _, unit = self.text.partition(" ")
        return f"{number}{NO_BREAK}{tr(unit)} ({', '.join(others)})"


@dataclass(frozen=True, kw_only=True)
class RunTable:
    """All run lengths of one line.

    Parameters
    ----------
    device : Device
        The line.
    spacings : tuple of str
        Emitter spacings in which it is sold, as a form takes them.
    pressures : tuple of Pressure
        Pressures at the start of the line, rising.
    length : numpy.ndarray
        Longest runs [m], shape (spacings, `SLOPES`, pressures, `TARGETS`); 0 where not even
        one emitter keeps the limits.
    limit : numpy.ndarray of str
        What stops each of them, of `LIMITS`; "" where nothing did up to the longest length
        looked for.
    """

    device: Device
    spacings: tuple[str, ...]
    pressures: tuple[Pressure, ...]
    length: NDArray[np.float64]
    limit: NDArray[np.str_]


def spacing_text(spacing: float) -> str:
    """Return an emitter spacing [m] as a form takes it, in the unit in which it is whole."""
    for unit in ("cm", "in"):
        value = to_unit(spacing, "spacing", unit)
        if abs(value - round(value)) < _RESIDUE:
            return f"{round(value)} {unit}"
    return f"{to_unit(spacing, 'spacing', 'cm'):.6g} cm"


def spacing_label(text: str) -> str:
    """Return a spacing as people of either unit system read it: ``30 cm (12 in)``."""
    system: UnitSystem = "us" if text.endswith("cm") else "metric"
    other = format_value(parse(text, "spacing"), "spacing", system, 2)
    return f"{text.replace(' ', NO_BREAK)} ({other})"


def _round_between(wanted: float, low: float, high: float, steps: Sequence[float]) -> float | None:
    """Return the roundest number near `wanted` that lies between two others, if there is one."""
    for step in steps:
        value = round(wanted / step) * step
        if low + _RESIDUE < value < high - _RESIDUE:
            return value
    return None


def pressures_of(emitter: Emitter) -> tuple[Pressure, ...]:
    """Return the pressures worth a table: below the rated one, that one, and above it.

    Parameters
    ----------
    emitter : Emitter
        Its nominal head and the range that it is meant for.

    Returns
    -------
    tuple of Pressure
        One to three, rising.  The outer ones are the round numbers nearest to the geometric
        mean of the rated pressure and the end of the range: at the end itself the first
        metre of line, or the first fall, leaves the range.
    """
    nominal = emitter.head_nominal
    unit, steps = "m of water", _PRESSURE_STEPS["m of water"]
    for each, its_steps in _PRESSURE_STEPS.items():
        share = to_unit(nominal, "pressure", each) / its_steps[-1]
        if abs(share - round(share)) < _RESIDUE:
            unit, steps = each, its_steps
            break
    rated, least, most = (
        to_unit(head, "pressure", unit) for head in (nominal, emitter.head_min, emitter.head_max)
    )
    outer = (
        _round_between(math.sqrt(least * rated), least, rated, steps),
        rated,
        _round_between(math.sqrt(most * rated), rated, most, steps),
    )
    texts = [f"{value:.6g} {unit}" if value is not None else "" for value in outer]
    return tuple(
        Pressure(text=text, head=parse(text, "pressure"), rated=place == 1)
        for place, text in enumerate(texts)
        if text
    )


def run_table(device: Device) -> RunTable:
    """Work out all run lengths of one line, as `run_length_family` does.

    Parameters
    ----------
    device : Device
        The line.

    Returns
    -------
    RunTable
        A run keeps the uniformity wanted and the pressure range of the line at every emitter,
        with the water running or standing still; it is one whole spacing for each emitter, the
        first of them half a spacing from the header.

    Notes
    -----
    The limits are asked apart. The first length at which one of several limits fails is the
    smallest of those at which each fails, so that one call answers for every target and also
    says which limit it was.
    """
    emitter = device.emitter
    pressures = pressures_of(emitter)
    eus = [parse(target, "share") for target in TARGETS]
    # Beside the loosest target, which changes no answer, so that no line is followed further.
    ends = [
        RunLimits(eu=min(eus), head_min=emitter.head_min),
        RunLimits(eu=min(eus), head_max=emitter.head_max),
    ]
    found = run_length_family(
        [LineKind(emitter, device.diameter, barb_k=device.body_k)],
        device.spacings,
        [parse(slope, "slope") for slope in SLOPES],
        [pressure.head for pressure in pressures],
        [*eus, *ends],
        maximum_length=_LONGEST,
        viscosity=float(kinematic_viscosity(parse(water_temperature(), "temperature"))),
    )
    # Axis 0: the limits of LIMITS; those of pressure are the same for every target.
    counts, stops = (
        np.stack(np.broadcast_arrays(each[..., : len(eus)], each[..., -2:-1], each[..., -1:]))
        for each in (found.count[0], found.limited[0])
    )
    first = np.argmin(counts, axis=0)[None]
    least = np.take_along_axis(counts, first, axis=0)[0]
    stopped = np.take_along_axis(stops, first, axis=0)[0]
    spacings = np.asarray(device.spacings)
    return RunTable(
        device=device,
        spacings=tuple(spacing_text(spacing) for spacing in device.spacings),
        pressures=pressures,
        length=least * spacings[:, None, None, None],
        limit=np.where(stopped, np.asarray(LIMITS)[first[0]], ""),
    )


@lru_cache(maxsize=2)
def _tables(lines: tuple[Device, ...]) -> tuple[RunTable, ...]:
    return tuple(run_table(device) for device in lines)


def run_tables() -> tuple[RunTable, ...]:
    """Return the table of every line of the catalogue in use, in its order; worked out once."""
    return _tables(tuple(devices().values()))


def shown_length(length: float, system: UnitSystem) -> str:
    """Return a run length without its unit, rounded down to a whole foot or half a metre.

    Parameters
    ----------
    length : float
        Run length [m], at least 0.
    system : {"us", "metric"}
        Feet or metres.

    Returns
    -------
    str
        Such as ``"187"`` or ``"57.5"``; ``"over 600"`` beyond `MOST_SHOWN`; ``"none"`` where
        not even one step is left, both in the language in use.
    """
    value = to_unit(length, "length", system_unit("length", system))
    if value > MOST_SHOWN[system] + _RESIDUE:
        return tr("over {length}", length=MOST_SHOWN[system])
    step = STEPS[system]
    down = math.floor(value / step + _RESIDUE) * step
    return f"{down:g}" if down > 0.0 else tr("none")
