"""The ground under rows and header: even slopes, or heights surveyed along them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenrow.errors import InputError
from evenrow.units import format_value
from evenrow.words import tr

#: Direction in which one looks along the rows from their near ends: degrees from north by way of
#: east; None where it is not known.
BEARINGS: Mapping[str, float | None] = MappingProxyType(
    {
        "unknown": None, "north": 0.0, "northeast": 45.0, "east": 90.0, "southeast": 135.0,
        "south": 180.0, "southwest": 225.0, "west": 270.0, "northwest": 315.0,
    }
)  # fmt: skip

Survey = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Ground:
    """Heights of a field above the near end of its first row.

    Every row climbs and falls alike.  "Along the header" counts from the middle of the first
    row, "along a row" from its near end, the end on the side of the source.

    Parameters
    ----------
    row_slope, header_slope : float
        Rise over length along a row and along the header [-].
    row_survey, header_survey : tuple of (distance, height)
        Surveyed points [m] that replace a slope, distances rising; empty where there is none.
    """

    row_slope: float = 0.0
    header_slope: float = 0.0
    row_survey: Survey = ()
    header_survey: Survey = ()

    @property
    def even(self) -> bool:
        """Whether the rows lie on one slope, so that equal lengths are equal everywhere."""
        return not self.row_survey

    def along_row(self, distance: ArrayLike) -> NDArray[np.float64]:
        """Return the height above a row's near end at distances along it [m]."""
        return _height(distance, self.row_slope, self.row_survey)

    def along_header(self, position: ArrayLike) -> NDArray[np.float64]:
        """Return the height above the first row at positions along the header [m]."""
        return _height(position, self.header_slope, self.header_survey)


def _height(at: ArrayLike, slope: float, survey: Survey) -> NDArray[np.float64]:
    places = np.asarray(at, float)
    if not survey:
        return slope * places
    x, z = np.array(survey).T
    # The lines of the outer beds, and a little pipe, lie beyond the survey: straight on there.
    before = (z[1] - z[0]) / (x[1] - x[0]) * np.minimum(places - x[0], 0.0)
    beyond = (z[-1] - z[-2]) / (x[-1] - x[-2]) * np.maximum(places - x[-1], 0.0)
    heights = np.interp(places, x, z) + before + beyond
    return np.asarray(heights - np.interp(0.0, x, z))


def survey_of(points: Sequence[Mapping[str, Any]], reach: float, field: str, system: Any) -> Survey:
    """Return surveyed points in rising order, checked to cover what lies on them.

    Parameters
    ----------
    points : sequence of mapping
        ``distance`` and ``height`` of each [m]; empty for no survey.
    reach : float
        Distance that the survey has to reach [m].
    field : str
        Name of the table, for messages.
    system : str
        Unit system of the messages.

    Raises
    ------
    InputError
        One point only, two at one distance, a first point beyond the start, or a survey that
        ends before `reach`.
    """
    if not points:
        return ()
    found = sorted((p["distance"], p["height"]) for p in points)
    first, last = found[0][0], found[-1][0]
    if len(found) < 2 or any(a[0] == b[0] for a, b in pairwise(found)):
        raise InputError(
            tr("a survey needs points at different distances"),
            code="inconsistent",
            field=field,
            given=tr("{count} points", count=len(found)),
            accepted=tr("at least two points, each at a distance of its own"),
        )
    if first > 0.0:
        raise InputError(
            tr("the survey does not begin at the start"),
            code="out_of_range",
            field=field,
            given=format_value(first, "length", system),
            accepted=tr("a first point at distance 0"),
        )
    if last < reach - 1e-6:
        raise InputError(
            tr("the survey ends too soon"),
            code="out_of_range",
            field=field,
            given=format_value(last, "length", system),
            accepted=tr(
                "a last point at {reach} or beyond", reach=format_value(reach, "length", system)
            ),
            hint=tr("measure one more point at the far end"),
        )
    return tuple(found)
