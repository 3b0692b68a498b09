"""What the catalogue holds, in SI: devices, pipes, parts of a head assembly."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from evenrow.hydraulics.emitter import Emitter


@dataclass(frozen=True, kw_only=True)
class Device:
    """A tape or dripline: a line with emitters built in.

    Parameters
    ----------
    code, label : str
        Name in files, name on screen.
    kind : str
        ``"tape"`` (thin wall, laid straight) or ``"dripline"``.
    diameter, wall : float
        Inside diameter and wall thickness. [m]
    emitter : Emitter
        Flow law, pressure range and manufacturing CV of one emitter.
    spacings : tuple of float
        Emitter spacings in which it is usually sold. [m]
    passage : float
        Narrowest water passage of an emitter. [m]
    body_k : float
        Loss coefficient of one emitter's body on the velocity head in the line before it [-].
    coils : tuple of float
        Lengths in which it is sold, rising. [m]
    prices : tuple of float
        Price of each of those coils in the catalogue's currency; empty where unknown.
    mass : float or None
        Mass of a metre [kg/m].
    source : str
        Where its figures come from.
    """

    code: str
    label: str
    kind: str
    diameter: float
    wall: float
    emitter: Emitter
    spacings: tuple[float, ...]
    passage: float
    coils: tuple[float, ...]
    body_k: float = 0.0
    prices: tuple[float, ...] = ()
    mass: float | None = None
    source: str = ""


#: Share of a pipe's rating that it may work at where surges are not worked out, and the velocity up
#: to which that share covers them, 5 ft/s [m/s]. NRCS conservation practice standard 430 and ASABE
#: S376 (from memory).
SURGE_SHARE = 0.72
SURGE_VELOCITY = 5.0 * 0.3048


@dataclass(frozen=True, kw_only=True)
class PipeSize:
    """A size of main or header pipe; `bore` and `coils` in metres, `head_max` in metres.

    `clamped` tells whether each end on a fitting takes a clamp.  `prices` holds the price of
    each coil in the catalogue's currency, empty where unknown, and `mass` is that of a metre
    [kg/m]; `source` tells where the figures come from.
    """

    code: str
    label: str
    bore: float
    head_max: float
    coils: tuple[float, ...]
    clamped: bool
    prices: tuple[float, ...] = ()
    mass: float | None = None
    source: str = ""

    @property
    def area(self) -> float:
        """Area of the bore [m2]."""
        return pi / 4 * self.bore**2

    @property
    def working_max(self) -> float:
        """Highest head that it may see beside surges [m], `SURGE_SHARE` of its rating."""
        return SURGE_SHARE * self.head_max


@dataclass(frozen=True, kw_only=True)
class AssemblyPart:
    """A part of a head assembly with its flow range and its loss.

    Parameters
    ----------
    code, kind, label, size : str
        Name in files, trade name of its kind, name on screen, nominal thread.
    flow, loss : float
        Flow at which `loss` was stated, and that loss. [m3/s], [m]
    flow_min, flow_max : float
        Range in which it works. [m3/s]
    dirty : float
        Further loss to allow before a filter is cleaned. [m]
    set_head : float or None
        Outlet head that a regulator holds. [m]
    margin : float
        What a regulator needs before it beyond `set_head`, 0 for other parts. [m]
    head_min : float
        Lowest head before it at which a zone valve opens and closes, 0 for other parts. [m]
    head_max : float or None
        Highest head that it bears; None where that is not known. [m]
    price, mass : float or None
        Of one piece, in the catalogue's currency and in kilograms.
    source : str
        Where its figures come from.
    """

    code: str
    kind: str
    label: str
    size: str
    flow: float
    loss: float
    flow_min: float
    flow_max: float
    dirty: float = 0.0
    set_head: float | None = None
    margin: float = 0.0
    head_min: float = 0.0
    head_max: float | None = None
    price: float | None = None
    mass: float | None = None
    source: str = ""

    def bears(self, head: float) -> bool:
        """Return whether it bears a head [m]; a part of which nothing is known does."""
        return self.head_max is None or head <= self.head_max


@dataclass(frozen=True, kw_only=True)
class Fitting:
    """A part that is counted and has no hydraulics of its own.

    Parameters
    ----------
    code, kind, label : str
        Name in files, trade name of its kind (``"tee"``, ``"take-off"``, …), generic description.
    fits : str
        Code of the pipe, line or head part, kind of line (``"tape"``, ``"dripline"``) or
        thread that it fits, or "" for any.
    to : str
        What is on its other side: the smaller pipe of a reducer, the thread of an adapter;
        "" where both sides are the same.
    price, mass : float or None
        Of one piece, in the catalogue's currency and in kilograms.
    pack : int
        Pieces in the smallest pack that is sold.
    unit : str
        ``"piece"``, or ``"metre"`` for what is cut from a roll: a piece is then a metre.
    stations : int or None
        Zone valves that a controller can run.
    stocked : bool
        Whether whoever keeps the catalogue has it; what is not stocked is still needed.
    source : str
        Where its figures come from.
    """

    code: str
    kind: str
    label: str
    fits: str = ""
    to: str = ""
    price: float | None = None
    mass: float | None = None
    pack: int = 1
    unit: str = "piece"
    stations: int | None = None
    stocked: bool = True
    source: str = ""
