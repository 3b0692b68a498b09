"""The catalogue as one value, and the one that is in use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

from evenrow.catalogue import build
from evenrow.catalogue.data_file import DataFile, builtin_file
from evenrow.catalogue.forms import ABOUT, PART_KINDS
from evenrow.catalogue.keys import Entry, read_entry
from evenrow.catalogue.types import AssemblyPart, Device, Fitting, PipeSize
from evenrow.errors import InputError, InputErrors
from evenrow.words import tr

if TYPE_CHECKING:
    from evenrow.catalogue.growing import Crop, Soil


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """Everything that a design is made from: a value that does not change.

    Parameters
    ----------
    name, version, currency : str
        What it is called, its version or date, and the currency of every price.
    source : str
        Where its figures come from, "" where only the entries tell.
    devices, pipes, parts, fittings : mapping of str to entry
        The entries by code: lines in the order of the file, pipes smallest bore first, parts
        of each kind smallest first, fittings in the order of the file.
    soils, crops : mapping of str to entry, or None
        Soils lightest first, and crops; None stands for the generic ones, which
        `evenrow.catalogue.growing` reads when it is first asked.
    notes : tuple of str
        What whoever keeps it should know, such as a row of the price list that was not used.
    """

    name: str
    version: str
    currency: str
    source: str
    devices: Mapping[str, Device]
    pipes: Mapping[str, PipeSize]
    parts: Mapping[str, AssemblyPart]
    fittings: Mapping[str, Fitting]
    soils: Mapping[str, Soil] | None = None
    crops: Mapping[str, Crop] | None = None
    notes: tuple[str, ...] = ()

    @cached_property
    def fittings_by_use(self) -> Mapping[tuple[str, str, str], Fitting]:
        """The fitting for each kind, what it fits and its other side.

        Of several for the same use a stocked one comes first, then the last in the file.
        """
        found: dict[tuple[str, str, str], Fitting] = {}
        for fitting in self.fittings.values():
            use = (fitting.kind, fitting.fits, fitting.to)
            known = found.get(use)
            if known is None or fitting.stocked or not known.stocked:
                found[use] = fitting
        return found

    @property
    def label(self) -> str:
        """Name and version in a few words, as a design carries it to others."""
        return f"{self.name} {self.version}"

    @property
    def mark(self) -> str:
        """How results cite it: name, version and currency."""
        return tr(
            "{catalogue}, version {version}, prices in {currency}",
            catalogue=tr(self.name),
            version=self.version,
            currency=self.currency,
        )

    @property
    def summary(self) -> tuple[str, ...]:
        """What it holds, how much of it has a price, and what is not in stock, in lines."""
        groups: tuple[tuple[str, Iterable[bool]], ...] = (
            ("lines", (bool(d.prices) for d in self.devices.values())),
            ("pipes", (bool(p.prices) for p in self.pipes.values())),
            ("head assembly parts", (p.price is not None for p in self.parts.values())),
            ("fittings", (f.price is not None for f in self.fittings.values())),
        )
        lines = []
        for what, priced in groups:
            found = list(priced)
            lines.append(f"{len(found)} {what}, {sum(found)} with a price")
        out = sum(not f.stocked for f in self.fittings.values())
        return (*lines, f"{out} fittings not in stock")


def in_order(
    *,
    devices: Mapping[str, Device],
    pipes: Mapping[str, PipeSize],
    parts: Mapping[str, AssemblyPart],
    fittings: Mapping[str, Fitting],
    about: Mapping[str, str],
    notes: tuple[str, ...] = (),
) -> Catalogue:
    """Return a catalogue of these entries, each kind in the order that designs rely on."""
    by_kind = sorted(parts.values(), key=lambda part: (PART_KINDS.index(part.kind), part.flow_max))
    by_bore = sorted(pipes.values(), key=lambda size: size.bore)
    return Catalogue(
        name=about["name"],
        version=about["version"],
        currency=about["currency"],
        source=about.get("source", ""),
        devices=MappingProxyType(dict(devices)),
        pipes=MappingProxyType({size.code: size for size in by_bore}),
        parts=MappingProxyType({part.code: part for part in by_kind}),
        fittings=MappingProxyType(dict(fittings)),
        notes=notes,
    )


def read_about(data: DataFile, complaints: list[InputError]) -> dict[str, str] | None:
    """Return name, version, currency and source from ``catalogue.toml``, or None."""
    entry = Entry(
        file=data.name,
        code="catalogue",
        values=data.top,
        line_of=lambda *path: data.line_of(*path[1:]),
    )
    complaints.extend(
        InputError(
            "catalogue.toml holds no entries",
            code="unknown_key",
            field=stray.place(),
            accepted=", ".join(key.name for key in ABOUT.keys),
            hint="entries stand in devices.toml, pipes.toml, assembly.toml and fittings.toml",
        )
        for stray in data.entries.values()
    )
    return read_entry(ABOUT, entry, complaints)


@cache
def builtin() -> Catalogue:
    """Return the generic catalogue that comes with the package.

    Raises
    ------
    InputErrors
        With every complaint, should a file of the package be damaged.
    """
    complaints: list[InputError] = []
    about = read_about(builtin_file("catalogue.toml"), complaints)
    devices = build.build_devices(builtin_file("devices.toml"), complaints)
    pipes = build.build_pipes(builtin_file("pipes.toml"), complaints)
    parts = build.build_parts(builtin_file("assembly.toml"), complaints)
    fittings = build.build_fittings(builtin_file("fittings.toml"), complaints)
    if complaints or about is None:
        raise InputErrors(complaints)
    return in_order(devices=devices, pipes=pipes, parts=parts, fittings=fittings, about=about)
