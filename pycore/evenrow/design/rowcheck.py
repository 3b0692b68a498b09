"""What a single row already rules out, before any zone is solved.

A row fed right behind the regulator, through pipe without loss, is the best case of every
zone that holds it.  What fails there fails everywhere, so that a hopeless field is told at
once.
"""

from __future__ import annotations

from evenrow.design.apart import apart
from evenrow.design.model import Shortfall
from evenrow.design.system import FieldHydraulics
from evenrow.units import format_value
from evenrow.words import tr

#: A real inlet lies somewhat below the best case; on falling ground that can help a little.
EU_SLACK = 0.02


def row_shortfall(hydraulics: FieldHydraulics, set_head: float | None) -> Shortfall | None:
    """Return the limit that some row breaks even in the best case, or None.

    Parameters
    ----------
    hydraulics : FieldHydraulics
        The field.
    set_head : float or None
        Setting of the regulator, or None where there is none. [m]
    """
    field = hydraulics.field
    emitter = field.line.device.emitter
    supply = field.supply(set_head)
    for length in sorted({row.length for row in field.rows}, reverse=True):
        row = next(row for row in field.rows if row.length == length)
        head = supply - float(field.levels[row.number - 1])
        words = format_value(length, "length", field.system)
        if head <= 0.0:
            return Shortfall(
                limit="lowest pressure of the line",
                text=tr("no pressure is left at row {number}: it lies too high", number=row.number),
                cure="",
            )
        runs = field.runs(row)
        emitters = sum(field.line.emitters_on(run.length) for run in runs)
        hydraulics.budget.spend(10 * emitters, calls=len(runs))
        lowest, eu = hydraulics.store.best_case(field.line, field.ground, runs, head)
        if lowest < emitter.head_min:
            low, least = apart(lowest, emitter.head_min, "pressure", field.system)
            return Shortfall(
                limit="lowest pressure of the line",
                text=tr(
                    "a row of {words} has {lowest} at its driest emitter, below the "
                    "{head_min} that the line needs",
                    words=words,
                    lowest=low,
                    head_min=least,
                ),
                cure="",
            )
        if eu < field.eu - EU_SLACK:
            reached, wanted = apart(eu, field.eu, "share", field.system)
            return Shortfall(
                limit="emission uniformity",
                text=tr(
                    "a row of {words} alone reaches an emission uniformity of "
                    "{eu}, below the {wanted} wanted",
                    words=words,
                    eu=reached,
                    wanted=wanted,
                ),
                cure="",
            )
    return None
