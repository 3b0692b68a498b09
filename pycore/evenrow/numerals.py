"""Numbers as people write them, in and out: a strict grammar that evaluates nothing.

Reading accepts decimal points and commas, thousands in groups of three, fractions
(``3/4``, ``1 1/2``, ``1½``) and powers of ten (``1e3``).  One form is refused because
it means two things: ``1,234`` is one thousand two hundred and thirty-four to some
readers and one point two three four to others.  A single point is always the
decimal point, so ``1.234`` is a little over one.
"""

from __future__ import annotations

import math
import re

from evenrow.errors import InputError
from evenrow.words import tr

#: Between the groups of a long number: narrow, and a line never breaks there.
GROUP_SPACE = "\u202f"
#: Between a number and its unit.
UNIT_SPACE = "\u00a0"
MINUS = "\u2212"

#: Powers of ten beyond this are a slip of the finger, not a size on a farm.
MAX_EXPONENT = 30

_ODD_SPACES = "\u00a0\u202f\u2009\u2007\u2008\u200a\t"
_CLEAN = str.maketrans(
    {
        **dict.fromkeys(_ODD_SPACES, " "),
        **dict.fromkeys("\u2212\u2013\u2010\u2011", "-"),
        **dict.fromkeys("\u2032\u2019\u2018", "'"),
        **dict.fromkeys("\u2033\u201d\u201c", '"'),
        "½": " 1/2",
        "¼": " 1/4",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
        "⅓": " 1/3",
        "⅔": " 2/3",
    }
)

_SIGN = re.compile(r"([+-]?) ?")
_MIXED = re.compile(r"(\d{1,4})[ -](\d{1,3})/(\d{1,3})(?![\d.,/])", re.ASCII)
_FRACTION = re.compile(r"(\d{1,4})/(\d{1,4})(?![\d.,/])", re.ASCII)
_SPACED = re.compile(r"\d{1,3}(?: \d{3})+(?![\d/])(?:[.,]\d+)?", re.ASCII)
_PLAIN = re.compile(r"[.,]?\d[\d.,]*", re.ASCII)
_POWER = re.compile(r"e([+-]?\d{1,4})(?![\d.,a-z])", re.ASCII | re.IGNORECASE)
_NOT_FINITE = re.compile(r"[+-]? ?(?:nan|inf|infinity|∞)(?![a-z])", re.IGNORECASE)


def tidy(text: str) -> str:
    """Return `text` with one kind of space, minus, prime and fraction.

    Parameters
    ----------
    text : str
        What was typed; the caller has bounded its length.

    Returns
    -------
    str
        The same text, spaces collapsed and trimmed.
    """
    return " ".join(text.translate(_CLEAN).replace("''", '"').split())


def leading_number(text: str) -> tuple[float, str]:
    """Read the number that `text` begins with.

    Parameters
    ----------
    text : str
        Text as `tidy` returns it.

    Returns
    -------
    (float, str)
        The number, always finite, and what follows it, trimmed.

    Raises
    ------
    InputError
        Code ``not_a_number``, ``not_finite``, ``ambiguous`` or ``too_large``.
    """
    if _NOT_FINITE.match(text):
        raise InputError(tr("that is not a number that can be worked with"), code="not_finite")
    sign = _SIGN.match(text)
    assert sign is not None  # the pattern also matches nothing
    factor = -1.0 if sign.group(1) == "-" else 1.0
    start = sign.end()
    for pattern in (_MIXED, _FRACTION):
        if found := pattern.match(text, start):
            value = _fraction([int(part) for part in found.groups()])
            return factor * value, text[found.end() :].strip()
    found = _SPACED.match(text, start) or _PLAIN.match(text, start)
    if found is None:
        raise InputError(tr("no number stands at the start"), code="not_a_number")
    digits = _decimal(found.group().replace(" ", ""))
    end = found.end()
    exponent = 0
    if power := _POWER.match(text, end):
        exponent, end = int(power.group(1)), power.end()
    value = float(f"{digits}e{exponent}") if abs(exponent) <= MAX_EXPONENT else math.inf
    if not math.isfinite(value):
        raise InputError(
            tr("the number is too large or too small to mean a size"), code="too_large"
        )
    return factor * value, text[end:].strip()


def _fraction(parts: list[int]) -> float:
    """Return ``a/b`` or ``whole a/b`` as a float."""
    *whole, top, bottom = parts
    if bottom == 0:
        raise InputError(tr("a fraction over zero is no number"), code="not_a_number")
    return (whole[0] if whole else 0) + top / bottom


def _decimal(text: str) -> str:
    """Return digits with points and commas as digits with at most one point."""
    unreadable = InputError(tr("the points and commas do not make a number"), code="not_a_number")
    commas, points = text.count(","), text.count(".")
    if commas and points:
        mark, separator = (",", ".") if text.rfind(",") > text.rfind(".") else (".", ",")
        whole, _, part = text.rpartition(mark)
        if not _grouped(whole, separator) or not part:
            raise unreadable
        return f"{whole.replace(separator, '')}.{part}"
    if commas > 1 or points > 1:
        separator = "," if commas else "."
        if not _grouped(text, separator):
            raise unreadable
        return text.replace(separator, "")
    if commas:
        whole, part = text.split(",")
        if not part:
            raise unreadable
        if len(part) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0"):
            raise InputError(
                tr("{text} can be read in two ways", text=text),
                code="ambiguous",
                hint=tr(
                    "{large} for the large number, or {small} for the small one",
                    large=f"{whole}{part}",
                    small=f"{whole}.{part}",
                ),
            )
        return f"{whole}.{part}"
    return text


def _grouped(text: str, separator: str) -> bool:
    """Say whether `text` is digits in groups of three."""
    first, *rest = text.split(separator)
    return (
        1 <= len(first) <= 3
        and bool(rest)
        and all(len(group) == 3 and group.isdecimal() for group in rest)
    )


def format_number(value: float, digits: int = 3) -> str:
    """Return a number as people read it.

    Parameters
    ----------
    value : float
        Any finite number.
    digits : int
        Significant digits to show, 1 to 15. Digits before the point are never rounded
        away, zeros at the end after the point are left out.

    Returns
    -------
    str
        Such as ``"0.0125"``, ``"62"`` or ``"27\u202f154"``, with a true minus sign and never
        ``"-0"``. Powers of ten appear only below a millionth and from 1e15.

    Raises
    ------
    ValueError
        When the value is not finite.
    """
    if not math.isfinite(value):
        raise ValueError("only finite numbers can be shown")
    size = abs(value)
    if size == 0:
        return "0"
    if size < 1e-6 or size >= 1e15:
        text = _exponent_form(size, digits)
    else:
        decimals = max(0, digits - 1 - math.floor(math.log10(size)))
        text = f"{size:.{decimals}f}"
        if "." in text:
            text = text.rstrip("0").rstrip(".")
        text = _group(text)
    if text == "0":
        return "0"
    return f"{MINUS}{text}" if value < 0 else text


def _exponent_form(size: float, digits: int) -> str:
    """Return ``1.2e-7`` without padding zeros."""
    mantissa, exponent = f"{size:.{max(0, digits - 1)}e}".split("e")
    if "." in mantissa:
        mantissa = mantissa.rstrip("0").rstrip(".")
    return f"{mantissa}e{int(exponent)}"


def _group(text: str) -> str:
    """Set the integer digits of a long number in groups of three."""
    whole, point, part = text.partition(".")
    if len(whole) < 5:
        return text
    return f"{int(whole):,}".replace(",", GROUP_SPACE) + point + part
