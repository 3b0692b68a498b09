"""The scale of a plan: equal both ways where that reads, else with breaks, else unequal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenrow.figures.plan_model import Plan
from evenrow.units import UnitSystem, from_unit, system_unit, to_unit

#: Tallest field in user units, and the narrowest that still shows its rows.
TALLEST, NARROWEST = 560.0, 200.0
#: Distance of rows that reads well, and what it may be where there are few.
ROW_APART, FEW_APART = 14.0, 50.0
#: Rows nearer than this cannot be told apart; some are left out then.
ROW_LEAST = 6.0
#: A field flatter than this share of its wanted height is drawn with breaks or unequal.
FLAT = 0.6
#: Gap that shows a break.
GAP = 18.0
#: Least length of a row's shorter arm on paper.
ARM_LEAST = 90.0
#: Rows that differ by less than this share are of one length.
SAME = 0.01


@dataclass(frozen=True, kw_only=True)
class Scale:
    """From metres to user units.

    `x_at` pairs places along the rows with places in the drawing, rising; between two of them
    the scale is even.  `breaks` are the stretches left out (from, to), `step` says that every
    `step`-th row is drawn.
    """

    x_at: tuple[tuple[float, float], ...]
    breaks: tuple[tuple[float, float], ...]
    across: float
    along: float
    y_from: float
    top: float
    height: float
    step: int

    @property
    def equal(self) -> bool:
        """Whether lengths both ways are to one scale."""
        return abs(self.across - self.along) < 1e-6 * self.along

    def x(self, along: float) -> float:
        """Return where a place along the rows lies in the drawing; beyond the ends, the end."""
        before = self.x_at[0]
        for place, drawn in self.x_at:
            if along <= place:
                span = place - before[0]
                if span <= 0.0:
                    return drawn
                return before[1] + (along - before[0]) / span * (drawn - before[1])
            before = (place, drawn)
        return before[1]

    def y(self, across: float) -> float:
        """Return where a place along the header lies in the drawing."""
        return self.top + (across - self.y_from) * self.across

    def pieces(self, start: float, end: float) -> list[tuple[float, float]]:
        """Return what is drawn of a stretch along the rows, without the breaks: from, to."""
        drawn = []
        at = start
        for low, high in self.breaks:
            if start < low and high < end:
                drawn.append((self.x(at), self.x(low)))
                at = high
        drawn.append((self.x(at), self.x(end)))
        return drawn


def scale_of(plan: Plan, left: float, right: float, top: float) -> Scale:
    """Return the scale for a field drawn from `left` to `right`, its first line at `top`.

    Equal both ways where rows stay legible.  A long thin field whose rows are all of one length
    is drawn with a break in every row; any other that does not fit, with unequal scales.
    """
    rows = plan.rows
    low, high = 0.0, max(row.length for row in rows)
    first, last = rows[0].lines[0], rows[-1].lines[-1]
    span, length = max(last - first, 0.0), max(high - low, 1e-3)
    wide = right - left
    between = len(rows) - 1
    wanted = min(max(between * ROW_APART, min(170.0, between * FEW_APART)), 420.0)
    along = wide / length
    breaks: tuple[tuple[float, float], ...] = ()
    if span <= 1e-6:
        across = along
    elif span * along > TALLEST:
        across = TALLEST / span
        # A little narrower to one scale is better than two scales.
        narrow = across * length < 0.8 * NARROWEST
        along = min(NARROWEST / length, along) if narrow else across
    elif span * along < FLAT * wanted:
        across = wanted / span
        if all(
            high - row.length + abs(row.header - rows[0].header) <= SAME * length for row in rows
        ):
            breaks = _breaks(high, rows[0].header, across, wide)
            along = across
    else:
        across = along
    apart = span * across / max(between, 1)
    return Scale(
        x_at=_x_at(low, high, breaks, along, left),
        breaks=breaks,
        across=across,
        along=along,
        y_from=first,
        top=top,
        height=span * across,
        step=max(1, -int(-ROW_LEAST // apart)) if between and apart > 0 else 1,
    )


def _breaks(
    length: float, header: float, scale: float, wide: float
) -> tuple[tuple[float, float], ...]:
    """Return the stretches that the arms of the rows leave out, each in its middle.

    The arms share the paper by their lengths, but the shorter one keeps enough of it to be seen,
    and is drawn whole where that is enough for it.
    """
    arms = [(a, b) for a, b in ((0.0, header), (header, length)) if b - a > SAME * length]
    room = wide - GAP * len(arms)
    shorter = min(b - a for a, b in arms)
    least = max(room * shorter / length, ARM_LEAST) if len(arms) > 1 else room
    if shorter * scale <= least:
        # Drawn whole, it needs no gap.
        least = shorter * scale
        room += GAP
    found = []
    for a, b in arms:
        drawn = least if b - a <= shorter else room - least
        if len(arms) > 1 and arms[0][1] - arms[0][0] == arms[1][1] - arms[1][0]:
            drawn = room / 2
        kept = drawn / scale
        if kept < (b - a) * (1.0 - 1e-9):
            found.append((a + kept / 2, b - kept / 2))
    return tuple(found)


def _x_at(
    low: float, high: float, breaks: Sequence[tuple[float, float]], along: float, left: float
) -> tuple[tuple[float, float], ...]:
    found = [(low, left)]
    for a, b in breaks:
        place, drawn = found[-1]
        found.append((a, drawn + (a - place) * along))
        found.append((b, found[-1][1] + GAP))
    place, drawn = found[-1]
    found.append((high, drawn + (high - place) * along))
    return tuple(found)


def bar_length(scale: float, widest: float, system: UnitSystem) -> float:
    """Return a round length in the user's unit for a scale bar [m].

    Parameters
    ----------
    scale : float
        User units to a metre.
    widest : float
        Longest bar in user units.
    system : {"us", "metric"}
        Unit system.
    """
    unit = system_unit("length", system)
    most = to_unit(widest / scale, "length", unit)
    power = 1.0
    while power > most:
        power /= 10.0
    while power * 10.0 <= most:
        power *= 10.0
    number = max(m for m in (1.0, 2.0, 5.0) if m * power <= most) * power
    return from_unit(number, "length", unit)
