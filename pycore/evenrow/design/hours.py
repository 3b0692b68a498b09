"""How long the zones have to run to give the rows what they need."""

from __future__ import annotations

from collections.abc import Sequence

from evenrow.design.apart import apart
from evenrow.design.field import Field
from evenrow.design.model import Shortfall, ZoneState
from evenrow.words import said, tr

RULE = said(
    "Depth needed over the ground of the zone's rows, more by the emission uniformity so that the "
    "least-watered plants get it too, over the flow of the zone."
)
SOURCE = said("gross depth = net depth / EU: Keller and Bliesner (1990), chapter 20 (from memory)")


def watering_times(field: Field, zones: Sequence[ZoneState]) -> tuple[float, ...]:
    """Return how long each zone runs on the hottest day [s].

    Parameters
    ----------
    field : Field
        Its `watering.depth` over each row's length and width is the need.
    zones : sequence of ZoneState
        The zones as solved, flowing.
    """
    return tuple(
        field.watering.depth
        * sum(row.length * row.width for row in field.rows[slice(*zone.layout.rows)])
        / (zone.eu * zone.flow)
        for zone in zones
    )


def window_shortfall(field: Field, zones: Sequence[ZoneState]) -> Shortfall | None:
    """Return by how much the zones one after another overrun the window, or None."""
    window = field.watering.window
    if window is None:
        return None
    needed = sum(watering_times(field, zones))
    if needed <= window * (1.0 + 1e-9):
        return None
    need, given = apart(needed, window, "hours", field.system)
    return Shortfall(
        limit=LIMIT,
        text=tr(
            "all zones together need {needed} on the hottest day, and there are {window}",
            needed=need,
            window=given,
        ),
        cure="",
    )


#: Name of the limit that a window is.
LIMIT = "hours of the window"
