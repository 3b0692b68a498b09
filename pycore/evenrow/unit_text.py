"""How a unit is written: one spelling for each, and values in two units (5 ft 6 in)."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from evenrow.errors import InputError
from evenrow.numerals import leading_number, tidy
from evenrow.words import tr

#: Longest text that is read as a quantity.
MAX_TEXT = 64

_WORDS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), put)
    for pattern, put in (
        (r"(?<=[a-z])\.", ""),  # "ft.", "min."
        (r"³", "3"),
        (r"²", "2"),
        (r"⁻(?=¹)", "-"),
        (r"¹", "1"),
        (r"µ|μ", "u"),
        (r"%", "percent"),
        (r"'", "ft"),
        (r'"', "in"),
        (r"[°º] ?|\bdeg(?:rees?)? ?(?=[cf]\b)", "deg"),
        (r" ?(?:\bof (?:water|head)\b|\b(?:de )?agua\b|h2o\b|\bwater\b)", "water"),
        (r"\bsq(?:uare)?\b ?([a-z]+)", r"\g<1>2"),
        (r"\bcu(?:bic)?\b ?([a-z]+)", r"\g<1>3"),
        (r"\b(?:per|por)\b", "/"),
        (r"[×·]|(?<=[a-z])-(?=[a-z])", "*"),
        (r"\*\*|\^", ""),
        (r" ?([*/]) ?", r"\1"),
        (r"\b100 (?=[a-z])", "100"),
    )
)
_PRODUCT = re.compile(r"[a-z]+(?:-?[1-3])?(?:[*/](?:100)?[a-z]+(?:-?[1-3])?){0,3}", re.ASCII)
_FACTOR = re.compile(r"([*/]?)(100)?([a-z]+)(-?[1-3])?", re.ASCII)


@lru_cache(maxsize=512)
def unit_key(text: str) -> str:
    """Return the one spelling under which a unit text is looked up.

    Parameters
    ----------
    text : str
        Such as ``"m³/h"``, ``"gal/min per 100 ft"`` or ``"°F"``, at most `MAX_TEXT` characters.

    Returns
    -------
    str
        At most four unit names with powers to 3, joined by ``*`` and ``/``.

    Raises
    ------
    InputError
        Code ``unknown_unit``: the text is no such product.
    """
    # A megalitre is a thousand million times a millilitre: upper case is no slip to forgive.
    plain = "" if len(text) > MAX_TEXT or "ML" in text else tidy(text).lower()
    for pattern, put in _WORDS:
        plain = pattern.sub(put, plain)
    if not _PRODUCT.fullmatch(plain):
        raise InputError(tr("the unit is not known"), code="unknown_unit")
    return plain


class Factor(NamedTuple):
    """One unit of a product: divided by or not, per hundred or not, its name and power."""

    divided: bool
    hundred: bool
    name: str
    power: int


def factors(key: str) -> list[Factor]:
    """Return the factors of a unit in the spelling of `unit_key`."""
    return [
        Factor(operator == "/", bool(hundred), name, int(power or 1))
        for operator, hundred, name, power in _FACTOR.findall(key)
    ]


#: Larger units behind which a number in a smaller unit may follow: ``5 ft 6 in``.
SMALLER = {
    **dict.fromkeys(("ft", "feet", "foot", "'"), "in"),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), "min"),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), "s"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "oz"),
}
_NAMES = "|".join(sorted(SMALLER, key=len, reverse=True))
#: Such a unit with another number behind it; without a space between them the number
#: must have two digits or a unit of its own, for "ft2" is a unit.
_LARGER = re.compile(
    rf"""({_NAMES})(?:\ (?=[\d.,])|(?<=')(?=\d)|(?=\d{{2}}|\d\ ?[a-z"]))""",
    re.ASCII | re.IGNORECASE | re.VERBOSE,
)


def number_parts(plain: str) -> list[tuple[float, str]]:
    """Cut a text such as ``5 ft 6 in`` into numbers with the unit text behind each.

    Parameters
    ----------
    plain : str
        Text as `tidy` returns it, at most `MAX_TEXT` characters.

    Returns
    -------
    list of (float, str)
        One part for an ordinary value; the unit text of the last part may be empty.

    Raises
    ------
    InputError
        As `leading_number`.
    """
    parts = []
    number, rest = leading_number(plain)
    while larger := _LARGER.match(rest):
        parts.append((number, larger.group(1).lower()))
        number, rest = leading_number(rest[larger.end() :])
    return [*parts, (number, rest)]
