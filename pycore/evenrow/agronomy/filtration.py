"""Filters: how fine, how large, and how long until they want flushing."""

from __future__ import annotations

import math

from evenrow.errors import InputError
from evenrow.hydraulics._check import number
from evenrow.hydraulics.constants import G
from evenrow.words import said

#: Sieve openings by mesh, finest last. [m] ASTM E11.
SIEVES = ((80, 180e-6), (100, 150e-6), (120, 125e-6), (140, 106e-6), (200, 75e-6))
#: A filter passes nothing wider than this share of the emitters' narrowest passage.
PASSAGE_SHARE = 1 / 7
#: The strict end of the same rule, for water that carries much or clings together.
STRICT_SHARE = 1 / 10
FINENESS_SOURCE = said(
    "a seventh to a tenth of the narrowest passage: NRCS NEH part 623 chapter 7 (from memory); "
    "openings: ASTM E11"
)

#: One US gallon a minute through one square foot of filter. [m/s]
_GPM_PER_FT2 = 3.785411784e-3 / 60.0 / 0.3048**2
#: Flow through each area of filter [m/s], the cautious and the bold end, by kind of filter.
RATES = {
    "screen": (150.0 * _GPM_PER_FT2, 200.0 * _GPM_PER_FT2),
    "media": (15.0 * _GPM_PER_FT2, 25.0 * _GPM_PER_FT2),
}
RATE_SOURCES = {
    "screen": said(
        "150 to 200 gal/min for each square foot: University of California, Maintenance of "
        "Microirrigation Systems, pressurized screen filters"
    ),
    "media": said(
        "15 to 25 gal/min for each square foot of bed, less for dirtier water: NRCS NEH part 623 "
        "chapter 7 (from memory)"
    ),
}

#: What a filter has caught: share of holes in it, weight of its grains. [-], [kg/m3]
#: A loose bed of quartz sand; common practice, no source.
POROSITY, GRAIN_DENSITY = 0.4, 2650.0
#: Dynamic viscosity of water at 20 °C [Pa s], and its density [kg/m3].
_VISCOSITY, _DENSITY = 1.0e-3, 1000.0


def fineness(passage: float, share: float = PASSAGE_SHARE) -> tuple[int, float, bool]:
    """Return mesh and opening [m] of the filter for an emitter passage.

    Parameters
    ----------
    passage : float
        Narrowest water passage of the emitters [m], more than 0.
    share : float
        The filter passes nothing wider than this share of it [-].

    Returns
    -------
    (int, float, bool)
        The coarsest of `SIEVES` that keeps `share`; the finest there is, and False, where
        none does.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    NRCS National Engineering Handbook, part 623, chapter 7: a seventh to a tenth of the
    passage (from memory). Openings: ASTM E11.
    """
    widest = number("passage", passage, 0.0, 1.0, open_low=True, unit="m") * number(
        "share", share, 0.0, 1.0, open_low=True
    )
    for mesh, opening in SIEVES:
        # A passage of exactly seven openings must not lose to the last bit of a float.
        if opening <= widest * (1.0 + 1e-9):
            return mesh, opening, True
    return (*SIEVES[-1], False)


def filter_area(flow: float, rate: float) -> float:
    """Return the area of filter that a flow needs [m2].

    Parameters
    ----------
    flow : float
        Largest flow [m3/s], at least 0.
    rate : float
        Flow through each area of filter [m/s], more than 0; see `RATES`.

    Raises
    ------
    InputError
        If an argument is out of range.
    """
    return number("flow", flow, 0.0, 1e3, unit="m3/s") / number(
        "rate", rate, 0.0, 100.0, open_low=True, unit="m/s"
    )


def cake_thickness(extra_head: float, rate: float, grain: float) -> float:
    """Return how thick a layer of what is caught costs so much pressure [m].

    Parameters
    ----------
    extra_head : float
        Loss that the layer may add [m], at least 0.
    rate : float
        Flow through each area of filter [m/s], more than 0.
    grain : float
        Diameter of what is caught [m], more than 0; not below the opening of the filter.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Kozeny (1927) and Carman (1937): ``dp / L = 180 mu (1 - e)^2 v / (e^3 d^2)``, with a
    share of holes e of `POROSITY` and water at 20 °C.
    """
    head = number("extra_head", extra_head, 0.0, 1e3, unit="m")
    v = number("rate", rate, 0.0, 100.0, open_low=True, unit="m/s")
    d = number("grain", grain, 0.0, 0.1, open_low=True, unit="m")
    per_metre = 180.0 * _VISCOSITY * (1.0 - POROSITY) ** 2 * v / (POROSITY**3 * d**2)
    return _DENSITY * G * head / per_metre


def flushing_interval(
    extra_head: float, rate: float, grain: float, suspended: float, held: float
) -> float:
    """Return how long a clean filter runs until it has lost what it may lose [s].

    Parameters
    ----------
    extra_head, rate, grain
        As in `cake_thickness`.
    suspended : float
        Suspended solids in the water [kg/m3], at least 0.
    held : float
        Share of them that the filter holds back [-], 0 to 1.

    Returns
    -------
    float
        Time of running; inf where nothing is held.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    The layer of `cake_thickness` over what arrives on each area, ``held * suspended * rate``:
    a balance of mass. An order of magnitude: slime closes a filter sooner than sand does,
    and a bed of sand stores more than its surface.
    """
    thickness = cake_thickness(extra_head, rate, grain)
    carried = number("suspended", suspended, 0.0, 1e3, unit="kg/m3")
    arriving = carried * number("held", held, 0.0, 1.0) * rate
    if arriving == 0.0:
        return math.inf
    return thickness * GRAIN_DENSITY * (1.0 - POROSITY) / arriving


def filter_kind(water: str, suspended_hazard: int) -> tuple[str, str]:
    """Return which kind of filter suits a water, and why.

    Parameters
    ----------
    water : {"well", "municipal", "tank", "open"}
        Where it comes from; ``"open"`` is a pond, a stream or a canal.
    suspended_hazard : int
        Class of its suspended solids, 0 slight to 2 severe; see `water_quality.hazard`.

    Returns
    -------
    (str, str)
        ``"screen"``, ``"disc"`` or ``"media"``, and the reason in a sentence, in English.

    Raises
    ------
    InputError
        For an unknown water.

    Notes
    -----
    University of California, Maintenance of Microirrigation Systems: a screen is the cheapest
    for groundwater, and clogs quickly on surface water with organic matter, which a sand media
    filter or a screen that flushes itself suits. The rest is common practice, no source.
    """
    if water == "open":
        if suspended_hazard > 0:
            return "media", said(
                "algae and slime lie through a bed of sand, and blind a screen at once"
            )
        return "disc", said(
            "open water brings algae, also when it looks clear: discs hold more of it"
        )
    if water in ("well", "municipal", "tank"):
        if suspended_hazard > 1:
            return "media", said(
                "so much suspended matter would blind a screen or discs within hours"
            )
        if suspended_hazard == 1:
            return "disc", said("discs hold more than a screen before they want cleaning")
        return "screen", said("clean water with a few grains in it: the simplest filter will do")
    raise InputError(
        "there is no such water",
        code="not_a_choice",
        field="water",
        given=water,
        accepted="well, municipal, tank, open",
    )
