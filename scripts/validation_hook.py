"""MkDocs hook: the validation report, from what the published checks compared.

``scripts/validation.json`` is written by ``./scripts/record_checks``; a test sees to it that it
belongs to the checks as they stand. A page asks for the report by ``<!-- validation-report -->``.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from html import escape
from pathlib import Path
from typing import Any

from mkdocs.exceptions import PluginError

from evenrow.figures.svg import num

RECORD = Path(__file__).with_name("validation.json")
COMMENT = "<!-- validation-report -->"
#: Marks from the strongest to the weakest.
MARKS = (
    "published",
    "computed by a reference library",
    "computed from its definition",
    "common practice",
    "from memory",
    "not said",
)
#: Differences below this are those of the last digits of a double. [share]
SMALLEST = 1e-16
#: Drawing: width, height of a module's line, room for the names, edges. [px]
WIDTH, LINE, NAMES, EDGE = 640.0, 30.0, 240.0, 24.0

_shown: list[str] = []


def difference(check: dict[str, Any]) -> float:
    """Return the relative difference of a check; absolute where zero is expected."""
    apart = abs(check["ours"] - check["expected"])
    return float(apart / abs(check["expected"]) if check["expected"] else apart)


def called(module: dict[str, Any]) -> str:
    """Return the name of a module of checks as people read it."""
    name = module["module"].removeprefix("test_").removesuffix("_published").replace("_", " ")
    return str(name[0].upper() + name[1:])


def _raised(power: int) -> str:
    """Return a power in small raised digits."""
    return str(power).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


def _x(share: float) -> float:
    decades = math.log10(max(share, SMALLEST)) - math.log10(SMALLEST)
    return NAMES + decades / 16.0 * (WIDTH - NAMES - EDGE)


def drawing(modules: list[dict[str, Any]]) -> str:
    """Return how far each check is off, as dots on a scale of tenfold steps, a line per module."""
    height = LINE * len(modules) + 2 * EDGE
    parts = []
    for power in range(-16, 1, 4):
        x = num(_x(10.0**power))
        parts.append(
            f'<path class="er-grid" d="M{x} 0V{num(height - EDGE)}"/>'
            f'<text class="er-name" x="{x}" y="{num(height - 4)}" text-anchor="middle">'
            f"10{_raised(power)}</text>"
        )
    for row, module in enumerate(modules):
        y = EDGE / 2 + LINE * (row + 0.5)
        parts.append(
            f'<text class="er-name" x="0" y="{num(y + 5)}">{escape(called(module))}</text>'
        )
        parts += [
            f'<circle class="er-mark" cx="{num(_x(difference(check)))}" cy="{num(y)}" r="5"/>'
            for check in module["checks"]
        ]
    alternative = "Relative difference between expected and ours, one dot for each check"
    return (
        f'<figure class="er-figure"><svg class="er-chart" viewBox="0 0 {num(WIDTH)} {num(height)}" '
        f'role="img" aria-label="{alternative}">{"".join(parts)}</svg>'
        f"<figcaption>{alternative}; 10⁰ is as large as the figure itself.</figcaption></figure>"
    )


def figure(value: float) -> str:
    """Return a number of the report: up to seven digits."""
    return f"{value:.7g}"


def table(module: dict[str, Any]) -> str:
    """Return the checks of a module as a table."""
    rows = "".join(
        f"<tr><td><code>{escape(check['code'])}</code>"
        + (f"<br><small>{escape(check['said'])}</small>" if check["said"] else "")
        + f"</td><td>{escape(check['mark'])}</td><td>{check['values']:,}</td>"
        f"<td>{figure(check['expected'])}</td><td>{figure(check['ours'])}</td>"
        f"<td>{difference(check):.1e}</td><td>{check['allowed']:.1e}</td></tr>"
        for check in module["checks"]
    )
    heads = ("Check", "Mark", "Values", "Expected", "Ours", "Difference", "Allowed")
    head = "".join(f"<th>{name}</th>" for name in heads)
    return (
        # The theme's own wrappers: a wide table scrolls by itself.
        '<div class="md-typeset__scrollwrap" tabindex="0" role="region" '
        f'aria-label="{escape(called(module))}"><div class="md-typeset__table">'
        f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div></div>"
    )


def report(modules: list[dict[str, Any]]) -> str:
    """Return the whole report as HTML."""
    checks = [check for module in modules for check in module["checks"]]
    marks = Counter(check["mark"] for check in checks)
    values = Counter[str]()
    for check in checks:
        values[check["mark"]] += check["values"]
    counts = "".join(
        f"<tr><td>{mark}</td><td>{marks[mark]}</td><td>{values[mark]:,}</td></tr>"
        for mark in MARKS
        if marks[mark]
    )
    conditions = sum(len(module["conditions"]) for module in modules)
    parts = [
        "<table><thead><tr><th>Mark</th><th>Checks</th><th>Values compared</th></tr></thead>"
        f"<tbody>{counts}</tbody></table>"
        f"<p>{conditions} further tests hold a condition (such as a range, an order or a text) in "
        "place of a figure; they are named below their tables.</p>",
        drawing(modules),
    ]
    for module in modules:
        parts.append(f'<h2 id="{module["module"]}">{escape(called(module))}</h2>')
        parts.append(f"<p>{escape(module['title'])}</p>")
        if module["source"]:
            parts.append(f"<p>{escape(module['source'])}</p>")
        if module["checks"]:
            parts.append(table(module))
        if module["conditions"]:
            names = "; ".join(
                name.removeprefix("test_").replace("_", " ") for name in module["conditions"]
            )
            parts.append(f"<p>Conditions: {escape(names)}.</p>")
    return "".join(parts)


def on_pre_build(**_: Any) -> None:
    """Forget the pages of an earlier build."""
    _shown.clear()


def on_page_content(content: str, **_: Any) -> str:
    """Put the report where the page asks for it."""
    if COMMENT in content:
        _shown.append(COMMENT)
        content = content.replace(COMMENT, report(json.loads(RECORD.read_text("utf-8"))))
    return content


def on_post_build(**_: Any) -> None:
    """Stop when the report is not on exactly one page."""
    if len(_shown) != 1:
        raise PluginError(f"{COMMENT} stands {len(_shown)} times in the pages, not once")
