"""How much of a season's water dries off the ground: transpiration and evaporation apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.dual import (
    evaporable_water,
    evaporation,
    ground_cover,
    largest_coefficient,
)
from evenrow.calculators.result import Number
from evenrow.calculators.watering_days import SeasonDays, day_of_plain_year
from evenrow.calculators.watering_plan import Watering
from evenrow.words import said, tr

FloatArray = NDArray[np.float64]

#: Wind at 2 m [m/s] and lowest humidity [-] of the climate that the tables are for.
_WIND, _DRIEST = 2.0, 0.45
#: Height of what has just come up [m].
_SEEDLING = 0.05
_SOURCE = said("FAO-56, chapter 7 (eq. 69 to 79), tables 12, 17 and 19")


@dataclass(frozen=True)
class Apart:
    """Water of a season by where it leaves, over the whole ground [m]."""

    leaves: float
    ground: float


def season_apart(plan: Watering, found: SeasonDays) -> Apart | None:
    """Return what leaves through plants, and what dries off the ground, on the days watered.

    Parameters
    ----------
    plan : Watering
        The plan.
    found : SeasonDays
        Its season, day by day; watered when the soil asks.

    Returns
    -------
    Apart or None
        None where the tables have no basal coefficient of the crop or no surface of the soil.

    Notes
    -----
    FAO-56, chapter 7, for the climate of the tables (2 m/s, 45 %), emitters under the plants,
    10 cm of soil that dries. Mulch takes of the evaporation what chapter 10 takes of it: film the
    whole of its share, straw half.
    """
    crop, ground = plan.season.crop, plan.soil
    basal = plan.season.kcb_by_day
    if basal is None or crop.height is None or ground.evaporable is None:
        return None
    if ground.field_capacity is None or ground.wilting_point is None:
        return None
    kcb = basal[day_of_plain_year(found.dates)]
    height = np.maximum(crop.height * np.minimum(kcb / kcb.max(), 1.0), _SEEDLING)
    top = largest_coefficient(kcb, _WIND, _DRIEST, height)
    tew = evaporable_water(sum(ground.field_capacity) / 2.0, sum(ground.wilting_point) / 2.0)
    rew = np.minimum(sum(ground.evaporable) / 2.0, 0.9 * tew)
    dried = evaporation(
        kcb,
        top,
        ground_cover(kcb, top, height),
        found.eto,
        found.asked.rain,
        found.asked.irrigation,
        tew=tew,
        rew=rew,
        wetted_share=plan.wetted,
    )
    bare = 1.0 - plan.season.kept * plan.season.mulched
    return Apart(
        leaves=float((kcb * found.eto * found.asked.stress).sum()),
        ground=bare * float(dried.evaporation.sum()),
    )


def apart_numbers(apart: Apart | None) -> tuple[Number, ...]:
    """Return them as figures of an answer; none where they are not known."""
    if apart is None:
        return ()
    whole = apart.leaves + apart.ground
    return (
        Number(
            name="day_dual",
            label=tr("The same with leaves and ground reckoned apart"),
            value=whole,
            kind="water_depth",
            rule=tr(
                "Basal coefficient of the leaves, and what dries off the ground that rain and "
                "emitters wet, in the climate of the tables. Beside the use above it tells how "
                "much hangs on wetted ground and mulch."
            ),
            source=tr(_SOURCE),
        ),
        Number(
            name="day_dried",
            label=tr("Of it dried off the ground"),
            value=apart.ground / whole if whole > 0.0 else 0.0,
            kind="share",
            digits=2,
            rule=tr(
                "Less of it with narrower wet strips, under leaves, under mulch, and with longer "
                "waterings less often."
            ),
            source=tr(_SOURCE),
        ),
    )
