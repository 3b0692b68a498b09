"""The head assembly: what sits between the source and the main."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from evenrow.hydraulics._check import number

#: States of the regulator of an assembly.
NONE: Final = "none"
OPEN: Final = "open"
REGULATING: Final = "regulating"
BELOW_RANGE: Final = "below range"
ABOVE_RANGE: Final = "above range"


@dataclass(frozen=True)
class LossComponent:
    """A filter, valve, backflow preventer or the like.

    Parameters
    ----------
    name : str
        What it is called in results.
    nominal_flow : float
        Flow at which its loss is known [m3/s], more than 0.
    nominal_loss : float
        Head lost at that flow [m], at least 0.
    exponent : float
        Exponent of its loss by flow [-], 1 to 3.

    Raises
    ------
    InputError
        If a value is not finite or out of range.
    """

    name: str
    nominal_flow: float
    nominal_loss: float
    exponent: float = 2.0

    def __post_init__(self) -> None:
        number("nominal_flow", self.nominal_flow, 0.0, open_low=True, unit="m3/s")
        number("nominal_loss", self.nominal_loss, 0.0, unit="m")
        number("exponent", self.exponent, 1.0, 3.0)

    def loss(self, flow: float) -> tuple[float, float]:
        """Return head lost [m] and derivative [s/m2] at a flow [m3/s] of 0 or more.

        loss = nominal_loss * (flow / nominal_flow) ** exponent (common practice).
        """
        part = flow / self.nominal_flow
        slope = self.exponent * self.nominal_loss / self.nominal_flow
        return self.nominal_loss * part**self.exponent, slope * part ** (self.exponent - 1.0)


@dataclass(frozen=True)
class Regulator:
    """A pressure regulator.

    Parameters
    ----------
    name : str
        What it is called in results.
    set_head : float
        Head it keeps behind it while it regulates [m], more than 0.
    loss_nominal : float
        Head lost in it fully open at `nominal_flow` [m], at least 0.
    nominal_flow : float
        Flow of that loss [m3/s], more than 0.
    flow_min, flow_max : float
        Flows it is made for [m3/s], rising.

    Raises
    ------
    InputError
        If a value is not finite or out of range.
    """

    name: str
    set_head: float
    loss_nominal: float
    nominal_flow: float
    flow_min: float
    flow_max: float

    def __post_init__(self) -> None:
        number("set_head", self.set_head, 0.0, open_low=True, unit="m")
        number("loss_nominal", self.loss_nominal, 0.0, unit="m")
        number("nominal_flow", self.nominal_flow, 0.0, open_low=True, unit="m3/s")
        low = number("flow_min", self.flow_min, 0.0, unit="m3/s")
        number("flow_max", self.flow_max, low, open_low=True, unit="m3/s")

    def pass_on(self, head: float, slope: float, flow: float) -> tuple[float, float, bool]:
        """Return head and slope behind it, and whether it regulates.

        It passes on what is left after its open loss, at most the set head.
        """
        scale = self.loss_nominal / self.nominal_flow**2
        left = head - scale * flow * flow
        if left > self.set_head:
            return self.set_head, 0.0, True
        return left, slope - 2.0 * scale * flow, False

    def state(self, flow: float, regulates: bool) -> str:
        """Return the state in words: outside its flow range that comes first."""
        if flow > self.flow_max:
            return ABOVE_RANGE
        if flow < self.flow_min:
            return BELOW_RANGE
        return REGULATING if regulates else OPEN


Component = LossComponent | Regulator


def through(
    assembly: Sequence[Component], head: float, slope: float, flow: float
) -> tuple[list[float], float, str]:
    """Follow the head through an assembly.

    Parameters
    ----------
    assembly : sequence of LossComponent or Regulator
        In the order of the water.
    head, slope : float
        Head before it [m] and derivative by flow [s/m2].
    flow : float
        Flow [m3/s], at least 0.

    Returns
    -------
    heads : list of float
        Head after each component [m].
    slope : float
        Derivative of the last head by flow [s/m2].
    state : str
        State of the last regulator, "none" if there is none.

    Notes
    -----
    Sum of the component losses; a regulator cuts the head to its setting.
    """
    heads: list[float] = []
    state = NONE
    for part in assembly:
        if isinstance(part, Regulator):
            head, slope, regulates = part.pass_on(head, slope, flow)
            state = part.state(flow, regulates)
        else:
            loss, rate = part.loss(flow)
            head, slope = head - loss, slope - rate
        heads.append(head)
    return heads, slope, state
