"""Text and units in, SI floats out, and back: the only module that knows Pint.

The common unit texts have their factors in ``unit_factors.json``, made from Pint by
``scripts/make_unit_factors.py``, so that a phone need not load Pint for them.  Any
other product of the units in ``unit_registry.txt`` goes through Pint, which is loaded
at that moment.  Nothing that is read is ever evaluated: a number has its own grammar
(`evenrow.numerals`), a unit is cut into known names with small powers first.

Pressure inside the program is metres of water at 1000 kg/m3 under 9.80665 m/s2, so
that 1 psi is 0.7030695796 m.  The gallon is the US gallon.
"""

from __future__ import annotations

import json
import math
import re
from functools import lru_cache
from importlib import resources
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from evenrow.errors import InputError
from evenrow.numerals import UNIT_SPACE, format_number, leading_number, tidy
from evenrow.quantities import QUANTITIES, Quantity, UnitSystem
from evenrow.unit_text import MAX_TEXT, SMALLER, factors, number_parts, unit_key
from evenrow.words import said, tr

if TYPE_CHECKING:
    import pint

__all__ = [
    "DASH",
    "MAX_TEXT",
    "QUANTITIES",
    "Quantity",
    "UnitSystem",
    "format_number",
    "format_value",
    "from_unit",
    "menu",
    "parse",
    "pint_scale",
    "si_unit",
    "system_unit",
    "to_unit",
    "unit_key",
]

#: Stands where there is no value.
DASH = "–"
#: Pressure of one metre of water. [Pa]
PASCAL_PER_METRE = 9806.65
#: Less than this in the unit shown is what rounding leaves of a zero.
RESIDUE = 1e-9
#: Values beyond this in SI are a slip of the finger, whatever they measure.
MAX_VALUE = 1e15

#: A product of units per dimension, whose Pint dimensionality is the right one.
_REFERENCE = {
    "length": "m",
    "area": "m2",
    "volume": "m3",
    "flow": "m3/s",
    "line_flow": "m2/s",
    "time": "s",
    "velocity": "m/s",
    "mass": "kg",
    "pressure": "pa",
    "ratio": "m/m",
    "temperature": "degc",
}

_DIMENSION_WORDS = {
    "length": said("a length"),
    "area": said("an area"),
    "volume": said("a volume"),
    "flow": said("a flow"),
    "line_flow": said("a flow per length"),
    "time": said("a time"),
    "velocity": said("a velocity"),
    "mass": said("a mass"),
    "pressure": said("a pressure"),
    "ratio": said("a ratio"),
    "temperature": said("a temperature"),
}


def _text(name: str) -> str:
    """Return a data file of the package; nothing of it stays open."""
    return (resources.files("evenrow") / name).read_text(encoding="utf-8")


#: dimension -> unit key -> (scale, zero): SI value = (number - zero) * scale.
_SCALES: dict[str, dict[str, tuple[float, float]]] = {
    dimension: {key: (scale, zero) for key, (scale, zero) in units.items()}
    for dimension, units in json.loads(_text("unit_factors.json")).items()
}


# --- factors ---------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    """Return the small registry; the first call loads Pint."""
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    registry.load_definitions(_text("unit_registry.txt").splitlines())
    return registry


@lru_cache(maxsize=1)
def _known_names() -> frozenset[str]:
    """Return the unit names of the small registry, in full: no prefixes, no plurals."""
    return frozenset(_registry())


def _product(key: str) -> Any:
    """Return a unit key as a Pint quantity of size one; every name is checked first."""
    registry = _registry()
    total = registry.Quantity(1.0, "")
    for divided, hundred, name, power in factors(key):
        factor = registry.Quantity(100.0 if hundred else 1.0, name) ** power
        total = total / factor if divided else total * factor
    return total


def pint_scale(key: str, dimension: str) -> tuple[float, float]:
    """Return what Pint makes of a unit; slow at first, because it loads Pint.

    Parameters
    ----------
    key : str
        Unit in the spelling of `unit_key`.
    dimension : str
        Dimension of a `Quantity`.

    Returns
    -------
    (float, float)
        Scale and zero point: SI value = (number - zero) * scale.

    Raises
    ------
    InputError
        Code ``unknown_unit`` or ``wrong_dimension``.
    """
    names = [factor.name for factor in factors(key)]
    for name in names:
        if name not in _known_names():
            raise InputError(tr("the unit “{name}” is not known", name=name), code="unknown_unit")
    wrong = InputError(tr("“{unit}” does not fit here", unit=key), code="wrong_dimension")
    if dimension == "temperature":
        if names != [key] or not _is_temperature(key):
            raise wrong
        return _temperature_scale(key)
    if any(_is_temperature(name) for name in names):
        raise wrong
    product = _product(key)
    if dimension == "pressure" and product.dimensionality == _product("m").dimensionality:
        return float(product.to_base_units().magnitude), 0.0
    if product.dimensionality != _product(_REFERENCE[dimension]).dimensionality:
        raise wrong
    scale = float(product.to_base_units().magnitude)
    return (scale / PASCAL_PER_METRE if dimension == "pressure" else scale), 0.0


def _is_temperature(name: str) -> bool:
    return bool(_registry().get_dimensionality(name) == {"[temperature]": 1})


def _temperature_scale(key: str) -> tuple[float, float]:
    """Return scale and zero point of a temperature unit against degrees Celsius."""
    registry = _registry()
    name = registry.get_name(key)
    zero = float(registry.Quantity(0.0, "degc").to(name).magnitude)
    step = registry.Quantity(1.0, name if name == "kelvin" else f"delta_{name}")
    # Rounding takes away the last bits that the detour over kelvin costs.
    return float(step.to("kelvin").magnitude), round(zero, 9)


@lru_cache(maxsize=512)
def _scale(unit: str, dimension: str) -> tuple[float, float]:
    """Return scale and zero point of a unit text, from the table or from Pint."""
    key = unit_key(unit)
    own = _SCALES[dimension]
    if key in own:
        return own[key]
    for other, units in _SCALES.items():
        if key in units:
            raise InputError(
                tr(
                    "“{unit}” measures {what}",
                    unit=tidy(unit),
                    what=tr(_DIMENSION_WORDS[other]),
                ),
                code="wrong_dimension",
            )
    return pint_scale(key, dimension)


# --- values ------------------------------------------------------------------------------


def from_unit(value: float, quantity: str, unit: str) -> float:
    """Return the SI value of a number in a unit.

    Parameters
    ----------
    value : float
        Number in `unit`.
    quantity : str
        Key of `QUANTITIES`.
    unit : str
        Unit text; "" for a plain number.

    Returns
    -------
    float
        SI value; pressure in metres of water, temperature in °C.

    Raises
    ------
    InputError
        Code ``unknown_unit`` or ``wrong_dimension``.
    """
    if quantity == "number":
        return _plain(value, unit)
    scale, zero = _scale(unit, QUANTITIES[quantity].dimension)
    return (value - zero) * scale


def to_unit(value: float, quantity: str, unit: str) -> float:
    """Return an SI value as a number in `unit`; the inverse of `from_unit`."""
    if quantity == "number":
        return _plain(value, unit)
    scale, zero = _scale(unit, QUANTITIES[quantity].dimension)
    return value / scale + zero


def _plain(value: float, unit: str) -> float:
    if unit:
        raise InputError(tr("this is a plain number without a unit"), code="wrong_dimension")
    return value


def system_unit(quantity: str, system: UnitSystem) -> str:
    """Return the unit in which a unit system shows a quantity; "" for a plain number."""
    return QUANTITIES[quantity].us if system == "us" else QUANTITIES[quantity].metric


def si_unit(quantity: str) -> str:
    """Return the unit of the values inside the program."""
    return QUANTITIES[quantity].si


def menu(quantity: str) -> tuple[str, ...]:
    """Return the unit texts that a chooser offers; empty for a plain number."""
    known = QUANTITIES[quantity]
    units = dict.fromkeys((known.us, known.metric, *known.more))
    return tuple(unit for unit in units if unit)


def format_value(value: float | None, quantity: str, system: UnitSystem, digits: int = 3) -> str:
    """Return an SI value as people of a unit system read it.

    Parameters
    ----------
    value : float or None
        SI value; None shows as a dash.
    quantity : str
        Key of `QUANTITIES`, or ``"count"``.
    system : {"us", "metric"}
        Unit system.
    digits : int
        Significant digits; see `format_number`.

    Returns
    -------
    str
        Such as ``"62 ft"``, with a no-break space and words in the language in use; `parse`
        reads it back.

    Raises
    ------
    ValueError
        When the value is not finite.
    """
    if value is None:
        return DASH
    if quantity == "count":
        return format_number(round(value), 15)
    if quantity == "duration" and abs(value) >= 60.0:
        return _hours_and_minutes(value)
    unit = "s" if quantity == "duration" else system_unit(quantity, system)
    shown = to_unit(value, quantity, unit)
    if unit and abs(shown) < RESIDUE:
        shown = 0.0
    number = format_number(shown, digits)
    return f"{number}{UNIT_SPACE}{tr(unit)}".rstrip()


def _hours_and_minutes(seconds: float) -> str:
    """Return ``2 h 5 min``, or below an hour ``1 min 53 s``."""
    if not math.isfinite(seconds):
        raise ValueError("only finite numbers can be shown")
    size, large, small = (60.0, "h", "min") if abs(seconds) >= 3570.0 else (1.0, "min", "s")
    whole, rest = divmod(round(abs(seconds) / size), 60)
    text = f"{format_number(math.copysign(whole, seconds))}{UNIT_SPACE}{large}"
    return f"{text}{UNIT_SPACE}{rest}{UNIT_SPACE}{small}" if rest else text


# --- reading -----------------------------------------------------------------------------

_RATIO = re.compile(r"([+-]?) ?([\d.,]+) ?(?::|/|in|en) ?([\d.,]+)", re.ASCII | re.IGNORECASE)


def parse(
    text: str | float,
    quantity: str,
    *,
    field: str = "",
    default_unit: str | None = None,
) -> float:
    """Read a quantity as people write it.

    Parameters
    ----------
    text : str or float
        Such as ``"62 ft"``, ``5'6"``, ``"2,5 m"`` or ``"1:80"`` (slope); a bare number only
        together with `default_unit`. At most `MAX_TEXT` characters.
    quantity : str
        Key of `QUANTITIES`.
    field : str
        Dotted path for the error.
    default_unit : str, optional
        Unit of a bare number.

    Returns
    -------
    float
        SI value, finite; pressure in metres of water, temperature in °C.

    Raises
    ------
    InputError
        Code ``missing``, ``too_long``, ``not_a_number``, ``not_finite``, ``too_large``,
        ``ambiguous``, ``no_unit``, ``unknown_unit``, ``wrong_dimension`` or ``wrong_type``.
    """
    known = QUANTITIES[quantity]
    try:
        value = _read(text, known, default_unit)
        if abs(value) > MAX_VALUE:
            raise InputError(tr("the number is too large to mean a size"), code="too_large")
    except InputError as error:
        raise InputError(
            error.message,
            code=error.code,
            field=field,
            given=text if isinstance(text, (str, float)) else None,
            accepted=known.accepted,
            hint=error.hint,
        ) from None
    return value


def _read(text: object, known: Quantity, default_unit: str | None) -> float:
    """Return the SI value of `text`; errors come without their place."""
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise InputError(tr("a quantity is written as text"), code="wrong_type")
    if not isinstance(text, str):
        # An integer beyond a float's range must not be turned into one.
        if not -MAX_VALUE <= text <= MAX_VALUE:
            raise InputError(tr("that is not a number that can be worked with"), code="not_finite")
        return _with_unit(float(text), "", known, default_unit)
    if len(text) > MAX_TEXT:
        raise InputError(tr("the text is too long for one value"), code="too_long")
    plain = tidy(text)
    if not plain:
        raise InputError(tr("nothing is given"), code="missing")
    if known.name == "slope" and (ratio := _RATIO.fullmatch(plain)):
        return _ratio(*ratio.groups())
    parts = number_parts(plain)
    if len(parts) == 1:
        number, unit = parts[0]
        return _with_unit(number, unit, known, default_unit)
    return _sum(parts, known, negative=plain.startswith("-"))


def _sum(parts: list[tuple[float, str]], known: Quantity, *, negative: bool) -> float:
    """Return the SI value of a larger and a smaller unit together."""
    total = from_unit(abs(parts[0][0]), known.name, parts[0][1])
    for (larger, unit), (smaller, given) in pairwise(parts):
        expected = SMALLER.get(unit)
        if expected is None or not larger.is_integer():
            raise InputError(tr("two numbers stand in one value"), code="not_a_number")
        small = from_unit(1.0, known.name, expected)
        if given and from_unit(1.0, known.name, given) != small:
            raise InputError(
                tr("{unit} goes with {smaller} behind it", unit=unit, smaller=expected),
                code="not_a_number",
            )
        limit = round(from_unit(1.0, known.name, unit) / small)
        if not 0 <= smaller < limit:
            raise InputError(
                tr("the {unit} must be below {limit}", unit=expected, limit=limit),
                code="not_a_number",
            )
        total += smaller * small
    return -total if negative else total


def _with_unit(number: float, unit: str, known: Quantity, default_unit: str | None) -> float:
    """Return the SI value of one number with one unit text, which may be empty."""
    if unit or known.name == "number":
        return from_unit(number, known.name, unit)
    if default_unit is None:
        raise InputError(tr("the unit is missing"), code="no_unit")
    return from_unit(number, known.name, default_unit)


def _ratio(sign: str, top: str, bottom: str) -> float:
    """Return the slope that is written as ``1:80``, ``1/80`` or ``1 in 80``."""
    rise, rest = leading_number(top)
    run, more = leading_number(bottom)
    if rest or more or run == 0:
        raise InputError(tr("the two numbers do not make a slope"), code="not_a_number")
    return -rise / run if sign == "-" else rise / run
