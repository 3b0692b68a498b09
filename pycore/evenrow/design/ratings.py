"""What each part of a design has to bear with the water standing still, and what it bears."""

from __future__ import annotations

from typing import NamedTuple

from evenrow.design.field import Field
from evenrow.design.model import Candidate


class Rating(NamedTuple):
    """A part, the head before it with the water standing still, and what it bears [m].

    `bears` is None where that is not known.
    """

    label: str
    standing: float
    bears: float | None


def ratings(field: Field, candidate: Candidate) -> tuple[Rating, ...]:
    """Return head assembly and zone valve, in the order of the flow, with what they bear.

    Parts up to the regulator see the source, which stands highest when nobody draws water;
    those behind it see its setting, and a valve at the lowest header the fall to it as well.

    Parameters
    ----------
    field : Field
        The field; its source.
    candidate : Candidate
        What is built.
    """
    assembly = candidate.assembly
    before = len(assembly.up_to_regulator)
    found = [
        Rating(
            part.label,
            field.source.shutoff_head if place < before else field.supply(assembly.set_head),
            part.head_max,
        )
        for place, part in enumerate(assembly.parts)
    ]
    valve = candidate.valve
    if valve is not None:
        found.append(Rating(valve.label, field.standing(assembly.set_head), valve.head_max))
    return tuple(found)
