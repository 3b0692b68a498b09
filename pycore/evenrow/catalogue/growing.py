"""Soils and crops: what the tables of soil texture and of crops hold, in SI."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from evenrow.catalogue.data_file import builtin_file
from evenrow.catalogue.growing_forms import CROPS, GROUPS, SOILS, read_grown
from evenrow.catalogue.keys import Form
from evenrow.catalogue.load import _of_code
from evenrow.catalogue.use import current
from evenrow.errors import InputError, InputErrors
from evenrow.words import said

__all__ = [
    "GROUPS",
    "Crop",
    "Soil",
    "crop",
    "crops",
    "generic_crops",
    "generic_soils",
    "make_crop",
    "make_soil",
    "soil",
    "soils",
]


@dataclass(frozen=True, kw_only=True)
class Soil:
    """A texture class of soil.

    Parameters
    ----------
    code, label : str
        Name in files, name on screen.
    texture : str
        ``"coarse"``, ``"medium"`` or ``"fine"``, as of `evenrow.agronomy.wetting.tabled_width`.
    conductivity : float
        Saturated hydraulic conductivity [m/s].
    field_capacity, wilting_point : (float, float) or None
        Range of the water content [m3/m3]; None where the source has none.
    available_water : float
        Water between the two that plants can reach [m3/m3].
    intake : (float, float)
        Range of the rate at which it takes up water for long [m/s].
    evaporable : (float, float) or None
        Range of the water that dries off its surface as fast as the sun allows [m].
    """

    code: str
    label: str
    texture: str
    conductivity: float
    field_capacity: tuple[float, float] | None
    wilting_point: tuple[float, float] | None
    available_water: float
    intake: tuple[float, float]
    evaporable: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True)
class Crop:
    """A crop.

    Parameters
    ----------
    code, label, group : str
        Name in files, name on screen, one of `GROUPS`.
    root_depth : (float, float)
        Range of the greatest rooting depth [m].
    depletion : float
        Share of the available water that may be used before the crop suffers [-].
    kc_initial : float or None
        Crop coefficient of the initial stage [-]; None where the source has none.
    kc_mid, kc_end : float
        Those of mid-season and of the end [-].
    kcb : (float, float, float) or None
        Basal coefficients of the initial stage, mid-season and the end [-].
    height : float or None
        Of the plants when grown [m].
    stages : (int, int, int, int) or None
        Days of the initial, development, mid-season and late stage.
    stages_for : str
        Planting month and region for which they hold, or "".
    plant_spacing : float
        Usual distance between plants in the row [m].
    root_width : float
        Width of ground along the row that the watering aims at [m].
    bedded : bool
        Whether its rows usually share beds.
    perennial : bool
        Whether it stays for years.
    """

    code: str
    label: str
    group: str
    root_depth: tuple[float, float]
    depletion: float
    kc_initial: float | None
    kc_mid: float
    kc_end: float
    stages: tuple[int, int, int, int] | None
    stages_for: str
    plant_spacing: float
    root_width: float
    bedded: bool
    perennial: bool
    kcb: tuple[float, float, float] | None = None
    height: float | None = None


_Grown = TypeVar("_Grown", Soil, Crop)


def make_soil(code: str, values: Mapping[str, Any]) -> Soil:
    """Return a soil from what `read_grown` read of its entry, SI by key."""
    capacity, wilting = values.get("field_capacity"), values.get("wilting_point")
    if capacity is not None and wilting is not None:
        available = (sum(capacity) - sum(wilting)) / 2
    else:
        available = values["available_water"]
    return Soil(
        code=code,
        label=values["label"],
        texture=values["texture"],
        conductivity=values["conductivity"],
        field_capacity=capacity,
        wilting_point=wilting,
        available_water=available,
        intake=values["intake"],
        evaporable=values.get("evaporable"),
    )


def make_crop(code: str, values: Mapping[str, Any]) -> Crop:
    """Return a crop from what `read_grown` read of its entry, SI by key."""
    initial, mid, end = values.get("kc") or (None, values["kc_mid"], values["kc_end"])
    return Crop(
        code=code,
        label=values["label"],
        group=values["group"],
        root_depth=values["root_depth"],
        depletion=values["depletion"],
        kc_initial=initial,
        kc_mid=mid,
        kc_end=end,
        stages=values.get("stages"),
        stages_for=values.get("stages_for", ""),
        plant_spacing=values["plant_spacing"],
        root_width=values["root_width"],
        bedded=values["bedded"],
        perennial=values["perennial"],
        kcb=values.get("kcb"),
        height=values.get("height"),
    )


def _generic(form: Form, make: Callable[[str, Mapping[str, Any]], _Grown]) -> dict[str, _Grown]:
    """Return the entries that come with the package."""
    complaints: list[InputError] = []
    found = {}
    for code, entry in builtin_file(form.file).entries.items():
        values = read_grown(form, entry, complaints)
        if values is not None:
            found[code] = make(code, values)
    if complaints:
        raise InputErrors(complaints)
    return found


@cache
def generic_soils() -> dict[str, Soil]:
    """Return the texture classes that come with the package by code, lightest first."""
    return _generic(SOILS, make_soil)


@cache
def generic_crops() -> dict[str, Crop]:
    """Return the crops that come with the package by code, in the order of the data file."""
    return _generic(CROPS, make_crop)


def soils() -> Mapping[str, Soil]:
    """Return the texture classes of the catalogue in use by code, lightest first."""
    own = current().soils
    return generic_soils() if own is None else own


def crops() -> Mapping[str, Crop]:
    """Return the crops of the catalogue in use by code, in the order of the data file."""
    own = current().crops
    return generic_crops() if own is None else own


def soil(code: str, *, field: str = "soil") -> Soil:
    """Return the soil of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(soils(), code, said("this soil is not in the catalogue"), field)


def crop(code: str, *, field: str = "crop") -> Crop:
    """Return the crop of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(crops(), code, said("this crop is not in the catalogue"), field)
