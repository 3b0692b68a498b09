"""A lateral whose inlet flow is given instead of its inlet head."""

from __future__ import annotations

from evenrow.errors import ConvergenceError, InputError
from evenrow.hydraulics._check import number
from evenrow.hydraulics.lateral import Lateral, LateralSolution, solve_lateral
from evenrow.words import tr

_HIGHEST = 10_000.0  # [m] the largest head `solve_lateral` takes
_MAX_TRIALS = 100
_SETTLED = 1e-10


def solve_lateral_for_flow(lateral: Lateral, inlet_flow: float) -> LateralSolution:
    """Solve a lateral for the flow that enters it.

    Parameters
    ----------
    lateral : Lateral
        The lateral.
    inlet_flow : float
        Flow into the lateral [m3/s], more than 0. With compensating emitters less than
        they give when all compensate: from there on the flow does not tell the head.

    Returns
    -------
    LateralSolution
        With the inlet head found, arrays of shape (count,); its flow is met to 1e-10.

    Raises
    ------
    InputError
        If the flow is not finite, not above 0, or more than the line can take.
    ConvergenceError
        If no inlet head can be found.

    Notes
    -----
    The inlet flow rises with the inlet head; Newton's method on its exact slope, kept
    inside a bracket.
    """
    target = number("inlet_flow", inlet_flow, 0.0, open_low=True, unit="m3/s")
    device = lateral.emitter
    if device.compensating and target > lateral.count * device.flow_nominal * (1.0 - 1e-9):
        raise _too_much(target, lateral.count * device.flow_nominal)
    each = target / lateral.count
    head = min(max(device.head_giving(each), 1e-3), _HIGHEST)
    low = min(0.0, float(lateral.line.rise.min()))
    high = _HIGHEST
    for _ in range(_MAX_TRIALS):
        found = solve_lateral(lateral, head)
        flow = float(found.inlet_flow)
        if abs(flow - target) <= _SETTLED * target:
            return found
        if flow < target:
            low = head
            if head >= _HIGHEST:
                raise _too_much(target, flow)
        else:
            high = head
        slope = float(found.inlet_flow_slope)
        new = head + (target - flow) / slope if slope > 0.0 else high
        # From below a step may go far beyond, from a dry line anywhere: at most tenfold.
        new = min(new, 10.0 * max(head, 0.0) + 10.0, _HIGHEST)
        inside = low < new < high or new == _HIGHEST
        head = new if inside else 0.5 * (low + min(high, _HIGHEST))
        if high - low <= 1e-13 * max(high, 1.0):
            break
    raise ConvergenceError(
        tr("no inlet head gives a flow of {target:.6g} m3/s", target=target), code="not_converged",
        hint=tr("report this line with its inputs"),
    )  # fmt: skip


def _too_much(given: float, most: float) -> InputError:
    """Return the error for a flow beyond the line."""
    return InputError(
        tr("is more than the line can take"), code="out_of_range", field="inlet_flow", given=given,
        accepted=tr("more than 0 and less than {most:.6g} m3/s", most=most),
    )  # fmt: skip
