"""The regulator settings that come into question for a field."""

from __future__ import annotations

from functools import lru_cache

from evenrow.catalogue import AssemblyPart, assembly_parts
from evenrow.design.field import Field


@lru_cache(maxsize=4)
def _settings(parts: tuple[AssemblyPart, ...]) -> frozenset[float]:
    """Return the settings in which regulators are sold [m]."""
    return frozenset(part.set_head for part in parts if part.set_head is not None)


def set_heads(field: Field) -> list[float | None]:
    """Return the heads that a regulator at the source may hold, best first [m].

    None stands for no regulator: the source itself never reaches what the line bears.  Best is
    what leaves the line's rating at the middle of the header; a setting that would pass the
    line's highest pressure at its lowest emitter, with the water standing still, is left out.
    """
    emitter = field.line.device.emitter
    bound = emitter.head_max + field.lowest
    if field.source.shutoff_head <= bound:
        return [None]
    fit = [
        head
        for head in _settings(assembly_parts())
        if emitter.head_min + field.middle < head <= bound
    ]
    return [*sorted(fit, key=lambda head: abs(head - field.middle - emitter.head_nominal))]
