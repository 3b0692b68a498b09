"""Looks up an entry by its code."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from evenrow.errors import InputError
from evenrow.words import tr

_Found = TypeVar("_Found")


def _of_code(entries: Mapping[str, _Found], code: str, missing: str, field: str) -> _Found:
    found = entries.get(code)
    if found is None:
        raise InputError(
            tr(missing),
            code="unknown_choice",
            field=field,
            given=code,
            accepted=", ".join(entries),
        )
    return found
