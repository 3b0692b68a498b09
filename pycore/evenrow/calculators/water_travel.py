"""How long the water takes from the injector to the last emitter of a line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from evenrow.agronomy.injection import pipe_travel_time
from evenrow.design.line import Line, line_of
from evenrow.errors import InputError
from evenrow.hydraulics.lateral import solve_lateral
from evenrow.units import UnitSystem, format_value
from evenrow.words import tr


def travel_time(inputs: Mapping[str, Any], system: UnitSystem) -> tuple[float, str]:
    """Return how long the water takes to the last emitter [s], and how that was had.

    Raises
    ------
    InputError
        Something that is needed for it is missing, or no water arrives.
    """
    travel = inputs["travel"]
    if travel["by"] == "time":
        if travel["time"] is None:
            raise InputError(tr("the travel time is missing"), code="missing", field="travel.time")
        return travel["time"], tr("As given.")
    if inputs["line"]["spacing"] is None:
        raise InputError(tr("the emitter spacing is missing"), code="missing", field="line.spacing")
    if travel["length"] is None:
        raise InputError(tr("the length is missing"), code="missing", field="travel.length")
    line = line_of(inputs["line"], 15.0)
    time = _line_time(line, travel, inputs["ground"]["row_slope"], system)
    if travel["main"]:
        if travel["bore"] is None:
            raise InputError(
                tr("the inside diameter is missing"), code="missing", field="travel.bore"
            )
        time += pipe_travel_time(travel["main"], travel["bore"], inputs["flow"])
        return time, tr(
            "Distance over velocity along the line, emitter by emitter, with the line full; before "
            "it the volume of the pipe over the flow. Slow water at the closed end takes most of "
            "it."
        )
    return time, tr(
        "Distance over velocity along the line, emitter by emitter, with the line full. Slow water "
        "at the closed end takes most of it."
    )


def _line_time(line: Line, travel: Mapping[str, Any], slope: float, system: UnitSystem) -> float:
    emitter = line.device.emitter
    head = emitter.head_nominal if travel["pressure"] is None else travel["pressure"]
    if head > emitter.head_max:
        raise InputError(
            tr("this line does not bear that pressure"),
            code="out_of_range",
            field="travel.pressure",
            accepted=tr(
                "up to {pressure}", pressure=format_value(emitter.head_max, "pressure", system)
            ),
        )
    try:
        lateral = line.lateral(travel["length"], slope=slope)
    except InputError as error:
        raise error.at("travel.length") from None
    time = float(solve_lateral(lateral, head).travel_time)
    if not np.isfinite(time):
        raise InputError(
            tr("no water reaches the end of that line"),
            code="no_flow",
            field="travel.pressure",
            hint=tr("more pressure, or a shorter line"),
        )
    return time
