"""Soils and crops of one's own over the generic ones."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from evenrow.catalogue.build import hides
from evenrow.catalogue.data_file import DataFile
from evenrow.catalogue.growing import Crop, Soil, make_crop, make_soil
from evenrow.catalogue.growing_forms import CROPS, SOILS, read_grown
from evenrow.catalogue.keys import MAX_TOLD, Entry, Form, nearest
from evenrow.errors import InputError

_Grown = TypeVar("_Grown", Soil, Crop)


def own_soils(
    data: DataFile, below: Mapping[str, Soil], complaints: list[InputError]
) -> dict[str, Soil]:
    """Return the soils of a file over those below, lightest first; complaints are added."""
    found = _over(data, below, SOILS, make_soil, complaints)
    by_weight = sorted(found.values(), key=lambda soil: -soil.conductivity)
    return {soil.code: soil for soil in by_weight}


def own_crops(
    data: DataFile, below: Mapping[str, Crop], complaints: list[InputError]
) -> dict[str, Crop]:
    """Return the crops of a file over those below, in their order; complaints are added."""
    return _over(data, below, CROPS, make_crop, complaints)


def _over(
    data: DataFile,
    below: Mapping[str, _Grown],
    form: Form,
    make: Callable[[str, Mapping[str, Any]], _Grown],
    complaints: list[InputError],
) -> dict[str, _Grown]:
    """Return the entries of a file over those below, hidden ones left out."""
    found = dict(below)
    for key in data.top:
        line = data.line_of(key)
        complaints.append(
            InputError(
                "nothing stands at the head of this file",
                code="unknown_key",
                field=f"{data.name}, line {line}",
                given=key,
                accepted="entries, each a code in brackets",
            )
        )
    for code, entry in data.entries.items():
        if len(complaints) > MAX_TOLD:
            break
        if hides(entry):
            if found.pop(code, None) is None:
                complaints.append(_nothing_to_hide(entry, below))
            continue
        values = read_grown(form, entry, complaints)
        if values is not None:
            found[code] = make(code, values)
    if not found:
        complaints.append(
            InputError(
                f"no {form.what} is left in the catalogue",
                code="missing",
                field=data.name,
                accepted="at least one",
            )
        )
    return found


def _nothing_to_hide(entry: Entry, below: Mapping[str, object]) -> InputError:
    return InputError(
        "there is nothing of this code to hide",
        code="unknown_choice",
        field=entry.place(),
        given=entry.code,
        accepted="a code of the generic catalogue",
        hint=nearest(entry.code, below),
    )
