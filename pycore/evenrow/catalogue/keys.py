"""How an entry of a data file is declared, and read through its declaration.

`read_entry` turns the texts of an entry into SI values and gathers every complaint;
`evenrow.catalogue.forms` holds the declarations.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import islice, pairwise
from typing import Any

from evenrow import units
from evenrow.errors import InputError, echo

#: Kinds of value that hold no quantity with a unit.
PLAIN = ("text", "number", "count", "price", "flag")
#: Longest text of a value, and most values of a list.
MAX_TEXT, MAX_LIST = 200, 60
#: Highest price of one piece or coil, in whatever currency.
PRICE_MAX = 1e7
#: What a code looks like: it begins with a letter, so that no spreadsheet takes it for a date.
CODE = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*", re.ASCII)
MAX_CODE = 60
#: Names that mean something else where a code stands.
RESERVED = ("source", "hide")
#: Complaints beyond this many are not told: nobody would read on.
MAX_TOLD = 200
#: Names that a wrong one is compared with.
MAX_COMPARED = 1000
#: Bounds give way by this share, so that the last bit of a conversion decides nothing.
SLACK = 1e-12
CODE_WORDS = "small letters, digits and single hyphens, a letter first, up to 60 characters"


@dataclass(frozen=True, kw_only=True)
class Key:
    """One key of an entry.

    Parameters
    ----------
    name, help : str
        Its name in the file, and what it holds in a sentence.
    kind : str
        A quantity of `evenrow.units` (then the value is a text with its unit), or one of
        `PLAIN`.
    required : bool
        Whether an entry must have it.
    many : bool
        Whether the value is a list.
    rising : bool
        Whether that list must rise.
    exactly, at_most : int, optional
        How many values that list has, or has at the most, where not any number.
    lo, hi : float, optional
        Inclusive bounds in SI.
    above : float, optional
        Exclusive lower bound in SI.
    choices : tuple of str
        The texts that are accepted, where not any.
    pattern : str
        Regular expression that the whole text must match, where there is one.
    only_for : str
        The kind of entry that must have this key, and the only one that may; "" for all.
    """

    name: str
    help: str
    kind: str = "text"
    required: bool = True
    many: bool = False
    rising: bool = False
    exactly: int | None = None
    at_most: int = MAX_LIST
    lo: float | None = None
    hi: float | None = None
    above: float | None = None
    choices: tuple[str, ...] = ()
    pattern: str = ""
    only_for: str = ""

    @property
    def accepted(self) -> str:
        """What a message says is accepted."""
        if self.choices:
            return ", ".join(self.choices)
        bounds = self.bounds
        what = {
            "text": self.help if self.pattern else f"a text of up to {MAX_TEXT} characters",
            "number": "a number",
            "count": "a whole number",
            "price": "a number such as 12.50",
            "flag": "true or false",
        }.get(self.kind) or f"{units.QUANTITIES[self.kind].accepted}, in quotes"
        if bounds:
            what = f"{what}, {bounds}"
        return f"a list in brackets, each {what}" if self.many else what

    @property
    def bounds(self) -> str:
        """The bounds in words, in metric units; "" where there are none."""
        parts = []
        for word, bound in (("above", self.above), ("from", self.lo), ("up to", self.hi)):
            if bound is not None:
                plain = self.kind in PLAIN
                text = f"{bound:g}" if plain else units.format_value(bound, self.kind, "metric", 4)
                parts.append(f"{word} {text}")
        return ", ".join(parts)


@dataclass(frozen=True, kw_only=True)
class Form:
    """What the entries of one data file hold.

    Parameters
    ----------
    file, what : str
        Name of the file, and what an entry is called in a message.
    keys : tuple of Key
        The keys of an entry.
    one_of : tuple of str
        Keys of which an entry has exactly one; none where empty.
    """

    file: str
    what: str
    keys: tuple[Key, ...]
    one_of: tuple[str, ...] = ()

    def key(self, name: str) -> Key:
        """Return the key of that name."""
        return next(key for key in self.keys if key.name == name)


def _unknown(*path: str) -> None:
    """Say that a line is not known."""


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One entry as it stands in a file.

    `line_of` tells the line of a key, by code and key, or of the entry, by its code; None
    where it is not known.
    """

    file: str
    code: str
    values: Mapping[str, Any]
    line_of: Callable[..., int | None] = _unknown

    def place(self, key: str = "") -> str:
        """Return where a key of this entry stands, for messages."""
        # A key inside braces stands on the line of its entry.
        line = (self.line_of(self.code, key) if key else None) or self.line_of(self.code)
        where = self.file if line is None else f"{self.file}, line {line}"
        name = f"{self.code}.{key}" if key else self.code
        return f"{where}, {echo(name)}"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known name that looks most like `word`, or ""; of very many, only the first."""
    first = list(islice(known, MAX_COMPARED))
    return next(iter(difflib.get_close_matches(word[:MAX_CODE], first, n=1)), "")


def read_entry(form: Form, entry: Entry, complaints: list[InputError]) -> dict[str, Any] | None:
    """Read one entry through its form.

    Parameters
    ----------
    form : Form
        What the entry must hold.
    entry : Entry
        What it holds.
    complaints : list of InputError
        Every complaint is added here, each with file, line, entry and key.

    Returns
    -------
    dict or None
        SI value by key; a list is a tuple, a key left out is missing.  None after a complaint.
    """
    before = len(complaints)
    code = entry.code
    if not CODE.fullmatch(code) or len(code) > MAX_CODE or code in RESERVED:
        complaints.append(
            InputError(
                f"the code of this {form.what} cannot be used",
                code="bad_code",
                field=entry.place(),
                given=code,
                accepted=CODE_WORDS,
            )
        )
    known = {key.name for key in form.keys}
    complaints.extend(
        InputError(
            f"a {form.what} has no {echo(name)}",
            code="unknown_key",
            field=entry.place(name),
            accepted=", ".join(key.name for key in form.keys),
            hint=nearest(name, known),
        )
        for name in islice((name for name in entry.values if name not in known), MAX_TOLD)
    )
    values: dict[str, Any] = {}
    for key in form.keys:
        if key.name in entry.values:
            try:
                values[key.name] = _value(key, entry.values[key.name])
            except InputError as error:
                complaints.append(error.at(entry.place(key.name)))
        elif key.required:
            complaints.append(_missing(form, entry, key))
    _check_one_of(form, entry, complaints)
    _check_kinds(form, entry, complaints)
    return values if len(complaints) == before else None


def _missing(form: Form, entry: Entry, key: Key) -> InputError:
    return InputError(
        f"{key.name} of this {form.what} is missing",
        code="missing",
        field=entry.place(key.name),
        accepted=key.accepted,
    )


def _check_one_of(form: Form, entry: Entry, complaints: list[InputError]) -> None:
    given = [name for name in form.one_of if name in entry.values]
    if form.one_of and len(given) != 1:
        complaints.append(
            InputError(
                f"a {form.what} has exactly one of {' and '.join(form.one_of)}",
                code="missing" if not given else "too_many",
                field=entry.place(given[-1] if given else ""),
                accepted=" or ".join(form.one_of),
            )
        )


def _check_kinds(form: Form, entry: Entry, complaints: list[InputError]) -> None:
    """Refuse a key that only another kind of entry has, or that this kind must have."""
    for key in form.keys:
        right = entry.values.get("kind") == key.only_for
        if key.only_for and right != (key.name in entry.values):
            rule = "must have" if right else "has no"
            complaints.append(
                InputError(
                    f"this kind of {form.what} {rule} {key.name}",
                    code="missing" if right else "unknown_key",
                    field=entry.place(key.name),
                    accepted=f"{key.name} for kind {key.only_for} only",
                )
            )


def _value(key: Key, raw: object) -> Any:
    """Return the value of a key in SI; raises `InputError` without its place."""
    if not key.many:
        return _single(key, raw)
    fewest, most = (1, key.at_most) if key.exactly is None else (key.exactly, key.exactly)
    if not isinstance(raw, list) or not fewest <= len(raw) <= most:
        count = f"1 to {key.at_most}" if key.exactly is None else f"{key.exactly}"
        raise InputError(
            f"{key.name} is a list of {count} values",
            code="wrong_type",
            given=raw,
            accepted=key.accepted,
        )
    found = tuple(_single(key, each) for each in raw)
    if key.rising and any(low >= high for low, high in pairwise(found)):
        raise InputError(
            f"the values of {key.name} must rise",
            code="not_rising",
            given=", ".join(str(each) for each in raw),
            accepted="each value once, the smallest first",
        )
    return found


def _single(key: Key, raw: object) -> Any:
    if key.kind == "flag":
        found: Any = raw if isinstance(raw, bool) else None
    elif key.kind == "text":
        found = _text(key, raw)
    elif key.kind == "count":
        found = raw if isinstance(raw, int) and not isinstance(raw, bool) else None
    elif key.kind in PLAIN:
        right = isinstance(raw, (int, float)) and not isinstance(raw, bool)
        found = float(raw) if right and abs(raw) < units.MAX_VALUE else None  # type: ignore[arg-type]
    elif isinstance(raw, str):
        found = units.parse(raw, key.kind)
    else:
        found = None
    if found is None:
        raise InputError(
            f"{key.name} cannot be read",
            code="not_a_choice" if key.choices else "wrong_type",
            given=raw,
            accepted=key.accepted,
            hint=nearest(str(raw)[:MAX_CODE], key.choices),
        )
    if isinstance(found, (int, float)) and not within(key, float(found)):
        raise InputError(
            f"{key.name} is out of range",
            code="out_of_range",
            given=raw,
            accepted=key.bounds,
        )
    return found


def _text(key: Key, raw: object) -> str | None:
    """Return a text that is fit to be shown, or None."""
    if not isinstance(raw, str) or len(raw) > MAX_TEXT or not raw.strip():
        return None
    if not raw.isprintable() or (key.choices and raw not in key.choices):
        return None
    if key.pattern and not re.fullmatch(key.pattern, raw):
        return None
    return raw.strip()


def within(key: Key, number: float) -> bool:
    """Return whether a number [SI] keeps the bounds of a key; false where it is not finite."""
    low = key.lo is None or number >= key.lo * (1.0 - SLACK)
    low = low and (key.above is None or number > key.above)
    return low and (key.hi is None or number <= key.hi * (1.0 + SLACK)) and math.isfinite(number)
