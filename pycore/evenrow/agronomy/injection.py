"""Chlorine, acid and fertiliser into the water: how fast, how much, and for how long."""

from __future__ import annotations

import math

from evenrow.hydraulics._check import number

#: Atomic and molar masses. [g/mol] Standard atomic weights, rounded.
_CHLORINE, _IRON, _MANGANESE, _SULPHIDE = 70.906, 55.845, 54.938, 34.081
#: Chlorine that oxidises one part of each by mass [-]: 2 Fe + Cl2, Mn + Cl2, H2S + 4 Cl2.
CHLORINE_FOR = {
    "iron": _CHLORINE / (2.0 * _IRON),
    "manganese": _CHLORINE / _MANGANESE,
    "sulphide": 4.0 * _CHLORINE / _SULPHIDE,
}
#: Acidity constant of hypochlorous acid at 25 °C.
HYPOCHLOROUS_PKA = 7.53
#: Available chlorine that one per cent of a liquid stands for. [kg/m3]
PER_CENT = 10.0


def _share(value: float) -> float:
    return number("share", value, 0.0, 1.0, open_low=True)


def liquid_strength(share: float) -> float:
    """Return the available chlorine in a liquid sold by per cent [kg/m3].

    Parameters
    ----------
    share : float
        Per cent on the label as a fraction [-], more than 0: 0.0525 for 5.25 %.

    Raises
    ------
    InputError
        If it is out of range.

    Notes
    -----
    Trade per cent: each stands for 10 g of available chlorine in a litre (Indiana
    Administrative Code, 327 IAC 8-3.4-24). A label that means per cent by mass has up to a
    fifth more, as the liquid is heavier than water.
    """
    return _share(share) * 100.0 * PER_CENT


def stock_strength(mass: float, share: float, volume: float) -> float:
    """Return how strong a stock solution is [kg/m3].

    Parameters
    ----------
    mass : float
        Of what was dissolved [kg], more than 0.
    share : float
        Of it that counts, such as available chlorine or nitrogen [-], more than 0.
    volume : float
        Of the finished solution [m3], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.
    """
    return (
        number("mass", mass, 0.0, 1e6, open_low=True, unit="kg")
        * _share(share)
        / number("volume", volume, 0.0, 1e6, open_low=True, unit="m3")
    )


def solid_needed(volume: float, dose: float, share: float) -> float:
    """Return the mass of a solid that brings a volume of water to a dose [kg].

    Parameters
    ----------
    volume : float
        Of water [m3], at least 0.
    dose : float
        Wanted in it [kg/m3], at least 0.
    share : float
        Of the solid that counts [-], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.
    """
    return (
        number("volume", volume, 0.0, 1e9, unit="m3")
        * number("dose", dose, 0.0, 1e3, unit="kg/m3")
        / _share(share)
    )


def injection_rate(flow: float, dose: float, strength: float) -> float:
    """Return the flow of a stock that brings the water to a dose [m3/s].

    Parameters
    ----------
    flow : float
        Of the water [m3/s], at least 0.
    dose : float
        Wanted in it [kg/m3], at least 0.
    strength : float
        Of the stock [kg/m3], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    ``rate = flow * dose / strength``, a balance of mass. In US units, for a liquid of S per
    cent, ``0.006 Q C / S`` in gal/h (Q in gal/min, C in mg/L): Goyal (ed.), Management,
    Performance, and Applications of Micro Irrigation Systems, chapter 7.
    """
    return (
        number("flow", flow, 0.0, 1e3, unit="m3/s")
        * number("dose", dose, 0.0, 1e3, unit="kg/m3")
        / number("strength", strength, 0.0, 1e4, open_low=True, unit="kg/m3")
    )


def titrated_rate(flow: float, acid: float, sample: float) -> float:
    """Return the flow of acid that a titration asks for [m3/s].

    Parameters
    ----------
    flow : float
        Of the water [m3/s], at least 0.
    acid : float
        Volume of the same acid that brought the sample to the pH wanted [m3], at least 0.
    sample : float
        Volume of water titrated [m3], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Proportion. Titration, and not a formula, is the published way, because each water buffers
    acid in its own way: University of California, Maintenance of Microirrigation Systems.
    """
    return (
        number("flow", flow, 0.0, 1e3, unit="m3/s")
        * number("acid", acid, 0.0, 1e3, unit="m3")
        / number("sample", sample, 0.0, 1e6, open_low=True, unit="m3")
    )


def hypochlorous_share(ph: float) -> float:
    """Return the share of free chlorine that is hypochlorous acid, the part that kills [-].

    Parameters
    ----------
    ph : float
        Of the water, 0 to 14.

    Raises
    ------
    InputError
        If it is out of range.

    Notes
    -----
    ``1 / (1 + 10^(pH - pKa))`` with pKa 7.53 (25 °C).
    """
    return 1.0 / (1.0 + math.pow(10.0, number("ph", ph, 0.0, 14.0) - HYPOCHLOROUS_PKA))


def chlorine_demand(iron: float = 0.0, manganese: float = 0.0, sulphide: float = 0.0) -> float:
    """Return the chlorine that dissolved iron, manganese and sulphide use up first [kg/m3].

    Parameters
    ----------
    iron, manganese, sulphide : float
        In the water [kg/m3], at least 0; sulphide as hydrogen sulphide.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Stoichiometry of `CHLORINE_FOR`, hydrogen sulphide as far as sulphate, which is the most it
    takes. Living matter uses up more, and only a test at the far end tells how much.
    """
    given = {"iron": iron, "manganese": manganese, "sulphide": sulphide}
    return math.fsum(
        CHLORINE_FOR[name] * number(name, value, 0.0, 1e3, unit="kg/m3")
        for name, value in given.items()
    )


def pipe_travel_time(length: float, bore: float, flow: float) -> float:
    """Return how long water takes through a full pipe [s].

    Parameters
    ----------
    length : float
        Of the pipe [m], at least 0.
    bore : float
        Inside diameter [m], more than 0.
    flow : float
        In it [m3/s], more than 0.

    Raises
    ------
    InputError
        If an argument is out of range.
    """
    d = number("bore", bore, 0.0, 10.0, open_low=True, unit="m")
    return (
        number("length", length, 0.0, 1e6, unit="m")
        * 0.25
        * math.pi
        * d**2
        / number("flow", flow, 0.0, 1e3, open_low=True, unit="m3/s")
    )
