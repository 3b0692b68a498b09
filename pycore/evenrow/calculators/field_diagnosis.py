"""Why the cups differ: pressure, manufacture, or clogging and wear, and what to look at."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenrow.agronomy.field_evaluation import Causes, cup_flows, expected_flow, mean
from evenrow.calculators.field_check_form import PLACE_LABELS
from evenrow.calculators.result import Column, Fact, Steps, Table
from evenrow.errors import InputError
from evenrow.units import format_number

FloatArray = NDArray[np.float64]

#: Within this of what is expected the flow is right. Common practice, no source.
NEAR_ENOUGH = 0.10
CAUSES_SOURCE = (
    "independent variations add by their squares; pressure counts by the emitter exponent: Bralts "
    "et al. (1981), Trans. ASAE 24(5); ASAE EP458 (both from memory)"
)


@dataclass(frozen=True)
class Cups:
    """The cups, in the order of the table.

    Parameters
    ----------
    flows : numpy.ndarray
        [m3/s], shape (n,).
    places, rows : tuple of str
        Key of `PLACE_LABELS`; name of the row, or "".
    heads : numpy.ndarray
        Pressure head [m], NaN where it was not taken.
    """

    flows: FloatArray
    places: tuple[str, ...]
    rows: tuple[str, ...]
    heads: FloatArray

    @property
    def measured(self) -> FloatArray:
        """The heads that were taken."""
        return np.asarray(self.heads[np.isfinite(self.heads)])

    @property
    def low(self) -> list[int]:
        """Indices of the lowest quarter, and of all that give as little as its best."""
        take = max(1, math.floor(self.flows.size / 4.0 + 0.5))
        most = float(np.sort(self.flows)[take - 1])
        return [int(i) for i in np.flatnonzero(self.flows <= most)]

    def name(self, index: int) -> str:
        """Return ``"cup 7 (row 9, far end)"``."""
        row = f"row {self.rows[index]}, " if self.rows[index] else ""
        return f"cup {index + 1} ({row}{PLACE_LABELS[self.places[index]]})"


def cups_of(inputs: Mapping[str, Any]) -> Cups:
    """Return the cups of a read form.

    Raises
    ------
    InputError
        Every cup is dry.
    """
    rows = inputs["cups"]
    times = [row["time"] or inputs["cup_time"] for row in rows]
    flows = cup_flows([row["volume"] for row in rows], times)
    if not flows.max() > 0.0:
        raise InputError(
            "every cup is dry",
            code="no_flow",
            field="cups",
            accepted="at least one cup with water in it",
            hint="choose what you see under Trouble, with the table empty",
        )
    heads = [math.nan if row["pressure"] is None else row["pressure"] for row in rows]
    return Cups(
        flows,
        tuple(row["place"] for row in rows),
        tuple(row["row"] or "" for row in rows),
        np.asarray(heads, float),
    )


def _group_table(
    cups: Cups, name: str, title: str, label: str, keys: Sequence[str], labels: Mapping[str, str]
) -> Table | None:
    """Return means by place or by row; None where there is only one group."""
    present = [key for key in dict.fromkeys(labels) if key in keys]
    if len(present) < 2:
        return None
    overall = mean(cups.flows)
    rows = []
    for key in present:
        chosen = np.array([k == key for k in keys])
        heads = cups.heads[chosen]
        heads = heads[np.isfinite(heads)]
        flow = mean(cups.flows[chosen])
        rows.append(
            (
                labels[key],
                int(chosen.sum()),
                flow,
                flow / overall,
                mean(heads) if heads.size else None,
            )
        )
    return Table(
        name=name,
        title=title,
        columns=(
            Column(name="group", label=label),
            Column(name="cups", label="Cups", kind="count"),
            Column(name="flow", label="Average", kind="emitter_flow"),
            Column(name="share", label="Of the average of all", kind="share"),
            Column(name="pressure", label="Pressure", kind="pressure"),
        ),
        rows=tuple(rows),
    )


def group_tables(cups: Cups) -> list[Table]:
    """Return the averages by place and by row, as far as there are several."""
    names = sorted({row for row in cups.rows if row}, key=lambda row: (len(row), row))
    tables = (
        _group_table(cups, "by_place", "Along the rows", "Place", cups.places, PLACE_LABELS),
        _group_table(cups, "by_row", "Row by row", "Row", cups.rows, {n: n for n in names}),
    )
    return [table for table in tables if table is not None]


def _percent(value: float) -> str:
    return f"{format_number(100.0 * value, 2)} %"


def reasoning(found: Causes, count: int, exponent: float) -> Steps:
    """Return how the variation is split, line by line."""
    lines = [f"The flows of the {count} cups vary by {_percent(found.total)} (CV)."]
    if found.pressure is None:
        lines.append(
            "No pressures, or fewer than three, so that what pressure does stays in the rest."
        )
    else:
        of = _percent(found.pressure / exponent) if exponent else "any amount"
        lines.append(
            f"The pressures vary by {of}; with an exponent of {format_number(exponent, 2)} that "
            f"makes {_percent(found.pressure)} of flow."
        )
    lines.append(f"New emitters vary by {_percent(found.manufacture)}.")
    taken = " − ".join(
        f"{_percent(part)}²"
        for part in (found.total, found.pressure, found.manufacture)
        if part is not None
    )
    lines.append(
        f"What remains: √({taken}) = {_percent(found.rest)}: clogging, wear, leaks, misread cups."
        if found.rest > 0.0
        else "Nothing remains for clogging or wear: those two explain all of it."
    )
    if found.rest > 0.0 and not found.surely:
        lines.append(f"So much may still be the luck of {count} cups: more cups would tell.")
    return Steps(name="reasoning", title="How that is reckoned", items=tuple(lines))


def _pattern(cups: Cups) -> tuple[str, str]:
    """Return where the low cups are, in words, and what that points to."""
    low = cups.low
    places, rows = [cups.places[i] for i in low], [cups.rows[i] for i in low]
    if len(low) > 1 and rows[0] and len(set(rows)) == 1 and len(set(cups.rows)) > 1:
        return (
            f"all in row {rows[0]}",
            "Look at that row: its take-off, a kink, a leak, a half-shut valve. Flush it.",
        )
    if places.count("far") * 4 >= 3 * len(low) and len(set(cups.places)) > 1 and len(low) > 1:
        return (
            "mostly at the far ends",
            "Open the ends and flush: dirt settles where the water is slowest. Then read the "
            "pressure there.",
        )
    return (
        "scattered over rows and places",
        "Cut open the lowest emitter: grit, ochre, lime or slime says which treatment. Look at "
        "the filter.",
    )


def cause_fact(found: Causes, cups: Cups, even: bool) -> tuple[Fact, Fact]:
    """Return the main cause and what to look at next.

    Parameters
    ----------
    found : Causes
        The split.
    cups : Cups
        For where the low ones are.
    even : bool
        Whether the zone is even enough to leave alone.
    """
    pressure, made, rest = found.shares
    where, look = _pattern(cups)
    if even and not found.surely:
        cause, then = "nothing stands out", "Keep these numbers: next year's are judged by them."
    elif found.pressure is None and found.surely:
        cause = "more than new emitters vary, and without pressures no telling why"
        then = f"The low cups are {where}. Take the gauge to near and far ends. {look}"
    elif rest >= max(pressure, made) and rest > 0.0:
        cause = "clogging or wear" if found.surely else "perhaps clogging or wear; too few cups"
        then = f"The low cups are {where}. {look}"
    elif pressure >= made:
        cause = "pressure differs from place to place"
        then = (
            "See the pressures by place and by row. Falling along the rows: lines too long or too "
            "thin. Falling from row to row: the header. Low everywhere: filter, regulator, source."
        )
    else:
        cause = "the emitters as they were made"
        then = "Cleaning will not help. A line with less variation would, when it is replaced."
    return (
        Fact(
            name="cause",
            label="Main cause",
            text=cause,
            rule="The largest part of the variance, if it is more than the luck of the cups.",
            source=CAUSES_SOURCE,
        ),
        Fact(name="next", label="Look at next", text=then),
    )


def level(cups: Cups, expected: Mapping[str, Any]) -> tuple[float, Fact] | None:
    """Return the average flow over what it should be, and what that says.

    None where no flow is expected.
    """
    flow, head, x = expected["flow"], expected["pressure"], expected["exponent"]
    if flow is None:
        return None
    heads = cups.measured
    gauged = head is not None and heads.size > 0
    sound = mean([expected_flow(flow, head, x, float(h)) for h in heads]) if gauged else flow
    if sound <= 0.0:
        return None
    ratio = mean(cups.flows) / sound
    by = "at the pressures measured" if gauged else "by the figure expected"
    if ratio < 1.0 - NEAR_ENOUGH:
        text = (
            "too little, and pressure does not explain it: clogging in all of them, or other "
            "emitters than you think"
            if gauged
            else "too little: low pressure or clogging; a gauge would tell which"
        )
    elif ratio > 1.0 + NEAR_ENOUGH:
        text = (
            "too much, and pressure does not explain it: wear, or other emitters than you think"
            if gauged
            else "too much: high pressure or wear; a gauge would tell which"
        )
    else:
        text = "as it should be"
    return ratio, Fact(
        name="level",
        label="The average",
        text=f"{text} ({by})",
        rule="Within 10 % counts as right. The flow of sound emitters at each pressure measured: "
        "q = qₙ (h/hₙ)ˣ.",
        source="common practice, no source; emitter law: Keller and Karmeli (1974)",
    )
