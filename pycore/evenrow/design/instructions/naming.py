"""How rows and ends are called in an instruction, and what a tape measure shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby

from evenrow.design.expected import End
from evenrow.units import UnitSystem, to_unit
from evenrow.words import said, tr

#: Between a number and its unit, so that they stay on one line.
_SPACE = "\N{NO-BREAK SPACE}"


#: Kinds of line; both take the same article in every language so far.
_KINDS = {"tape": said("tape"), "dripline": said("dripline")}


def line_kind(kind: str) -> str:
    """Return what a kind of line of the catalogue is called."""
    return tr(_KINDS[kind])


def tape_measure(length: float, system: UnitSystem) -> str:
    """Return a length [m] as a tape measure shows it: to 1/8 in or to 5 mm, rounded once."""
    if system == "metric":
        return f"{round(to_unit(length, 'length', 'mm') / 5) * 5 / 1000:.3f}{_SPACE}m"
    eighths = round(to_unit(length, "length", "in") * 8)
    feet, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)
    words = [f"{feet}{_SPACE}ft"] if feet else []
    if part:
        shared = math.gcd(part, 8)
        fraction = f"{part // shared}/{8 // shared}"
        words.append(f"{inches}{_SPACE}{fraction}{_SPACE}in" if inches else f"{fraction}{_SPACE}in")
    elif inches or not feet:
        words.append(f"{inches}{_SPACE}in")
    return _SPACE.join(words)


def cut_length(length: float, system: UnitSystem) -> str:
    """Return a length to cut [m], rounded up to a whole inch or centimetre."""
    if system == "metric":
        return f"{math.ceil(to_unit(length, 'length', 'cm') - 1e-6) / 100:.2f}{_SPACE}m"
    feet, inches = divmod(math.ceil(to_unit(length, "length", "in") - 1e-6), 12)
    return f"{feet}{_SPACE}ft" + (f"{_SPACE}{inches}{_SPACE}in" if inches else "")


def row_list(rows: Sequence[int]) -> str:
    """Return row numbers in their order, neighbours drawn together: ``rows 1 to 4, 7``."""
    spans: list[list[int]] = []
    for row in rows:
        if spans:
            last = spans[-1]
            step = row - last[-1]
            if abs(step) == 1 and (len(last) == 1 or step == last[-1] - last[-2]):
                last.append(row)
                continue
        spans.append([row])
    words = []
    for span in spans:
        if len(span) > 2:
            words.append(tr("{first} to {last}", first=span[0], last=span[-1]))
        else:
            words += [str(row) for row in span]
    listed = ", ".join(words)
    return tr("row {row}", row=listed) if len(rows) == 1 else tr("rows {rows}", rows=listed)


def end_name(end: End, ends: Sequence[End]) -> str:
    """Return the name of one end of a zone, as long as it must be: ``row 3, line 2, near side``."""
    mates = [other for other in ends if other.row == end.row]
    name = tr("row {row}", row=end.row)
    if any(other.line != end.line for other in mates):
        name = tr("{row}, line {line}", row=name, line=end.line)
    if any(other.away != end.away for other in mates):
        # A name is a list of marks: the side comes last in every language.
        name += tr(", far side") if end.away > 0 else tr(", near side")
    return name


def order_of_ends(order: Sequence[End], ends: Sequence[End]) -> str:
    """Return an order of ends by rows, or end by end where the ends of a row lie apart in it.

    Parameters
    ----------
    order : sequence of End
        Some ends of a zone, in the order wanted.
    ends : sequence of End
        All ends of that zone.
    """
    blocks = [list(block) for _, block in groupby(order, key=lambda end: end.row)]
    sizes = {end.row: sum(other.row == end.row for other in ends) for end in order}
    if all(len(block) == sizes[block[0].row] for block in blocks):
        return row_list([block[0].row for block in blocks])
    return "; ".join(end_name(end, ends) for end in order)
