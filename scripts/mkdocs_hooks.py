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
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError

import evenrow
from evenrow.calculators import html
from evenrow.calculators.reading import default_document
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.spec import Calculator, UnitSystem
from evenrow.catalogue import current

ASKED = re.compile(r"<!--\s*calculator:\s*([^\s>]*)\s*-->")
#: Unit system of the page as built; the other system's answer is carried along, folded up.
BUILT_SYSTEM: UnitSystem = "metric"

_used: dict[str, str] = {}


def default_answer(calculator: Calculator, system: UnitSystem) -> str:
    """Return the answer to the default values, as HTML."""
    try:
        _, result, shown = answer(default_document(calculator, system))
    except Exception as error:
        raise PluginError(
            f"calculator {calculator.id}: the default values in {system} units give no answer: "
            f"{type(error).__name__}: {error}"
        ) from error
    return html.result_html(calculator, result, shown)


def calculator_html(calculator: Calculator) -> str:
    """Return form, answer and the places that the scripts fill, for one page."""
    form = html.form_html(calculator, default_document(calculator, BUILT_SYSTEM))
    return (
        f'<div class="er-calc" data-calculator="{calculator.id}">'
        f'<section class="er-ask" aria-label="What you have">{form}</section>'
        '<section class="er-tell" aria-label="Answer">'
        '<h2 class="er-answer-title">Answer</h2>'
        '<div class="er-status er-js" role="status" hidden></div>'
        '<p class="er-not-yet">The answer for the values below is not worked out yet.</p>'
        f'<div class="er-result" data-live="false">{default_answer(calculator, BUILT_SYSTEM)}</div>'
        f'<template class="er-result-us">{default_answer(calculator, "us")}</template>'
        '<div class="er-actions er-js" role="group" aria-label="Keep and share" hidden></div>'
        "</section>"
        '<a class="er-sticky er-js" href="#" hidden><span class="er-sticky-label"></span>'
        '<strong class="er-sticky-value"></strong><span class="er-sticky-verdict"></span></a>'
        "</div>"
    )


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Tell the page template the version, the calculators and the catalogue."""
    _used.clear()
    catalogue = current()
    config.extra["evenrow"] = {
        "version": evenrow.__version__,
        "calculators": " ".join(CALCULATORS),
        "titles": json.dumps({name: each.title for name, each in CALCULATORS.items()}),
        "catalogue": f"{catalogue.name} {catalogue.version}",
    }
    return config


def on_page_content(content: str, *, page: Any, **_: Any) -> str:
    """Replace each calculator comment by the calculator."""

    def put(match: re.Match[str]) -> str:
        name = match[1]
        where = page.file.src_uri
        if name not in CALCULATORS:
            raise PluginError(f"{where} asks for an unknown calculator {name!r}")
        if name in _used:
            raise PluginError(f"{where} and {_used[name]} both show the calculator {name!r}")
        if page.file.url.strip("/") != name:
            raise PluginError(
                f"the calculator {name!r} belongs on a page of that name, not {where}"
            )
        _used[name] = where
        return calculator_html(CALCULATORS[name])

    return ASKED.sub(put, content)


def on_post_build(**_: Any) -> None:
    """Stop when a calculator is on no page."""
    missing = [name for name in CALCULATORS if name not in _used]
    if missing:
        raise PluginError(f"no page shows the calculator {', '.join(missing)}")
