"""The poster of a design: one leaf with a large code, to hang where somebody stands in the field.

Nothing is solved for it: it carries the link, and what opens there works everything out.  Every
text is escaped where it becomes HTML.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from evenrow import documents
from evenrow.calculators.reading import read
from evenrow.calculators.registry import calculator_of
from evenrow.calculators.sheet.code import MOST, checked, drawn, matrix
from evenrow.calculators.sheet.paper import shortened
from evenrow.catalogue import current
from evenrow.catalogue.host import host, host_cautions
from evenrow.errors import InputError
from evenrow.figures.svg import words
from evenrow.words import tr

#: Side of the code: read from about ten times as far away (common practice, no source). [mm]
SIDE = 120.0
#: What is printed of the address. [characters]
ADDRESS = 90


@dataclass(frozen=True, kw_only=True)
class Poster:
    """A poster ready for print: title, HTML of the leaf, and the code alone as SVG."""

    title: str
    html: str
    code: str


def poster_of(document: Mapping[str, Any], *, link: str, date: str = "") -> Poster:
    """Return the poster of the design that a document asks for.

    Parameters
    ----------
    document : mapping
        What a form holds, or a design file; of any calculator.
    link : str
        Whole address that opens this design.
    date : str
        Date as it shall stand on the poster; "" for none.

    Returns
    -------
    Poster
        One leaf that fits A4 and US Letter.

    Raises
    ------
    InputErrors
        With every value of the document that cannot be read: a code that opens an error helps
        nobody.
    InputError
        The link is no address of a page, or too long for a code that a plain phone reads.
    """
    documents.check_shape(document)
    now = documents.upgrade(document)
    calculator = calculator_of(now)
    read(calculator, now)
    if not checked(link) or len(link) > MOST:
        raise InputError(
            tr("this design is too long for a code that a phone reads well"),
            code="link_too_long",
            field="link",
            accepted=tr("a link of up to {count} characters", count=MOST),
            hint=tr("shorter notes, or sending the link or the design file itself"),
        )
    code, _ = drawn(matrix(link), least=SIDE)
    name = shortened(str(now.get("name", "")).strip()) or tr(calculator.title)
    return Poster(
        title=tr("Poster: {name}", name=name),
        html=f'<main class="sheet"><article class="page poster">{_leaf(name, code, link, date)}'
        "</article></main>",
        code=code,
    )


def _leaf(name: str, code: str, link: str, date: str) -> str:
    """Return what stands on the leaf, from the top."""
    keeper = host()
    catalogue = tr("Catalogue: {catalogue}.", catalogue=shortened(current().label))
    small = [f"{catalogue} {shortened(date, 40)}".strip()]
    if keeper:
        small.insert(0, f"{keeper.name}: {keeper.contact}" if keeper.contact else keeper.name)
    steps = (
        tr("Hold the camera of a phone over the square and open the link."),
        tr("The whole design opens: what to lay, what to buy, and how to water."),
        tr("Open it once where there is a signal; after that it works in the field without one."),
    )
    care = (
        tr("Your local code comes first. Look at the cautions in the design before you build."),
        *host_cautions(),
    )
    shown = link if len(link) <= ADDRESS else link[: ADDRESS - 1] + "…"
    return (
        f"<h1><bdi>{words(name)}</bdi></h1>"
        f'<p class="call">{words(tr("Scan me in the field"))}</p>{code}'
        f"<ol>{''.join(f'<li>{words(step)}</li>' for step in steps)}</ol>"
        f'<div class="care">{"".join(f"<p>{words(text)}</p>" for text in care)}</div>'
        f"{''.join(f'<p>{words(text)}</p>' for text in small)}"
        f'<p class="address">{words(shown)}</p>'
    )


def style() -> str:
    """Return the style sheet of the poster, beside that of the field sheet."""
    folder = files("evenrow.calculators.sheet")
    return "\n".join((folder / name).read_text("utf-8") for name in ("sheet.css", "poster.css"))
