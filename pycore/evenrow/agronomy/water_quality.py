"""How readily a water clogs emitters, by the classes of published tables."""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenrow.errors import InputError
from evenrow.hydraulics._check import number
from evenrow.words import said

#: Classes, in order.
SLIGHT, MODERATE, SEVERE = 0, 1, 2
CLASS_NAMES = (said("slight"), said("moderate"), said("severe"))

#: One milligram a litre. [kg/m3]
MG_PER_L = 1e-3
#: One count a millilitre. [1/m3]
PER_ML = 1e6
#: Two values nearer than this share of themselves are the same reading.
_SAME = 1e-9

TABLE_SOURCE = said(
    "Bucks, Nakayama and Gilbert (1979), Agric. Water Manage. 2, 149–162; FAO Irrigation and "
    "Drainage Paper 29 Rev. 1 (1985), table 19 (both from memory; the same figures were read in "
    "print that quotes them)"
)
STRICTER_SOURCE = said("Pitts, Haman and Smajstrla (1990), as University of Florida printed it")
HARDNESS_SOURCE = said("extension bulletins, 150 and 300 mg/L as calcium carbonate (from memory)")


@dataclass(frozen=True)
class Bounds:
    """Where the classes of one constituent meet.

    Parameters
    ----------
    moderate : float
        Below it the hazard is slight.
    severe : float
        Above it the hazard is severe. Both in SI: kg/m3, 1/m3 for bacteria, pH as it is.
    source : str
        Where the bounds are published.
    """

    moderate: float
    severe: float
    source: str = TABLE_SOURCE


def _mg(moderate: float, severe: float, source: str = TABLE_SOURCE) -> Bounds:
    return Bounds(moderate * MG_PER_L, severe * MG_PER_L, source)


#: Bounds by constituent, in the order of a report.
BOUNDS = {
    "ph": Bounds(7.0, 8.0),
    "suspended": _mg(50.0, 100.0),
    "dissolved": _mg(500.0, 2000.0),
    "iron": _mg(0.1, 1.5),
    "manganese": _mg(0.1, 1.5),
    "sulphide": _mg(0.5, 2.0),
    "hardness": _mg(150.0, 300.0, HARDNESS_SOURCE),
    "bacteria": Bounds(10_000.0 * PER_ML, 50_000.0 * PER_ML),
}
#: Where a later table draws a bound lower.
STRICTER = {
    "ph": Bounds(7.0, 7.5, STRICTER_SOURCE),
    "sulphide": _mg(0.2, 2.0, STRICTER_SOURCE),
}


def _bounds(constituent: str, stricter: bool) -> Bounds:
    if constituent not in BOUNDS:
        raise InputError(
            "there is no class for this constituent",
            code="not_a_choice",
            field="constituent",
            given=constituent,
            accepted=", ".join(BOUNDS),
        )
    found = BOUNDS[constituent]
    return STRICTER.get(constituent, found) if stricter else found


def hazard(
    constituent: str,
    value: float,
    *,
    below: bool = False,
    above: bool = False,
    stricter: bool = False,
) -> int:
    """Return the class of one reading: 0 slight, 1 moderate, 2 severe.

    Parameters
    ----------
    constituent : str
        Key of `BOUNDS`.
    value : float
        Reading in SI, at least 0: kg/m3, 1/m3 for bacteria, pH as it is; inf is severe.
    below : bool
        Whether the report says "less than `value`": then the class of what lies just under it.
    above : bool
        Whether it says "more than `value`": then the class of what lies just over it.
    stricter : bool
        By the lower bounds of `STRICTER` where there are any.

    Raises
    ------
    InputError
        For an unknown constituent or a value that is no number of at least 0.

    Notes
    -----
    The tables print "< 50", "50 to 100", "> 100": the bounds themselves are moderate. See
    `TABLE_SOURCE`, `HARDNESS_SOURCE`, `STRICTER_SOURCE`.
    """
    bounds = _bounds(constituent, stricter)
    if value == math.inf:
        return SEVERE
    reading = number("value", value, 0.0)
    slack = -_SAME if below else _SAME
    if reading > bounds.severe * (1.0 + (-_SAME if above else _SAME)):
        return SEVERE
    # A bound that is only just reached counts as reached, unless the reading lies below it.
    if reading * (1.0 + slack) >= bounds.moderate:
        return MODERATE
    return SLIGHT


def dissolved_solids(conductivity: float) -> float:
    """Return the dissolved solids that an electrical conductivity stands for [kg/m3].

    Parameters
    ----------
    conductivity : float
        At 25 °C [S/m], at least 0; 1 dS/m is 0.1 S/m.

    Raises
    ------
    InputError
        If it is out of range.

    Notes
    -----
    FAO Irrigation and Drainage Paper 29 Rev. 1 (1985): 640 mg/L for each dS/m (from memory);
    above 5 dS/m 800 is usual (common practice, no source).
    """
    ec = number("conductivity", conductivity, 0.0, 100.0, unit="S/m")
    return ec * (6.4 if ec < 0.5 else 8.0)


def lime_may_settle(ph: float, bicarbonate: float) -> bool:
    """Return whether carbonate of lime is likely to settle in the emitters.

    Parameters
    ----------
    ph : float
        Of the water [-].
    bicarbonate : float
        In it [kg/m3].

    Notes
    -----
    pH above 7.5 and more than 2 meq/L (120 mg/L) of bicarbonate: Schwankl, University of
    California Cooperative Extension, Maintenance of Microirrigation Systems.
    """
    return ph > 7.5 and bicarbonate > 2.0 * 61.017 * MG_PER_L


def iron_may_settle(ph: float, iron: float) -> bool:
    """Return whether iron is likely to settle as ochre: pH above 4 and 0.5 mg/L or more.

    Parameters
    ----------
    ph : float
        Of the water [-].
    iron : float
        In it [kg/m3].

    Notes
    -----
    Schwankl, as `lime_may_settle`.
    """
    return ph > 4.0 and iron * (1.0 + _SAME) >= 0.5 * MG_PER_L
