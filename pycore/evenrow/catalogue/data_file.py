"""A data file as entries, each with the line it stands on.

The parser of the standard library gives no lines, so a scanner of its own finds where every
key of a valid file begins.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from typing import Any, NoReturn

from evenrow.catalogue.keys import Entry
from evenrow.errors import InputError
from evenrow.structure import structure

#: Longest data file that is read [bytes].
MAX_BYTES = 1_000_000
#: Brackets that stand open at once, dots in one name: beyond these a parser labours.
MAX_OPEN, MAX_DOTS = 8, 8

_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")
_PART = r"(?:[A-Za-z0-9_-]+|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*')"
_NAME = rf"{_PART}(?:[ \t]*\.[ \t]*{_PART})*"
_HEADER = re.compile(rf"[ \t]*\[\[?[ \t]*({_NAME})")
_KEY = re.compile(rf"[ \t]*({_NAME})[ \t]*=")
#: Texts and comments as a whole, so that nothing inside them counts.
_TOKEN = re.compile(
    r"\"\"\"(?:\\.|[^\\])*?\"{3,5}|'''.*?'{3,5}|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*'|#[^\n]*|[\[\]{}\n]",
    re.DOTALL,
)


@dataclass(frozen=True, kw_only=True)
class DataFile:
    """A data file: the values at its top, and its entries by code.

    `line_of` tells the line of a name in it, or None.
    """

    name: str
    top: dict[str, Any]
    entries: dict[str, Entry]
    line_of: Callable[..., int | None]


class _Lines:
    """The lines of a valid text, looked for when the first complaint asks."""

    def __init__(self, text: str) -> None:
        self._text = text

    @cached_property
    def _found(self) -> dict[tuple[str, ...], int]:
        return key_lines(self._text)

    def of(self, *path: str) -> int | None:
        """Return the line of a table or key by its path of names, or None."""
        return self._found.get(path)


def key_lines(text: str) -> dict[tuple[str, ...], int]:
    """Return the line on which each table and key of a valid TOML text begins.

    Parameters
    ----------
    text : str
        TOML that a parser has accepted.

    Returns
    -------
    dict
        Line, counted from 1, by the path of names; keys inside braces are left out, because
        they stand on the line of the key that holds them.
    """
    found: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    position, line = 0, 1
    while position < len(text):
        if header := _HEADER.match(text, position):
            table = _path(header[1])
            found.setdefault(table, line)
        elif key := _KEY.match(text, position):
            found.setdefault((*table, *_path(key[1])), line)
        end = _statement_end(text, position)
        line += text.count("\n", position, end)
        position = end
    return found


def _path(name: str) -> tuple[str, ...]:
    """Return the parts of a dotted name as the parser reads them."""
    value: Any = tomllib.loads(f"{name} = 0")
    parts = []
    while isinstance(value, dict):
        ((part, value),) = value.items()
        parts.append(part)
    return tuple(parts)


def _statement_end(text: str, position: int) -> int:
    """Return where the next statement begins: past the first line end outside brackets."""
    depth = 0
    for token in _TOKEN.finditer(text, position):
        mark = token[0]
        if mark in ("[", "{"):
            depth += 1
        elif mark in ("]", "}"):
            depth -= 1
        elif mark == "\n" and depth == 0:
            return token.end()
    return len(text)


def _fail(name: str, message: str, code: str, accepted: str = "", hint: str = "") -> NoReturn:
    raise InputError(message, code=code, field=name, accepted=accepted, hint=hint) from None


def read_data_file(name: str, content: bytes) -> DataFile:
    """Read a data file as far as its structure goes; the values are not looked at.

    Parameters
    ----------
    name : str
        What messages call it.
    content : bytes
        The whole file, up to `MAX_BYTES`.

    Raises
    ------
    InputError
        Code ``too_long``, ``not_text``, ``too_deep`` or ``not_toml``; the field names the file
        and, where it is known, the line.
    """
    if len(content) > MAX_BYTES:
        _fail(name, "the file is too long for a catalogue", "too_long", "up to 1 MB")
    try:
        text = content.decode("utf-8").removeprefix("\ufeff").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        _fail(
            f"{name}, line {line}",
            "the file is not text in UTF-8",
            "not_text",
            hint="saving it again with the encoding UTF-8",
        )
    shape = structure(text, toml=True)
    if shape.open > MAX_OPEN or shape.dots > MAX_DOTS:
        _fail(name, "the file is nested too deeply for a catalogue", "too_deep")
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _not_toml(name, str(error))
    except (ValueError, RecursionError):
        _fail(name, "the file is not valid TOML", "not_toml")
    line_of = _Lines(text).of
    entries = {
        code: Entry(file=name, code=code, values=values, line_of=line_of)
        for code, values in document.items()
        if isinstance(values, dict)
    }
    top = {key: value for key, value in document.items() if key not in entries}
    return DataFile(name=name, top=top, entries=entries, line_of=line_of)


def _not_toml(name: str, message: str) -> NoReturn:
    """Say in plain words where a file stops being TOML."""
    at = _AT.search(message)
    reason = _AT.sub("", message).strip().rstrip(".")
    if reason.startswith(("Cannot overwrite", "Cannot declare", "Duplicate")):
        reason = "the same name is given twice"
    place = f"{name}, line {at[1]}" if at and at[1] else f"{name}, at its end"
    _fail(
        place,
        f"this is not valid TOML: {reason}",
        "not_toml",
        'a code in brackets, and below it lines such as flow = "2 L/h"',
    )


def builtin_file(name: str) -> DataFile:
    """Return a data file that comes with the package; see `read_data_file`."""
    return read_data_file(name, files("evenrow.catalogue").joinpath(name).read_bytes())
