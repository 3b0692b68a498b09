"""MkDocs hook: the picture of the package's layers, read from its imports while the site is built.

A page asks for it by ``<!-- layers -->``.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

import evenrow
from evenrow.figures.svg import num, words
from kept_answers import kept

COMMENT = "<!-- layers -->"
PACKAGE = Path(evenrow.__file__).parent
#: Size of a part's box, the way from box to box, and how far every other row stands aside. [px]
BOX, TALL, ACROSS, DOWN, ASIDE = 130.0, 34.0, 170.0, 62.0, 66.0


def arrows(package: Path = PACKAGE) -> dict[str, set[str]]:
    """Return for every part of the package which other parts its modules import.

    A part is the first name behind ``evenrow.``. What `evenrow` itself loads when it is asked for
    is no arrow: it would point from the bottom to the top.
    """
    found: dict[str, set[str]] = defaultdict(set)
    for path in package.rglob("*.py"):
        part = path.relative_to(package).with_suffix("").parts[0]
        if part in ("__init__", "__main__"):
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names: list[str] = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module == "evenrow":
                names = [f"evenrow.{alias.name}" for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            found[part] |= {n.split(".")[1] for n in names if n.startswith("evenrow.")} - {part}
        found[part] |= set()
    return dict(found)


def ranks(edges: dict[str, set[str]]) -> dict[str, int]:
    """Return how many steps each part stands above those that import nothing.

    Raises
    ------
    ValueError
        When parts import each other in a circle.
    """
    found: dict[str, int] = {}

    def rank(part: str, way: tuple[str, ...] = ()) -> int:
        if part in way:
            raise ValueError(f"parts import each other: {' -> '.join((*way, part))}")
        if part not in found:
            below = (rank(each, (*way, part)) + 1 for each in edges.get(part, ()))
            found[part] = max(below, default=0)
        return found[part]

    for part in sorted(edges):
        rank(part)
    return found


def needed(edges: dict[str, set[str]]) -> list[tuple[str, str]]:
    """Return the arrows that do not follow from others: those a picture has to show."""

    def reaches(start: str, end: str) -> bool:
        return end in edges.get(start, ()) or any(reaches(s, end) for s in edges.get(start, ()))

    return [
        (part, other)
        for part in sorted(edges)
        for other in sorted(edges[part])
        if not any(reaches(each, other) for each in edges[part] - {other})
    ]


def picture() -> str:
    """Return the layers as a drawing with its description."""
    edges = arrows()
    rows: dict[int, list[str]] = defaultdict(list)
    for part, rank in sorted(ranks(edges).items()):
        rows[rank].append(part)
    # Every other row stands aside, so that a line that passes one is seen beside its boxes.
    place = {
        part: (column * ACROSS + (rank % 2) * ASIDE + 4.0, rank * DOWN + 8.0)
        for rank, parts in rows.items()
        for column, part in enumerate(parts)
    }
    lines = []
    for part, other in needed(edges):
        (x1, y1), (x2, y2) = place[part], place[other]
        start, end = (x1 + BOX / 2, y1), (x2 + BOX / 2, y2 + TALL)
        bend = (start[1] + end[1]) / 2
        lines.append(
            f'<path class="er-axis" fill="none" d="M{num(start[0])} {num(start[1])}C'
            f"{num(start[0])} {num(bend)} {num(end[0])} {num(bend)} {num(end[0])} {num(end[1])}"
            f'"/><circle class="er-mark" cx="{num(end[0])}" cy="{num(end[1])}" r="5"/>'
        )
    boxes = [
        f'<rect x="{num(x)}" y="{num(y)}" width="{num(BOX)}" height="{num(TALL)}" rx="6" '
        'stroke="currentColor" style="fill:var(--er-paper)"/>'
        f'<text x="{num(x + BOX / 2)}" y="{num(y + TALL / 2 + 7)}" text-anchor="middle" '
        f'style="font-size:20px">{words(part)}</text>'
        for part, (x, y) in place.items()
    ]
    wide = max(len(parts) for parts in rows.values()) * ACROSS + ASIDE
    high = (max(rows) + 1) * DOWN + 8.0
    told = "; ".join(
        f"{part} uses {', '.join(sorted(edges[part]))}" for part in sorted(edges) if edges[part]
    )
    return (
        f'<figure class="er-figure"><svg class="er-chart" viewBox="0 0 {num(wide)} {num(high)}" '
        f'role="img" aria-label="{words(told)}">{"".join(lines)}{"".join(boxes)}</svg>'
        "<figcaption>Parts of the package, from those that import nothing at the top; a line ends "
        "with a dot at what is imported. Lines that follow from others are left out.</figcaption>"
        "</figure>"
    )


def on_page_content(content: str, **_: object) -> str:
    """Put the picture where the page asks for it."""
    return content.replace(COMMENT, kept("layers", picture)) if COMMENT in content else content
