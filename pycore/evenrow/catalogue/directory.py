"""A catalogue of one's own: a folder of data files and a price list over the generic one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from evenrow.catalogue import build, data_file, prices
from evenrow.catalogue.data_file import DataFile, read_data_file
from evenrow.catalogue.forms import ABOUT, DEVICES, FITTINGS, FORMS, PART_KINDS, PARTS, PIPES
from evenrow.catalogue.growing import Crop, Soil, generic_crops, generic_soils
from evenrow.catalogue.growing_forms import CROPS, SOILS
from evenrow.catalogue.host import HOST
from evenrow.catalogue.keys import MAX_TOLD, Entry, Form, nearest
from evenrow.catalogue.own_growing import own_crops, own_soils
from evenrow.catalogue.prices import Sold, everything
from evenrow.catalogue.types import AssemblyPart, Fitting
from evenrow.catalogue.whole import Catalogue, builtin, in_order, read_about
from evenrow.errors import InputError, InputErrors, echo

#: Most files of a folder that are looked at.
MAX_FILES = 200

_Builder = Callable[[DataFile, list[InputError], str], Mapping[str, Any]]
_BUILDERS: dict[str, _Builder] = {
    DEVICES.file: build.build_devices,
    PIPES.file: build.build_pipes,
    PARTS.file: build.build_parts,
    FITTINGS.file: build.build_fittings,
}
KNOWN = (ABOUT.file, *(form.file for form in (*FORMS, SOILS, CROPS)))


@dataclass(frozen=True, kw_only=True)
class _Own:
    """What the files of a folder add or replace by file, what they hide, and what is broken."""

    entries: dict[str, dict[str, Any]]
    files: dict[str, DataFile]
    hidden: frozenset[str]
    broken: frozenset[str]


def load_directory(path: str | Path | Traversable, base: Catalogue | None = None) -> Catalogue:
    """Read a catalogue of one's own.

    Parameters
    ----------
    path : str, Path or Traversable
        A folder with ``catalogue.toml`` (name, version, currency) and any of
        ``devices.toml``, ``pipes.toml``, ``assembly.toml``, ``fittings.toml``, ``soils.toml``,
        ``crops.toml`` and ``prices.csv``; ``site.toml`` is for `evenrow.catalogue.host`.  An
        entry adds to the catalogue below, or replaces the whole entry of the same code;
        ``hide = true`` alone in an entry leaves that code out.
    base : Catalogue, optional
        The catalogue below; the generic one by default.  What it costs there counts only
        without a price list and in the same currency.

    Returns
    -------
    Catalogue
        The two together; `Catalogue.notes` tells what was odd but no reason to refuse.

    Raises
    ------
    InputErrors
        With every complaint about every file, each with its file, line and key or column.
    """
    below = builtin() if base is None else base
    complaints: list[InputError] = []
    notes: list[str] = []
    try:
        place = Path(path) if isinstance(path, str) else path
        contents = _contents(place, complaints, notes)
    except InputError as error:
        raise InputErrors([error]) from None
    about = _about(contents, complaints)
    files = _data_files(contents, complaints)
    soils, crops = _growing(files, below, complaints)
    own = _own(files, below, about.get("source", ""), complaints)
    _check_codes(own, below, complaints)
    _check_fits(own, below, complaints)
    catalogue = _merged(own, below, about, tuple(notes))
    if prices.FILE in contents:
        catalogue = prices.read_prices(
            catalogue,
            contents[prices.FILE],
            complaints,
            generic=set(everything(below)) - {code for e in own.entries.values() for code in e},
            broken=own.broken,
        )
    catalogue = replace(catalogue, soils=soils, crops=crops)
    if not complaints:
        _check_complete(catalogue, complaints)
    if complaints:
        raise InputErrors(_told(complaints))
    return catalogue


def _told(complaints: list[InputError]) -> list[InputError]:
    """Return the complaints, cut where nobody would read on."""
    rest = len(complaints) - MAX_TOLD
    if rest <= 0:
        return complaints
    more = InputError(f"and {rest} more complaints", code="too_many", field="catalogue")
    return [*complaints[:MAX_TOLD], more]


# --- the files -----------------------------------------------------------------------------


def _contents(
    path: Path | Traversable, complaints: list[InputError], notes: list[str]
) -> dict[str, bytes]:
    """Return the bytes of the files of a folder that a catalogue is made of."""
    try:
        found = sorted(path.iterdir(), key=lambda file: file.name)
    except OSError as error:
        raise InputError(
            f"the folder of the catalogue cannot be opened: {error.strerror or 'no reason told'}",
            code="no_file",
            field="catalogue",
            given=str(path),
            accepted=f"a folder with {ABOUT.file}",
        ) from None
    if len(found) > MAX_FILES:
        raise InputError(
            f"there are more than {MAX_FILES} files in the folder",
            code="too_many",
            field="catalogue",
            given=str(path),
            accepted="a folder with nothing but the catalogue",
        )
    contents = {}
    for file in found:
        name = file.name.lower()
        if name in (*KNOWN, prices.FILE):
            try:
                with file.open("rb") as opened:
                    contents[name] = opened.read(data_file.MAX_BYTES + 1)
            except OSError as error:
                reason = error.strerror or "no reason told"
                complaints.append(
                    InputError(f"it cannot be opened: {reason}", code="no_file", field=name)
                )
        elif name.endswith(".toml") and name != HOST.file:
            complaints.append(
                InputError(
                    "a catalogue has no file of this name",
                    code="unknown_file",
                    field=echo(file.name),
                    accepted=", ".join(KNOWN),
                    hint=nearest(name, KNOWN),
                )
            )
        elif name.endswith((".csv", ".xls", ".xlsx", ".ods", ".txt", ".tsv")):
            notes.append(f"{echo(file.name)} is not read; the price list is {prices.FILE}")
    return contents


def _about(contents: Mapping[str, bytes], complaints: list[InputError]) -> dict[str, str]:
    """Return name, version, currency and source; empty texts after a complaint."""
    if ABOUT.file not in contents:
        complaints.append(
            InputError(
                f"there is no {ABOUT.file}",
                code="missing",
                field=ABOUT.file,
                accepted='the lines name = "…", version = "2026-03" and currency = "USD"',
            )
        )
        return {}
    try:
        data = read_data_file(ABOUT.file, contents[ABOUT.file])
    except InputError as error:
        complaints.append(error)
        return {}
    return read_about(data, complaints) or {}


def _data_files(contents: Mapping[str, bytes], complaints: list[InputError]) -> dict[str, DataFile]:
    found = {}
    for form in (*FORMS, SOILS, CROPS):
        if form.file in contents:
            try:
                found[form.file] = read_data_file(form.file, contents[form.file])
            except InputError as error:
                complaints.append(error)
    return found


def _growing(
    files: dict[str, DataFile], below: Catalogue, complaints: list[InputError]
) -> tuple[Mapping[str, Soil] | None, Mapping[str, Crop] | None]:
    """Return soils and crops with those of the folder; takes their files out of the others."""
    soils, crops = below.soils, below.crops
    if data := files.pop(SOILS.file, None):
        soils = own_soils(data, generic_soils() if soils is None else soils, complaints)
    if data := files.pop(CROPS.file, None):
        crops = own_crops(data, generic_crops() if crops is None else crops, complaints)
    return soils, crops


# --- the entries ---------------------------------------------------------------------------


def _own(
    files: dict[str, DataFile], below: Catalogue, source: str, complaints: list[InputError]
) -> _Own:
    entries = {
        name: dict(_BUILDERS[name](data, complaints, source)) for name, data in files.items()
    }
    hidden, broken = set(), set()
    for name, data in files.items():
        for code, entry in data.entries.items():
            if len(complaints) > MAX_TOLD:
                break
            if build.hides(entry):
                hidden.add(code)
                _check_hidden(entry, _below(below, name), complaints)
            elif code not in entries[name]:
                broken.add(code)
    return _Own(entries=entries, files=files, hidden=frozenset(hidden), broken=frozenset(broken))


def _below(catalogue: Catalogue, file: str) -> Mapping[str, Sold]:
    """Return the entries of a catalogue that belong into a file of that name."""
    found: dict[str, Mapping[str, Sold]] = {
        DEVICES.file: catalogue.devices,
        PIPES.file: catalogue.pipes,
        PARTS.file: catalogue.parts,
        FITTINGS.file: catalogue.fittings,
    }
    return found[file]


def _check_hidden(entry: Entry, known: Collection[str], complaints: list[InputError]) -> None:
    if entry.code not in known:
        complaints.append(
            InputError(
                "there is nothing of this code to hide",
                code="unknown_choice",
                field=entry.place(),
                given=entry.code,
                accepted="a code of the generic catalogue",
                hint=nearest(entry.code, known),
            )
        )


def _check_codes(own: _Own, below: Catalogue, complaints: list[InputError]) -> None:
    """Refuse a code that stands for something of another file: the price list has but one."""
    for form in FORMS:
        for code, entry in _entries(own, form).items():
            others = [
                other.file
                for other in FORMS
                if other != form
                and (code in _below(below, other.file) or code in _entries(own, other))
            ]
            if others:
                complaints.append(
                    InputError(
                        f"this code is taken by an entry of {others[0]}",
                        code="duplicate_key",
                        field=entry.place(),
                        given=code,
                        accepted="a code that no other entry has",
                    )
                )


def _entries(own: _Own, form: Form) -> Mapping[str, Entry]:
    data = own.files.get(form.file)
    return data.entries if data else {}


def _check_fits(own: _Own, below: Catalogue, complaints: list[InputError]) -> None:
    """Refuse a fitting for something that does not exist."""
    parts = [*below.parts.values(), *own.entries.get(PARTS.file, {}).values()]
    known = {"tape", "dripline", *own.broken, *everything(below)}
    known |= {code for entries in own.entries.values() for code in entries}
    known |= {part.size for part in parts if isinstance(part, AssemblyPart)}
    for code, found in own.entries.get(FITTINGS.file, {}).items():
        if len(complaints) > MAX_TOLD:
            break
        assert isinstance(found, Fitting)  # the builder of that file makes nothing else
        entry = own.files[FITTINGS.file].entries[code]
        for key, value in (("fits", found.fits), ("to", found.to)):
            if value and value not in known:
                complaints.append(
                    InputError(
                        "it fits something that the catalogue does not have",
                        code="unknown_choice",
                        field=entry.place(key),
                        given=value,
                        accepted="a code, tape, dripline, or a thread such as 3/4 in",
                        hint=nearest(value, known),
                    )
                )


def _merged(
    own: _Own, below: Catalogue, about: Mapping[str, str], notes: tuple[str, ...]
) -> Catalogue:
    """Return the own entries over those below, hidden ones left out."""
    same_money = about.get("currency", below.currency) == below.currency
    if not same_money:
        notes += (f"prices in {below.currency} of the catalogue below are left out",)

    def over(file: str) -> dict[str, Any]:
        old = _below(below, file)
        kept = old if same_money else {code: prices.unpriced(e) for code, e in old.items()}
        both = {**kept, **own.entries.get(file, {})}
        return {code: entry for code, entry in both.items() if code not in own.hidden}

    return in_order(
        devices=over(DEVICES.file),
        pipes=over(PIPES.file),
        parts=over(PARTS.file),
        fittings=over(FITTINGS.file),
        about={"name": "?", "version": "?", "currency": below.currency, **about},
        notes=(*below.notes, *notes),
    )


def _check_complete(catalogue: Catalogue, complaints: list[InputError]) -> None:
    """Refuse a catalogue from which no design could be made."""
    kinds = {part.kind for part in catalogue.parts.values()}
    empty = [
        *(["line"] if not catalogue.devices else []),
        *(["pipe"] if not catalogue.pipes else []),
        *(kind for kind in PART_KINDS if kind not in kinds),
    ]
    complaints.extend(
        InputError(
            f"no {what} is left in the catalogue: all are hidden or out of stock",
            code="missing",
            field="catalogue",
            accepted="at least one of each kind",
        )
        for what in empty
    )
