"""What a watering plan is made of: zones, periods, rules and the supply.

Depths are over the whole ground of the plants [m], flows m3/s, volumes m3, times s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from numpy.typing import ArrayLike

from evenrow.agronomy.climate import DAYS_IN_MONTH
from evenrow.errors import InputError
from evenrow.hydraulics._check import array, number, whole

#: Seconds of a day.
DAY = 86_400.0


@dataclass(frozen=True, kw_only=True)
class PlantedZone:
    """What one zone waters.

    Parameters
    ----------
    area : float
        Ground of its plants [m2]: plants times the ground of each.
    plants : float
        How many plants.
    flow : float
        Flow of the zone [m3/s].
    taw : float
        Water that its wetted root zone holds, as a depth over the whole ground [m]; see
        `soil.total_available`.
    p : float
        Share of it used without stress at 5 mm/day [-], table 22 of FAO-56; it is adjusted to
        each period's use.
    uniformity : float
        Emission uniformity [-], 0.1 to 1.
    leaching : float
        Leaching requirement [-], 0 to 0.9.
    transmission : float
        See `need.gross_depth` [-], 1 to 1.5.
    priority : float
        Rank when water is short: 1 is served before 2.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    area: float
    plants: float
    flow: float
    taw: float
    p: float = 0.5
    uniformity: float = 0.9
    leaching: float = 0.0
    transmission: float = 1.0
    priority: float = 1.0

    def __post_init__(self) -> None:
        number("area", self.area, 1e-6, 1e9, unit="m2")
        number("plants", self.plants, 1e-6, 1e12)
        number("flow", self.flow, 1e-12, 1e3, unit="m3/s")
        number("taw", self.taw, 1e-6, 10.0, unit="m")
        number("p", self.p, 0.0, 1.0)
        number("uniformity", self.uniformity, 0.1, 1.0)
        number("leaching", self.leaching, 0.0, 0.9)
        number("transmission", self.transmission, 1.0, 1.5)
        number("priority", self.priority)


@dataclass(frozen=True, kw_only=True)
class Periods:
    """Weather and crop of the periods that are planned.

    Parameters
    ----------
    eto : array_like
        Reference evapotranspiration [m/day], shape (periods,).
    kc : array_like
        Coefficient with all its reductions [-], shape (periods,), or (periods, zones) where
        zones have other crops.
    rain : array_like
        Effective rain [m/day], shape (periods,) or one number.
    days : array_like
        Days of each period, shape (periods,); months of a mean year if not given.

    Raises
    ------
    InputError
        If a value is not finite or out of range, or shapes do not fit together.
    """

    eto: ArrayLike
    kc: ArrayLike
    rain: ArrayLike = 0.0
    days: ArrayLike = field(default_factory=lambda: DAYS_IN_MONTH)

    def __post_init__(self) -> None:
        eto = array("eto", self.eto, 0.0, 0.05, unit="m/day")
        kc = array("kc", self.kc, 0.0, 2.0)
        days = array("days", self.days, 0.0, 400.0, open_low=True, unit="days")
        rain = array("rain", self.rain, 0.0, 1.0, unit="m/day")
        for name, values, fits in (
            ("eto", eto, eto.ndim == 1),
            ("kc", kc, kc.ndim in (1, 2) and kc.shape[0] == eto.shape[0]),
            ("days", days, days.shape == eto.shape),
            ("rain", rain, rain.ndim == 0 or rain.shape == eto.shape),
        ):
            if not fits:
                raise InputError(
                    "does not fit the periods",
                    code="length",
                    field=name,
                    given=values.shape,
                    accepted="one value for each period",
                )
        for name, values in (("eto", eto), ("kc", kc), ("days", days), ("rain", rain)):
            object.__setattr__(self, name, values)


@dataclass(frozen=True, kw_only=True)
class Rules:
    """How and when watering may happen.

    Parameters
    ----------
    window : float
        Time of a day in which water may run [s], above 0, at most a day.
    changeover : float
        Time lost between two zones [s].
    longest_interval : int
        Most days between two waterings, 1 to 60.
    longest_run : float
        Longest run without a rest [s], such as on light soils where water goes straight down;
        infinite for no limit.
    at_once : int
        Zones that run at the same time.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    window: float = DAY
    changeover: float = 0.0
    longest_interval: int = 1
    longest_run: float = math.inf
    at_once: int = 1

    def __post_init__(self) -> None:
        number("window", self.window, 0.0, DAY, open_low=True, unit="s")
        number("changeover", self.changeover, 0.0, DAY, unit="s")
        whole("longest_interval", self.longest_interval, 1, 60)
        whole("at_once", self.at_once, 1, 1000)
        if self.longest_run != math.inf:
            number("longest_run", self.longest_run, 1.0, DAY, unit="s")


@dataclass(frozen=True, kw_only=True)
class Supply:
    """What water there is, and its price.

    Parameters
    ----------
    per_day : float
        Most volume in a day [m3]; infinite for no limit.
    in_all : float
        Most volume over all periods [m3], such as a pond or an allotment; infinite for no
        limit.
    price : float
        Price of a cubic metre, in any currency, at least 0.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    per_day: float = math.inf
    in_all: float = math.inf
    price: float = 0.0

    def __post_init__(self) -> None:
        for name in ("per_day", "in_all"):
            if getattr(self, name) != math.inf:
                number(name, getattr(self, name), 0.0, unit="m3")
        number("price", self.price, 0.0)
