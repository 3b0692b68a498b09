"""How far a header may run, and how many laterals it may feed."""

from __future__ import annotations

from evenrow.hydraulics._check import number
from evenrow.hydraulics.constants import ROUGHNESS_SMOOTH, VISCOSITY_20C
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral
from evenrow.hydraulics.laws import FrictionLaw
from evenrow.hydraulics.run_length import RunLength, RunLimits, longest_run


def takeoff_of(lateral: Lateral, inlet_head: float) -> Emitter:
    """Return a lateral as one outlet of a header, a power law of its inlet head.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    inlet_head : float
        Pressure head at its inlet about which the law is to hold [m], more than 0.

    Returns
    -------
    Emitter
        With the flow of the lateral at that head and its slope there; exact at
        `inlet_head`, of second order away from it. The exponent is kept within 0.01 to 1.

    Raises
    ------
    InputError
        If the head is not finite or out of range, or nothing flows at it.
    """
    head = number("inlet_head", inlet_head, 0.0, 10_000.0, open_low=True, unit="m")
    solved = solve_lateral(lateral, head)
    flow = number("inlet_head", solved.inlet_flow, 0.0, open_low=True, unit="m3/s of inflow")
    exponent = min(max(float(solved.inlet_flow_slope) * head / flow, 0.01), 1.0)
    return Emitter(flow, head, exponent, 0.0, 0.0, 10_000.0)


def longest_header(
    takeoff: Emitter,
    spacing: float,
    diameter: float,
    inlet_head: float,
    *,
    limits: RunLimits,
    slope: float = 0.0,
    first_spacing: float | None = None,
    maximum_length: float = 1500.0,
    roughness: float = ROUGHNESS_SMOOTH,
    viscosity: float = VISCOSITY_20C,
    takeoff_k: float = 0.0,
    friction: str | FrictionLaw = "churchill",
) -> RunLength:
    """Return the most take-offs in a row that keep every limit, and the header's length.

    Parameters
    ----------
    takeoff : Emitter
        What one take-off gives at a head in the header; `takeoff_of` makes it of a
        lateral (add two laterals by `Emitter.several`).
    spacing, diameter : float
        Distance between take-offs and inside diameter of the header [m].
    inlet_head : float
        Pressure head at the inlet of the header [m], more than 0.
    limits : RunLimits
        The limits along the header, `head_variation` for the usual limit of pressure.
    slope : float
        Rise per length toward the far end [-].
    first_spacing : float, optional
        Distance from the inlet to the first take-off [m]; a full spacing if left out.
    maximum_length, roughness, viscosity, friction
        As of `longest_run`.
    takeoff_k : float
        Loss of one take-off to the flow that passes it, on the velocity head [-].

    Returns
    -------
    RunLength
        `count` is the number of take-offs.

    Raises
    ------
    InputError
        If an argument is not finite or out of range.
    ConvergenceError
        If a header cannot be solved.

    Notes
    -----
    As `longest_run`: counted from zero up to just before the first failure.
    """
    return longest_run(
        takeoff, spacing, diameter, inlet_head, slope=slope, limits=limits,
        maximum_length=maximum_length, roughness=roughness, viscosity=viscosity,
        first_spacing=spacing if first_spacing is None else first_spacing,
        barb_k=takeoff_k, friction=friction,
    )  # fmt: skip
