"""The price list of a catalogue, to be kept in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from evenrow.catalogue.prices import COLUMNS, Sold, everything, unit_text
from evenrow.catalogue.types import Device, Fitting, PipeSize
from evenrow.catalogue.whole import Catalogue


def prices_csv(catalogue: Catalogue) -> str:
    """Return the price list of a catalogue as CSV text.

    Parameters
    ----------
    catalogue : Catalogue
        What is sold.

    Returns
    -------
    str
        Commas between the cells, points in the numbers, one row for each coil, pack or piece;
        `evenrow.catalogue.prices.read_prices` reads it back.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    heads = {"price": f"price ({catalogue.currency})", "mass": "mass (kg)"}
    writer.writerow([heads.get(column, column) for column in COLUMNS])
    for entry in everything(catalogue).values():
        for size, price, mass, stocked in _offers(entry):
            writer.writerow(
                [
                    entry.code,
                    _harmless(entry.label),
                    unit_text(entry, size),
                    "" if price is None else price_text(price),
                    "yes" if stocked else "no",
                    "" if mass is None else f"{mass:.6g}",
                ]
            )
    return out.getvalue()


def _offers(entry: Sold) -> Iterator[tuple[float, float | None, float | None, bool]]:
    """Yield size, price, mass and whether it is in stock of each row of an entry."""
    if isinstance(entry, (Device, PipeSize)):
        for place, coil in enumerate(entry.coils):
            price = entry.prices[place] if entry.prices else None
            yield coil, price, None if entry.mass is None else entry.mass * coil, True
        return
    pack = entry.pack if isinstance(entry, Fitting) else 1
    price = None if entry.price is None else round(entry.price * pack, 10)
    stocked = entry.stocked if isinstance(entry, Fitting) else True
    yield pack, price, None if entry.mass is None else entry.mass * pack, stocked


def price_text(price: float) -> str:
    """Return a price as a price list holds it, never with exactly three decimals.

    Three decimals could be read as thousands.
    """
    text = f"{price:.6f}".rstrip("0")
    decimals = len(text) - text.index(".") - 1
    return text + "0" * max(0, 2 - decimals, 4 - decimals if decimals == 3 else 0)


def _harmless(label: str) -> str:
    """Return a description that no spreadsheet takes for a formula."""
    return f"'{label}" if label.startswith(("=", "+", "-", "@")) else label
