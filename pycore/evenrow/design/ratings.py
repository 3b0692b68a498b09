"""What each part of a design has to bear with the water standing still, and what it bears."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from evenrow.design.field import Field
from evenrow.design.model import Candidate, ZoneState


class Rating(NamedTuple):
    """A part, the head before it with the water standing still, and what it bears [m].

    `bears` is None where that is not known. `pipe` is ``"main"`` or ``"header"`` for these, which
    bear `SURGE_SHARE` of their rating.
    """

    label: str
    standing: float
    bears: float | None
    pipe: str = ""


def ratings(field: Field, candidate: Candidate) -> tuple[Rating, ...]:
    """Return head assembly, main, zone valve and header, with what they bear.

    Parts up to the regulator see the source, which stands highest when nobody draws water;
    those behind it see its setting, and pipe and valve at the lowest header the fall to it as well.

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
    standing = field.standing(assembly.set_head)
    main, valve, header = candidate.main, candidate.valve, candidate.header
    found.append(Rating(main.label, standing, main.working_max, "main"))
    if valve is not None:
        found.append(Rating(valve.label, standing, valve.head_max))
    found.append(Rating(header.label, standing, header.working_max, "header"))
    return tuple(found)


#: Pressure that stopping water adds, over velocity and length and under the closing time:
#: 0.07 psi for each ft/s and ft in a second [s2/m]. G. A. Clark and D. Z. Haman, Water hammer in
#: irrigation systems, University of Florida AE066 (from memory).
STOPPING = 0.07 * 0.70307 / 0.3048**2


def closing_time(field: Field, candidate: Candidate, zones: Sequence[ZoneState]) -> float | None:
    """Return in how long zone valves may close at the soonest [s]; None without zone valves.

    Then what stands in the main and what stopping its water adds stay below the main's rating.

    Parameters
    ----------
    field, candidate
        What is built.
    zones : sequence of ZoneState
        Its zones as solved.

    Notes
    -----
    t = `STOPPING` v L / (rating - standing), for the zone with the largest v L.
    """
    if candidate.valve is None:
        return None
    left = candidate.main.head_max - field.standing(candidate.assembly.set_head)
    moving = max(zone.main_velocity * candidate.layout.main_to(zone.layout) for zone in zones)
    return STOPPING * moving / left
