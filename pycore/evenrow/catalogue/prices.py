"""The price list of a shop: its own prices, coils, packs and stock over a catalogue.

One row for each thing sold: a coil of a line or pipe, or a fitting or part by the piece or
pack.  What the list names is sold as the list says; what it does not name has no price.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from typing import TypeVar

from evenrow import units
from evenrow.catalogue.forms import DEVICES, FITTINGS, PIPES
from evenrow.catalogue.keys import MAX_TOLD, Key, nearest, within
from evenrow.catalogue.table import Row, mangled, read_table
from evenrow.catalogue.types import AssemblyPart, Device, Fitting, PipeSize
from evenrow.catalogue.whole import Catalogue, in_order
from evenrow.errors import InputError

FILE = "prices.csv"
COLUMNS = ("code", "description", "unit", "price", "in stock", "mass")
REQUIRED = ("code", "unit", "price")

_Read = TypeVar("_Read")
Sold = Device | PipeSize | AssemblyPart | Fitting
FOOT = 0.3048
#: Coils of one line must agree in their mass per metre to this share.
MASS_SPREAD = 0.3

_COIL_PRICE, _PRICE, _MASS = DEVICES.key("price"), FITTINGS.key("price"), FITTINGS.key("mass")
_METRE_MASS, _COIL, _PACK = PIPES.key("mass_per_metre"), PIPES.key("coil"), FITTINGS.key("pack")

_NUMBER = re.compile(r"(\d{1,9})(?:[.,](\d{1,6}))?", re.ASCII)
_TWO_WAYS = re.compile(r"([1-9]\d{0,2})[.,](\d{3})", re.ASCII)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:[., '\u2019\u00a0\u202f]\d{3})+(?:[.,]\d{1,2})?", re.ASCII)
_COIL_UNIT = re.compile(r"(?:coil|roll)?s?\s*(?:of\s+)?(.*?)\s*(?:coil|roll)?s?", re.IGNORECASE)
_PACK_UNIT = re.compile(r"pack\s*(?:of)?\s*(\d{1,5})", re.ASCII | re.IGNORECASE)
_CURRENCY = re.compile(r"[a-zA-Z]{3}", re.ASCII)
_EACH = ("each", "piece", "pc", "ea")
_METRE, _FOOT_WORDS = ("metre", "meter", "m"), ("foot", "ft")
_YES, _NO = ("", "yes", "y", "true", "x"), ("no", "n", "false")
_AS_NUMBERS = "formatting the column as numbers, and typing the price again"
_PRICE_WORDS = "a number such as 12.50 or 12,50, without a currency sign and thousands marks"


@dataclass(frozen=True, kw_only=True)
class _Offer:
    """A row of the list: `size` is the length of a coil [m] or the pieces of a pack."""

    row: Row
    size: float
    price: float | None
    mass: float | None
    stocked: bool


def unit_text(sold: Sold, size: float) -> str:
    """Return how a price list names the unit: ``"coil 100 ft"``, ``"pack of 10"``, ``"each"``."""
    if isinstance(sold, (Device, PipeSize)):
        feet = size / FOOT
        whole = abs(feet - round(feet)) < 1e-6
        return f"coil {feet:.0f} ft" if whole else f"coil {size:.10g} m"
    if isinstance(sold, Fitting) and sold.unit == "metre":
        return "metre"
    return f"pack of {size:.0f}" if size > 1 else "each"


def read_prices(
    catalogue: Catalogue,
    content: bytes,
    complaints: list[InputError],
    *,
    generic: Collection[str] = (),
    broken: Collection[str] = (),
) -> Catalogue:
    """Return the catalogue with the prices, coils, packs and stock of a price list.

    Parameters
    ----------
    catalogue : Catalogue
        What is sold, and the currency that every price must be in.
    content : bytes
        The CSV file, as `evenrow.catalogue.table` reads it.
    complaints : list of InputError
        Every complaint is added here, with file, line and column.
    generic : collection of str
        Codes of the generic catalogue: those that the list does not name lose their price.
    broken : collection of str
        Codes whose entries have complaints already: their rows are passed over.

    Returns
    -------
    Catalogue
        A line or pipe that the list names is sold in the coils of the list; what is not in
        stock is left out, but for fittings, which are marked instead, and for the last part
        of its kind.
    """
    table = read_table(FILE, content, COLUMNS, REQUIRED, complaints)
    named: dict[str, list[_Offer]] = {}
    sold = everything(catalogue)
    remark = table.remarks.get("price", "")
    if _CURRENCY.fullmatch(remark) and remark.upper() != catalogue.currency:
        complaints.append(
            InputError(
                f"the prices are in another currency than the catalogue, {catalogue.currency}",
                code="wrong_unit",
                field=f"{FILE}, column price",
                given=remark,
                accepted=f"price ({catalogue.currency})",
                hint="the currency in catalogue.toml, or the prices in that currency",
            )
        )
    mass_unit = table.remarks.get("mass") or "kg"
    for row in table.rows:
        if len(complaints) > MAX_TOLD:
            break
        try:
            code = _code(row, sold, broken)
            offer = _offer(row, sold[code], mass_unit, complaints) if code else None
            if offer:
                _check_twin(offer, named.setdefault(code, []), sold[code])
                named[code].append(offer)
        except InputError as error:
            complaints.append(error)
    changed: dict[str, Sold | None] = {}
    for code, entry in sold.items():
        try:
            if code in named:
                changed[code] = _changed(entry, named[code], catalogue.name)
            else:
                changed[code] = unpriced(entry) if code in generic else entry
        except InputError as error:
            complaints.append(error)
    notes = list(table.notes)
    unnamed = sum(code in generic and code not in named for code in sold)
    if unnamed:
        notes.append(f"{FILE} names no price for {unnamed} generic entries: they have none")
    notes += _kinds_kept(catalogue, changed)
    return with_entries(catalogue, changed, notes)


def _kinds_kept(catalogue: Catalogue, changed: dict[str, Sold | None]) -> list[str]:
    """Keep the parts of a kind that is out of stock altogether; returns a note for each.

    A design needs every kind: better a part to be found elsewhere than no design.
    """
    notes = []
    for kind in dict.fromkeys(part.kind for part in catalogue.parts.values()):
        same = [part for part in catalogue.parts.values() if part.kind == kind]
        if all(changed.get(part.code, part) is None for part in same):
            changed |= {part.code: unpriced(part) for part in same}
            notes.append(f"no {kind} is in stock: designs still name one, without a price")
    return notes


def everything(catalogue: Catalogue) -> dict[str, Sold]:
    """Return all that a catalogue sells, by code."""
    return {
        **catalogue.devices,
        **catalogue.pipes,
        **catalogue.parts,
        **catalogue.fittings,
    }


def with_entries(
    catalogue: Catalogue, changed: dict[str, Sold | None], notes: list[str]
) -> Catalogue:
    """Return the catalogue with these entries alone; None leaves an entry out."""
    kept = [entry for entry in changed.values() if entry is not None]
    about = {
        "name": catalogue.name,
        "version": catalogue.version,
        "currency": catalogue.currency,
        "source": catalogue.source,
    }
    found = in_order(
        devices={e.code: e for e in kept if isinstance(e, Device)},
        pipes={e.code: e for e in kept if isinstance(e, PipeSize)},
        parts={e.code: e for e in kept if isinstance(e, AssemblyPart)},
        fittings={e.code: e for e in kept if isinstance(e, Fitting)},
        about=about,
        notes=(*catalogue.notes, *notes),
    )
    return replace(found, soils=catalogue.soils, crops=catalogue.crops)


def unpriced(entry: Sold) -> Sold:
    """Return an entry without what it costs."""
    if isinstance(entry, (Device, PipeSize)):
        return replace(entry, prices=())
    return replace(entry, price=None)


# --- one row -------------------------------------------------------------------------------


def _code(row: Row, sold: Collection[str], broken: Collection[str]) -> str:
    """Return the code of a row, "" where its entry has complaints of its own."""
    given = row.cell("code")
    code = given.lower()
    if code in broken:
        return ""
    if code in sold:
        return code
    what = mangled(given)
    near = nearest(code, sold)
    if not given:
        row.fault("code", "the code is missing", "missing", "a code of the catalogue")
    row.fault(
        "code",
        f"the catalogue has no such code{f': {what}' if what else ''}",
        "unknown_choice",
        "a code of the catalogue; new things first need an entry in a .toml file",
        near or ("formatting the column as text, and typing the code again" if what else ""),
    )


def _offer(row: Row, entry: Sold, mass_unit: str, complaints: list[InputError]) -> _Offer | None:
    """Return what a row offers; None after a complaint about any of its cells."""
    coiled = isinstance(entry, (Device, PipeSize))
    before = len(complaints)
    size = _heard(lambda: _size(row, entry), complaints)
    stocked = _heard(lambda: _stocked(row), complaints)
    price = _heard(lambda: _price(row, _COIL_PRICE if coiled else _PRICE), complaints)
    mass = _heard(lambda: _mass(row, size, mass_unit, coiled=coiled), complaints)
    if size is None or len(complaints) > before:
        return None
    # The catalogue holds the price of a coil, but of one piece and not of a pack.
    if price is not None and not coiled:
        price = round(price / size, 10)
    return _Offer(row=row, size=size, price=price, mass=mass, stocked=bool(stocked))


def _heard(read: Callable[[], _Read], complaints: list[InputError]) -> _Read | None:
    """Return what a cell holds; None after a complaint."""
    try:
        return read()
    except InputError as error:
        complaints.append(error)
        return None


def _size(row: Row, entry: Sold) -> float:
    """Return the length of a coil [m], or how many pieces or metres the price is for."""
    given = row.cell("unit")
    what = mangled(given)
    if isinstance(entry, (Device, PipeSize)):
        found = _COIL_UNIT.fullmatch(given)
        accepted = f"the length of a coil, such as {unit_text(entry, entry.coils[0])}"
        try:
            length = units.parse(found[1] if found else given, "length")
        except InputError as error:
            row.fault("unit", what or error.message, error.code, accepted)
        if not within(_COIL, length):
            row.fault("unit", "no coil is that long", "out_of_range", _COIL.bounds)
        return length
    word = given.lower().removeprefix("per ")
    if isinstance(entry, Fitting) and entry.unit == "metre":
        if word in _METRE or word in _FOOT_WORDS:
            return 1.0 if word in _METRE else FOOT
        row.fault("unit", what or "this is sold by the metre", "wrong_unit", "metre or foot")
    if word in _EACH:
        return 1.0
    pack = _PACK_UNIT.fullmatch(given)
    if pack and isinstance(entry, Fitting) and within(_PACK, int(pack[1])):
        return float(pack[1])
    accepted = "each or a pack such as pack of 10" if isinstance(entry, Fitting) else "each"
    row.fault("unit", what or "this is sold by the piece", "wrong_unit", accepted)


def _stocked(row: Row) -> bool:
    """Return whether a row is in stock; a count of pieces says so too."""
    word = row.cell("in stock").lower()
    if word.isascii() and word.isdigit():
        return int(word[:9]) > 0
    if word not in _YES and word not in _NO:
        row.fault("in stock", "this is yes or no", "not_a_flag", "yes, no or a count")
    return word in _YES


def _price(row: Row, key: Key) -> float | None:
    given = row.cell("price")
    if not given:
        return None
    what = mangled(given)
    if what:
        row.fault("price", what, "not_a_number", _PRICE_WORDS, _AS_NUMBERS)
    if re.fullmatch(r"[-\u2212(]\s*[\d.,]+\)?.*", given):
        row.fault("price", "a price is not negative", "out_of_range", _PRICE_WORDS)
    if (two := _TWO_WAYS.fullmatch(given)) or _THOUSANDS.fullmatch(given):
        row.fault(
            "price",
            "this can be read in two ways" if two else "there is a thousands mark in the price",
            "ambiguous",
            _PRICE_WORDS,
            f"{two[1]}{two[2]} for the large price, {two[1]}.{two[2]}0 for the small one"
            if two
            else _without_marks(given),
        )
    found = _NUMBER.fullmatch(given)
    if not found:
        bare = re.sub(r"^[^\d]+|[^\d]+$", "", given)
        plain = _NUMBER.fullmatch(bare) and bare != given
        row.fault("price", "this is no price", "not_a_number", _PRICE_WORDS, bare if plain else "")
    price = float(f"{found[1]}.{found[2] or 0}")
    if not within(key, price):
        words = f"{_PRICE_WORDS}, {key.bounds}; empty where it is not known"
        row.fault("price", "the price cannot be right", "out_of_range", words)
    return price


def _without_marks(text: str) -> str:
    """Return a price with thousands marks as one without."""
    whole, decimals = text, ""
    if found := re.fullmatch(r"(.*)[.,](\d{1,2})", text):
        whole, decimals = found[1], f".{found[2]}"
    return re.sub(r"\D", "", whole) + decimals


def _mass(row: Row, size: float | None, default_unit: str, *, coiled: bool) -> float | None:
    """Return the mass of a metre or piece, from that of `size` metres or pieces."""
    given = row.cell("mass")
    if not given:
        return None
    accepted = "a mass such as 1.5 kg, or a number alone in kg"
    try:
        whole = units.parse(given, "mass", default_unit=default_unit)
    except InputError as error:
        row.fault("mass", mangled(given) or error.message, error.code, accepted, error.hint)
    key = _METRE_MASS if coiled else _MASS
    found = whole / (size or 1.0)
    if size and not within(key, found):
        words = f"for {'a metre' if coiled else 'a piece'} {key.bounds}"
        row.fault("mass", "the mass cannot be right", "out_of_range", words)
    return found


# --- all rows of one entry -----------------------------------------------------------------


def _check_twin(offer: _Offer, before: list[_Offer], entry: Sold) -> None:
    """Refuse a second row for the same thing."""
    coiled = isinstance(entry, (Device, PipeSize))
    for other in before:
        if not coiled or abs(other.size / offer.size - 1.0) < 1e-3:
            offer.row.fault(
                "code",
                f"line {other.row.line} has a price for this already",
                "duplicate_key",
                "one row for each code" + (" and length of coil" if coiled else ""),
            )
        if other.mass and offer.mass and abs(other.mass / offer.mass - 1.0) > MASS_SPREAD:
            offer.row.fault(
                "mass",
                f"by the metre this differs from the coil of line {other.row.line}",
                "contradiction",
                "the mass of the coil that the row is for",
            )


def _changed(entry: Sold, offers: list[_Offer], name: str) -> Sold | None:
    """Return an entry as the list sells it; None where it is out of stock."""
    source = f"{entry.source}; price: {FILE} of {name}"
    mass = max(offers, key=lambda offer: offer.size).mass or entry.mass
    stocked = [offer for offer in offers if offer.stocked]
    if isinstance(entry, Fitting):
        only = offers[0]
        pack = entry.pack if entry.unit == "metre" else round(only.size)
        return replace(
            entry, price=only.price, mass=mass, pack=pack, stocked=only.stocked, source=source
        )
    if not stocked:
        return None
    if isinstance(entry, AssemblyPart):
        return replace(entry, price=stocked[0].price, mass=mass, source=source)
    stocked.sort(key=lambda offer: offer.size)
    prices = tuple(offer.price for offer in stocked if offer.price is not None)
    if 0 < len(prices) < len(stocked):
        empty = next(offer for offer in stocked if offer.price is None)
        empty.row.fault(
            "price",
            "other coils of this have a price, and this one has none",
            "missing",
            "a price, or no under in stock",
        )
    coils = tuple(offer.size for offer in stocked)
    return replace(entry, coils=coils, prices=prices, mass=mass, source=source)
