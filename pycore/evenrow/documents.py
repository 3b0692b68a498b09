"""The design file: read from TOML or JSON text, checked, brought up to date, written.

A document is a plain nested dict of texts, numbers, yes/no values, lists and dicts.
This module knows its limits and its version, not the fields of any calculator.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Mapping
from typing import Any, NoReturn

import tomli_w

from evenrow.errors import InputError
from evenrow.structure import structure
from evenrow.words import tr

Document = dict[str, Any]

#: Version of the design file that this program writes.
VERSION = 1
#: ``MIGRATIONS[n]`` turns a document of version n into one of version n + 1, in place.
MIGRATIONS: dict[int, Callable[[Document], None]] = {}

#: Longest design file that is read. [bytes]
MAX_BYTES = 256 * 1024
#: Deepest nesting: the document itself counts as one.
MAX_DEPTH = 6
#: Most values, counting every table, list and entry.
MAX_VALUES = 4000
#: Longest text of a value: a weather table of a year of days. [characters]
MAX_TEXT = 40_000
#: Largest number that JavaScript and Python both hold exactly.
MAX_NUMBER = 2**53 - 1
#: Most dots in one name: building such a table takes longer with every dot.
MAX_DOTS = 20
#: Brackets that stand open at once; beyond this a parser would nest too deeply.
MAX_OPEN = 50

_KEY = re.compile(r"[A-Za-z0-9_-]{1,60}", re.ASCII)
#: Names with a meaning of their own in JavaScript objects.
_FORBIDDEN_KEYS = frozenset({"__proto__", "constructor", "prototype"})
_HEAD = ("evenrow", "calculator", "units", "name", "about", "catalogue")
_LINE = re.compile(r"\(at (?:line (\d+), column \d+|end of document)\)")


def from_text(text: str | bytes) -> Document:
    """Read a design file: JSON when it begins with ``{``, TOML otherwise.

    Parameters
    ----------
    text : str or bytes
        The whole file, at most `MAX_BYTES`.

    Returns
    -------
    dict
        The document, within the limits of this module; its version is not looked at yet.

    Raises
    ------
    InputError
        Field ``file``; the message names the line where it is known.
    """
    if len(text) > MAX_BYTES:
        _fail(tr("the file is too long for a design"), "too_long", accepted=tr("up to 256 KB"))
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8")
        except UnicodeDecodeError:
            _fail(tr("the file is not text in UTF-8"), "not_text")
    text = text.removeprefix("\ufeff")
    if not text.strip():
        _fail(tr("the file is empty"), "missing")
    is_json = text.lstrip().startswith("{")
    found = structure(text, toml=not is_json)
    if found.open > MAX_OPEN:
        _fail(tr("the file is nested too deeply"), "too_deep")
    if found.dots > MAX_DOTS and not is_json:
        _fail(tr("a name in the file has too many dots"), "too_deep")
    document = _from_json(text) if is_json else _from_toml(text)
    check_shape(document)
    return document


def _from_toml(text: str) -> Document:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = str(error)
        line = _LINE.search(found)
        reason = _LINE.sub("", found).strip().rstrip(".")
        if reason.startswith(("Cannot overwrite", "Cannot declare", "Duplicate")):
            reason = tr("the same name is given twice")
        message = (
            tr("line {line} is not valid TOML: {reason}", line=line.group(1), reason=reason)
            if line and line.group(1)
            else tr("the end of the file is not valid TOML: {reason}", reason=reason)
        )
        _fail(message, "not_toml", accepted=tr('lines such as name = "Raspberries"'))
    except (ValueError, RecursionError, MemoryError):
        _fail(tr("the file is not valid TOML"), "not_toml")


def _from_json(text: str) -> Document:
    try:
        document = json.loads(text, object_pairs_hook=_no_twins, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        message = tr("line {line} is not valid JSON: {reason}", line=error.lineno, reason=error.msg)
        _fail(message, "not_json")
    except InputError:
        raise
    except (ValueError, RecursionError):
        _fail(tr("the file is not valid JSON"), "not_json")
    assert isinstance(document, dict)  # the text begins with a brace
    return document


def _no_twins(pairs: list[tuple[str, Any]]) -> Document:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [key for key, _ in pairs]
        twin = next(key for key in names if names.count(key) > 1)
        _fail(tr("the same name is given twice"), "duplicate_key", given=twin)
    return found


def _no_constant(word: str) -> NoReturn:
    _fail(tr("that is not a number that can be worked with"), "not_finite", given=word)


def _fail(message: str, code: str, *, given: object = None, accepted: str = "") -> NoReturn:
    raise InputError(message, code=code, field="file", given=given, accepted=accepted) from None


def check_shape(document: object, *, field: str = "") -> None:
    """Check that a value is a document within the limits of this module.

    Parameters
    ----------
    document : object
        Anything that a parser returns.
    field : str
        Field that every error names instead of the place inside the document.

    Raises
    ------
    InputError
        Code ``wrong_type``, ``too_deep``, ``too_many``, ``bad_key``, ``text_too_long``,
        ``not_text`` or ``not_finite``.
    """
    if not isinstance(document, dict):
        raise InputError(
            tr("a design is a table of names and values"), code="wrong_type", field=field
        )
    # A stack of our own: nesting must not be able to exhaust Python's.
    waiting: list[tuple[str, object, int]] = [("", document, 1)]
    count = 0
    while waiting:
        path, value, depth = waiting.pop()
        count += 1
        place = field or path
        if count > MAX_VALUES:
            raise _too_many(field)
        if isinstance(value, (dict, list)):
            if depth > MAX_DEPTH:
                raise InputError(tr("this is nested too deeply"), code="too_deep", field=place)
            if count + len(waiting) + len(value) > MAX_VALUES:
                raise _too_many(field)
            for key, inner in _entries(value, place):
                waiting.append((f"{path}.{key}" if path else str(key), inner, depth + 1))
        else:
            _check_leaf(value, place)


def _too_many(field: str) -> InputError:
    return InputError(
        tr("there are more than {count} values", count=MAX_VALUES), code="too_many", field=field
    )


def _entries(value: dict[Any, Any] | list[Any], place: str) -> list[tuple[Any, Any]]:
    """Return the entries of a table or list, its names checked."""
    if isinstance(value, list):
        return list(enumerate(value))
    for key in value:
        if not isinstance(key, str) or not _KEY.fullmatch(key) or key in _FORBIDDEN_KEYS:
            raise InputError(
                tr("a name in the design cannot be used"),
                code="bad_key",
                field=place,
                given=key,
                accepted=tr("letters, digits, - and _, up to 60 of them"),
            )
    return list(value.items())


def _check_leaf(value: object, place: str) -> None:
    """Check one value that is neither a table nor a list."""
    if isinstance(value, str):
        if len(value) > MAX_TEXT:
            raise InputError(
                tr("the text is too long"),
                code="text_too_long",
                field=place,
                given=value,
                accepted=tr("up to {count} characters", count=MAX_TEXT),
            )
        # Half of a surrogate pair is no character: it could not be written out again.
        if any("\ud800" <= character <= "\udfff" for character in value):
            raise InputError(tr("the text holds a broken character"), code="not_text", field=place)
    elif isinstance(value, (bool, int, float)):
        if not -MAX_NUMBER <= value <= MAX_NUMBER:  # false for NaN too
            raise InputError(
                tr("that is not a number that can be worked with"),
                code="not_finite",
                field=place,
            )
    else:
        raise InputError(
            tr("a value of the type {type} has no use in a design", type=type(value).__name__),
            code="wrong_type",
            field=place,
            accepted=tr('text in quotes such as "62 ft", numbers, true and false'),
        )


def upgrade(document: Mapping[str, Any]) -> Document:
    """Return a document brought up to the present version of the design file.

    Parameters
    ----------
    document : mapping
        A document within the limits of `check_shape`; it is left as it is.

    Returns
    -------
    dict
        The document itself, or a changed copy when it was older.

    Raises
    ------
    InputError
        Field ``evenrow``: the version is missing, no version, or newer than this program.
    """
    version = document.get("evenrow")
    accepted = f"evenrow = {VERSION}"
    if version is None:
        raise InputError(
            tr("the version of the design file is missing"),
            code="missing",
            field="evenrow",
            accepted=accepted,
            hint=tr("the line {line} at the top of the file", line=accepted),
        )
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise InputError(
            tr("that is no version of the design file"),
            code="wrong_version",
            field="evenrow",
            given=version,
            accepted=accepted,
        )
    if version > VERSION:
        raise InputError(
            tr("this design was made by a newer Evenrow than this one"),
            code="newer_version",
            field="evenrow",
            given=version,
            accepted=tr("{version} or lower", version=accepted),
            hint=tr("the newest Evenrow"),
        )
    if version == VERSION:
        return dict(document)
    changed: Document = json.loads(json.dumps(document))
    for step in range(version, VERSION):
        MIGRATIONS[step](changed)
        changed["evenrow"] = step + 1
    return changed


def to_toml(document: Mapping[str, Any]) -> str:
    """Return a document as the text of a design file.

    Parameters
    ----------
    document : mapping
        A document within the limits of `check_shape`.

    Returns
    -------
    str
        TOML; version, calculator, units and name first, the rest in the order of the document.

    Raises
    ------
    InputError
        When the document is not within the limits.
    """
    check_shape(document)
    ordered = {key: document[key] for key in _HEAD if key in document}
    return tomli_w.dumps({**ordered, **{k: v for k, v in document.items() if k not in ordered}})
