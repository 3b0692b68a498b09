"""Soils and crops: what the tables of soil texture and of crops hold, in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from evenrow.agronomy.wetting import TEXTURES
from evenrow.catalogue.load import _Entry, _file, _of_code
from evenrow.catalogue.use import current
from evenrow.errors import InputError

#: Kinds of crop.
GROUPS = ("vegetable", "berry", "vine", "fruit tree", "flower")


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
    """

    code: str
    label: str
    texture: str
    conductivity: float
    field_capacity: tuple[float, float] | None
    wilting_point: tuple[float, float] | None
    available_water: float
    intake: tuple[float, float]


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


def _wrong(entry: _Entry, key: str, accepted: str) -> InputError:
    return InputError(
        f"{entry.place}: {key} is wrong",
        field=key,
        given=entry.values.get(key),
        accepted=accepted,
    )


def _numbers(entry: _Entry, key: str, count: int, lo: float, hi: float) -> tuple[float, ...]:
    given = entry.values.get(key)
    right = isinstance(given, list) and len(given) == count
    if not right or not all(type(v) in (int, float) and lo <= v <= hi for v in given or ()):
        raise _wrong(entry, key, f"{count} numbers from {lo:g} to {hi:g}")
    return tuple(float(v) for v in given or ())


def _choice(entry: _Entry, key: str, accepted: tuple[str, ...]) -> str:
    if entry.text(key) not in accepted:
        raise _wrong(entry, key, ", ".join(accepted))
    return entry.text(key)


def _flag(entry: _Entry, key: str) -> bool:
    value = entry.values.get(key)
    if not isinstance(value, bool):
        raise _wrong(entry, key, "true or false")
    return value


def _pair(entry: _Entry, key: str, quantity: str) -> tuple[float, float]:
    found = entry.lengths(key, quantity)
    if len(found) != 2:
        raise _wrong(entry, key, "two values, the smaller first")
    return found[0], found[1]


def _share_pair(entry: _Entry, key: str) -> tuple[float, float] | None:
    if key not in entry.values:
        return None
    low, high = _numbers(entry, key, 2, 0.0, 0.7)
    if low > high:
        raise _wrong(entry, key, "the smaller first")
    return low, high


def _soil(code: str, values: Mapping[str, Any]) -> Soil:
    entry = _Entry("soils.toml", code, values)
    capacity, wilting = (_share_pair(entry, key) for key in ("field_capacity", "wilting_point"))
    if capacity is not None and wilting is not None:
        available = (sum(capacity) - sum(wilting)) / 2
    else:
        available = entry.si("available_water", "share")
    return Soil(
        code=code,
        label=entry.text("label"),
        texture=_choice(entry, "texture", TEXTURES),
        conductivity=entry.si("conductivity", "velocity"),
        field_capacity=capacity,
        wilting_point=wilting,
        available_water=available,
        intake=_pair(entry, "intake", "velocity"),
    )


def _stages(entry: _Entry) -> tuple[int, int, int, int] | None:
    if "stages" not in entry.values:
        return None
    first, second, third, fourth = (int(v) for v in _numbers(entry, "stages", 4, 0.0, 400.0))
    return first, second, third, fourth


def _kc(entry: _Entry) -> tuple[float | None, float, float]:
    if "kc" in entry.values:
        initial, mid, end = _numbers(entry, "kc", 3, 0.0, 2.0)
        return initial, mid, end
    mid, end = float(entry.values["kc_mid"]), float(entry.values["kc_end"])
    return None, mid, end


def _crop(code: str, values: Mapping[str, Any]) -> Crop:
    entry = _Entry("crops.toml", code, values)
    kc_initial, kc_mid, kc_end = _kc(entry)
    stages = _stages(entry)
    return Crop(
        code=code,
        label=entry.text("label"),
        group=_choice(entry, "group", GROUPS),
        root_depth=_pair(entry, "root_depth", "length"),
        depletion=float(values["depletion"]),
        kc_initial=kc_initial,
        kc_mid=kc_mid,
        kc_end=kc_end,
        stages=stages,
        stages_for=entry.text("stages_for") if stages else "",
        plant_spacing=entry.si("plant_spacing", "spacing"),
        root_width=entry.si("root_width", "length"),
        bedded=_flag(entry, "bedded"),
        perennial=_flag(entry, "perennial"),
    )


@cache
def generic_soils() -> dict[str, Soil]:
    """Return the texture classes that come with the package by code, lightest first."""
    return {code: _soil(code, values) for code, values in _file("soils.toml").items()}


@cache
def generic_crops() -> dict[str, Crop]:
    """Return the crops that come with the package by code, in the order of the data file."""
    return {code: _crop(code, values) for code, values in _file("crops.toml").items()}


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
    return _of_code(soils(), code, "soil", field)


def crop(code: str, *, field: str = "crop") -> Crop:
    """Return the crop of that code; raises `InputError` ``unknown_choice`` if there is none."""
    return _of_code(crops(), code, "crop", field)
