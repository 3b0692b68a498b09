"""The link of a design as a square code that a phone reads (ISO/IEC 18004), drawn as SVG."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from evenrow.calculators.sheet.paper import LINE, Block, lines_of, noted
from evenrow.errors import InputError
from evenrow.figures.svg import words
from evenrow.words import said, tr

#: A longer link makes modules too fine for a worn print and a plain phone. [characters]
MOST = 1500
#: Longest link that is taken at all: address and fragment at their longest. [characters]
LONGEST = 18_000
#: Bright modules around the code, as the standard asks.
QUIET = 4
#: Least size of a module, and of the whole code. [mm]
MODULE, LEAST = 0.42, 36.0
#: What is printed of the address below. [characters]
ADDRESS = 72

TOO_LONG = said(
    "The link to this design is too long for a code that a phone reads well. Open the design "
    "where it was made, and copy its link or save its file."
)
NO_LINK = said(
    "No code: this sheet was made without the address of a site. The design file gives the same "
    "design again."
)


def matrix(link: str) -> tuple[tuple[int, ...], ...]:
    """Return the modules of the code, without the bright edge: 1 is dark.

    Parameters
    ----------
    link : str
        Up to `MOST` characters.
    """
    # Only who prints a sheet needs it, so nobody else waits for it.
    import segno

    # "M" mends up to 15 % of the code; it becomes better where that takes no more room.
    code = segno.make_qr(link, error="m", boost_error=True)
    return tuple(tuple(int(bit) for bit in row) for row in code.matrix)


def _runs(row: Sequence[int]) -> Iterable[tuple[int, int]]:
    """Yield start and length of each run of dark modules."""
    at = 0
    for dark, group in groupby(row):
        count = len(list(group))
        if dark:
            yield at, count
        at += count


def drawn(modules: Sequence[Sequence[int]], least: float = LEAST) -> tuple[str, float]:
    """Return the code as SVG with its bright edge, and its side, at least `least` long [mm]."""
    size = len(modules) + 2 * QUIET
    side = max(least, MODULE * size)
    path = "".join(
        f"M{x + QUIET} {y + QUIET}h{count}v1h-{count}z"
        for y, row in enumerate(modules)
        for x, count in _runs(row)
    )
    svg = (
        f'<svg class="code" viewBox="0 0 {size} {size}" width="{side:.1f}mm" '
        f'height="{side:.1f}mm" role="img" '
        f'aria-label="{words(tr("Code of the link to this design"))}" '
        'shape-rendering="crispEdges" xmlns="http://www.w3.org/2000/svg">'
        f'<path fill="#fff" d="M0 0h{size}v{size}h-{size}z"/><path fill="#000" d="{path}"/></svg>'
    )
    return svg, side


def checked(link: str) -> str:
    """Return the link, as far as a sheet may carry it.

    Raises
    ------
    InputError
        It is no address of a page, or longer than a link can be.
    """
    sound = link.isascii() and link.isprintable() and " " not in link
    if link and not (sound and len(link) <= LONGEST and link.startswith(("https://", "http://"))):
        raise InputError(
            tr("that is no link to a design"),
            code="wrong_link",
            field="link",
            given=link,
            accepted=tr("an address that begins with https:// or http://"),
        )
    return link


def code_block(link: str, width: float) -> Block:
    """Return the code with the beginning of the address below, or why there is none."""
    if not link:
        return noted(tr(NO_LINK), width)
    shown = link if len(link) <= ADDRESS else link[: ADDRESS - 1] + "…"
    text = f'<p class="address">{words(shown)}</p>'
    height = LINE * lines_of(shown, width)
    if len(link) > MOST:
        told = noted(tr(TOO_LONG), width)
        return Block(html=told.html + text, height=told.height + height)
    svg, side = drawn(matrix(link))
    told = noted(tr("Opens this very design on a phone, to change it or to see all of it."), width)
    return Block(html=svg + told.html + text, height=side + told.height + height)
