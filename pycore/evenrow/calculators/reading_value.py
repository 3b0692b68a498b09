"""From one text of a document to one value of a field, with the reason when it cannot be."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from typing import Any, cast

from evenrow import documents, units
from evenrow.calculators.spec import Field
from evenrow.errors import InputError
from evenrow.units import UnitSystem
from evenrow.words import said, tr

#: Longest text of a text field that sets no bound of its own.
MAX_TEXT = 200

#: What a message says of the kinds that hold no quantity.
_PLAIN_WORDS = {
    "text": said("a text"),
    "flag": said("yes or no"),
    "count": said("a whole number"),
    "table": said("rows"),
}

_COUNT = re.compile(r"[+-]?[0-9]{1,9}", re.ASCII)
_YES = ("yes", "true", "on", "sí", "si")
_NO = ("no", "false", "off")

#: Marks that turn the reading order of what follows, so that a text may look like another.
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c")


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known name that looks most like `word`, or ""."""
    return next(iter(difflib.get_close_matches(word[:60], list(known), n=1, cutoff=0.6)), "")


def read_value(field: Field, raw: object, system: UnitSystem, path: str) -> Any:
    """Read one value of a field that is no table.

    Parameters
    ----------
    field : Field
        What is asked for.
    raw : object
        What the document holds; None or "" when nothing.
    system : {"us", "metric"}
        Unit system in which a message shows the bounds.
    path : str
        Dotted path for the error.

    Returns
    -------
    float, int, bool, str or None
        None for an empty optional field; the default where it is assumed.

    Raises
    ------
    InputError
        At `path`.
    """
    if raw is None and field.assumed:
        raw = field.default_for(system)
    if isinstance(raw, (dict, list)):
        raise wrong_type(field, raw, path)
    if raw is None or (isinstance(raw, str) and not raw[: documents.MAX_TEXT].strip()):
        if field.required:
            raise InputError(
                tr("{what} is missing", what=tr(field.label)),
                code="missing",
                field=path,
                accepted=accepted_text(field),
            )
        return None
    if field.kind == "text":
        return read_text(raw, path, int(field.hi or MAX_TEXT))
    if field.kind == "choice":
        return _choice(field, raw, path)
    if field.kind == "flag":
        return _flag(field, raw, path)
    if field.kind == "count":
        number: float = _count(field, raw, path)
    else:
        number = units.parse(cast(Any, raw), field.kind, field=path)
    _check_bounds(field, number, raw, system, path)
    return number


def accepted_text(field: Field) -> str:
    """Return what a message says a field accepts."""
    if field.kind == "choice":
        return ", ".join(choice.value for choice in field.choices)
    plain = _PLAIN_WORDS.get(field.kind)
    return tr(plain) if plain else units.QUANTITIES[field.kind].accepted


def wrong_type(field: Field, raw: object, path: str) -> InputError:
    """Return the error for a value that is not even of the right type."""
    return InputError(
        tr("{what} has the wrong kind of value", what=tr(field.label)),
        code="wrong_type",
        field=path,
        given=raw if isinstance(raw, str) else None,
        accepted=accepted_text(field),
    )


def read_text(raw: object, path: str, longest: int) -> str | None:
    """Return a free text, trimmed; None when there is none."""
    if raw is None:
        return None
    if not isinstance(raw, str):
        raise InputError(
            tr("this must be a text"), code="wrong_type", field=path, accepted=tr("a text")
        )
    if len(raw) > longest:
        raise InputError(
            tr("the text is too long"),
            code="too_long",
            field=path,
            given=raw,
            accepted=tr("up to {count} characters", count=longest),
        )
    if any(unprintable(character) for character in raw):
        raise InputError(
            tr("the text holds characters that cannot be shown"),
            code="not_text",
            field=path,
            given=raw,
            accepted=tr("letters, digits, signs and line ends"),
        )
    return raw.strip()


def unprintable(character: str) -> bool:
    """Return whether a character steers a terminal or turns the reading order of a text."""
    if character in "\n\r\t":
        return False
    return unicodedata.category(character) in ("Cc", "Cs") or character in _TURNING


def _choice(field: Field, raw: object, path: str) -> str:
    values = [choice.value for choice in field.choices]
    given = raw.strip().lower() if isinstance(raw, str) and len(raw) <= MAX_TEXT else ""
    if given in values:
        return given
    raise InputError(
        tr("{what} is none of the choices", what=tr(field.label)),
        code="not_a_choice",
        field=path,
        given=raw,
        accepted=", ".join(values),
        hint=nearest(given, values),
    )


def _flag(field: Field, raw: object, path: str) -> bool:
    if isinstance(raw, bool):
        return raw
    given = raw.strip().lower() if isinstance(raw, str) and len(raw) <= MAX_TEXT else ""
    if given in _YES or given in _NO:
        return given in _YES
    raise InputError(
        tr("{what} is yes or no", what=tr(field.label)),
        code="not_a_flag",
        field=path,
        given=raw,
        accepted=tr("yes or no"),
    )


def _count(field: Field, raw: object, path: str) -> int:
    if isinstance(raw, int) and not isinstance(raw, bool):
        return raw
    if isinstance(raw, str) and len(raw) <= units.MAX_TEXT and _COUNT.fullmatch(raw.strip()):
        return int(raw)
    raise InputError(
        tr("{what} is a whole number", what=tr(field.label)),
        code="not_a_count",
        field=path,
        given=raw,
        accepted=tr("a whole number such as 5"),
    )


def _check_bounds(field: Field, number: float, raw: object, system: UnitSystem, path: str) -> None:
    """Refuse a number beyond what is possible, and say what is."""
    low = field.lo is not None and number < field.lo
    low = low or (field.above is not None and number <= field.above)
    if not low and (field.hi is None or number <= field.hi):
        return
    message = tr("{what} is too small" if low else "{what} is too large", what=tr(field.label))
    raise InputError(
        message,
        code="out_of_range",
        field=path,
        given=raw,
        accepted=bounds_text(field, system),
    )


def bounds_text(field: Field, system: UnitSystem) -> str:
    """Return the bounds of a numeric field in words, such as ``"above 0 m, up to 5000 m"``."""
    bounds = (
        (said("above {bound}"), field.above),
        (said("from {bound}"), field.lo),
        (said("up to {bound}"), field.hi),
    )
    return ", ".join(
        tr(text, bound=units.format_value(bound, field.kind, system, 4))
        for text, bound in bounds
        if bound is not None
    )
