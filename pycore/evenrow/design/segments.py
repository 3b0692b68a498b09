"""Header and main of a zone as the network solve takes them, from layout and sizes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenrow.design.field import Field
from evenrow.design.layout import ZoneLayout
from evenrow.design.model import Candidate
from evenrow.hydraulics.constants import G
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.pipe import Pipe, pipe_of_numbers

FloatArray = NDArray[np.float64]
Takeoffs = NDArray[np.int64]

#: Loss coefficient of a take-off in the velocity head of its line: common practice, no source.
TAKEOFF_K = 1.0
#: Straight pipe with the loss of an elbow, in bores: Crane TP-410 (from memory).
ELBOW_LENGTHS = 30.0


def main_pipes(field: Field, candidate: Candidate, zone: ZoneLayout) -> list[Pipe]:
    """Return the main up to the zone's header, its valve as a pipe of no length."""
    main = candidate.main
    key = (zone.rows, main.code, "" if candidate.valve is None else candidate.valve.code)
    if key not in field.mains:
        field.mains[key] = _main_pipes(field, candidate, zone)
    return field.mains[key]


def _main_pipes(field: Field, candidate: Candidate, zone: ZoneLayout) -> list[Pipe]:
    main = candidate.main
    bends = candidate.layout.elbows_to(zone) * ELBOW_LENGTHS * main.bore
    length = candidate.layout.main_to(zone) + bends
    pipes = [pipe_of_numbers(length, main.bore, geometry(field, zone).feed_level, 0.0)]
    valve = candidate.valve
    if valve is not None:
        velocity_head = (valve.flow / main.area) ** 2 / (2.0 * G)
        pipes.append(pipe_of_numbers(0.0, main.bore, 0.0, valve.loss / velocity_head))
    return pipes


class Steps(NamedTuple):
    """Length of header [m] and elbows before each outlet on the side of the feed."""

    length: FloatArray
    elbows: FloatArray


def _feed_index(zone: ZoneLayout, takeoffs: Takeoffs) -> int:
    """Return how many outlets lie on the near side of where the main comes in."""
    return int(np.searchsorted(np.array(zone.takeoffs)[takeoffs], zone.feed - 1e-9))


def _from_feed(feed: int, at: FloatArray, origin: float) -> FloatArray:
    """Return the difference of each outlet's value from its neighbour's toward the feed."""
    nearer = np.concatenate((at[1:feed], [origin] * (feed > 0)))
    beyond = np.concatenate(([origin] * (feed < at.size), at[feed:-1]))
    return np.asarray(at - np.concatenate((nearer, beyond)))


def header_steps(zone: ZoneLayout, takeoffs: Takeoffs) -> Steps:
    """Return length and elbows of the header before each outlet.

    Parameters
    ----------
    zone : ZoneLayout
        The zone.
    takeoffs : ndarray of int
        Index of the take-off of each outlet, rising.
    """
    feed = _feed_index(zone, takeoffs)
    ways = _from_feed(feed, np.array(zone.ways)[takeoffs], zone.feed_way)
    bends = _from_feed(feed, np.array(zone.bends, float)[takeoffs], float(zone.feed_bends))
    return Steps(np.abs(ways), np.abs(bends))


def segment_areas(candidate: Candidate, zone: ZoneLayout, takeoffs: Takeoffs) -> FloatArray:
    """Return the area of the header's bore before each outlet [m2]."""
    taper = candidate.tapers.get(zone.number)
    if taper is None:
        return np.full(takeoffs.size, candidate.header.area)
    near, far = taper.takeoffs
    small = (takeoffs < near) | (takeoffs >= len(zone.takeoffs) - far)
    return np.where(small, taper.size.area, candidate.header.area)


def header_pipe(field: Field, candidate: Candidate, zone: ZoneLayout, takeoffs: Takeoffs) -> Header:
    """Return the zone's header; segments lead away from the feed on either side."""
    bare = bare_header(field, candidate, zone, takeoffs)
    length, bore = np.asarray(bare.length), np.asarray(bare.diameter)
    return Header.of_arrays(
        length, bore, np.asarray(bare.rise), bare.feed, TAKEOFF_K, field.line.device.diameter
    )


def bare_header(field: Field, candidate: Candidate, zone: ZoneLayout, takeoffs: Takeoffs) -> Header:
    """Return the same for laterals that have the loss of their take-off themselves."""
    of = geometry(field, zone)
    bore = np.sqrt(4.0 / np.pi * segment_areas(candidate, zone, takeoffs))
    return Header.of_arrays(
        of.steps.length + ELBOW_LENGTHS * bore * of.steps.elbows, bore, of.rise, of.feed
    )


class Geometry(NamedTuple):
    """A zone's header before its pipe is chosen.

    `rise` of each segment away from the feed [m], `feed` as of `Header`, `feed_level` the height
    of the place where the main comes in, above the source [m].
    """

    steps: Steps
    rise: FloatArray
    feed: int
    feed_level: float


def geometry(field: Field, zone: ZoneLayout) -> Geometry:
    """Return the geometry of a zone's header, worked out once for each range of rows."""
    known: Geometry | None = field.geometries.get(zone.rows)
    if known is not None:
        return known
    sides = len(field.runs(field.rows[0]))
    takeoffs = np.repeat(np.arange(len(zone.takeoffs)), sides)
    first, last = (int(field.header_line.first[row]) for row in zone.rows)
    levels = field.takeoff_levels[first:last]
    feed = _feed_index(zone, takeoffs)
    feed_level = float(np.interp(zone.feed, zone.takeoffs, levels))
    found = Geometry(
        steps=header_steps(zone, takeoffs),
        rise=_from_feed(feed, levels[takeoffs], feed_level),
        feed=feed,
        feed_level=feed_level,
    )
    field.geometries[zone.rows] = found
    return found
