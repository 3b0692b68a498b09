"""The regulator settings that come into question for a field."""

from __future__ import annotations

from evenrow.catalogue import assembly_parts
from evenrow.design.field import Field


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
    heads = {part.set_head for part in assembly_parts() if part.set_head is not None}
    fit = [head for head in heads if emitter.head_min + field.middle < head <= bound]
    return [*sorted(fit, key=lambda head: abs(head - field.middle - emitter.head_nominal))]
