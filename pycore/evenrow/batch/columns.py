"""The columns of a table of designs."""

from __future__ import annotations

from dataclasses import dataclass

from evenrow.units import QUANTITIES, UnitSystem, si_unit, system_unit

#: One design as a row: value by name of the column; quantities in SI, pressure as metres of water.
Row = dict[str, str | int | float | None]

#: What became of a design.
DESIGNED, IMPOSSIBLE, BAD_INPUT, FAULT = "designed", "impossible", "bad input", "fault"


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column: its `name`, and its `kind`.

    The kind is a quantity of `evenrow.units`, ``"count"``, ``"money"`` or ``"text"``.
    """

    name: str
    kind: str = "text"

    @property
    def type(self) -> type[str] | type[int] | type[float]:
        """What a cell holds that is not empty."""
        if self.kind == "text":
            return str
        return int if self.kind == "count" else float

    def unit(self, system: UnitSystem | None) -> str:
        """Return the unit of the cells, "" for none; without a unit system that of SI."""
        if self.kind not in QUANTITIES:
            return ""
        return si_unit(self.kind) if system is None else system_unit(self.kind, system)

    def heading(self, system: UnitSystem | None) -> str:
        """Return what stands at the head of the column, ``"flow [m³/h]"``."""
        unit = self.unit(system)
        return f"{self.name} [{unit}]" if unit else self.name


_TEXTS = ("design", "status", "name")
_NUMBERS = (
    ("rows", "count"),
    ("zones", "count"),
    ("emitters", "count"),
    ("line_length", "length"),
    ("largest_zone_flow", "flow"),
    ("least_eu", "share"),
    ("largest_flow_variation", "share"),
    ("least_emitter_pressure", "pressure"),
    ("largest_emitter_pressure", "pressure"),
    ("regulator", "pressure"),
    ("main_length", "length"),
    ("price", "money"),
    ("unpriced_parts", "count"),
    ("mass", "mass"),
)
_MORE_TEXTS = ("line", "header", "main", "currency", "catalogue", "message", "changes", "digest")

#: Every column, in the order of the table.
COLUMNS: tuple[Column, ...] = (
    *(Column(name=name) for name in _TEXTS),
    *(Column(name=name, kind=kind) for name, kind in _NUMBERS),
    *(Column(name=name) for name in _MORE_TEXTS),
)
#: The columns by name.
BY_NAME = {column.name: column for column in COLUMNS}


def empty_row() -> Row:
    """Return a row of empty cells."""
    return dict.fromkeys(BY_NAME)
