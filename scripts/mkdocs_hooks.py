"""MkDocs hooks: put forms and default answers into pages, tell the scripts what there is.

A page asks for a calculator by a comment on a line of its own:

    <!-- calculator: run-length -->

The form and the answer to its default values are worked out now, at build time, so that
the page reads without any script. An unknown id, an id used twice and a calculator that no
page shows all stop the build.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.structure.files import File, Files

import evenrow
from evenrow.calculators import html
from evenrow.calculators.field_sheet import WHOLE_FIELD
from evenrow.calculators.html_form import escaped
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.schema import document_schema
from evenrow.calculators.spec import Calculator, UnitSystem
from evenrow.catalogue import current
from evenrow.catalogue.host import host
from evenrow.catalogue.schema import schemas
from evenrow.words import LANGUAGES, language, tr, use_language
from kept_answers import kept
from late_parts import filled, forget, later
from site_languages import in_language, language_of, without_language

ASKED = re.compile(r"<!--\s*calculator:\s*([^\s>]*)\s*-->")
#: Unit system of the page as built; the other system's answer is carried along, folded up.
BUILT_SYSTEM: UnitSystem = "metric"

#: Style sheets that the package keeps, because a drawing in a notebook needs them too.
STYLES = ("chart.css", "plan.css")

#: Where the service counter stands, and what it asks a customer.
COUNTER = "<!-- counter -->"
COUNTER_FIELDS = frozenset(
    {
        "source.kind",
        "source.readings",
        "source.static_pressure",
        "source.pump_curve",
        "source.water_height",
        "rows",
        "ground.row_slope",
        "line.device",
        "line.spacing",
        "main.length",
    }
)
#: (language, calculator) -> the page that shows it.
_used: dict[tuple[str, str], str] = {}


def default_answer(calculator: Calculator, system: UnitSystem) -> str:
    """Return the answer to the default values, as HTML, in the language in use."""
    try:
        _, result, shown = answer(default_document(calculator, system))
    except Exception as error:
        raise PluginError(
            f"calculator {calculator.id}: the default values in {system} units give no answer: "
            f"{type(error).__name__}: {error}"
        ) from error
    return html.result_html(calculator, result, shown)


def counter_html() -> str:
    """Return the short form of the service counter, in the language in use.

    It is that of the whole field with what only the customer can tell; what is left out takes its
    usual value, as in a design file.
    """
    whole = CALCULATORS[WHOLE_FIELD]
    short = replace(
        whole, examples={}, fields=tuple(f for f in whole.fields if f.name in COUNTER_FIELDS)
    )
    if len(short.fields) != len(COUNTER_FIELDS):
        raise PluginError("the service counter asks for a field that the whole field does not have")
    return (
        f'<div class="er-calc er-counter" data-calculator="{whole.id}">'
        f'<section class="er-ask" aria-label="{escaped(tr("What you have"))}">'
        f"{html.form_html(short, default_document(short, BUILT_SYSTEM))}</section>"
        f'<section class="er-tell" data-search-exclude aria-label="{escaped(tr("Answer"))}">'
        '<div class="er-counter-made er-js" hidden></div>'
        f'<h2 class="er-answer-title">{escaped(tr("Answer"))}</h2>'
        '<div class="er-status er-js" role="status" hidden></div>'
        '<div class="er-result" data-live="false"></div></section>'
        '<a class="er-sticky er-js" href="#" hidden><span class="er-sticky-label"></span>'
        '<strong class="er-sticky-value"></strong><span class="er-sticky-verdict"></span></a>'
        "</div>"
    )


def calculator_html(calculator: Calculator) -> str:
    """Return form, answer and the places that the scripts fill, in the language in use."""
    form = html.form_html(calculator, default_document(calculator, BUILT_SYSTEM))
    not_yet = tr("The answer for the values below is not worked out yet.")
    return (
        f'<div class="er-calc" data-calculator="{calculator.id}">'
        f'<section class="er-ask" aria-label="{escaped(tr("What you have"))}">{form}</section>'
        f'<section class="er-tell" data-search-exclude aria-label="{escaped(tr("Answer"))}">'
        f'<h2 class="er-answer-title">{escaped(tr("Answer"))}</h2>'
        '<div class="er-status er-js" role="status" hidden></div>'
        f'<p class="er-not-yet">{escaped(not_yet)}</p>'
        f'<div class="er-result" data-live="false">{default_answer(calculator, BUILT_SYSTEM)}</div>'
        f'<template class="er-result-us">{default_answer(calculator, "us")}</template>'
        f'<div class="er-actions er-js" role="group" aria-label="{escaped(tr("Keep and share"))}" '
        "hidden></div>"
        "</section>"
        '<a class="er-sticky er-js" href="#" hidden><span class="er-sticky-label"></span>'
        '<strong class="er-sticky-value"></strong><span class="er-sticky-verdict"></span></a>'
        "</div>"
    )


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Tell the page template the version, the calculators, the catalogue, and whose site it is."""
    _used.clear()
    forget()
    catalogue, keeper = current(), host()
    if keeper:
        config.site_name = keeper.name
    config.extra["evenrow"] = {
        "version": evenrow.__version__,
        "calculators": " ".join(CALCULATORS),
        "catalogue": catalogue.label,
        "host": keeper,
    }
    return config


def on_files(files: Files, *, config: MkDocsConfig) -> Files:
    """Add the style sheets of the drawings, and the schemas of the files that people write."""
    folder = Path(evenrow.__file__).parent / "figures"
    for name in STYLES:
        made = File.generated(config, f"assets/css/{name}", abs_src_path=str(folder / name))
        files.append(made)
    for name, text in json.loads(kept("schemas", _published_schemas)).items():
        files.append(File.generated(config, f"schemas/{name}", content=text))
    return files


def _published_schemas() -> str:
    """Return the text of every schema by the name under which it is published, as JSON."""
    found = {f"catalogue/{name}.json": schema for name, schema in schemas().items()}
    found["design.json"] = document_schema()
    return json.dumps({name: json.dumps(each, ensure_ascii=False) for name, each in found.items()})


def on_page_content(content: str, *, page: Any, **_: Any) -> str:
    """Replace each calculator comment by the calculator."""

    def put(match: re.Match[str]) -> str:
        name = match[1]
        where = page.file.src_uri
        key = language(), name
        if name not in CALCULATORS:
            raise PluginError(f"{where} asks for an unknown calculator {name!r}")
        if key in _used:
            raise PluginError(f"{where} and {_used[key]} both show the calculator {name!r}")
        if without_language(page.file.url).strip("/") != name:
            raise PluginError(
                f"the calculator {name!r} belongs on a page of that name, not {where}"
            )
        _used[key] = where
        made = kept(f"{name} {language()}", lambda: calculator_html(CALCULATORS[name]))
        return later(made, "er-calc", _labels(name))

    with use_language(language_of(page.file.src_uri)):
        if COUNTER in content:
            content = content.replace(COUNTER, later(counter_html(), "er-calc er-counter"))
        return ASKED.sub(put, content)


def _labels(name: str) -> str:
    """Return by what the search finds a calculator: what it asks for, in the language in use."""
    return escaped(", ".join(tr(field.label) for field in CALCULATORS[name].fields))


def on_post_page(output: str, **_: Any) -> str:
    """Put the calculators, and every other large part, into a finished page."""
    return filled(output)


def on_post_build(**_: Any) -> None:
    """Stop when a calculator is on no page."""
    missing = [
        in_language(name, code)
        for code in LANGUAGES
        for name in CALCULATORS
        if (code, name) not in _used
    ]
    if missing:
        raise PluginError(f"no page shows the calculator {', '.join(missing)}")
