"""The quantities that Evenrow asks for and shows, and the units each is shown in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from evenrow.words import tr

UnitSystem = Literal["us", "metric"]


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One kind of quantity.

    Parameters
    ----------
    name : str
        Key in `QUANTITIES`.
    words : str
        How a message names it, with its article: ``"a length"``.
    dimension : str
        What kind of unit fits; quantities such as row length and pipe bore share one.
    si : str
        Unit of the values inside the program.
    us, metric : str
        Unit in which each unit system shows it.
    example_us, example_metric : str
        What a value looks like, for messages.
    more : tuple of str
        Further units that a chooser offers.
    """

    name: str
    words: str
    dimension: str
    si: str
    us: str
    metric: str
    example_us: str
    example_metric: str
    more: tuple[str, ...] = ()

    @property
    def accepted(self) -> str:
        """What a message says is accepted, in the language in use."""
        if self.example_us == self.example_metric:
            return tr("{what} such as {example}", what=tr(self.words), example=tr(self.example_us))
        return tr(
            "{what} such as {example} or {other}",
            what=tr(self.words),
            example=tr(self.example_us),
            other=tr(self.example_metric),
        )


def _quantity(
    name: str,
    words: str,
    dimension: str,
    units: tuple[str, str, str],
    examples: tuple[str, str],
    *more: str,
) -> Quantity:
    si, us, metric = units
    example_us, example_metric = examples
    return Quantity(
        name=name,
        words=words,
        dimension=dimension,
        si=si,
        us=us,
        metric=metric,
        example_us=example_us,
        example_metric=example_metric,
        more=more,
    )


_FLOW_SI = "m³/s"

_ALL = (
    _quantity("length", "a length", "length", ("m", "ft", "m"), ("62 ft", "18.9 m"), "in", "cm"),
    _quantity("diameter", "a diameter", "length", ("m", "in", "mm"), ("0.62 in", "16 mm"), "cm"),
    _quantity("thickness", "a thickness", "length", ("m", "mil", "mm"), ("15 mil", "0.4 mm"), "in"),
    _quantity("spacing", "a spacing", "length", ("m", "in", "cm"), ("12 in", "30 cm"), "ft", "m"),
    _quantity(
        "flow",
        "a flow",
        "flow",
        (_FLOW_SI, "gal/min", "m³/h"),
        ("7.3 gal/min", "1.5 m³/h"),
        "gal/h",
        "L/min",
        "L/h",
        "L/s",
    ),
    _quantity(
        "emitter_flow",
        "an emitter flow",
        "flow",
        (_FLOW_SI, "gal/h", "L/h"),
        ("0.5 gal/h", "2 L/h"),
        "mL/min",
    ),
    _quantity(
        "line_flow",
        "a flow per length of line",
        "line_flow",
        ("m²/s", "gal/min per 100 ft", "L/h per m"),
        ("0.45 gal/min per 100 ft", "5 L/h per m"),
        "gal/h per 100 ft",
        "L/h per 100 m",
    ),
    _quantity(
        "pressure",
        "a pressure",
        "pressure",
        ("m of water", "psi", "bar"),
        ("15 psi", "1 bar"),
        "kPa",
        "m of water",
        "ft of water",
        "in of water",
    ),
    _quantity("time", "a time", "time", ("s", "s", "s"), ("41 s", "41 s"), "min", "h"),
    _quantity("duration", "a time", "time", ("s", "min", "min"), ("90 min", "8 h"), "h", "s"),
    _quantity("hours", "a time", "time", ("s", "h", "h"), ("8 h", "8 h"), "min"),
    _quantity(
        "water_depth", "a depth of water", "length", ("m", "in", "mm"), ("0.2 in", "5 mm"), "cm"
    ),
    _quantity("volume", "a volume", "volume", ("m³", "gal", "L"), ("5 gal", "10 L"), "m³", "mL"),
    _quantity("slope", "a slope", "ratio", ("ratio", "%", "%"), ("1.2 %", "1:80")),
    _quantity("share", "a share", "ratio", ("ratio", "%", "%"), ("90 %", "90 %")),
    _quantity(
        "temperature", "a temperature", "temperature", ("°C", "°F", "°C"), ("68 °F", "20 °C")
    ),
    _quantity(
        "velocity", "a velocity", "velocity", ("m/s", "ft/s", "m/s"), ("1.5 ft/s", "0.5 m/s")
    ),
    _quantity("area", "an area", "area", ("m²", "ft²", "m²"), ("900 ft²", "85 m²"), "acre", "ha"),
    _quantity("mass", "a mass", "mass", ("kg", "lb", "kg"), ("2 lb", "1 kg"), "g", "oz"),
    _quantity("number", "a plain number", "number", ("", "", ""), ("0.5", "0.5")),
)

#: Every quantity by its name.
QUANTITIES: Mapping[str, Quantity] = MappingProxyType({q.name: q for q in _ALL})
