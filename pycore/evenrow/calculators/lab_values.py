"""Readings of a water report as people copy them: ``<0.1 mg/L``, ``400 ppb``, ``n.d.``.

Nothing is evaluated: a sign, a number of `evenrow.numerals`, and a unit out of a short list.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from evenrow.agronomy.water_quality import MG_PER_L, PER_ML
from evenrow.errors import InputError
from evenrow.numerals import leading_number, tidy
from evenrow.words import tr

#: Longest reading.
MAX_TEXT = 40
#: Beyond these no water is water: a kilogram of anything in a litre. [kg/m3], [S/m], [1/m3]
_MOST = {"mass": 1000.0, "conductivity": 100.0, "count": 1e18, "ph": 14.0}

#: Signs and words of laboratories, English and Spanish.
_LESS = re.compile(r"(?:<=?|≤|less than|below|under|menos de|menor (?:que|a)) ?", re.IGNORECASE)
_MORE = re.compile(
    r"(?:>=?|≥|more than|above|over|tntc ?>?|más de|mas de|mayor (?:que|a)) ?", re.IGNORECASE
)
_NOTHING = re.compile(
    r"(?:n\.?d\.?|not detected|none detected|bdl|nil|none|absent|no detectad[oa]|ausente)",
    re.IGNORECASE,
)

_MASS = {
    "": MG_PER_L,
    "mg/l": MG_PER_L,
    "mgl": MG_PER_L,
    "g/m3": MG_PER_L,
    "ppm": MG_PER_L,
    "ug/l": 1e-6,
    "mg/m3": 1e-6,
    "ppb": 1e-6,
    "g/l": 1.0,
    "kg/m3": 1.0,
}
#: What one millimole a litre is in kg/m3, and one milliequivalent; from the molar masses.
_MOLES = {
    "iron": (55.845e-3, 55.845e-3 / 2),
    "manganese": (54.938e-3, 54.938e-3 / 2),
    "sulphide": (34.081e-3, 34.081e-3 / 2),
    "hardness": (100.087e-3, 50.043e-3),
    "bicarbonate": (61.017e-3, 61.017e-3),
}
#: Degrees of hardness, as calcium carbonate: German, French, grains in a US gallon.
_HARDNESS = {
    "dh": 17.848e-3,
    "°dh": 17.848e-3,
    "°d": 17.848e-3,
    "°f": 10.0e-3,
    "°fh": 10.0e-3,
    "gpg": 17.118e-3,
    "grains/gal": 17.118e-3,
}
_CONDUCTIVITY = {
    "ds/m": 0.1,
    "ms/cm": 0.1,
    "mmho/cm": 0.1,
    "mmhos/cm": 0.1,
    "us/cm": 1e-4,
    "umho/cm": 1e-4,
    "umhos/cm": 1e-4,
    "ms/m": 1e-3,
    "s/m": 1.0,
}
_COUNT = {"": PER_ML, "/ml": PER_ML, "/100ml": 1e4, "/l": 1e3}
_COUNT_WORD = re.compile(r"^(?:cfu|mpn|cells|counts?|no\.?|bacteria)? ?(?=/|$)")
#: Behind the unit, and of no account to it.
_TAIL = re.compile(r" ?(?:as )?(?:fe|mn|h2s|s|caco3|hco3)$")


@dataclass(frozen=True)
class Reading:
    """One reading in SI, between `low` and `high`: equal, unless it is a "less" or a "more".

    Parameters
    ----------
    low, high : float
        Bounds [kg/m3, S/m, 1/m3 or pH]; `high` inf for "more than".
    text : str
        As it was written.
    """

    low: float
    high: float
    text: str

    @property
    def below(self) -> bool:
        """Whether the report gives only what it lies under."""
        return self.low < self.high < math.inf

    @property
    def likely(self) -> float:
        """What to reckon with: the bound of a "less" or a "more", the cautious side of it."""
        return self.high if self.high < math.inf else self.low


def _family(constituent: str) -> str:
    families = {"ph": "ph", "ec": "conductivity", "bacteria": "count"}
    return families.get(constituent, "mass")


def _examples(constituent: str) -> str:
    examples = {
        "ph": tr("a pH from 0 to 14 such as 7.4"),
        "conductivity": tr("a conductivity such as 0.8 dS/m, 800 µS/cm or <0.5 mS/cm"),
        "count": tr("a count such as 8000/mL, 5000 CFU/100 mL or <1/mL"),
        "mass": tr("a reading such as 0.4 mg/L, <0.1, 400 ppb or n.d."),
    }
    return examples[_family(constituent)]


def _units(constituent: str) -> dict[str, float]:
    """Return the units that fit a constituent, with what one of each is in SI."""
    family = _family(constituent)
    if family == "ph":
        return {"": 1.0}
    if family == "conductivity":
        return _CONDUCTIVITY
    if family == "count":
        return _COUNT
    units = dict(_MASS)
    if constituent in _MOLES:
        mole, equivalent = _MOLES[constituent]
        units |= {"mmol/l": mole, "umol/l": mole * 1e-3, "meq/l": equivalent, "me/l": equivalent}
    if constituent == "hardness":
        units |= _HARDNESS
    return units


def _unit(text: str, constituent: str) -> float:
    """Return what one of a unit text is in SI."""
    plain = text.lower().replace("µ", "u").replace("μ", "u").replace("³", "3").replace("ℓ", "l")
    plain = plain.replace("mcg", "ug").replace(" per ", "/").replace("per ", "/")
    family = _family(constituent)
    if family == "count":
        plain = _COUNT_WORD.sub("", plain)
    elif family == "mass":
        plain = _TAIL.sub("", plain)
    elif family == "ph" and plain in ("ph", "units", "ph units", "su", "s.u."):
        plain = ""
    plain = plain.replace(" ", "")
    units = _units(constituent)
    if plain in units:
        return units[plain]
    if not plain:
        raise InputError(tr("the unit is missing"), code="no_unit", hint=tr("dS/m or µS/cm"))
    raise InputError(tr("the unit “{text}” does not fit here", text=text), code="unknown_unit")


def read_reading(text: str | None, constituent: str, field: str) -> Reading | None:
    """Read one line of a water report.

    Parameters
    ----------
    text : str or None
        As written, such as ``"<0.1 mg/L"``; a bare number is mg/L, or a count a millilitre.
    constituent : str
        ``"ph"``, ``"ec"``, ``"bacteria"``, or a substance in mass for each volume.
    field : str
        Dotted path for the error.

    Returns
    -------
    Reading or None
        None where nothing stands: not tested.

    Raises
    ------
    InputError
        Where it cannot be read, at `field`.
    """
    if text is None:
        return None
    try:
        if len(text) > MAX_TEXT:
            raise InputError(tr("the text is too long for one reading"), code="too_long")
        return _reading(tidy(text), constituent)
    except InputError as error:
        raise InputError(
            error.message,
            code=error.code,
            field=field,
            given=text,
            accepted=_examples(constituent),
            hint=error.hint,
        ) from None


def _reading(plain: str, constituent: str) -> Reading | None:
    if plain in ("", "-", "n/a", "na", "N/A", "NA"):
        return None
    if _NOTHING.fullmatch(plain) and constituent != "ph":
        return Reading(0.0, 0.0, plain)
    rest, less, more = plain, _LESS.match(plain), _MORE.match(plain)
    if sign := less or more:
        rest = plain[sign.end() :]
    number, unit = leading_number(rest)
    if number < 0.0:
        raise InputError(tr("a reading cannot be negative"), code="out_of_range")
    value = number * _unit(unit, constituent)
    if value > _MOST[_family(constituent)]:
        raise InputError(tr("that is more than water can hold"), code="out_of_range")
    if less:
        return Reading(0.0, value, plain)
    return Reading(value, math.inf if more else value, plain)


def read_dose(text: str | None, field: str, label: str) -> float:
    """Read a dose [kg/m3] such as ``"10 mg/L"`` or ``"10 ppm"``; a bare number is mg/L.

    Parameters
    ----------
    text : str or None
        As written.
    field : str
        Dotted path for the error.
    label : str
        What the field is called.

    Raises
    ------
    InputError
        Where it is missing, no plain amount, or zero.
    """
    accepted = tr("a dose such as 10 mg/L or 10 ppm")
    found = read_reading(text, "dose", field) if text else None
    if found is None:
        raise InputError(
            tr("{label} is missing", label=label), code="missing", field=field, accepted=accepted
        )
    if found.low != found.high or not 0.0 < found.low <= 100.0:
        raise InputError(
            tr("{label} must be one amount above zero", label=label),
            code="out_of_range",
            field=field,
            given=text,
            accepted=tr("{accepted}, up to 100 g/L", accepted=accepted),
        )
    return found.low
