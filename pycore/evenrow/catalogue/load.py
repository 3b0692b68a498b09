"""Looks up an entry by its code, and reads the tables of soils and crops."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.resources import files
from typing import Any, TypeVar

from evenrow.errors import InputError
from evenrow.units import parse

_Found = TypeVar("_Found")


def _file(name: str) -> dict[str, Any]:
    return tomllib.loads(files("evenrow.catalogue").joinpath(name).read_text("utf-8"))


class _Entry:
    """One entry of a data file; every complaint names file, entry and key."""

    def __init__(self, file: str, code: str, values: Mapping[str, Any]) -> None:
        self.place = f"{file}: {code}"
        self.values = values

    def text(self, key: str) -> str:
        value = self.values.get(key)
        if not isinstance(value, str) or not value:
            raise InputError(
                f"{self.place}: {key} is missing", code="missing", field=key, accepted="a text"
            )
        return value

    def si(self, key: str, quantity: str, default: float | None = None) -> float:
        if key not in self.values and default is not None:
            return default
        return parse(self.text(key), quantity, field=f"{self.place}.{key}")

    def lengths(self, key: str, quantity: str) -> tuple[float, ...]:
        entries = self.values.get(key, [])
        found = tuple(parse(text, quantity, field=f"{self.place}.{key}") for text in entries)
        if not found or list(found) != sorted(found):
            raise InputError(
                f"{self.place}: {key} must list rising lengths", field=key, given=entries
            )
        return found


def _of_code(entries: Mapping[str, _Found], code: str, what: str, field: str) -> _Found:
    found = entries.get(code)
    if found is None:
        raise InputError(
            f"this {what} is not in the catalogue",
            code="unknown_choice",
            field=field,
            given=code,
            accepted=", ".join(entries),
        )
    return found
