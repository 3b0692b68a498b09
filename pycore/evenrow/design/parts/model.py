"""What a parts list is made from, and what it says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from evenrow.catalogue import PipeSize
from evenrow.design.cutting import CuttingPlan

#: Zone number of what belongs to no single zone.
ALL_ZONES = 0


@dataclass(frozen=True, kw_only=True)
class RunPiece:
    """A run of line: its row and zone from 1, its length on the ground [m]."""

    row: int
    zone: int
    length: float


@dataclass(frozen=True, kw_only=True)
class PipePiece:
    """A piece of pipe between two fittings, its length [m]."""

    size: PipeSize
    length: float


#: The arms of one zone's header; the pieces of an arm go from its feed outwards.
Arms = tuple[tuple[PipePiece, ...], ...]


@dataclass(frozen=True, kw_only=True)
class ZoneFeed:
    """How a zone is fed: number from 1, at a tee or at its end, take-offs."""

    number: int
    tee: bool
    takeoffs: int


@dataclass(frozen=True, kw_only=True)
class Use:
    """Where a part goes: kind of element on the plan, zone (0: no single one), how many."""

    element: str
    zone: int
    count: int


@dataclass(frozen=True, kw_only=True)
class Product:
    """What can be bought: price and mass of one piece or coil, None where unknown."""

    code: str
    kind: str
    label: str
    price: float | None = None
    mass: float | None = None
    pack: int = 1
    unit: str = "piece"
    length: float | None = None
    stocked: bool = True


@dataclass(frozen=True, kw_only=True)
class Part:
    """One line of the parts list.

    Parameters
    ----------
    number : int
        From 1; a plan names the part by it.
    group : str
        Heading on the list.
    product : Product
        What to buy; a coil has a `length` [m].
    needed : int
        Pieces (coils, metres) that the design takes.
    spare : int
        Pieces to have over.
    cut : float or None
        Length cut from these coils. [m]
    element : str
        Part of the design that asked for it.
    uses : tuple of Use
        Each place where it goes; together `needed`.
    rule, source : str
        How it was counted, and where that rule comes from.
    """

    number: int
    group: str
    product: Product
    needed: int
    element: str
    rule: str
    source: str
    uses: tuple[Use, ...] = ()
    spare: int = 0
    cut: float | None = None

    @property
    def label(self) -> str:
        """Generic description."""
        return self.product.label

    @property
    def length(self) -> float | None:
        """Length of one coil, where sold by length [m]."""
        return self.product.length

    @property
    def packs(self) -> int:
        """How many packs hold what is needed and spare."""
        return -(-(self.needed + self.spare) // self.product.pack)

    @property
    def count(self) -> int:
        """Pieces bought: whole packs."""
        return self.packs * self.product.pack

    @property
    def cost(self) -> float | None:
        """Price of all pieces bought, None where unknown."""
        return None if self.product.price is None else self.count * self.product.price

    @property
    def mass(self) -> float | None:
        """Mass of all pieces bought [kg], None where unknown."""
        return None if self.product.mass is None else self.count * self.product.mass


@dataclass(frozen=True, kw_only=True)
class CutFor:
    """What a piece is for: a ``"row"`` or a zone's ``"header"`` by number, or the ``"main"``."""

    what: str
    number: int = 0


@dataclass(frozen=True, kw_only=True)
class CutList:
    """A cutting plan with what each piece is for, in the order of the pieces.

    `element` is ``"rows"``, ``"headers"``, ``"main"`` or ``"headers and main"``; `name` is that of
    its table, `title` its heading.
    """

    element: str
    name: str
    title: str
    plan: CuttingPlan
    names: tuple[CutFor, ...]


@dataclass(frozen=True, kw_only=True)
class PartsList:
    """The lines of the list, and the cutting plans behind the coils, that of the line first."""

    parts: tuple[Part, ...]
    cuts: tuple[CutList, ...]
    currency: str
    catalogue: str

    @property
    def line_plan(self) -> CuttingPlan:
        """Cutting plan of the tape or dripline."""
        return self.cuts[0].plan

    @property
    def unpriced(self) -> tuple[Part, ...]:
        """The lines of the list without a price."""
        return tuple(part for part in self.parts if part.cost is None)

    @property
    def total(self) -> float:
        """Price of every line that has one."""
        return sum(part.cost or 0.0 for part in self.parts)

    @property
    def mass(self) -> float:
        """Mass of every line that has one [kg]."""
        return sum(part.mass or 0.0 for part in self.parts)

    @cached_property
    def by_zone(self) -> Mapping[int, float]:
        """Price by zone; 0 is what no single zone asks for, spares and rest of packs with it."""
        sums: dict[int, float] = {}
        for part in self.parts:
            if part.cost is None or part.product.price is None:
                continue
            left = part.cost
            for use in part.uses:
                if use.zone != ALL_ZONES:
                    sums[use.zone] = sums.get(use.zone, 0.0) + use.count * part.product.price
                    left -= use.count * part.product.price
            sums[ALL_ZONES] = sums.get(ALL_ZONES, 0.0) + left
        return dict(sorted(sums.items()))

    def used(self) -> Iterator[tuple[int, Use]]:
        """Yield the number of each line with each place where it goes."""
        for part in self.parts:
            for use in part.uses:
                yield part.number, use
