"""Headings of weather tables: which quantity a column holds, and in which unit.

A weather station's units are few and some stand for another quantity than the same letters
on a farm (kPa of vapour, mm of rain in a day, W/m2 as the mean of a day), so that they have
a small table of their own here. All factors are exact by definition, but for the
thermochemical langley and the mm of mercury.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from evenrow.words import said, tr


@dataclass(frozen=True)
class Kind:
    """What all columns of one kind of quantity share.

    Parameters
    ----------
    units : dict
        Spelling of `plain_unit` -> (factor, shift): value times factor plus shift is in the
        unit inside the program.
    assumed : str
        Unit where the heading tells none.
    low, high : float
        Bounds inside the program; beyond them a value is impossible.
    """

    units: dict[str, tuple[float, float]]
    assumed: str
    low: float
    high: float


def _spellings(*groups: tuple[str, float]) -> dict[str, tuple[float, float]]:
    return {word: (factor, 0.0) for words, factor in groups for word in words.split()}


_CELSIUS, _FAHRENHEIT = (1.0, 0.0), (5.0 / 9.0, -160.0 / 9.0)
_DEPTH = _spellings(
    ("mm mm/d mm/day mm/dia mmd-1 mmday-1", 1e-3),
    ("cm cm/d cm/day cm/dia", 1e-2),
    ("in inch inches in/d in/day", 0.0254),
)

#: kind -> its units and bounds.
KINDS: dict[str, Kind] = {
    "temperature": Kind(
        {
            **dict.fromkeys(("c", "celsius", "centigrade"), _CELSIUS),
            **dict.fromkeys(("f", "fahrenheit"), _FAHRENHEIT),
            **dict.fromkeys(("k", "kelvin"), (1.0, -273.15)),
        },
        "c",
        -90.0,
        60.0,
    ),
    "humidity": Kind(_spellings(("% percent pct", 0.01), ("fraction 0-1 ratio", 1.0)), "%", 0, 1),
    "vapour": Kind(
        _spellings(("kpa", 1.0), ("hpa mbar mb", 0.1), ("pa", 1e-3), ("mmhg torr", 0.133322)),
        "kpa",
        0.0,
        20.0,
    ),
    "wind": Kind(
        _spellings(
            ("m/s ms-1 mps m/sec", 1.0),
            ("km/h kmh-1 kmh kph km/hr", 1.0 / 3.6),
            ("mph mi/h mi/hr miles/h", 0.44704),
            ("kn kt kts knot knots", 1852.0 / 3600.0),
            ("ft/s fps", 0.3048),
            ("km/d km/day km/dia kmd-1", 1.0 / 86.4),
        ),
        "m/s",
        0.0,
        120.0,
    ),
    "radiation": Kind(
        _spellings(
            (
                "mj/m2 mj/m2/d mj/m2/day mj/m2/dia mj/m2d mj/m2day mj/m2dia mjm-2 mjm-2d-1 "
                "mjm-2day-1",
                1.0,
            ),
            ("w/m2 wm-2", 0.0864),
            ("kwh/m2 kwh/m2/d kwh/m2/day kwhm-2 kwhm-2d-1", 3.6),
            ("j/cm2 j/cm2/d j/cm2/day jcm-2", 0.01),
            ("ly langley langleys ly/d ly/day cal/cm2 cal/cm2/d cal/cm2/day", 0.04184),
        ),
        "mj/m2",
        0.0,
        60.0,
    ),
    "sunshine": Kind(
        _spellings(
            ("h hr hrs hour hours horas", 1.0), ("min minutes", 1 / 60), ("s sec", 1 / 3600)
        ),
        "h",
        0.0,
        24.0,
    ),
    "rain": Kind(_DEPTH, "mm", 0.0, 2.0),
    "eto": Kind(_DEPTH, "mm", 0.0, 0.05),
}

#: column -> kind.
COLUMNS = {
    "tmax": "temperature",
    "tmin": "temperature",
    "tmean": "temperature",
    "dew_point": "temperature",
    "rh_max": "humidity",
    "rh_min": "humidity",
    "rh_mean": "humidity",
    "vapour_pressure": "vapour",
    "wind": "wind",
    "solar": "radiation",
    "sunshine": "sunshine",
    "rain": "rain",
    "eto": "eto",
}

#: Names of the columns as people are told them.
NAMES = {
    **{name: name for name in ("tmax", "tmin", "tmean", "eto")},
    "dew_point": said("dew_point"),
    "rh_max": said("rh_max"),
    "rh_min": said("rh_min"),
    "rh_mean": said("rh_mean"),
    "vapour_pressure": said("vapour_pressure"),
    "wind": said("wind"),
    "solar": said("solar"),
    "sunshine": said("sunshine"),
    "rain": said("rain"),
}

_TIDY_UNIT = re.compile(r"[\s·.*^_]|deg(?:rees?)?(?=[cf ]|$)|°|º", re.IGNORECASE)
#: The "í" is that of the Spanish day.
_UNIT_MARKS = str.maketrans({"²": "2", "⁻": "-", "−": "-", "¹": "1", "–": "-", "í": "i"})
_ACCENTS = str.maketrans("áéíóúü", "aeiouu")
_PER = re.compile(r"per(?!cent)")
_BRACKETS = re.compile(r"[(\[]([^()\[\]]{0,24})[)\]]")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_WORD = re.compile(r"[a-z]+[0-9]?")

#: word of a heading, English or Spanish without its accents -> what it stands for.
_MEANING = {
    **dict.fromkeys(("temperature", "temperatura", "temp", "t", "ta", "tair"), "temp"),
    **dict.fromkeys(("tmax", "tx", "tempmax", "tmx"), "temp max"),
    **dict.fromkeys(("tmin", "tn", "tempmin", "tmn"), "temp min"),
    **dict.fromkeys(("tmean", "tavg", "tm", "tg", "tmed", "tempavg"), "temp mean"),
    **dict.fromkeys(("max", "maximum", "high", "hi", "highest", "mx"), "max"),
    **dict.fromkeys(("min", "minimum", "low", "lo", "lowest", "mn"), "min"),
    **dict.fromkeys(("mean", "avg", "average", "ave"), "mean"),
    **dict.fromkeys(("rh", "humidity", "hum"), "rh"),
    **dict.fromkeys(("rhmax", "rhmx", "rhx"), "rh max"),
    **dict.fromkeys(("rhmin", "rhmn", "rhn"), "rh min"),
    **dict.fromkeys(("rhmean", "rhavg", "rhave"), "rh mean"),
    **dict.fromkeys(("dew", "dewpoint", "tdew", "dewpt", "td"), "dew"),
    **dict.fromkeys(("vapour", "vapor", "vap", "vp", "ea"), "vapour"),
    **dict.fromkeys(("wind", "windspeed", "ws", "u2", "uz", "u10", "wnd"), "wind"),
    **dict.fromkeys(("solar", "radiation", "rad", "rs", "srad", "global", "ghi", "slr"), "sun"),
    **dict.fromkeys(("sunshine", "sunhours", "ssd", "insolation"), "bright"),
    **dict.fromkeys(("rain", "rainfall", "precipitation", "precip", "prcp", "prec", "ppt"), "rain"),
    **dict.fromkeys(("eto", "et0", "etref", "evapotranspiration", "pet"), "eto"),
    **dict.fromkeys(("maxima", "maximo"), "max"),
    **dict.fromkeys(("minima", "minimo"), "min"),
    **dict.fromkeys(("media", "medio", "promedio", "prom"), "mean"),
    **dict.fromkeys(("humedad", "hr"), "rh"),
    "hrmax": "rh max",
    "hrmin": "rh min",
    **dict.fromkeys(("hrmed", "hrmedia"), "rh mean"),
    "rocio": "dew",
    "viento": "wind",
    "radiacion": "sun",
    **dict.fromkeys(("insolacion", "heliofania"), "bright"),
    **dict.fromkeys(("lluvia", "precipitacion", "pp"), "rain"),
    **dict.fromkeys(("evapotranspiracion", "etp"), "eto"),
    **dict.fromkeys(("suelo", "direccion", "rafaga", "rafagas", "neta", "nieve"), "other"),
    **dict.fromkeys(("soil", "direction", "dir", "gust", "gusts", "net", "snow"), "other"),
}


def name_words(column: str) -> str:
    """Return the name of a column, a key of `COLUMNS`, in the language in use."""
    return tr(NAMES[column])


def plain_unit(text: str) -> str:
    """Return a unit in the one spelling of `Kind.units`: ``"MJ m⁻² d⁻¹"`` as ``"mjm-2d-1"``."""
    return _PER.sub("/", _TIDY_UNIT.sub("", text.translate(_UNIT_MARKS)).lower())


def read_heading(heading: str) -> tuple[str, str] | None:
    """Return column and unit of a heading.

    Parameters
    ----------
    heading : str
        Such as ``"Max temp (°F)"``, ``"rain_mm"`` or ``"Wind speed [km/h]"``.

    Returns
    -------
    (str, str) or None
        A key of `COLUMNS`, and the unit as `plain_unit` spells it or "" if none is told; None
        for a heading of something else.
    """
    unit = ""
    rest = _CAMEL.sub(" ", heading).lower().translate(_ACCENTS)
    if found := _BRACKETS.search(rest):  # brackets hold a unit, or nothing we can use
        unit = plain_unit(found.group(1))
        rest = rest[: found.start()] + " " + rest[found.end() :]
    # "rain_mm", "Tmax °C", "Wind, km/h": the unit is the last piece.
    pieces = re.split(r"[\s_,;:]+", rest.strip(" _,;:"))
    column = _column(pieces)
    if not unit and len(pieces) > 1:
        for count in (3, 2, 1):
            if count >= len(pieces):
                continue
            last = plain_unit("".join(pieces[-count:]))
            without = _column(pieces[:-count])
            if without and last in KINDS[COLUMNS[without]].units:
                return without, last
    if column is None:
        return None
    return column, unit


def _column(pieces: list[str]) -> str | None:
    """Return the column that the words of a heading name."""
    words = {
        meaning
        for piece in pieces
        for word in _WORD.findall(piece)
        for meaning in _MEANING.get(word, "").split()
    }
    if not words or "other" in words:
        return None
    which = next((end for end in ("max", "min") if end in words), "mean")
    if "dew" in words:
        return "dew_point"
    if "rh" in words:
        return f"rh_{which}"
    if "wind" in words:
        return "wind" if which == "mean" else None  # a day's strongest gust is no mean
    for word, column in (
        ("vapour", "vapour_pressure"),
        ("eto", "eto"),
        ("rain", "rain"),
        ("bright", "sunshine"),
        ("sun", "solar"),
    ):
        if word in words:
            return column
    return f"t{which}" if "temp" in words else None
