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
from evenrow.words import said, tr

FloatArray = NDArray[np.float64]

#: Within this of what is expected the flow is right. Common practice, no source.
NEAR_ENOUGH = 0.10
CAUSES_SOURCE = said(
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
    expected : numpy.ndarray
        Flow of that emitter by the design [m3/s], NaN where it is not known.
    numbers : tuple of int
        Place of each in the table of the form, from 1.
    """

    flows: FloatArray
    places: tuple[str, ...]
    rows: tuple[str, ...]
    heads: FloatArray
    expected: FloatArray
    numbers: tuple[int, ...]

    @property
    def designed(self) -> bool:
        """Whether the design tells of every cup what it should give."""
        return bool(np.isfinite(self.expected).all())

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
        place, row = tr(PLACE_LABELS[self.places[index]]), self.rows[index]
        number = self.numbers[index]
        if row:
            return tr("cup {number} (row {row}, {place})", number=number, row=row, place=place)
        return tr("cup {number} ({place})", number=number, place=place)


def cups_of(inputs: Mapping[str, Any]) -> Cups:
    """Return the cups of a read form.

    Raises
    ------
    InputError
        Every cup is dry.
    """
    table = list(enumerate(inputs["cups"], start=1))
    numbers, rows = zip(*((i, row) for i, row in table if row["volume"] is not None), strict=True)
    times = [row["time"] or inputs["cup_time"] for row in rows]
    flows = cup_flows([row["volume"] for row in rows], times)
    if not flows.max() > 0.0:
        raise InputError(
            tr("every cup is dry"),
            code="no_flow",
            field="cups",
            accepted=tr("at least one cup with water in it"),
            hint=tr("choose what you see under Trouble, with the table empty"),
        )
    heads = [math.nan if row["pressure"] is None else row["pressure"] for row in rows]
    return Cups(
        flows,
        tuple(row["place"] for row in rows),
        tuple(row["row"] or "" for row in rows),
        np.asarray(heads, float),
        np.asarray([math.nan if r["expected"] is None else r["expected"] for r in rows], float),
        numbers,
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
            Column(name="cups", label=tr("Cups"), kind="count"),
            Column(name="flow", label=tr("Average"), kind="emitter_flow"),
            Column(name="share", label=tr("Of the average of all"), kind="share"),
            Column(name="pressure", label=tr("Pressure"), kind="pressure"),
        ),
        rows=tuple(rows),
    )


def group_tables(cups: Cups) -> list[Table]:
    """Return the averages by place and by row, as far as there are several."""
    names = sorted({row for row in cups.rows if row}, key=lambda row: (len(row), row))
    tables = (
        _group_table(
            cups,
            "by_place",
            tr("Along the rows"),
            tr("Place"),
            cups.places,
            {place: tr(label) for place, label in PLACE_LABELS.items()},
        ),
        _group_table(cups, "by_row", tr("Row by row"), tr("Row"), cups.rows, {n: n for n in names}),
    )
    return [table for table in tables if table is not None]


def _percent(value: float) -> str:
    return f"{format_number(100.0 * value, 2)} %"


def reasoning(found: Causes, count: int, exponent: float) -> Steps:
    """Return how the variation is split, line by line."""
    lines = [
        tr(
            "The flows of the {count} cups vary by {share} (CV).",
            count=count,
            share=_percent(found.total),
        )
    ]
    if found.pressure is None:
        lines.append(
            tr("No pressures, or fewer than three, so that what pressure does stays in the rest.")
        )
    else:
        of = _percent(found.pressure / exponent) if exponent else tr("any amount")
        lines.append(
            tr(
                "The pressures vary by {share}; with an exponent of {exponent} that makes "
                "{flow} of flow.",
                share=of,
                exponent=format_number(exponent, 2),
                flow=_percent(found.pressure),
            )
        )
    lines.append(tr("New emitters vary by {share}.", share=_percent(found.manufacture)))
    taken = " − ".join(
        f"{_percent(part)}²"
        for part in (found.total, found.pressure, found.manufacture)
        if part is not None
    )
    lines.append(
        tr(
            "What remains: √({squares}) = {rest}: clogging, wear, leaks, misread cups.",
            squares=taken,
            rest=_percent(found.rest),
        )
        if found.rest > 0.0
        else tr("Nothing remains for clogging or wear: those two explain all of it.")
    )
    if found.rest > 0.0 and not found.surely:
        lines.append(
            tr("So much may still be the luck of {count} cups: more cups would tell.", count=count)
        )
    return Steps(name="reasoning", title=tr("How that is reckoned"), items=tuple(lines))


def _pattern(cups: Cups) -> tuple[str, str]:
    """Return where the low cups are, in a sentence, and what that points to."""
    low = cups.low
    places, rows = [cups.places[i] for i in low], [cups.rows[i] for i in low]
    if len(low) > 1 and rows[0] and len(set(rows)) == 1 and len(set(cups.rows)) > 1:
        return (
            tr("The low cups are all in row {row}.", row=rows[0]),
            tr("Look at that row: its take-off, a kink, a leak, a half-shut valve. Flush it."),
        )
    if places.count("far") * 4 >= 3 * len(low) and len(set(cups.places)) > 1 and len(low) > 1:
        return (
            tr("The low cups are mostly at the far ends."),
            tr(
                "Open the ends and flush: dirt settles where the water is slowest. Then read the "
                "pressure there."
            ),
        )
    return (
        tr("The low cups are scattered over rows and places."),
        tr(
            "Cut open the lowest emitter: grit, ochre, lime or slime says which treatment. Look at "
            "the filter."
        ),
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
        cause = tr("nothing stands out")
        then = tr("Keep these numbers: next year's are judged by them.")
    elif found.pressure is None and found.surely:
        cause = tr("more than new emitters vary, and without pressures no telling why")
        then = " ".join((where, tr("Take the gauge to near and far ends."), look))
    elif rest >= max(pressure, made) and rest > 0.0:
        cause = (
            tr("clogging or wear") if found.surely else tr("perhaps clogging or wear; too few cups")
        )
        then = f"{where} {look}"
    elif pressure >= made:
        cause = tr("pressure differs from place to place")
        then = tr(
            "See the pressures by place and by row. Falling along the rows: lines too long or too "
            "thin. Falling from row to row: the header. Low everywhere: filter, regulator, source."
        )
    else:
        cause = tr("the emitters as they were made")
        then = tr("Cleaning will not help. A line with less variation would, when it is replaced.")
    return (
        Fact(
            name="cause",
            label=tr("Main cause"),
            text=cause,
            rule=tr("The largest part of the variance, if it is more than the luck of the cups."),
            source=tr(CAUSES_SOURCE),
        ),
        Fact(name="next", label=tr("Look at next"), text=then),
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
    if ratio < 1.0 - NEAR_ENOUGH:
        text = (
            tr(
                "too little, and pressure does not explain it: clogging in all of them, or other "
                "emitters than you think (at the pressures measured)"
            )
            if gauged
            else tr(
                "too little: low pressure or clogging; a gauge would tell which (by the figure "
                "expected)"
            )
        )
    elif ratio > 1.0 + NEAR_ENOUGH:
        text = (
            tr(
                "too much, and pressure does not explain it: wear, or other emitters than you "
                "think (at the pressures measured)"
            )
            if gauged
            else tr(
                "too much: high pressure or wear; a gauge would tell which (by the figure expected)"
            )
        )
    else:
        text = (
            tr("as it should be (at the pressures measured)")
            if gauged
            else tr("as it should be (by the figure expected)")
        )
    return ratio, Fact(
        name="level",
        label=tr("The average"),
        text=text,
        rule=tr(
            "Within 10 % counts as right. The flow of sound emitters at each pressure measured: "
            "q = qₙ (h/hₙ)ˣ."
        ),
        source=tr("common practice, no source; emitter law: Keller and Karmeli (1974)"),
    )
