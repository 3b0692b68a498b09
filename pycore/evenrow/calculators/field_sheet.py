"""The field sheet of a design: two sides of paper, as HTML for the page and as a file of its own.

A sheet is a function of the design, the date and the link that stand on it. Everything on it comes
from `evenrow.design`; every text is escaped where it becomes HTML.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from evenrow import documents
from evenrow.calculators.reading import read
from evenrow.calculators.registry import calculator_of
from evenrow.calculators.sheet.back import back
from evenrow.calculators.sheet.code import checked
from evenrow.calculators.sheet.front import front
from evenrow.calculators.sheet.paper import shortened
from evenrow.design.expected import Expected
from evenrow.design.field import field_of
from evenrow.design.model import Design
from evenrow.design.solve import design
from evenrow.errors import InputError
from evenrow.figures.svg import words
from evenrow.words import language, tr

#: Id of the calculator whose documents are whole designs.
WHOLE_FIELD = "whole-field"
#: What the pages of a file of its own are: whatever paper the printer holds.
_PAPER = "@page{size:auto;margin:13mm 12mm}html,body{margin:0;padding:0;background:#fff}"


@dataclass(frozen=True, kw_only=True)
class FieldSheet:
    """A sheet ready for print: title, HTML of its sides, and how high each is at the most [mm]."""

    title: str
    html: str
    heights: tuple[float, float]


def field_sheet(found: Design, *, name: str = "", link: str = "", date: str = "") -> FieldSheet:
    """Return the field sheet of a design.

    Parameters
    ----------
    found : Design
        The finished design.
    name : str
        What the field is called; "" for the name in the design.
    link : str
        Whole address that opens this design, printed as a code too; "" for none.
    date : str
        Date as it shall stand on the sheet; "" for none.

    Returns
    -------
    FieldSheet
        Two sides that fit A4 and US Letter. What has no room is left out with a line that says
        where it stands; limits and cautions never are.

    Raises
    ------
    InputError
        The link is no address of a page.
    """
    expected = Expected(found)
    called = shortened(name or found.field.name)
    sides = (
        front(found, expected, called, date),
        back(found, expected, called, date, checked(link)),
    )
    return FieldSheet(
        title=tr("Field sheet: {name}", name=called or tr("drip system")),
        html='<main class="sheet">'
        + "".join(f'<article class="page">{side.html}</article>' for side in sides)
        + "</main>",
        heights=(sides[0].height, sides[1].height),
    )


def sheet_of(document: Mapping[str, Any], *, link: str = "", date: str = "") -> FieldSheet:
    """Return the field sheet of the design that a document asks for.

    Parameters
    ----------
    document : mapping
        What the form of the whole field holds, or a design file.
    link, date : str
        As in `field_sheet`.

    Raises
    ------
    InputErrors
        With every value that cannot be read.
    InputError
        The document is for another calculator, or its values do not go together.
    ImpossibleError
        Nothing that works exists.
    """
    documents.check_shape(document)
    current = documents.upgrade(document)
    calculator = calculator_of(current)
    if calculator.id != WHOLE_FIELD:
        raise InputError(
            tr("a field sheet is made of a whole field"),
            code="wrong_calculator",
            field="calculator",
            given=calculator.id,
            accepted=WHOLE_FIELD,
        )
    inputs, system = read(calculator, current)
    found = design(field_of(inputs, system))
    return field_sheet(found, name=str(current.get("name", "")), link=link, date=date)


def style() -> str:
    """Return the style sheet of the sheet."""
    return (files("evenrow.calculators.sheet") / "sheet.css").read_text(encoding="utf-8")


def standalone(sheet: FieldSheet) -> str:
    """Return a sheet as an HTML file that needs nothing else and runs nothing."""
    return (
        f'<!DOCTYPE html>\n<html lang="{language()}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
        "style-src 'unsafe-inline'\">"
        f"<title>{words(sheet.title)}</title><style>{_PAPER}{style()}</style></head>"
        f"<body>{sheet.html}</body></html>\n"
    )
